package hindsight

import (
	"fmt"
	"math"
	"slices"
)

// Ranged is a number with its standard error by roof and the range that holds the
// true one 95 times in 100. The range is nil with fewer than FewRoofs roofs.
type Ranged struct {
	Value float64  `json:"value"`
	SE    *float64 `json:"se,omitempty"`
	Low   *float64 `json:"low,omitempty"`
	High  *float64 `json:"high,omitempty"`
}

// Share is how often something lay in the range that was said to hold it 80
// times in 100: by what is seen for certain, and by the curve.
type Share struct {
	Inside   int     `json:"inside"`          // certainly
	Outside  int     `json:"outside"`         // certainly
	NotKnown int     `json:"not_known"`       // or, of a reading at an end of the scale, both: its lump reaches over a bound
	Share    *Ranged `json:"share,omitempty"` // by the curve; nil where it was not seen to 90 %
}

// Versus is a rival's score on the cases where it has something to say, beside
// ours on the same.
type Versus struct {
	Rival      string  `json:"rival"`
	Cases      int     `json:"cases"`
	Ours       float64 `json:"ours"`
	Theirs     float64 `json:"theirs"`
	Difference Ranged  `json:"difference"` // theirs less ours: above nought we were the better
}

// Verdict is what can be concluded.
type Verdict string

// The verdicts. TooFew concludes nothing. NotRefuted is not proof. TooLate says
// that what was foretold came earlier (wear) or lower (readings) than foretold:
// the estimates are too hopeful. TooEarly is the contrary. TooSure says that the
// ranges are too narrow, TooUnsure that they are too wide. Off is another shape.
// Readings that lean to one side are said to, however wide their ranges are.
const (
	TooFew     Verdict = "too few"
	NotRefuted Verdict = "not refuted"
	TooLate    Verdict = "too hopeful"
	TooEarly   Verdict = "too gloomy"
	TooSure    Verdict = "too sure"
	TooUnsure  Verdict = "too unsure"
	Off        Verdict = "off"
)

// Lives is how right the estimates of T were.
type Lives struct {
	Cases   int `json:"cases"`
	Roofs   int `json:"roofs"`
	WornOut int `json:"worn_out"` // cases whose wear was seen
	// WornOutRoofs is how many roofs these are.
	WornOutRoofs int `json:"worn_out_roofs"`

	// Foretold is how many of the cases were foretold to be worn out by the age to
	// which they were seen, Ratio the number worn out over it.
	Foretold float64 `json:"foretold_worn_out"`
	Ratio    *Ranged `json:"ratio,omitempty"` // nil where none was foretold

	Within  Share    `json:"within_80"`
	Score   Ranged   `json:"score_years"`
	Rivals  []Versus `json:"rivals"`
	Verdict Verdict  `json:"verdict"`
	Note    string   `json:"note,omitempty"`
}

// Readings is how right the forecasts of the next rating were.
type Readings struct {
	Cases   int      `json:"cases"`
	Roofs   int      `json:"roofs"`
	Error   Ranged   `json:"mean_error_points"` // reading less the mean foretold
	Within  Share    `json:"within_80"`
	Score   Ranged   `json:"score_points"`
	Rivals  []Versus `json:"rivals"`
	Verdict Verdict  `json:"verdict"`
	Note    string   `json:"note,omitempty"`
}

// Group is one of a split: lives by what was known at the estimate; readings by
// the same, but by their own method, estimate and inspector.
type Group struct {
	Name     string    `json:"name"`
	Lives    *Lives    `json:"lives,omitempty"`
	Readings *Readings `json:"readings,omitempty"`
}

// Split is the results by one thing.
type Split struct {
	By     string  `json:"by"` // covering, age, readings, method, estimate, inspector
	Groups []Group `json:"groups"`
}

// Row is one case with its figures, in the order of the input.
type Row struct {
	Low    float64  `json:"foretold_low"`           // the chance foretold for the earliest age at which it can have worn out
	High   float64  `json:"foretold_high"`          // and for the latest; 1 where that is not seen yet
	Score  *float64 `json:"score_years,omitempty"`  // before weighing
	Next   *float64 `json:"next_share,omitempty"`   // the chance foretold for a rating up to the one read
	Mean   *float64 `json:"next_mean,omitempty"`    // of the rating foretold
	Points *float64 `json:"score_points,omitempty"` // of the rating
}

// Result is how right the estimates have been.
type Result struct {
	// HorizonYears is the time after the estimate to which the score of T goes.
	HorizonYears float64 `json:"horizon_years"`

	Lives         Lives     `json:"lives"`
	Curve         Curve     `json:"curve"`
	Readings      *Readings `json:"readings,omitempty"`
	ReadingsCurve *Curve    `json:"readings_curve,omitempty"`
	Splits        []Split   `json:"splits"`
	Rows          []Row     `json:"rows"`
	Says          []string  `json:"says"`
}

// groupDrawings is for the groups, whose range is not drawn.
const groupDrawings = 40

// z95 is the normal quantile of 97.5 %.
const z95 = 1.959963984540054

// Check scores past estimates against what was later seen. It fails only on
// input outside the documented bounds, with an error that names the field and
// the rule.
func Check(in Input) (Result, error) {
	cases, _, c, err := in.read()
	if err != nil {
		return Result{}, fmt.Errorf("checking past estimates: %w", err)
	}
	w := watchedFor(cases)
	out := Result{HorizonYears: w.horizon, Rows: make([]Row, len(cases)), Splits: []Split{}}
	scored := make([]scores, len(cases))
	next := make([]nextScores, len(cases))
	for i := range cases {
		t := &cases[i]
		scored[i] = w.score(t)
		p := t.place(t.ours)
		out.Rows[i].Low, out.Rows[i].High = 1, 0
		for _, s := range p.stretches {
			out.Rows[i].Low, out.Rows[i].High = min(out.Rows[i].Low, s.low), max(out.Rows[i].High, s.high)
		}
		out.Rows[i].Score = &scored[i].ours
		if t.Next != nil {
			next[i] = t.foretell(c)
			out.Rows[i].Next, out.Rows[i].Mean, out.Rows[i].Points = new(next[i].share), new(next[i].mean), new(next[i].ours)
		}
	}
	all := make([]int, len(cases))
	for i := range all {
		all[i] = i
	}
	var s spread
	out.Lives, s = lives(cases, scored, all, drawings)
	out.Curve = s.curve()
	out.Lives.judge(&s, out.Curve)
	if r, s := readings(cases, next, all, drawings); r != nil {
		curve := s.curve()
		r.judge(s, curve)
		out.Readings, out.ReadingsCurve = r, &curve
	}
	for _, by := range splits {
		out.Splits = append(out.Splits, Split{By: by.by, Groups: groupsOf(cases, scored, next, by.by, by.key, by.rank)})
	}
	out.Says = out.says()
	return out, nil
}

func groupsOf(cases []taken, scored []scores, next []nextScores, by string, key func(*Case) string, rank func(string) int) []Group {
	ofLives, ofReadings := map[string][]int{}, map[string][]int{}
	var names []string
	for i := range cases {
		t := &cases[i]
		name := key(t.Case)
		ofLives[name] = append(ofLives[name], i)
		names = append(names, name)
		if t.Next == nil {
			continue
		}
		switch by {
		case "method":
			name = t.Next.Method
		case "estimate":
			name = t.Next.Estimate
		case "inspector":
			name = t.Next.By
		}
		ofReadings[name] = append(ofReadings[name], i)
		names = append(names, name)
	}
	sortNames(names, rank)
	var out []Group
	for _, name := range slices.Compact(names) {
		g := Group{Name: name}
		if of := ofLives[name]; len(of) > 0 {
			l, s := lives(cases, scored, of, groupDrawings)
			l.judge(&s, s.curve())
			g.Lives = &l
		}
		if r, s := readings(cases, next, ofReadings[name], groupDrawings); r != nil {
			r.judge(s, s.curve())
			g.Readings = r
		}
		out = append(out, g)
	}
	return out
}

// scores are those of one case: ours, the rivals' and its weights in all.
type scores struct {
	ours   float64
	rivals [len(rivalNames)]float64
}

// watched is the curve of being watched so many years after the estimate, by
// steps of stepYears from the earliest.
type watched struct {
	from    float64
	weight  []float64 // the inverse of the curve, at the middle of each step
	horizon float64
}

const (
	stepYears     = 0.1
	leastWatched  = 0.1 // the share still watched at the horizon
	mostStepYears = 300
)

// watchedFor makes the Kaplan–Meier curve of being watched: here being lost from
// sight is the event, and wearing out ends the watch before it.
func watchedFor(cases []taken) watched {
	type end struct {
		years float64
		lost  bool
	}
	ends := make([]end, len(cases))
	for i := range cases {
		ends[i] = end{cases[i].proxy - cases[i].AgeYears, !cases[i].worn}
	}
	slices.SortFunc(ends, func(a, b end) int {
		switch {
		case a.years < b.years:
			return -1
		case a.years > b.years:
			return 1
		}
		return 0
	})
	w := watched{from: math.Floor(min(ends[0].years, 0)/stepYears) * stepYears}
	share, at := 1.0, 0
	for step := 0; float64(step)*stepYears < mostStepYears; step++ {
		middle := w.from + (float64(step)+0.5)*stepYears
		for at < len(ends) && ends[at].years < middle {
			years, lost, worn := ends[at].years, 0, 0
			first := at
			for ; at < len(ends) && ends[at].years == years; at++ {
				if ends[at].lost {
					lost++
				} else {
					worn++
				}
			}
			// At one age those that wear out come before those lost from sight.
			if risk := len(ends) - first - worn; risk > 0 {
				share *= 1 - float64(lost)/float64(risk)
			}
		}
		if share < leastWatched || at == len(ends) && share < 1 {
			break
		}
		w.weight = append(w.weight, 1/share)
		w.horizon = max(middle+stepYears/2, 0)
	}
	return w
}

// score integrates each forecast's squared error over the years to the horizon,
// so far as the state of the case is known.
func (w *watched) score(t *taken) (out scores) {
	forecasts := [1 + len(rivalNames)]forecast{t.ours}
	copy(forecasts[1:], t.rivals[:])
	for k, f := range forecasts {
		if f == nil {
			continue
		}
		sum := 0.0
		ended := 0.0 // the weight from its wearing out on
		// The years before the first step, where all are watched.
		first := t.AgeYears + w.from
		for z := first - stepYears/2; z > 0; z -= stepYears {
			below := f.below(z)
			if below < 1e-9 {
				break
			}
			sum += below * below * stepYears
		}
		for i, weight := range w.weight {
			z := first + (float64(i)+0.5)*stepYears
			if z < 0 {
				continue
			}
			if z < t.proxy {
				below := f.below(z)
				sum += weight * below * below * stepYears
				continue
			}
			if !t.worn {
				break
			}
			if ended == 0 {
				ended = weight
				if i > 0 {
					ended = w.weight[i-1]
				}
			}
			above := 1 - f.below(z)
			if above < 1e-9 {
				break
			}
			sum += ended * above * above * stepYears
		}
		if k == 0 {
			out.ours = sum
		} else {
			out.rivals[k-1] = sum
		}
	}
	return out
}

// byRoof gives the mean of values with its standard error, a roof's values taken
// together.
func byRoof(values []float64, roofs []int) Ranged {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	n := float64(len(values))
	out := Ranged{Value: sum / n}
	left := map[int]float64{}
	for i, v := range values {
		left[roofs[i]] += v - out.Value
	}
	if len(left) < FewRoofs {
		return out
	}
	square := 0.0
	for _, roof := range slices.Sorted(mapKeys(left)) {
		square += left[roof] * left[roof]
	}
	k := float64(len(left))
	return out.plus(math.Sqrt(square*k/(k-1)) / n)
}

func mapKeys[V any](m map[int]V) func(yield func(int) bool) {
	return func(yield func(int) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// plus gives the number its range.
func (r Ranged) plus(se float64) Ranged {
	r.SE, r.Low, r.High = &se, new(r.Value-z95*se), new(r.Value+z95*se)
	return r
}

// renumbered numbers the roofs of some cases from 0.
func renumbered(cases []taken, of []int) (roofs []int, count int) {
	numbers := map[int]int{}
	for _, i := range of {
		n, found := numbers[cases[i].roof]
		if !found {
			n = len(numbers)
			numbers[cases[i].roof] = n
		}
		roofs = append(roofs, n)
	}
	return roofs, len(numbers)
}

func lives(cases []taken, scored []scores, of []int, draws int) (Lives, spread) {
	roofs, count := renumbered(cases, of)
	out := Lives{Cases: len(of), Roofs: count, Rivals: []Versus{}}
	var places []place
	var ours, beyond []float64
	worn := map[int]bool{}
	for k, i := range of {
		t := &cases[i]
		p := t.place(t.ours)
		p.cluster = roofs[k]
		places = append(places, p)
		out.Within.add(p)
		ours = append(ours, scored[i].ours)
		out.Foretold += t.hazard
		left := -t.hazard
		if t.worn {
			out.WornOut++
			worn[t.roof] = true
			left++
		}
		beyond = append(beyond, left)
	}
	out.WornOutRoofs = len(worn)
	out.Score = byRoof(ours, roofs)
	if out.Foretold > 0 {
		ratio := Ranged{Value: float64(out.WornOut) / out.Foretold}
		if m := byRoof(beyond, roofs); m.SE != nil {
			ratio = ratio.plus(*m.SE * float64(len(of)) / out.Foretold)
			ratio.Low = new(max(*ratio.Low, 0))
		}
		out.Ratio = &ratio
	}
	for rival, name := range rivalNames {
		out.Rivals = versus(out.Rivals, name, cases, of, func(i int) (ours, theirs float64, known bool) {
			return scored[i].ours, scored[i].rivals[rival], cases[i].rivals[rival] != nil
		})
	}
	s := spreadOf(places, count, draws)
	out.Within.read(&s)
	return out, s
}

// versus adds a rival's comparison, where it has any case.
func versus(to []Versus, name string, cases []taken, of []int, scores func(i int) (ours, theirs float64, known bool)) []Versus {
	v := Versus{Rival: name}
	var differences []float64
	var roofs []int
	for _, i := range of {
		ours, theirs, known := scores(i)
		if !known {
			continue
		}
		v.Cases++
		v.Ours += ours
		v.Theirs += theirs
		differences, roofs = append(differences, theirs-ours), append(roofs, cases[i].roof)
	}
	if v.Cases == 0 {
		return to
	}
	v.Ours /= float64(v.Cases)
	v.Theirs /= float64(v.Cases)
	v.Difference = byRoof(differences, roofs)
	return append(to, v)
}

// add counts one case as certainly inside, certainly outside or not known.
func (s *Share) add(p place) {
	low, high := 1.0, 0.0
	for _, x := range p.stretches {
		low, high = min(low, x.low), max(high, x.high)
	}
	switch {
	case low >= 0.1 && high <= 0.9:
		s.Inside++
	case low >= 0.9 || high <= 0.1:
		s.Outside++
	default:
		s.NotKnown++
	}
}

func (s *Share) read(from *spread) {
	if from.seenTo < 0.9-1e-9 {
		return
	}
	share, sd := from.between(0.1, 0.9)
	r := Ranged{Value: share}
	if from.roofs >= FewRoofs {
		r = r.plus(sd)
		r.Low, r.High = new(max(*r.Low, 0)), new(min(*r.High, 1))
	}
	s.Share = &r
}

// verdict reads the curve: where it leaves its band, whether that is for its
// middle or for its width.
func verdict(s *spread, c Curve) Verdict {
	if c.Furthest <= c.Allowed {
		return NotRefuted
	}
	// The middle, or as far up as was seen.
	to := min(0.5, s.seenTo)
	lower, sd := s.between(0, to)
	shift := (lower - to) / max(sd, 1e-9)
	width := 0.0
	if s.seenTo >= 0.9-1e-9 {
		inside, sd := s.between(0.1, 0.9)
		width = (inside - 0.8) / max(sd, 1e-9)
	}
	switch {
	case math.Abs(shift) < z95 && math.Abs(width) < z95:
		return Off
	case math.Abs(shift) >= math.Abs(width) && shift > 0:
		return TooLate
	case math.Abs(shift) >= math.Abs(width):
		return TooEarly
	case width < 0:
		return TooSure
	}
	return TooUnsure
}

func (l *Lives) judge(s *spread, c Curve) {
	if l.Roofs < FewRoofs || l.WornOutRoofs < FewWornOut || s.seenTo == 0 {
		l.Verdict = TooFew
		l.Note = fmt.Sprintf("Only %d of %d roofs were seen to wear out; fewer than %d tell nothing of how right the years were.", l.WornOutRoofs, l.Roofs, FewWornOut)
		return
	}
	l.Verdict = verdict(s, c)
}

func (r *Readings) judge(s *spread, c Curve) {
	if r.Roofs < FewRoofs || s.seenTo == 0 {
		r.Verdict = TooFew
		r.Note = fmt.Sprintf("Later readings of %d roofs only; fewer than %d tell nothing.", r.Roofs, FewRoofs)
		return
	}
	r.Verdict = verdict(s, c)
	// A lean is said before the width: it is what to put right first.
	if e := r.Error; e.Low != nil && (r.Verdict == TooSure || r.Verdict == TooUnsure || r.Verdict == Off) {
		switch {
		case *e.Low > 0:
			r.Verdict = TooEarly
		case *e.High < 0:
			r.Verdict = TooLate
		}
	}
}

// nextScores are those of the next reading of one case.
type nextScores struct {
	ours, share, mean float64
	stretch           stretch
	rivals            [len(rivalNames)]float64
}

// foretell scores the forecast of the next rating. The straight line goes from
// 100 when new through the last rating, and the table minus age is the curve to
// the table's median: both as if they were certain.
func (t *taken) foretell(c curveOf) (out nextScores) {
	n := t.Next
	c.power = or(t.CurvePower, c.power)
	shown := or(n.ShownShare, 1)
	f := ratings(t.ours, n.AgeYears, t.nextError, shown, n.Before, c)
	low, high := f.share(n.Rating)
	out.ours, out.mean, out.share, out.stretch = f.score(n.Rating), f.mean, (low+high)/2, stretch{low, high}.wide()
	if rival := t.rivals[ageOnly]; rival != nil {
		out.rivals[ageOnly] = ratings(rival, n.AgeYears, t.nextError, shown, nil, c).score(n.Rating)
	}
	if t.TableAgeYears != nil {
		rating := 100 - shown*(100-c.rating(n.AgeYears, *t.TableAgeYears))
		out.rivals[tableMinusAge] = math.Abs(rating - n.Rating)
	}
	if t.LastRating != nil {
		rating := *t.LastRating
		if *t.LastRatingAgeYears > 0 {
			rating = max(100 - (100-rating)*n.AgeYears / *t.LastRatingAgeYears, 0)
		}
		out.rivals[straightLine] = math.Abs(rating - n.Rating)
	}
	return out
}

func readings(cases []taken, next []nextScores, of []int, draws int) (*Readings, *spread) {
	var with []int
	for _, i := range of {
		if cases[i].Next != nil {
			with = append(with, i)
		}
	}
	if len(with) == 0 {
		return nil, nil
	}
	roofs, count := renumbered(cases, with)
	out := &Readings{Cases: len(with), Roofs: count, Rivals: []Versus{}}
	var places []place
	var errs, ours []float64
	for k, i := range with {
		p := place{stretches: []stretch{next[i].stretch}, cluster: roofs[k]}
		places = append(places, p)
		out.Within.add(p)
		errs, ours = append(errs, cases[i].Next.Rating-next[i].mean), append(ours, next[i].ours)
	}
	out.Error, out.Score = byRoof(errs, roofs), byRoof(ours, roofs)
	for rival, name := range rivalNames {
		out.Rivals = versus(out.Rivals, name, cases, with, func(i int) (ours, theirs float64, known bool) {
			return next[i].ours, next[i].rivals[rival], cases[i].rivals[rival] != nil
		})
	}
	s := lumpsOf(places, count, draws)
	out.Within.read(&s)
	return out, &s
}
