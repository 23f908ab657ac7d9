package portfolio

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"overhang/analytics/owed"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
)

// Books are the records that the reserve is made from.
type Books struct {
	Files     []models.RoofFile // every roof that is ours or promised on
	Callbacks []models.Callback // all, also those whose roof is not known
	Lines     []models.CostLine // all
	Plans     []models.Plan
	Lots      map[int64]string          // by job: the lot that most of it was laid with
	Lives     map[int64]KnownLife       // by roof: the newest estimate
	Verdicts  map[int64]promise.Verdict // by roof, of its ventilation
	Closed    []models.ClosedMonth      // in order
	Booked    []models.BookedEntry      // of the closed months
	Branch    *models.Branch
}

// LedgerLine is an entry of the ledger with the cost line that it books.
type LedgerLine struct {
	owed.Booked
	CostLineID int64  // 0: it books none
	Bearer     string // of the cost line; empty counts as us
	Kept       bool   // in a closed month
}

// Unbooked is a cost line that is not in the ledger, or not to the cent.
type Unbooked struct {
	CostLineID  int64
	CallbackRef string
	Line        units.Money // what the records say
	Booked      units.Money
}

// CostTie sets the cost lines beside what is booked of them.
type CostTie struct {
	Lines    int
	Sum      units.Money // of the cost lines
	Paid     units.Money // booked as paid, less what was returned
	Back     units.Money // booked as recovered
	Others   units.Money // of Paid less Back: borne by others than us, and in neither view ahead
	Ahead    int         // lines that are of a later day, or learned later
	AheadSum units.Money
	Differ   []Unbooked
}

// Ties says whether the ledger holds the cost lines to the cent.
func (t CostTie) Ties() bool { return t.Sum == t.Paid-t.Back && len(t.Differ) == 0 }

// ReserveBook is the year-end drawer on a day: what to set aside by two views,
// and the ledger that leads there.
type ReserveBook struct {
	AsOf    units.Date
	Month   string // of a closed month; empty: it is open
	Rate    float64
	Ledger  owed.LedgerResult
	Entries []LedgerLine
	Reserve owed.ReserveResult
	// Callbacks and MeanCost are what is expected of the promises in force; nil
	// where it is not known.
	Callbacks *float64
	MeanCost  *units.Money
	// YearsEach is how many years a row and a column of the triangle that was
	// carried forward hold.
	YearsEach int
	// Triangle is what we bore, net of what came back, by year laid and year since,
	// of the roofs laid since the first payment was written down: of older ones the
	// first years are not known.
	Triangle  [][]units.Money
	FirstYear int
	OtherRule *owed.TriangleResult // by the rule for the last σ² that was not asked for
	Tie       CostTie
	Loose     int // cost lines of no roof that is known: they stand in the year they were paid
	Prepaid   []owed.PrepaidMonth
	Faults    []string // roofs whose promises could not be judged, and why
}

const us = "us"

func ours(bearer string) bool { return bearer == "" || bearer == us || bearer == "goodwill" }

// costEntry is how a cost line stands in the ledger: what lowers a cost is no
// cost, and what a line takes back corrects the column that it was booked in.
func costEntry(kind string, amount units.Money) (column owed.EntryKind, value units.Money) {
	switch kind {
	case "recovery":
		return owed.Recovered, -amount
	case "credit":
		return owed.Returned, -amount
	}
	return owed.Paid, amount
}

// booksBy says whether a cost line is of a day, and was known on another.
func booksBy(l *models.CostLine, asOf, known units.Date) bool {
	return l.On <= asOf && max(l.On, l.LearnedOn) <= known
}

// net is what an entry is in the sum of the cost lines.
func net(e owed.Entry) units.Money {
	column := e.Kind
	if column == owed.Corrected {
		column = cmp.Or(e.Corrects, owed.Paid)
	}
	switch column {
	case owed.Paid:
		return e.Amount
	case owed.Returned, owed.Recovered:
		return -e.Amount
	}
	return 0
}

// cohorts gives the year laid of each roof, as the promises on it have it.
func cohorts(files []models.RoofFile) map[int64]int {
	out := make(map[int64]int, len(files))
	for i := range files {
		f := &files[i]
		laid := f.Roof.Laid.On
		for _, w := range f.Warranties {
			if laid.IsZero() && w.OwedBy == us {
				laid = w.StartOn
			}
		}
		if !laid.IsZero() {
			out[f.Roof.ID] = laid.Year()
		}
	}
	return out
}

// borne gives what of each callback we bear, and the day of its last cost, by the
// lines of one day that were known on another.
func borne(lines []models.CostLine, callbacks map[int64]*models.Callback, asOf, known units.Date) (map[int64]units.Money, map[int64]units.Date) {
	costs, on := map[int64]units.Money{}, map[int64]units.Date{}
	for i := range lines {
		l := &lines[i]
		c := callbacks[l.CallbackID]
		if c == nil || !booksBy(l, asOf, known) {
			continue
		}
		amount := l.Cost()
		if back := l.Kind == "recovery" || l.Kind == "credit"; !back && !ours(cmp.Or(l.Bearer, c.Bearer)) {
			amount = 0
		}
		costs[c.ID] += amount
		on[c.ID] = max(on[c.ID], l.On)
	}
	return costs, on
}

// knownOn gives the roofs as they were known on a day: without callbacks that
// nobody had told us of, with what was found or decided later still open, and
// without an end that was still to come.
func knownOn(files []models.RoofFile, day units.Date) []models.RoofFile {
	out := slices.Clone(files)
	for i := range out {
		var then []models.Callback
		for _, c := range out[i].Callbacks {
			if c.LearnedOn > day {
				continue
			}
			if c.ClosedOn > day {
				c.State, c.ClosedOn = "repaired", 0
			}
			if c.LookedOn > day {
				c.CauseFound = ""
			}
			if c.State == "refused" && c.DecidedOn > day {
				c.State = "looked"
			}
			then = append(then, c)
		}
		out[i].Callbacks = then
		if out[i].Roof.EndedOn > day {
			out[i].Roof.EndedOn = 0
		}
	}
	return out
}

// Reserve makes the drawer as of a day, from what was known on another, which is
// the same or later: a month is measured on its last day and closed some days
// after. What the closed months booked is taken as it stands; what the records
// say beyond that lands in the months that are open. What is owed is that of
// OwedModel, so that the drawer says what the other pages say.
func Reserve(b Books, asOf, known units.Date, rule owed.LastSigma) (*ReserveBook, error) {
	r := &ReserveBook{AsOf: asOf, Rate: b.Branch.DiscountRate}
	files := knownOn(b.Files, known)
	callbacks := make(map[int64]*models.Callback, len(b.Callbacks))
	for i := range b.Callbacks {
		callbacks[b.Callbacks[i].ID] = &b.Callbacks[i]
	}
	rec := OwedRecords{Lots: b.Lots, Promises: map[int64][]Judged{}, Branch: b.Branch, Lives: make(map[int64]owed.YearsLeft, len(b.Lives))}
	rec.Costs, rec.CostOn = borne(b.Lines, callbacks, asOf, known)
	for roof, life := range b.Lives {
		rec.Lives[roof] = life.Left(asOf, b.Branch.StandingLagYears)
	}
	for i := range files {
		f := &files[i]
		judged, err := JudgePromises(f, b.Verdicts[f.Roof.ID], asOf)
		if err != nil { // as on every other page: one roof must not hide the others
			r.Faults = append(r.Faults, f.Roof.Ref+": "+err.Error())
		}
		rec.Promises[f.Roof.ID] = judged
	}
	in := OwedModel(files, rec, asOf)
	// A promise that is given after the day is not owed on it.
	in.Roofs = slices.DeleteFunc(in.Roofs, func(p owed.ModelRoof) bool { return p.From > asOf })
	fit, err := owed.Fit(in)
	if err != nil {
		return nil, wrap("finding the rates of callbacks", err)
	}
	ahead, err := fit.Result()
	if err != nil {
		return nil, wrap("finding what is owed", err)
	}
	laid, refs := cohorts(files), map[string]string{}
	for i := range in.Roofs {
		p := &in.Roofs[i]
		laid[ID(p.ID)] = cmp.Or(p.LaidOn, p.From).Year()
	}
	for i := range files {
		if p := held(rec.Promises[files[i].Roof.ID]); p != nil {
			refs[id(files[i].Roof.ID)] = p.Warranty.Ref
		}
	}

	if ahead.Total.Expected != nil {
		r.Callbacks = &ahead.Total.Callbacks
		if ahead.Total.Callbacks > 0 {
			mean := ahead.Total.Expected.Times(1 / ahead.Total.Callbacks)
			r.MeanCost = &mean
		}
	}

	ledger := owed.LedgerInput{AsOf: known}
	lastClosed, lastMonth := units.Date(0), units.Month(0)
	for _, m := range b.Closed {
		ledger.Closings = append(ledger.Closings, owed.Closing{Month: m.Month, ClosedOn: m.ClosedOn})
		lastClosed = m.ClosedOn
		lastMonth = m.ClosedMonth()
	}
	var extras []extra
	add := func(e owed.Entry, x extra) {
		if e.Amount < 0 && (e.Kind == owed.Paid || e.Kind == owed.Returned || e.Kind == owed.Recovered) {
			e.Kind, e.Corrects = owed.Corrected, e.Kind
		}
		ledger.Entries, extras = append(ledger.Entries, e), append(extras, x)
	}

	// What is booked already.
	issued := map[string]bool{}
	type column struct {
		line int64
		kind owed.EntryKind
	}
	booked := map[column]units.Money{}
	bookedLine := map[int64]models.BookedEntry{}
	for _, k := range b.Booked {
		e := bookedEntry(k)
		add(e, extra{deref(k.CostLineID), k.Bearer})
		switch {
		case k.CostLineID != nil:
			kind := e.Kind
			if kind == owed.Corrected {
				kind = e.Corrects
			}
			booked[column{*k.CostLineID, kind}] += e.Amount
			if _, found := bookedLine[*k.CostLineID]; !found {
				bookedLine[*k.CostLineID] = k
			}
		case e.Kind == owed.Issued:
			issued[k.Ref] = true
		}
	}

	// The promises given.
	for _, p := range fit.AtIssue(&ahead) {
		if ref := refs[p.ID]; !issued[ref] {
			add(owed.Entry{Ref: ref, Kind: owed.Issued, HappenedOn: p.On, LearnedOn: max(p.On, lastClosed), LaidYear: p.LaidYear, Amount: p.Amount}, extra{})
		}
	}

	// The cost lines, and what became of those that are booked.
	there := map[int64]bool{}
	r.Tie.Lines = len(b.Lines)
	for i := range b.Lines {
		l := &b.Lines[i]
		there[l.ID] = true
		c := callbacks[l.CallbackID]
		if c == nil {
			return nil, fmt.Errorf("cost line %d: its callback %d is not there", l.ID, l.CallbackID)
		}
		learned := max(l.On, l.LearnedOn, lastClosed)
		if !booksBy(l, asOf, known) {
			r.Tie.Lines--
			r.Tie.Ahead++
			r.Tie.AheadSum += l.Cost()
			continue
		}
		year, found, on := 0, false, l.On
		if c.RoofID != nil {
			year, found = laid[*c.RoofID]
		}
		if was, is := bookedLine[l.ID]; is {
			year = was.LaidYear // as it was booked
			if on.Year() < year {
				on = was.HappenedOn
			}
		} else if !found || year > l.On.Year() {
			year = l.On.Year()
			r.Loose++
		}
		bearer := cmp.Or(l.Bearer, c.Bearer)
		kind, value := costEntry(l.Kind, l.Cost())
		for _, k := range []owed.EntryKind{owed.Paid, owed.Returned, owed.Recovered} {
			want := units.Money(0)
			if k == kind {
				want = value
			}
			at := column{l.ID, k}
			had, was := booked[at]
			switch {
			case want == had:
			case was:
				add(owed.Entry{Ref: c.Ref, Kind: owed.Corrected, Corrects: k, HappenedOn: on, LearnedOn: max(learned, on), LaidYear: year, Amount: want - had}, extra{l.ID, bearer})
			default:
				add(owed.Entry{Ref: c.Ref, Kind: k, HappenedOn: on, LearnedOn: max(learned, on), LaidYear: year, Amount: want}, extra{l.ID, bearer})
			}
			delete(booked, at)
		}
	}
	for at, had := range booked { // lines that are there no longer
		if was := bookedLine[at.line]; had != 0 && !there[at.line] {
			add(owed.Entry{Ref: was.Ref, Kind: owed.Corrected, Corrects: at.kind, HappenedOn: was.HappenedOn, LearnedOn: max(was.LearnedOn, lastClosed), LaidYear: was.LaidYear, Amount: -had},
				extra{at.line, was.Bearer})
		}
	}

	r.triangle(ledger.Entries, func(i int) string { return extras[i].bearer })
	var triangle *owed.TriangleInput
	if r.Triangle != nil {
		triangle = &owed.TriangleInput{IncrementalCents: r.Triangle, FirstYear: r.FirstYear, LastSigma: rule}
	}
	if r.Reserve, err = fit.Reserve(&ahead, triangle); err != nil {
		return nil, wrap("working out the reserve", err)
	}
	r.YearsEach = r.Reserve.YearsEach
	r.otherRule(rule)

	// What time has done to what was set aside, then what is needed now.
	if years := float64(asOf-lastMonth.Last()) / 365.25; lastMonth > 0 && r.Rate > 0 && years > 0 {
		opening := map[int]units.Money{}
		for _, k := range b.Booked {
			opening[k.LaidYear] += bookedEntry(k).Effect()
		}
		for _, year := range slices.Sorted(maps.Keys(opening)) {
			if opening[year] > 0 {
				add(owed.Entry{Ref: "discount", Kind: owed.Unwound, HappenedOn: asOf, LearnedOn: known, LaidYear: year,
					Amount: opening[year].Times(math.Pow(1+r.Rate, years) - 1)}, extra{})
			}
		}
	}
	if r.Reserve.Total.Discounted != nil {
		needed := map[int]units.Money{}
		for _, e := range ledger.Entries {
			needed[e.LaidYear] += 0
		}
		for _, c := range r.Reserve.Cohorts {
			if c.LaidYear <= asOf.Year() {
				needed[c.LaidYear] += *c.Discounted
			}
		}
		for _, y := range slices.Sorted(maps.Keys(needed)) {
			add(owed.Entry{Ref: "estimate", Kind: owed.Measured, HappenedOn: asOf, LearnedOn: known, LaidYear: y, Amount: needed[y]}, extra{})
		}
	}
	if err := r.book(ledger, extras, len(b.Booked)); err != nil {
		return nil, err
	}
	r.tie(b.Lines, callbacks, asOf, known)
	r.Prepaid, err = prepaid(b, asOf)
	return r, err
}

// extra is what an entry of the ledger says beyond its amounts.
type extra struct {
	line   int64
	bearer string
}

// book rolls the provision forward and keeps the entries with their months; the
// first of them are kept in closed months.
func (r *ReserveBook) book(ledger owed.LedgerInput, extras []extra, kept int) error {
	for i := range ledger.Entries {
		ledger.Entries[i].Index = i
	}
	var err error
	if r.Ledger, err = owed.RollForward(ledger); err != nil {
		return wrap("rolling the provision forward", err)
	}
	entries, err := owed.Book(ledger)
	if err != nil {
		return wrap("booking the entries", err)
	}
	for _, e := range entries {
		if e.Kind == owed.ChangeInEstimate && e.Amount == 0 {
			continue
		}
		x := extras[e.Index]
		r.Entries = append(r.Entries, LedgerLine{Booked: e, CostLineID: x.line, Bearer: x.bearer, Kept: e.Index < kept})
	}
	return nil
}

func bookedEntry(k models.BookedEntry) owed.Entry {
	return owed.Entry{Ref: k.Ref, Kind: owed.EntryKind(k.Kind), Corrects: owed.EntryKind(k.Corrects), HappenedOn: k.HappenedOn,
		LearnedOn: k.LearnedOn, LaidYear: k.LaidYear, Amount: k.Amount, Month: k.Month}
}

func deref(id *int64) int64 {
	if id == nil {
		return 0
	}
	return *id
}

// triangle sorts what we bore, net of what came back, by year laid and year
// since.
func (r *ReserveBook) triangle(entries []owed.Entry, bearer func(int) string) {
	last := r.AsOf.Year()
	first, known := last+1, last
	counts := func(i int) bool { // what is booked in a later month than it happened counts by its day
		e := entries[i]
		return net(e) != 0 && ours(bearer(i)) && e.HappenedOn <= r.AsOf
	}
	for i, e := range entries {
		if counts(i) {
			first, known = min(first, e.LaidYear), min(known, e.HappenedOn.Year())
		}
	}
	if first > last {
		return
	}
	first = max(first, known)
	r.FirstYear = first
	r.Triangle = make([][]units.Money, last-first+1)
	for i := range r.Triangle {
		r.Triangle[i] = make([]units.Money, last-first-i+1)
	}
	for i, e := range entries {
		if counts(i) && e.LaidYear >= first {
			r.Triangle[e.LaidYear-first][e.HappenedOn.Year()-e.LaidYear] += net(e)
		}
	}
}

// Carried is the triangle as it is carried forward, with years joined where they
// were; without rows where nothing was paid.
func (r *ReserveBook) Carried() owed.TriangleInput { return r.carried("") }

func (r *ReserveBook) carried(rule owed.LastSigma) owed.TriangleInput {
	t := owed.TriangleInput{IncrementalCents: r.Triangle, FirstYear: r.FirstYear, LastSigma: rule}
	if r.YearsEach > 1 {
		if joined, err := t.Joined(r.YearsEach); err == nil {
			return joined
		}
	}
	return t
}

// otherRule carries it forward by the rule for the last σ² that was not asked for.
func (r *ReserveBook) otherRule(rule owed.LastSigma) {
	if r.Reserve.ChainLadder == nil {
		return
	}
	other := owed.LogLinearSigma
	if rule == owed.LogLinearSigma {
		other = owed.MackSigma
	}
	if cl, err := owed.ChainLadder(r.carried(other)); err == nil {
		r.OtherRule = &cl
	}
}

// tie adds the cost lines up apart from the ledger, and names those that are
// not in it to the cent.
func (r *ReserveBook) tie(lines []models.CostLine, callbacks map[int64]*models.Callback, asOf, known units.Date) {
	booked := map[int64]units.Money{}
	for _, e := range r.Entries {
		if e.CostLineID == 0 {
			continue
		}
		booked[e.CostLineID] += net(e.Entry)
		if back := e.Kind == owed.Recovered || e.Corrects == owed.Recovered; back {
			r.Tie.Back -= net(e.Entry)
		} else {
			r.Tie.Paid += net(e.Entry)
		}
		if !ours(e.Bearer) {
			r.Tie.Others += net(e.Entry)
		}
	}
	for i := range lines {
		l := &lines[i]
		if !booksBy(l, asOf, known) {
			continue
		}
		r.Tie.Sum += l.Cost()
		if booked[l.ID] != l.Cost() {
			r.Tie.Differ = append(r.Tie.Differ, Unbooked{l.ID, callbacks[l.CallbackID].Ref, l.Cost(), booked[l.ID]})
		}
		delete(booked, l.ID)
	}
	for id, sum := range booked {
		if sum != 0 {
			r.Tie.Differ = append(r.Tie.Differ, Unbooked{CostLineID: id, Booked: sum})
		}
	}
	slices.SortFunc(r.Tie.Differ, func(a, b Unbooked) int { return cmp.Compare(a.CostLineID, b.CostLineID) })
}

// prepaid gives what was paid for plans and is not earned yet: the closed months
// as they were closed, then those that are open, which take up any difference.
func prepaid(b Books, asOf units.Date) ([]owed.PrepaidMonth, error) {
	var plans []owed.PrepaidPlan
	first := asOf.Month()
	for _, p := range b.Plans {
		plans = append(plans, owed.PrepaidPlan{From: p.FromOn, Until: p.ToOn, Price: p.PricePerYear})
		first = min(first, p.FromOn.Month())
	}
	var out []owed.PrepaidMonth
	for _, m := range b.Closed {
		out = append(out, owed.PrepaidMonth{Month: m.Month, Opening: m.PrepaidOpening, Billed: m.PrepaidBilled, Earned: m.PrepaidEarned, Unearned: m.PrepaidUnearned})
		first = m.ClosedMonth() + 1
	}
	if first > asOf.Month() || len(plans) == 0 && len(out) == 0 {
		return out, nil
	}
	open, err := owed.Prepaid(plans, first, asOf.Month())
	if err != nil {
		return nil, wrap("earning what was paid for plans", err)
	}
	if len(out) > 0 {
		// A plan that was changed since then does not change what was closed.
		open[0].Opening = out[len(out)-1].Unearned
		open[0].Earned = open[0].Opening + open[0].Billed - open[0].Unearned
	}
	return append(out, open...), nil
}

// Close gives the rows that are kept when a month is closed. The book must be
// that of the month's last day.
func (r *ReserveBook) Close() (models.ClosedMonth, []models.ClosedProvision, []models.BookedEntry) {
	month := r.AsOf.Month()
	m := models.ClosedMonth{Month: month.String(), DiscountRate: r.Rate, Low: r.Reserve.Low, High: r.Reserve.High,
		CallbacksAhead: r.Callbacks, MeanCost: r.MeanCost, ChainError: r.Reserve.Total.Error, YearsEach: r.YearsEach, NoChainBecause: r.Reserve.Why}
	for i, p := range r.Prepaid {
		if p.Month > m.Month {
			break
		}
		if i == 0 || p.Month == m.Month {
			m.PrepaidOpening = p.Opening
		}
		if p.Month == m.Month {
			m.PrepaidBilled, m.PrepaidEarned, m.PrepaidUnearned = p.Billed, p.Earned, p.Unearned
		}
	}
	closing := map[int]units.Money{}
	var entries []models.BookedEntry
	for _, e := range r.Entries {
		closing[e.LaidYear] += e.Change
		if e.Kept {
			continue
		}
		k := models.BookedEntry{Month: e.Month, Kind: string(e.Kind), Corrects: string(e.Corrects), Ref: e.Ref, Bearer: e.Bearer,
			LaidYear: e.LaidYear, HappenedOn: e.HappenedOn, LearnedOn: e.LearnedOn, Amount: e.Amount}
		if e.CostLineID != 0 {
			k.CostLineID = &e.CostLineID
		}
		entries = append(entries, k)
	}
	var provisions []models.ClosedProvision
	for _, c := range r.Reserve.Cohorts {
		p := models.ClosedProvision{LaidYear: c.LaidYear, Promises: c.Promises, Expected: c.Expected, Discounted: c.Discounted,
			Paid: c.Paid, ChainLadder: c.ChainLadder, ChainError: c.Error, Booked: closing[c.LaidYear]}
		if d := c.Difference; d != nil {
			p.AfterTriangle, p.OwnHistory, p.Pattern = &d.AfterTriangle, &d.OwnHistory, &d.Pattern
		}
		provisions = append(provisions, p)
		delete(closing, c.LaidYear)
	}
	// Where years are joined, the chain ladder of a span is kept with its last year.
	for _, c := range r.Reserve.Spans {
		at := slices.IndexFunc(provisions, func(p models.ClosedProvision) bool { return p.LaidYear == c.LaidYear })
		if at < 0 {
			at = len(provisions)
			provisions = append(provisions, models.ClosedProvision{LaidYear: c.LaidYear, Booked: closing[c.LaidYear]})
			delete(closing, c.LaidYear)
		}
		p := &provisions[at]
		p.ChainLadder, p.ChainError = c.ChainLadder, c.Error
		if d := c.Difference; d != nil {
			p.AfterTriangle, p.OwnHistory, p.Pattern = &d.AfterTriangle, &d.OwnHistory, &d.Pattern
		}
	}
	for year, sum := range closing {
		provisions = append(provisions, models.ClosedProvision{LaidYear: year, Booked: sum})
	}
	slices.SortFunc(provisions, func(a, b models.ClosedProvision) int { return a.LaidYear - b.LaidYear })
	return m, provisions, entries
}

// ClosedReserve is the drawer as it stood when a month was closed, made from what
// was kept then and from nothing else: it is the same for ever. The provisions
// are those of the month.
func ClosedReserve(closed []models.ClosedMonth, booked []models.BookedEntry, provisions []models.ClosedProvision, month string) (*ReserveBook, error) {
	at := slices.IndexFunc(closed, func(m models.ClosedMonth) bool { return m.Month == month })
	if at < 0 {
		return nil, models.Errorf(models.NotFound, "The month %s is not closed.", month)
	}
	m := closed[at]
	r := &ReserveBook{AsOf: m.ClosedMonth().Last(), Month: month, Rate: m.DiscountRate,
		Callbacks: m.CallbacksAhead, MeanCost: m.MeanCost, YearsEach: m.YearsEach}
	ledger := owed.LedgerInput{AsOf: m.ClosedOn}
	for _, c := range closed[:at+1] {
		ledger.Closings = append(ledger.Closings, owed.Closing{Month: c.Month, ClosedOn: c.ClosedOn})
		r.Prepaid = append(r.Prepaid, owed.PrepaidMonth{Month: c.Month, Opening: c.PrepaidOpening, Billed: c.PrepaidBilled, Earned: c.PrepaidEarned, Unearned: c.PrepaidUnearned})
	}
	var extras []extra
	lines := map[int64]bool{}
	for _, k := range booked {
		if k.Month > month {
			continue
		}
		ledger.Entries = append(ledger.Entries, bookedEntry(k))
		extras = append(extras, extra{deref(k.CostLineID), k.Bearer})
		lines[deref(k.CostLineID)] = true
	}
	delete(lines, 0)
	if err := r.book(ledger, extras, len(ledger.Entries)); err != nil {
		return nil, err
	}
	r.Ledger.AsOf, r.Ledger.LockedThrough = r.AsOf, month
	r.Ledger.Months = through(r.Ledger.Months, month)
	r.Ledger.Years = through(r.Ledger.Years, month[:4])
	for i := range r.Ledger.Cohorts {
		r.Ledger.Cohorts[i].Years = through(r.Ledger.Cohorts[i].Years, month[:4])
	}
	r.triangle(ledger.Entries, func(i int) string { return extras[i].bearer })
	r.Tie.Lines = len(lines)
	r.tie(nil, nil, r.AsOf, r.AsOf)
	r.Tie.Sum, r.Tie.Differ = r.Tie.Paid-r.Tie.Back, nil

	r.Reserve = owed.ReserveResult{AsOf: r.AsOf, Low: m.Low, High: m.High, Why: m.NoChainBecause, YearsEach: m.YearsEach}
	total := &r.Reserve.Total
	var spans []owed.CohortReserve
	for _, p := range provisions {
		c := owed.CohortReserve{LaidYear: p.LaidYear, Promises: p.Promises, Expected: p.Expected, Discounted: p.Discounted, Paid: p.Paid}
		two := owed.CohortReserve{LaidYear: p.LaidYear, ChainLadder: p.ChainLadder, Error: p.ChainError}
		if p.AfterTriangle != nil && p.OwnHistory != nil && p.Pattern != nil {
			two.Difference = &owed.Difference{AfterTriangle: *p.AfterTriangle, OwnHistory: *p.OwnHistory, Pattern: *p.Pattern}
		}
		total.Add(&c)
		total.Carry(&two)
		if m.YearsEach > 1 {
			if two.ChainLadder != nil {
				two.LaidFrom = two.LaidYear - m.YearsEach + 1
				spans = append(spans, two)
			}
		} else {
			c.ChainLadder, c.Error, c.Difference = two.ChainLadder, two.Error, two.Difference
		}
		if p.Expected != nil || p.ChainLadder != nil || p.Promises > 0 || p.Paid != nil {
			r.Reserve.Cohorts = append(r.Reserve.Cohorts, c)
		}
	}
	for i := range spans {
		for _, c := range r.Reserve.Cohorts {
			if c.LaidYear >= spans[i].LaidFrom && c.LaidYear <= spans[i].LaidYear {
				spans[i].Add(&c)
			}
		}
	}
	r.Reserve.Spans = spans
	total.Error = m.ChainError
	if d := total.Difference; d != nil && total.Expected != nil && total.ChainLadder != nil {
		d.Pattern = *total.ChainLadder - *total.Expected + d.AfterTriangle - d.OwnHistory
	}
	if r.Triangle != nil && total.ChainLadder != nil {
		if cl, err := owed.ChainLadder(r.carried(owed.MackSigma)); err == nil {
			r.Reserve.ChainLadder = &cl
		}
		r.otherRule(owed.MackSigma)
	}
	return r, nil
}

// through leaves out the periods after one.
func through(rolls []owed.Roll, last string) []owed.Roll {
	return slices.DeleteFunc(rolls, func(r owed.Roll) bool { return r.Period > last })
}
