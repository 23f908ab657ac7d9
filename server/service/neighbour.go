package service

import (
	"context"
	"maps"
	"slices"
	"strings"
	"sync"

	"overhang/analytics/geo"
	"overhang/analytics/neighbours"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// ranking is the houses around our roofs, ranked for one day. Like a book, a new one
// is made when a record or the day has changed, and nobody changes it.
type ranking struct {
	revision int64
	day      units.Date
	fit      int64 // of own lives, by which the need was estimated; 0 before the first
	houses   map[int64]*models.Neighbour
	ours     map[int64]*models.Neighbour // by the roof's number
	result   neighbours.Result
}

// street keeps the newest ranking.
type street struct {
	mu      sync.Mutex
	ranking *ranking
}

func (s *Service) rank(ctx context.Context) (*ranking, error) {
	s.street.mu.Lock()
	defer s.street.mu.Unlock()
	q := s.Store.Query(ctx)
	revision, err := store.Revision(q)
	if err != nil {
		return nil, err
	}
	set, err := settings(q)
	if err != nil {
		return nil, err
	}
	day := s.Today(set)
	own, err := pooled(q)
	if err != nil {
		return nil, err
	}
	fit := int64(0)
	if own != nil {
		fit = own.ID
	}
	was := s.street.ranking
	if was != nil && (was.day != day || was.fit != fit) {
		was = nil
	}
	if was != nil && was.revision == revision {
		return was, nil
	}
	need, err := portfolio.NewNeed(own, &set.Branch, day)
	if err != nil {
		return nil, err
	}
	r, err := renewRanking(q, was, need, &set.Branch, day)
	if err != nil {
		return nil, err
	}
	r.revision, r.fit = revision, fit
	s.street.ranking = r
	return r, nil
}

// renewRanking ranks the houses, with what can be taken over of an earlier ranking.
func renewRanking(q store.Query, was *ranking, need *portfolio.Need, b *models.Branch, day units.Date) (*ranking, error) {
	if was != nil {
		_, houses, few, err := touchedSince(q, was.revision, func(t touch) reach { return t.street })
		if err != nil {
			return nil, err
		}
		if few {
			return was.rerank(q, slices.Collect(maps.Keys(houses)), need, b)
		}
	}
	rows, err := store.Neighbours(q, "")
	if err != nil {
		return nil, err
	}
	r := &ranking{day: day, houses: make(map[int64]*models.Neighbour, len(rows)), ours: map[int64]*models.Neighbour{}}
	r.keep(rows)
	r.result, err = neighbours.Rank(portfolio.Neighbours(rows, need.Of, b, 0, day))
	return r, err
}

func (r *ranking) keep(rows []models.Neighbour) {
	for i := range rows {
		r.houses[rows[i].HouseID] = &rows[i]
		if rows[i].Ours {
			r.ours[*rows[i].RoofID] = &rows[i]
		}
	}
}

// rerank is the ranking after somebody called at some houses.
func (r *ranking) rerank(q store.Query, ids []int64, need *portfolio.Need, b *models.Branch) (*ranking, error) {
	out := &ranking{day: r.day, houses: r.houses, ours: r.ours, result: r.result}
	if len(ids) == 0 {
		return out, nil
	}
	rows, err := store.NeighboursAt(q, ids)
	if err != nil {
		return nil, err
	}
	out.houses, out.ours = maps.Clone(r.houses), maps.Clone(r.ours)
	out.keep(rows)
	with := func(of *ranking) neighbours.Input {
		var all []models.Neighbour
		for _, h := range of.ours {
			all = append(all, *h)
		}
		for i := range rows {
			if h := of.houses[rows[i].HouseID]; h != nil && !h.Ours {
				all = append(all, *h)
			}
		}
		return portfolio.Neighbours(all, need.Of, b, 0, of.day)
	}
	out.result, err = neighbours.Rerank(r.result, with(r), with(out))
	return out, err
}

// NeighbourFilter says which houses to list.
type NeighbourFilter struct {
	Neighbourhood string
	Street        string
	NearRoof      int64 // only those most like this roof of ours
	State         string
	Only          string // "alike", or "likely" for those that also likely need a roof
}

// A house is called alike, or its need likely, from these on. What is unknown
// counts half in a likeness, so four fifths takes most of it to be known and the
// same. Our own judgement, no source.
const (
	alikeFrom  = 0.8
	likelyFrom = 0.5
)

// NeighbourRow is a house to call on.
type NeighbourRow struct {
	neighbours.Ranked
	House models.Neighbour
	Near  models.Neighbour // our roof that it is compared with
	Leg   units.Length     // from the house before, in a walk
	Kept  bool             // whether it needs a roof is kept from the person, who is going to look at it
}

// Alike says whether the house looks much like the one that its roof is compared
// with.
func (r *NeighbourRow) Alike() bool { return r.Likeness >= alikeFrom }

// Likely says whether such a house likelier needs a roof within the years that
// are looked ahead than not.
func (r *NeighbourRow) Likely() bool { return r.NeedKnown && r.Need >= likelyFrom }

// NeighbourList is a page of houses to call on.
type NeighbourList struct {
	Rows           []NeighbourRow
	Total          int
	Alike          int // of those in the place asked for, whatever their state
	Likely         int // of the alike
	ComeBack       int // that agreed to a day, which has come
	WantsALook     int
	LeftOut        neighbours.LeftOut
	Neighbourhoods []string
	Distance       units.Length       // of the walk, where one was asked for
	Start          *models.Neighbour  // our roof that the walk begins at
	Ours           []models.Neighbour // our roofs among them, for the map
}

// Neighbours lists the houses near our roofs that need a roof like the one we
// laid there, the likeliest first. Our own roofs, the stop-list, and houses that
// rest until a later day are left out.
func (s *Service) Neighbours(ctx context.Context, who Actor, f NeighbourFilter, page store.Page) (*NeighbourList, error) {
	if err := who.need(SeeNeighbours); err != nil {
		return nil, err
	}
	r, err := s.rank(ctx)
	if err != nil {
		return nil, err
	}
	list := &NeighbourList{LeftOut: r.result.LeftOut}
	if list.Neighbourhoods, err = store.Neighbourhoods(s.Store.Query(ctx)); err != nil {
		return nil, err
	}
	kept, err := roofsKept(s.Store.Query(ctx), who)
	if err != nil {
		return nil, err
	}
	for _, ranked := range r.result.Houses {
		h := r.houses[portfolio.ID(ranked.ID)]
		if (f.Neighbourhood != "" && h.Neighbourhood != f.Neighbourhood) || (f.Street != "" && !strings.EqualFold(h.Street, f.Street)) ||
			(f.NearRoof != 0 && portfolio.ID(ranked.RoofID) != f.NearRoof) {
			continue
		}
		row := NeighbourRow{Ranked: ranked, House: *h, Near: *r.ours[portfolio.ID(ranked.RoofID)], Kept: h.RoofID != nil && kept[*h.RoofID]}
		if row.Alike() {
			list.Alike++
			if row.Likely() {
				list.Likely++
			}
		}
		switch h.State {
		case "come_back":
			list.ComeBack++
		case "wants_a_look":
			list.WantsALook++
		}
		if (f.State != "" && h.State != f.State) || (f.Only != "" && !row.Alike()) || (f.Only == "likely" && !row.Likely()) {
			continue
		}
		list.Rows = append(list.Rows, row)
	}
	list.Total = len(list.Rows)
	offset, limit := page.Bounds()
	list.Rows = list.Rows[min(offset, len(list.Rows)):min(offset+limit, len(list.Rows))]
	for _, h := range r.houses {
		if h.Ours && (f.Neighbourhood == "" || h.Neighbourhood == f.Neighbourhood) && (f.NearRoof == 0 || *h.RoofID == f.NearRoof) {
			list.Ours = append(list.Ours, *h)
		}
	}
	return list, nil
}

// MostWalked is how many houses one walk has at most.
const MostWalked = 60

// Walk orders the likeliest houses of a list for walking: at most so many,
// beginning at our roof nearest to the first of them, where we are known.
func (s *Service) Walk(ctx context.Context, who Actor, f NeighbourFilter, count int) (*NeighbourList, error) {
	list, err := s.Neighbours(ctx, who, f, store.Page{Size: min(max(count, 1), MostWalked)})
	if err != nil || len(list.Rows) == 0 {
		return list, err
	}
	first := geo.Point{Lat: list.Rows[0].House.Lat, Lon: list.Rows[0].House.Lon}
	in := neighbours.WalkInput{Start: first}
	near := units.Length(-1)
	for i, o := range list.Ours {
		at := geo.Point{Lat: o.Lat, Lon: o.Lon}
		if d := geo.Distance(at, first); near < 0 || d < near {
			near, in.Start, list.Start = d, at, &list.Ours[i]
		}
	}
	rows := map[string]NeighbourRow{}
	for _, row := range list.Rows {
		in.Stops = append(in.Stops, neighbours.Stop{ID: row.ID, At: geo.Point{Lat: row.House.Lat, Lon: row.House.Lon}})
		rows[row.ID] = row
	}
	walk, err := neighbours.Walk(in)
	if err != nil {
		return nil, err
	}
	list.Distance = walk.Distance
	for i, stop := range walk.Stops {
		list.Rows[i] = rows[stop.ID]
		list.Rows[i].Leg = stop.Leg
	}
	return list, nil
}

// NeighbourFile is one house to call on with what was said there.
type NeighbourFile struct {
	House    models.Neighbour
	Ranked   *NeighbourRow // nil where it is left out of the ranking
	LeftOut  string        // why: ours, stopped, resting or far
	Knocks   []models.Knock
	Names    map[int64]string // of the people who knocked, by their number
	Prospect *models.Prospect
}

// Neighbour reads one house to call on.
func (s *Service) Neighbour(ctx context.Context, who Actor, houseID int64) (*NeighbourFile, error) {
	if err := who.need(SeeNeighbours); err != nil {
		return nil, err
	}
	r, err := s.rank(ctx)
	if err != nil {
		return nil, err
	}
	h, found := r.houses[houseID]
	if !found {
		return nil, models.Errorf(models.NotFound, "There is no such house, or its place on the map is not known.")
	}
	q := s.Store.Query(ctx)
	kept, err := roofsKept(q, who)
	if err != nil {
		return nil, err
	}
	f := &NeighbourFile{House: *h}
	for _, ranked := range r.result.Houses {
		if portfolio.ID(ranked.ID) == houseID {
			f.Ranked = &NeighbourRow{Ranked: ranked, House: *h, Near: *r.ours[portfolio.ID(ranked.RoofID)], Kept: h.RoofID != nil && kept[*h.RoofID]}
		}
	}
	switch {
	case f.Ranked != nil:
	case h.Ours:
		f.LeftOut = "ours"
	case h.Stopped:
		f.LeftOut = "stopped"
	case h.NextOn > r.day:
		f.LeftOut = "resting"
	default:
		f.LeftOut = "far"
	}
	if f.Knocks, err = store.List[models.Knock](q, "at DESC", "house_id = ?", houseID); err != nil {
		return nil, err
	}
	var callers []int64
	for _, k := range f.Knocks {
		if k.PersonID != nil {
			callers = append(callers, *k.PersonID)
		}
	}
	people, err := store.ListIn[models.Person](q, "id", callers)
	if err != nil {
		return nil, err
	}
	f.Names = make(map[int64]string, len(people))
	for _, p := range people {
		f.Names[p.ID] = p.Name
	}
	f.Prospect, err = store.First[models.Prospect](q, "house_id = ?", houseID)
	if models.CodeOf(err) == models.NotFound {
		return f, nil
	}
	return f, err
}
