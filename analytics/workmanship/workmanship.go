package workmanship

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"overhang/analytics/owed"
	"overhang/analytics/survival"
	"overhang/analytics/units"
)

// UsualLevel is the level of ranges when none is asked for.
const UsualLevel = 0.95

// UsualYearsBefore is how many years of roofs before a change are held against
// those laid since, when it is not said. Our own judgement.
const UsualYearsBefore = 3.0

// falseAlarm is the chance, over all groups together, that one is called out
// although all are alike.
const falseAlarm = 0.05

// few is how many callbacks, expected or seen, a comparison needs before it says
// anything. Our own judgement.
const few = 5

// Roof is one roof that we laid.
type Roof struct {
	ID      string     `json:"id"`
	Crew    string     `json:"crew,omitempty"` // empty is not known
	LaidOn  units.Date `json:"laid_on"`
	Until   units.Date `json:"until,omitempty"`   // last day watched, where that is before the day asked about
	Squares float64    `json:"squares,omitempty"` // nought is not known
	// Details are how many of each kind it has, such as chimney or valley. A kind
	// that is not named is not known to be there.
	Details map[string]int `json:"details,omitempty"`
}

// Callback is one fault of the work, on the day it showed.
type Callback struct {
	Roof   string     `json:"roof"`
	On     units.Date `json:"on"`
	Cause  string     `json:"cause,omitempty"`  // empty is not found yet
	Detail string     `json:"detail,omitempty"` // the kind of detail, or the place, where it was
}

// Change is a change of practice, from a day on.
type Change struct {
	Name string     `json:"name"`
	On   units.Date `json:"on"`
	Crew string     `json:"crew,omitempty"` // empty is all crews
	// Causes that it should bear on; empty is all.
	Causes      []string `json:"causes,omitempty"`
	YearsBefore float64  `json:"years_before,omitempty"` // UsualYearsBefore when nought
}

// Input is what happened to the roofs that were laid.
type Input struct {
	AsOf      units.Date `json:"as_of"`
	Roofs     []Roof     `json:"roofs"`
	Callbacks []Callback `json:"callbacks,omitempty"`
	Changes   []Change   `json:"changes,omitempty"`
	Level     float64    `json:"level,omitempty"` // of ranges; UsualLevel when nought
}

// Finding is what can be said of a comparison.
type Finding string

// The findings.
const (
	TooFew      Finding = "too_few"       // to tell
	WithinAll   Finding = "within"        // what chance alone would give
	MoreThanAll Finding = "more"          // than chance alone would give
	FewerThan   Finding = "fewer"         // than chance alone would give
	NotWatched  Finding = "never_watched" // no time at risk
)

// Range is a figure with its interval at the level asked for.
type Range struct {
	Low    float64 `json:"low"`
	Middle float64 `json:"middle"`
	High   float64 `json:"high"`
}

// Group is what the roofs of one group have had. Expected, limits and pace are
// against the rates of all roofs at the same ages.
type Group struct {
	Name      string  `json:"name,omitempty"` // empty is not known, or all
	Roofs     int     `json:"roofs"`
	Squares   float64 `json:"squares"` // of the roofs whose size is known
	RoofYears float64 `json:"roof_years"`
	Callbacks int     `json:"callbacks"`
	Expected  float64 `json:"expected"`
	// LimitLow and LimitHigh are the numbers between which chance alone would leave
	// it.
	LimitLow  int     `json:"limit_low"`
	LimitHigh int     `json:"limit_high"`
	Finding   Finding `json:"finding"`
	// Pace is callbacks over those expected, drawn towards 1; nil without time at
	// risk. Pull is how much of it is that 1.
	Pace *Range  `json:"pace,omitempty"`
	Pull float64 `json:"pull"`
	// PerRoof and Per100Squares are the mean number to each age; squares only of
	// the roofs whose size is known.
	PerRoof       []survival.EventStep `json:"per_roof,omitempty"`
	Per100Squares []survival.EventStep `json:"per_100_squares,omitempty"`
}

// Cell is one crew and cause, or one crew and place.
type Cell struct {
	Crew      string  `json:"crew,omitempty"`
	Cause     string  `json:"cause,omitempty"`
	Detail    string  `json:"detail,omitempty"`
	Callbacks int     `json:"callbacks"`
	Expected  float64 `json:"expected"`
	LimitHigh int     `json:"limit_high"` // the most that chance alone would give
	Pace      Range   `json:"pace"`
}

// DetailRate is how often one kind of detail calls, for a hundred of them and a
// year; nil where it is not known how many there are.
type DetailRate struct {
	Detail    string `json:"detail"`
	Callbacks int    `json:"callbacks"`
	// Counted are those on roofs of which it is known that they have one, which the
	// rate is of.
	Counted     int     `json:"counted"`
	Details     int     `json:"details"` // on the roofs watched
	DetailYears float64 `json:"detail_years"`
	Per100Years *Range  `json:"per_100_years,omitempty"`
}

// CauseCount is how often a cause was found, and the ages at which.
type CauseCount struct {
	Cause     string  `json:"cause,omitempty"` // empty is not found yet
	Callbacks int     `json:"callbacks"`
	Per100    Range   `json:"per_100_roof_years"`
	AgeMiddle float64 `json:"age_middle_years"` // half came earlier
}

// Side is one side of a change.
type Side struct {
	Roofs     int     `json:"roofs"`
	RoofYears float64 `json:"roof_years"`
	Callbacks int     `json:"callbacks"`
	Expected  float64 `json:"expected"` // if nothing had changed
}

// Ratio is a ratio of two rates with its interval. High is nil where nothing
// bounds it, because nothing came on the side that it is measured by.
type Ratio struct {
	Low    float64  `json:"low"`
	Middle float64  `json:"middle"` // with half a callback added to each side
	High   *float64 `json:"high,omitempty"`
}

// BeforeAfter is what came before and after a change. Ratio is the rate of roofs
// laid since over that of roofs laid before, at equal ages; nil where nothing
// can be said. Others is the same for the other crews.
type BeforeAfter struct {
	Name    string  `json:"name"`
	UpToAge float64 `json:"up_to_age_years"`
	Before  Side    `json:"before"`
	After   Side    `json:"after"`
	Ratio   *Ratio  `json:"ratio,omitempty"`
	Finding Finding `json:"finding"` // more, fewer, within, too few or never watched
	Others  *Ratio  `json:"others,omitempty"`
}

// Result is where workmanship goes wrong.
type Result struct {
	Level float64 `json:"level"`
	// LimitLevel is that of the limits of one group: shared out over all.
	LimitLevel float64       `json:"limit_level"`
	Clump      float64       `json:"clump"` // callbacks of one size, at least 1
	All        Group         `json:"all"`
	Crews      []Group       `json:"crews"`
	Causes     []CauseCount  `json:"causes"`
	Details    []DetailRate  `json:"details"`
	StandOut   []Cell        `json:"stand_out"`
	Changes    []BeforeAfter `json:"changes,omitempty"`
	// LeftOut counts callbacks on no roof of the input, or outside its watch.
	LeftOut int `json:"left_out"`
}

// watched is a roof with its watch in years of age and what came.
type watched struct {
	Roof
	end    float64 // age at the end of the watch, years
	calls  []call
	expect float64
}

type call struct {
	age           float64
	cause, detail string
}

func (in Input) validate() error {
	if in.AsOf.IsZero() {
		return fmt.Errorf("as_of: is needed")
	}
	if in.Level != 0 && !(in.Level >= 0.5 && in.Level < 1) {
		return fmt.Errorf("level: must be at least 0.5 and below 1, not %v", in.Level)
	}
	seen := map[string]bool{}
	crews := map[string]bool{}
	for i, r := range in.Roofs {
		switch {
		case r.ID == "":
			return fmt.Errorf("roofs[%d].id: is needed", i)
		case seen[r.ID]:
			return fmt.Errorf("roofs[%d].id: %q is there twice", i, r.ID)
		case r.LaidOn.IsZero():
			return fmt.Errorf("roofs[%d].laid_on: is needed", i)
		case !(r.Squares >= 0 && r.Squares <= 1e6):
			return fmt.Errorf("roofs[%d].squares: must lie between 0 and 1,000,000, not %v", i, r.Squares)
		}
		for kind, n := range r.Details {
			if n < 0 || n > 1000 {
				return fmt.Errorf("roofs[%d].details: %s must be between 0 and 1,000, not %d", i, kind, n)
			}
		}
		seen[r.ID], crews[r.Crew] = true, true
	}
	if len(crews) > 200 {
		return fmt.Errorf("roofs: at most 200 crews can be compared, not %d", len(crews))
	}
	for i, c := range in.Callbacks {
		if c.Roof == "" || c.On.IsZero() {
			return fmt.Errorf("callbacks[%d]: a roof and a day are needed", i)
		}
	}
	for i, c := range in.Changes {
		if c.Name == "" || c.On.IsZero() {
			return fmt.Errorf("changes[%d]: a name and a day are needed", i)
		}
		if !(c.YearsBefore >= 0 && c.YearsBefore <= 100) {
			return fmt.Errorf("changes[%d].years_before: must lie between 0 and 100, not %v", i, c.YearsBefore)
		}
	}
	return nil
}

// Review says where workmanship goes wrong, and where nothing can be said yet.
func Review(in Input) (Result, error) {
	if err := in.validate(); err != nil {
		return Result{}, fmt.Errorf("reading where workmanship goes wrong: %w", err)
	}
	out := Result{Level: cmp.Or(in.Level, UsualLevel), Crews: []Group{}, Causes: []CauseCount{}, Details: []DetailRate{}, StandOut: []Cell{}}
	roofs, left := watch(in)
	out.LeftOut = left
	all := rates(roofs, nil)
	for _, w := range roofs {
		w.expect = all.expected(w.end)
	}
	out.Clump = clump(roofs)
	crews := byCrew(roofs)
	names := sortedKeys(crews)
	out.LimitLevel = 1 - falseAlarm/float64(max(1, len(names)))

	total := count(roofs, nil)
	whole, err := out.group("", roofs, total)
	if err != nil {
		return Result{}, err
	}
	out.All = whole
	seen := make([]owed.NamedGroup, len(names))
	for i, name := range names {
		g, err := out.group(name, crews[name], total)
		if err != nil {
			return Result{}, err
		}
		out.Crews = append(out.Crews, g)
		seen[i] = owed.NamedGroup{Name: name, Count: float64(g.Callbacks) / out.Clump, Years: g.Expected / out.Clump}
	}
	paces, err := shrink(seen, out.Level)
	if err != nil {
		return Result{}, err
	}
	for i := range out.Crews {
		out.Crews[i].Pace, out.Crews[i].Pull = paces[i].pace, paces[i].pull
	}
	if len(roofs) > 0 {
		out.Causes, out.Details = out.causes(roofs), out.details(roofs)
	}
	if out.StandOut, err = out.standOut(roofs, names); err != nil {
		return Result{}, err
	}
	for _, c := range in.Changes {
		out.Changes = append(out.Changes, out.beforeAfter(c, roofs, in.AsOf))
	}
	return out, nil
}

// watch gives the roofs with time at risk, and how many callbacks belong to none.
func watch(in Input) (roofs []*watched, left int) {
	place := map[string]*watched{}
	for _, r := range in.Roofs {
		until := in.AsOf
		if !r.Until.IsZero() {
			until = min(until, r.Until)
		}
		if until < r.LaidOn {
			continue
		}
		// The day laid and the last day are watched both.
		w := &watched{Roof: r, end: (until + 1).YearsSince(r.LaidOn)}
		roofs = append(roofs, w)
		place[r.ID] = w
	}
	for _, c := range in.Callbacks {
		w := place[c.Roof]
		if w == nil || c.On < w.LaidOn {
			left++
			continue
		}
		age := (c.On + 1).YearsSince(w.LaidOn)
		if age > w.end {
			left++
			continue
		}
		w.calls = append(w.calls, call{age, c.Cause, c.Detail})
	}
	return roofs, left
}

func byCrew(roofs []*watched) map[string][]*watched {
	out := map[string][]*watched{}
	for _, w := range roofs {
		out[w.Crew] = append(out[w.Crew], w)
	}
	return out
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// count counts the callbacks that a test lets through; nil lets all through.
func count(roofs []*watched, of func(call) bool) int {
	n := 0
	for _, w := range roofs {
		for _, c := range w.calls {
			if of == nil || of(c) {
				n++
			}
		}
	}
	return n
}

// byAge are rates by year since laying, of all roofs.
type byAge []float64

// rates gives the rate of each year since laying, of the callbacks that a test
// lets through.
func rates(roofs []*watched, of func(call) bool) byAge {
	var time, came []float64
	for _, w := range roofs {
		for len(time) < int(math.Ceil(w.end)) {
			time, came = append(time, 0), append(came, 0)
		}
		for year := 0; float64(year) < w.end; year++ {
			time[year] += min(1, w.end-float64(year))
		}
		for _, c := range w.calls {
			if of == nil || of(c) {
				came[yearOf(c.age)]++
			}
		}
	}
	out := make(byAge, len(time))
	for i := range out {
		if time[i] > 0 {
			out[i] = came[i] / time[i]
		}
	}
	return out
}

// yearOf is the year since laying in which an age above nought lies; its end is
// its own.
func yearOf(age float64) int { return max(0, int(math.Ceil(age))-1) }

// expected is the number that the rates lead one to expect up to an age.
func (b byAge) expected(age float64) float64 {
	sum := 0.0
	for year := 0; year < len(b) && float64(year) < age; year++ {
		sum += b[year] * min(1, age-float64(year))
	}
	return sum
}

// clump is by how much the roofs' numbers vary more than Poisson ones would.
func clump(roofs []*watched) float64 {
	var over, expect float64
	for _, w := range roofs {
		n := float64(len(w.calls))
		over += (n - w.expect) * (n - w.expect)
		expect += w.expect
	}
	if expect == 0 {
		return 1
	}
	return max(1, over/expect)
}

func (r *Result) group(name string, roofs []*watched, total int) (Group, error) {
	g := Group{Name: name, Roofs: len(roofs), Finding: NotWatched}
	var ends, sized []survival.EventRow
	for _, w := range roofs {
		g.Squares += w.Squares
		g.RoofYears += w.end
		g.Expected += w.expect
		g.Callbacks += len(w.calls)
		rows := []survival.EventRow{{Unit: w.ID, Age: w.end, Event: flag(false)}}
		for _, c := range w.calls {
			rows = append(rows, survival.EventRow{Unit: w.ID, Age: c.age, Event: flag(true)})
		}
		ends = append(ends, rows...)
		if w.Squares > 0 {
			hundreds := w.Squares / 100
			rows[0].Size = &hundreds
			sized = append(sized, rows...)
		}
	}
	if len(roofs) == 0 {
		return g, nil
	}
	for rows, to := range map[*[]survival.EventRow]*[]survival.EventStep{&ends: &g.PerRoof, &sized: &g.Per100Squares} {
		if len(*rows) == 0 {
			continue
		}
		curve, err := survival.Events(survival.EventsInput{Rows: *rows, Level: r.Level})
		if err != nil {
			return g, fmt.Errorf("drawing the callbacks of %q: %w", name, err)
		}
		*to = curve.Steps
	}
	g.LimitLow, g.LimitHigh = limits(g.Expected, total, r.Clump, r.LimitLevel)
	g.Finding = finding(g.Callbacks, g.Expected, g.LimitLow, g.LimitHigh)
	return g, nil
}

func finding(seen int, expected float64, low, high int) Finding {
	switch {
	case seen > high:
		return MoreThanAll
	case seen < low:
		return FewerThan
	case max(float64(seen), expected) < few:
		return TooFew
	}
	return WithinAll
}

func flag(f survival.Flag) *survival.Flag { return &f }

type shrunk struct {
	pace *Range
	pull float64
}

// shrink draws counts over what was expected towards what all have in common.
func shrink(groups []owed.NamedGroup, level float64) ([]shrunk, error) {
	out := make([]shrunk, len(groups))
	r, err := owed.Rates(owed.RatesInput{Groups: groups, Level: level})
	if err != nil {
		return nil, fmt.Errorf("comparing the paces: %w", err)
	}
	for i, g := range r.Groups {
		if g.Rate != nil && g.Years > 0 {
			out[i] = shrunk{&Range{min(*g.Low, *g.Rate), *g.Rate, max(*g.High, *g.Rate)}, g.Pull}
		}
	}
	return out, nil
}
