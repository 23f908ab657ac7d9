package portfolio

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"

	"overhang/analytics/lifespan"
	"overhang/analytics/survival"
	"overhang/analytics/units"
	"overhang/models"
)

// LivesVersion names how own lives are counted and fitted; it is kept with every
// fit and changes whenever the same records would give another one.
const LivesVersion = "lives 3"

// The kinds of groups whose houses share an effect.
const (
	byNeighbourhood = "neighbourhood"
	byEra           = "era"
)

// mostNeighbourhoods is how many neighbourhoods have an effect of their own, those
// with most lives first. The rest count as typical ones.
const mostNeighbourhoods = 300

// endings are the reasons of a roof's end, as lives have them. What is not known
// is censored like the rest: somebody who had found it worn out would have said.
var endings = map[string]survival.Ending{"worn_out": survival.Wear, "storm": survival.Storm, "sale": survival.Sale,
	"alteration": survival.Alteration, "taste": survival.Taste, "unknown": survival.Otherwise}

// Lives are the coverings that can be counted as at risk of wearing out, and for
// how long.
type Lives struct {
	Input    survival.PoolInput
	Hash     string // of the records that they were made from, whatever the day
	Counts   LivesCounts
	Families []FamilyLives // those with lives, in the order of the table

	reads  []Read // for the rating curve
	branch *models.Branch
	day    units.Date
}

// LivesCounts says what becomes of each roof.
type LivesCounts struct {
	Ours     int            // watched from the day we laid them
	Watched  int            // watched because their neighbourhood is
	Ended    map[string]int // by the reason of the end
	Standing int
	// TearOffs ended without having been watched: we heard of them because they
	// ended, so they bring no time at risk.
	TearOffs int
}

// FamilyLives are the lives of one kind of covering, for a curve of those that
// still lie.
type FamilyLives struct {
	Family string
	Rows   []survival.CurveRow
	// Groups are those of the pooling that the rows belong to, with how many of
	// them, so that what it says can be held against the rows.
	Groups []GroupShare
}

// GroupShare is a place and an era of building, and how many lives are of it.
type GroupShare struct {
	Groups map[string]string
	Lives  int
}

// add counts a life for its groups.
func (f *FamilyLives) add(groups map[string]string) {
	i := slices.IndexFunc(f.Groups, func(g GroupShare) bool { return maps.Equal(g.Groups, groups) })
	if i < 0 {
		i = len(f.Groups)
		f.Groups = append(f.Groups, GroupShare{Groups: groups})
	}
	f.Groups[i].Lives++
}

// OwnLives counts the lives of roofs: our own from the day they were laid, and
// every covering of a house in a watched neighbourhood for the days of the watch.
// Looks are by the roof's number. One that came off before the watch, or where
// nobody watched, makes no life.
func OwnLives(roofs []models.LivedRoof, looks map[int64][]Look, watches []models.Watch, b *models.Branch, today units.Date) (*Lives, error) {
	l := &Lives{branch: b, day: today, Counts: LivesCounts{Ended: map[string]int{}}, Input: survival.PoolInput{LagYears: b.StandingLagYears, Coverings: ownPriors()}}
	lives := make([]survival.Own, 0, len(roofs))
	from := make([]*models.LivedRoof, 0, len(roofs))
	var marks []lifeMark
	for i := range roofs {
		r := &roofs[i]
		if r.Laid.IsZero() || r.Laid.Earliest() > today {
			continue
		}
		seen := sawOldAlone(looks[r.ID], r.RelaidOn)
		if len(seen) > 0 {
			l.reads = append(l.reads, Read{Family: r.Family, Neighbourhood: r.Neighbourhood, BuildYear: r.BuildYear, Laid: r.Laid, Looks: seen})
		}
		watched := false
		for _, w := range spans(r, watches) {
			own, any := life(r, seen, w, today)
			if !any {
				continue
			}
			watched = true
			lives, from = append(lives, own), append(from, r)
		}
		switch {
		case !watched && !r.EndedOn.IsZero() && r.EndedOn <= today:
			l.Counts.TearOffs++
			continue
		case !watched:
			continue
		case r.Ours:
			l.Counts.Ours++
		default:
			l.Counts.Watched++
		}
		marks = append(marks, mark(r, seen))
	}
	rows, out, err := survival.OwnRows(lives, b.StandingLagYears)
	if err != nil {
		return nil, fmt.Errorf("counting own lives: %w", err)
	}
	left := map[int]bool{}
	for _, o := range out {
		left[o.Index] = true
	}
	named := largest(from)
	byFamily := map[string]*FamilyLives{}
	next := 0
	for i := range lives {
		if left[i] {
			continue
		}
		r := from[i]
		groups := map[string]string{}
		if named[r.Neighbourhood] {
			groups[byNeighbourhood] = r.Neighbourhood
		}
		if e := era(r.BuildYear); e != "" {
			groups[byEra] = e
		}
		l.Input.Rows = append(l.Input.Rows, survival.PoolRow{Row: rows[next], Covering: r.Family, Groups: groups})
		next++
		o := &lives[i]
		worn := survival.Flag(o.Ended == survival.Wear)
		if o.Ended == "" {
			l.Counts.Standing++
		} else {
			l.Counts.Ended[r.EndReason]++
		}
		if o.LastAge > o.WatchedFrom {
			if byFamily[r.Family] == nil {
				byFamily[r.Family] = &FamilyLives{Family: r.Family}
			}
			f := byFamily[r.Family]
			f.Rows = append(f.Rows, survival.CurveRow{Entry: &o.WatchedFrom, Exit: o.LastAge, Event: &worn, Group: r.Family})
			f.add(groups)
		}
	}
	for _, k := range lifespan.Table() {
		if f := byFamily[k.Key]; f != nil {
			l.Families = append(l.Families, *f)
		}
	}
	var readings []lifespan.Input
	for i := range l.reads {
		if in, found := l.reads[i].before(today+1, b.StandingLagYears); found {
			readings = append(readings, in)
		}
	}
	l.Hash, err = hashLives(marks, watches, readings, l.Input.Coverings, b.StandingLagYears)
	return l, err
}

// span is a time for which a roof is watched, if it lies then.
type span struct{ from, to units.Date } // to is no day while it goes on

// spans are the times for which a roof is watched. Our own are watched always:
// what becomes of them is our business.
func spans(r *models.LivedRoof, watches []models.Watch) []span {
	if r.Ours {
		return []span{{from: r.Laid.Earliest()}}
	}
	var out []span
	for _, w := range watches {
		if w.Neighbourhood == r.Neighbourhood {
			out = append(out, span{w.FromOn, w.ToOn})
		}
	}
	return out
}

// life is what a watch tells of a roof, if it lay there for any of it.
func life(r *models.LivedRoof, looks []Look, w span, today units.Date) (survival.Own, bool) {
	// A day that is known to a year is taken in its middle; for most of a life
	// that is near enough, and the ends of it move together.
	laid := r.Laid.Earliest() + (r.Laid.Latest()-r.Laid.Earliest())/2
	if !r.EndedOn.IsZero() {
		laid = min(laid, r.EndedOn)
	}
	laid = min(laid, today)
	last, ended := today, survival.Ending("")
	if !w.to.IsZero() {
		last = min(last, w.to)
	}
	if !r.EndedOn.IsZero() && r.EndedOn <= last {
		last, ended = r.EndedOn, endings[r.EndReason]
	}
	begins := max(w.from, laid)
	if last <= begins {
		return survival.Own{}, false
	}
	o := survival.Own{WatchedFrom: begins.YearsSince(laid), LastAge: last.YearsSince(laid), Ended: ended}
	serviceable, worn := bounding(looks, begins, last, ended == survival.Wear)
	if serviceable >= 0 {
		o.ServiceableAt = new(looks[serviceable].Visit.DoneOn.YearsSince(laid))
	}
	if worn >= 0 {
		o.WornOutAt = new(looks[worn].Visit.DoneOn.YearsSince(laid))
	}
	return o, true
}

// largest names the neighbourhoods that have an effect of their own.
func largest(roofs []*models.LivedRoof) map[string]bool {
	count := map[string]int{}
	for _, r := range roofs {
		if r.Neighbourhood != "" {
			count[r.Neighbourhood]++
		}
	}
	names := make([]string, 0, len(count))
	for name := range count {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int { return cmp.Or(count[b]-count[a], cmp.Compare(a, b)) })
	out := map[string]bool{}
	for _, name := range names[:min(len(names), mostNeighbourhoods)] {
		out[name] = true
	}
	return out
}

// era is the builder's decade of a house: "1970s", or empty where it is not known.
func era(buildYear *int) string {
	if buildYear == nil {
		return ""
	}
	return fmt.Sprintf("%ds", *buildYear/10*10)
}

// doubtOfMedian is the part of the table's variance of ln T that is doubt about
// where a company's own median lies; the rest is how roofs of one place differ.
// The logarithm of the shape is doubted by a quarter. Both are our own judgement,
// no source: the table's ranges say how much its sources differ, and do not say
// how much of that is from roof to roof.
const (
	doubtOfMedian = 0.25
	doubtOfShape  = 0.25
)

// ownPriors are the table's priors parted into the doubt of the median and the
// difference from roof to roof; together they are the table's.
func ownPriors() []survival.PoolPrior {
	var out []survival.PoolPrior
	for _, k := range lifespan.Table() {
		// The standard deviation of ln T of a Weibull is π/√6 over its shape.
		out = append(out, survival.PoolPrior{Covering: k.Key, MedianYears: k.Prior.Quantile(0.5), LogMedianSD: math.Sqrt(doubtOfMedian) * math.Pi / math.Sqrt(6) / k.Prior.Shape,
			Shape: k.Prior.Shape / math.Sqrt(1-doubtOfMedian), LogShapeSD: doubtOfShape})
	}
	return out
}

// lifeMark is what a life was made from.
type lifeMark struct {
	Laid          units.Dated
	EndedOn       units.Date
	EndReason     string
	Ours          bool
	Family        string
	Neighbourhood string
	Era           string
	Looks         []lookMark
}

type lookMark struct {
	On     units.Date
	Rating *float64
}

func mark(r *models.LivedRoof, looks []Look) lifeMark {
	m := lifeMark{Laid: r.Laid, EndedOn: r.EndedOn, EndReason: r.EndReason, Ours: r.Ours, Family: r.Family, Neighbourhood: r.Neighbourhood, Era: era(r.BuildYear)}
	for _, look := range looks {
		m.Looks = append(m.Looks, lookMark{look.Visit.DoneOn, look.Worn.Rating})
	}
	return m
}

func hashLives(marks []lifeMark, watches []models.Watch, readings []lifespan.Input, priors []survival.PoolPrior, lag float64) (string, error) {
	made := struct {
		Version  string
		Lag      float64
		Priors   []survival.PoolPrior
		Watches  [][3]string
		Lives    []lifeMark
		Readings []lifespan.Input
	}{LivesVersion, lag, priors, nil, marks, readings}
	for _, w := range watches {
		made.Watches = append(made.Watches, [3]string{w.Neighbourhood, w.FromOn.String(), w.ToOn.String()})
	}
	b, err := json.Marshal(made)
	if err != nil {
		return "", fmt.Errorf("marking what own lives were made from: %w", err)
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:]), nil
}

// keptFit is a fit as it is kept.
type keptFit struct {
	survival.PoolResult
	Curve *lifespan.CurveFit `json:"rating_curve,omitempty"`
}

// Record fits the lives and then the rating curve with the priors that they make,
// and gives the fit as it is kept. A fit that did not converge is an error.
func (l *Lives) Record(today units.Date) (models.LifeFit, error) {
	r, err := survival.Pool(l.Input)
	if err != nil {
		return models.LifeFit{}, fmt.Errorf("fitting own lives: %w", err)
	}
	if !r.Status.Converged {
		return models.LifeFit{}, fmt.Errorf("fitting own lives: %s", r.Status.Why)
	}
	kept := keptFit{PoolResult: r}
	if kept.Curve, err = FitCurve(l.reads, &Pooled{Fit: r}, l.branch, l.day+1); err != nil {
		return models.LifeFit{}, err
	}
	whole, err := json.Marshal(kept)
	if err != nil {
		return models.LifeFit{}, fmt.Errorf("keeping the fit of own lives: %w", err)
	}
	return models.LifeFit{AsOf: today, ModelVersion: LivesVersion, DataHash: l.Hash, Rows: r.Counts.Using,
		Events: r.Counts.Exact + r.Counts.Interval, Result: string(whole)}, nil
}

// Pooled is what own lives said, for the estimates that rest on it. A nil one has
// said nothing yet.
type Pooled struct {
	ID    int64
	AsOf  units.Date
	Fit   survival.PoolResult
	Curve *lifespan.CurveFit // nil where no roof was looked at
}

// ReadPooled reads what was kept; nil gives nil.
func ReadPooled(fit *models.LifeFit) (*Pooled, error) {
	if fit == nil {
		return nil, nil
	}
	var kept keptFit
	if err := json.Unmarshal([]byte(fit.Result), &kept); err != nil {
		return nil, fmt.Errorf("reading what own lives said on %s: %w", fit.AsOf, err)
	}
	return &Pooled{ID: fit.ID, AsOf: fit.AsOf, Fit: kept.PoolResult, Curve: kept.Curve}, nil
}

// Prior gives the prior of a kind of covering on houses of a neighbourhood and a
// year of building, with the factor that own lives make: where their median lies
// against the table's, what the neighbourhood and the era add, and what is still
// in doubt of it. The prior has the table's median and the spread that roofs of one
// place were found to have. It is not found where no life of the kind or of the
// groups was seen: the table alone then speaks.
func (p *Pooled) Prior(family, neighbourhood string, buildYear *int) (prior lifespan.Prior, factor lifespan.Factor, found bool) {
	if p == nil {
		return prior, factor, false
	}
	table, known := lifespan.For(family)
	life, pooled := p.Fit.Of(family, map[string]string{byNeighbourhood: neighbourhood, byEra: era(buildYear)})
	if !known || !pooled {
		return prior, factor, false
	}
	var lives, events float64
	for _, c := range p.Fit.Coverings {
		if c.Covering == family {
			lives, events = c.Lives, c.Events
		}
	}
	grouped := false
	for _, g := range p.Fit.Groups {
		grouped = grouped || (g.Kind == byNeighbourhood && g.Group == neighbourhood) || (g.Kind == byEra && g.Group == era(buildYear))
	}
	if lives == 0 && !grouped {
		return prior, factor, false
	}
	median := table.Quantile(0.5)
	prior = lifespan.Prior{Shape: min(max(life.Shape, 0.5), 20), Source: table.Source}
	prior.ScaleYears = median / math.Pow(math.Ln2, 1/prior.Shape)
	at := life.LogMedian - math.Log(median)
	const tenth = 1.2815515655446004 // the normal's 90 % point
	// To a thousandth, so that a fit that hardly moved moves no estimate; and
	// within what a factor may be.
	point := func(v float64) float64 { return min(max(math.Round(1000*math.Exp(v))/1000, 0.2), 5) }
	reason := fmt.Sprintf("%.0f roofs of this kind were watched, and %.0f of them wore out", lives, events)
	if lives == 0 {
		reason = "no roof of this kind was watched, but others of the same neighbourhood or age of house were"
	}
	return prior, lifespan.Factor{Name: "own lives", Class: lifespan.Quality, Low: point(at - tenth*life.SD), Mid: point(at), High: point(at + tenth*life.SD),
		Reason: reason, Source: "Own and watched roofs, " + p.AsOf.String() + ", pooled with the table."}, true
}

// prior puts what own lives say of how long coverings last into the input of an
// estimate, where they say anything.
func (p *Pooled) prior(in *lifespan.Input, family, neighbourhood string, buildYear *int) bool {
	prior, factor, found := p.Prior(family, neighbourhood, buildYear)
	if found {
		in.Prior = &prior
		in.Factors = append(p.beside(in.Factors, family), factor)
	}
	return found
}

// ofPlace are the factors that all roofs of a branch share.
var ofPlace = []string{"sun and heat", "freeze and thaw"}

// beside gives what of the factors is left to be said beside own lives, which were
// lived in the climate of the place and so tell it already: as much of its factors as
// they took of the table's doubt is in their own. Without that a hot place would be
// counted twice.
func (p *Pooled) beside(factors []lifespan.Factor, family string) []lifespan.Factor {
	told := 0.0
	for _, c := range p.Fit.Coverings {
		if c.Covering == family {
			told = min(max(c.Weight, 0), 1)
		}
	}
	out := slices.Clone(factors)
	for i := range out {
		if f := &out[i]; told > 0 && slices.Contains(ofPlace, f.Name) {
			f.Low, f.Mid, f.High = math.Pow(f.Low, 1-told), math.Pow(f.Mid, 1-told), math.Pow(f.High, 1-told)
			f.Reason += fmt.Sprintf("; own lives tell %.0f %% of it already", 100*told)
		}
	}
	return out
}

// apply puts what own lives and looks say into the input of an estimate, and gives
// the number of the fit, nil where it says nothing.
func (p *Pooled) apply(in *lifespan.Input, family, neighbourhood string, buildYear *int) *int64 {
	found := p.prior(in, family, neighbourhood, buildYear)
	if p != nil && p.Curve != nil && len(in.Readings) > 0 {
		in.CurvePower, found = &p.Curve.Power, true
	}
	if !found || p.ID == 0 {
		return nil
	}
	return &p.ID
}
