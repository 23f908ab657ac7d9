package wear

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
)

// points is what a defect takes off at best, as it is read, and at worst.
type points struct{ best, read, worst float64 }

// look is an input being rated.
type look struct {
	Input
	of     []*Defect // beside the findings
	stands []bool    // beside the findings: looked at, and not set aside
}

// slope gathers the worst of each defect on one slope.
type slope struct {
	name   string
	looked bool      // at anything of the part
	own    bool      // a defect was seen that was written down for this slope
	known  []*Defect // that were looked at on it
	costs  []Cost
	taken  []points // beside costs

	least, read, most float64 // ratings
}

func (s *slope) add(c Cost, p points) {
	c.Points = p.read
	i := slices.IndexFunc(s.costs, func(have Cost) bool { return have.Defect == c.Defect })
	if s.costs == nil {
		s.costs, s.taken = make([]Cost, 0, 8), make([]points, 0, 8)
	}
	if i < 0 {
		s.costs, s.taken = append(s.costs, c), append(s.taken, p)
		return
	}
	if p.read > s.taken[i].read {
		s.costs[i] = c
	}
	t := &s.taken[i]
	t.best, t.read, t.worst = max(t.best, p.best), max(t.read, p.read), max(t.worst, p.worst)
}

func (s *slope) rate() {
	left := func(of func(points) float64) float64 {
		deducts := make([]float64, 0, 32)
		for _, p := range s.taken {
			deducts = append(deducts, of(p))
		}
		return 100 - Combined(deducts)
	}
	s.least = left(func(p points) float64 { return p.worst })
	s.read = left(func(p points) float64 { return p.read })
	s.most = left(func(p points) float64 { return p.best })
}

// dearest gives the place of the finding that took most, -1 when there is none.
func (s *slope) dearest() int {
	best := -1
	for i, p := range s.taken {
		if best < 0 || p.read > s.taken[best].read {
			best = i
		}
	}
	return best
}

// ranked gives the costs, the dearest first, each with what it gives back.
func (s *slope) ranked() []Cost {
	out := slices.Clone(s.costs)
	others := make([]float64, 0, 32)
	for i := range out {
		others = others[:0]
		for j, p := range s.taken {
			if j != i {
				others = append(others, p.read)
			}
		}
		out[i].GivesBack = max(0, 100-Combined(others)-s.read)
	}
	slices.SortStableFunc(out, func(a, b Cost) int {
		return cmp.Or(cmp.Compare(b.Points, a.Points), a.Finding-b.Finding)
	})
	return out
}

// Rate gives the rating of each part from one look, on a scale from 0 to 100.
// It fails only on an input that [Input.Validate] refuses.
func Rate(in Input) (Result, error) {
	if err := in.Validate(); err != nil {
		return Result{}, fmt.Errorf("rating the findings: %w", err)
	}
	if in.Covering == "" {
		in.Covering = Unknown
	}
	l := look{in, make([]*Defect, len(in.Findings)), make([]bool, len(in.Findings))}
	result := Result{SetAside: []SetAside{}}
	looked := make(map[string]bool, len(in.Findings))
	for i, f := range in.Findings {
		d, _ := find(f.Defect)
		l.of[i] = d
		if f.Look == NotLooked {
			continue
		}
		if reason, why := l.bars(d, f); reason != "" {
			// That there is none of what the covering cannot have is no finding.
			if reason != "covering" || f.Look == Seen {
				result.SetAside = append(result.SetAside, SetAside{i, f.Defect, reason, why})
			}
			continue
		}
		looked[f.Defect] = true
		l.stands[i] = true
	}
	for _, part := range Parts() {
		r := PartRating{Part: part, Slopes: []SlopeRating{}, Costs: []Cost{}, NotLooked: make([]string, 0, 16)}
		known, whole := 0.0, 0.0 // the catalogue weighed by the points of severity 3
		for i := range catalogue {
			d := &catalogue[i]
			if d.Part != part || !(d.askedOf(in.Covering) || looked[d.Key]) {
				continue
			}
			r.Catalogued++
			whole += d.Points[2]
			if looked[d.Key] {
				known += d.Points[2]
			} else {
				r.NotLooked = append(r.NotLooked, d.Key)
			}
		}
		result.NotLooked += len(r.NotLooked)
		slopes := l.slopes(part)
		r.list(slopes, in.SlopeAreas, in.Method, whole)
		if known > 0 {
			r.rate(slopes, in.Method, known/whole)
		}
		if len(r.Costs) > 0 && (result.Dearest == nil || r.Costs[0].Points > result.Dearest.Points) {
			dearest := r.Costs[0]
			result.Dearest = &dearest
		}
		r.Says = r.says(in.Method)
		result.Parts = append(result.Parts, r)
	}
	result.Measure, result.Cautions = l.measure(result), l.cautions()
	return result, nil
}

// bars says why a finding cannot stand; an empty reason when it can.
func (l *look) bars(d *Defect, f Finding) (reason, why string) {
	switch {
	case !d.OccursOn(l.Covering):
		return "covering", fmt.Sprintf("%s: not a defect of this covering (%s)", d.Name, l.Covering)
	case !d.ShownBy(l.Method):
		return "method", fmt.Sprintf("%s cannot be judged by this method (%s)", d.Name, l.Method)
	case !d.JudgedBy(l.Method, l.Covering):
		return "method", fmt.Sprintf("%s cannot be judged by this method (%s): a low slope is not seen from the ground", d.Name, l.Method)
	case d.NeedsDry && l.Wet != nil && *l.Wet:
		return "wet", fmt.Sprintf("%s cannot be judged on a wet roof", d.Name)
	case f.Slope != "" && l.VisibleSlopes != nil && !slices.Contains(l.VisibleSlopes, f.Slope):
		return "slope", fmt.Sprintf("%s cannot be judged on a slope that was not in sight (%s)", d.Name, f.Slope)
	case f.Slope == "" && l.VisibleSlopes != nil && len(l.VisibleSlopes) == 0:
		return "slope", fmt.Sprintf("%s cannot be judged: no slope was in sight", d.Name)
	}
	return "", ""
}

// slopes gathers what was found of a part: first on a slope without a name, for
// which only what was said of all slopes counts, then on each named one.
func (l *look) slopes(part Part) []*slope {
	names := map[string]bool{}
	if part == Covering {
		for name := range l.SlopeAreas {
			names[name] = true
		}
		for _, name := range l.VisibleSlopes {
			names[name] = true
		}
	}
	for i, f := range l.Findings {
		if l.of[i].Part == part && f.Slope != "" {
			names[f.Slope] = true
		}
	}
	out := []*slope{{}}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		out = append(out, &slope{name: name})
	}
	for i, f := range l.Findings {
		d := l.of[i]
		if !l.stands[i] || d.Part != part {
			continue
		}
		for _, s := range out {
			all := f.Slope == "" && (s.name == "" || l.VisibleSlopes == nil || slices.Contains(l.VisibleSlopes, s.name))
			if !all && f.Slope != s.name {
				continue
			}
			s.looked = true
			if !slices.Contains(s.known, d) {
				s.known = append(s.known, d)
			}
			if f.Look == Seen {
				s.own = s.own || f.Slope != ""
				s.add(Cost{Finding: i, Defect: d.Key, Name: d.Name, Slope: f.Slope}, f.deduct(d))
			}
		}
	}
	for _, s := range out {
		s.rate()
	}
	return out
}

// spread is the error to read a rating with: of the method, of the share of the
// catalogue that was not looked at, and of what was not noted.
func spread(m Method, known, least, most float64) (Errors, float64) {
	e := Errors{slip(m), unlooked(known), (most - least) / (2 * math.Sqrt(3))} // the last of a uniform between the two
	return e, math.Hypot(math.Hypot(e.Method, e.NotLooked), e.NotKnown)
}

// list fills in the ratings by slope and their mean; whole is the catalogue by its
// points.
func (r *PartRating) list(slopes []*slope, areas map[string]float64, m Method, whole float64) {
	all := 0.0
	for _, name := range slices.Sorted(maps.Keys(areas)) {
		all += areas[name]
	}
	mean, of, every := 0.0, 0.0, true
	for _, s := range slopes[1:] {
		out := SlopeRating{Slope: s.name}
		area, known := areas[s.name]
		if known {
			share := area / all
			out.AreaShare = &share
		}
		if s.looked {
			out.Least, out.Rating, out.Most = &s.least, &s.read, &s.most
			seen := 0.0
			for _, d := range s.known {
				seen += d.Points[2]
			}
			_, off := spread(m, min(seen/whole, 1), s.least, s.most)
			out.ErrorPoints, out.ShownShare = &off, new(shown(min(seen/whole, 1)))
			mean, of, every = mean+area*s.read, of+area, every && known
			if i := s.dearest(); i >= 0 {
				out.Dearest = s.costs[i].Defect
			}
		}
		r.Slopes = append(r.Slopes, out)
	}
	if r.Part == Covering && every && of > 0 {
		mean /= of
		r.Mean = &mean
	}
}

// seen gives the share of the slopes that was looked at: by area where every
// slope has one, else by number; 1 where none is named.
func (r *PartRating) seen() float64 {
	byArea, byCount, areas := 0.0, 0.0, true
	for _, s := range r.Slopes {
		areas = areas && s.AreaShare != nil
		if s.Rating == nil {
			continue
		}
		byCount++
		if s.AreaShare != nil {
			byArea += *s.AreaShare
		}
	}
	switch {
	case len(r.Slopes) == 0 || byCount == 0:
		return 1 // whoever spoke of all slopes, or of none by name
	case areas:
		return min(1, byArea)
	}
	return byCount / float64(len(r.Slopes))
}

// rate fills in the ratings of a part of which something was looked at; known is
// the share of the catalogue, by points, that was.
func (r *PartRating) rate(slopes []*slope, m Method, known float64) {
	// What was seen on all slopes counts on each of the named ones too, so that
	// the slope without a name is the worst only where no slope has more.
	worst := slopes[0]
	least, rating, most := worst.least, worst.read, worst.most
	for _, s := range slopes[1:] {
		if !s.looked {
			continue
		}
		least, most = min(least, s.least), min(most, s.most)
		if s.own && (s.read < rating || !worst.own && s.read == rating) {
			worst = s
		}
		rating = min(rating, s.read)
	}
	e, off := spread(m, known*r.seen(), least, most)
	r.Rating, r.Least, r.Most, r.ErrorPoints, r.Errors, r.ShownShare = &rating, &least, &most, &off, &e, new(shown(known))
	r.WorstSlope = worst.name
	r.Costs = append(r.Costs, worst.ranked()...)
}
