package visits

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

func day(s string) units.Date {
	if s == "" {
		return 0
	}
	d, err := units.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func dated(s string) units.Dated {
	d, err := units.ParseDated(s)
	if err != nil {
		panic(err)
	}
	return d
}

// frost is a season closed by frost from 16 November to 14 April.
var frost = Season{MonthDay{time.April, 15}, MonthDay{time.November, 15}}

func one(t testing.TB, today string, s Settings, r Roof) (Visit, Counts) {
	t.Helper()
	r.ID = "r"
	out, err := WhoIsDue(Input{Today: day(today), Settings: s, Roofs: []Roof{r}})
	if err != nil {
		t.Fatal(err)
	}
	if len(out.Visits) == 0 {
		return Visit{}, out.Counts
	}
	return out.Visits[0], out.Counts
}

func whys(v Visit) string {
	var all []string
	for _, r := range v.Why {
		all = append(all, r.Code)
	}
	return strings.Join(all, " ")
}

func days(p *int) string {
	if p == nil {
		return "?"
	}
	return fmt.Sprint(*p)
}

func TestDueRule(t *testing.T) {
	// Each row is worked by hand from the rule in the package comment, which is
	// common practice, no source.
	laid := Roof{Promised: true, Laid: dated("2025-06-10")}
	with := func(change func(*Roof)) Roof {
		r := laid
		change(&r)
		return r
	}
	for _, c := range []struct {
		name        string
		today       string
		season      Season
		roof        Roof
		state       State
		due, latest string
		overdue     string // at least, at most
		parts       string
		why         string
	}{
		{"the day before the first anniversary", "2026-06-09", Season{}, laid, OK, "2026-06-10", "2026-06-10", "0 0", "roof gutters", "since_laid"},
		{"the first anniversary", "2026-06-10", Season{}, laid, Due, "2026-06-10", "2026-06-10", "0 0", "roof gutters", "since_laid"},
		{"five months late", "2026-11-25", Season{}, laid, Due, "2026-06-10", "2026-06-10", "168 168", "roof gutters", "since_laid"},
		{"closed later than laid", "2026-07-01", Season{}, with(func(r *Roof) { r.ClosedOn = day("2025-07-02") }), OK, "2026-07-02", "2026-07-02", "0 0", "roof gutters", "since_closed"},
		{"checked in May", "2026-11-25", Season{}, with(func(r *Roof) { r.RoofLookedOn, r.GuttersOn = day("2026-05-20"), day("2026-05-20") }), OK, "2027-05-20", "2027-05-20", "0 0", "roof gutters", "since_checkup"},
		{"gutters left out of the last check-up", "2026-11-25", Season{}, with(func(r *Roof) { r.RoofLookedOn = day("2026-05-20") }), Due, "2026-06-10", "2026-06-10", "168 168", "gutters", "since_laid"},
		{"roof looked at longest ago", "2026-11-25", Season{}, with(func(r *Roof) { r.RoofLookedOn, r.GuttersOn = day("2025-11-01"), day("2026-05-20") }), Due, "2026-11-01", "2026-11-01", "24 24", "roof", "since_checkup"},
		{"no gutters there", "2026-11-25", Season{}, with(func(r *Roof) { r.RoofLookedOn, r.NoGutters = day("2026-05-20"), true }), OK, "2027-05-20", "2027-05-20", "0 0", "roof", "since_checkup"},
		{"a look at the covering before this one", "2026-06-10", Season{}, with(func(r *Roof) { r.RoofLookedOn, r.GuttersOn = day("2025-04-01"), day("2025-04-01") }), Due, "2026-06-10", "2026-06-10", "0 0", "roof gutters", "since_laid"},
		{"due in the closed season", "2026-01-20", frost, Roof{Promised: true, Laid: dated("2025-01-10")}, OK, "2026-04-15", "2026-04-15", "0 0", "roof gutters", "since_laid moved_to_season"},
		{"due in the closed season, before the new year", "2026-12-20", frost, Roof{Promised: true, ClosedOn: day("2025-11-16")}, OK, "2027-04-15", "2027-04-15", "0 0", "roof gutters", "since_closed moved_to_season"},
		{"due on the last open day", "2026-11-25", frost, Roof{Promised: true, ClosedOn: day("2025-11-15")}, Due, "2026-11-15", "2026-11-15", "10 10", "roof gutters", "since_closed"},
		{"closed on 29 February", "2025-02-28", Season{}, Roof{Promised: true, ClosedOn: day("2024-02-29")}, Due, "2025-02-28", "2025-02-28", "0 0", "roof gutters", "since_closed"},
		{"laid in a month", "2026-06-20", Season{}, Roof{Promised: true, Laid: dated("2025-06")}, Due, "2026-06-01", "2026-06-30", "0 19", "roof gutters", "since_laid laid_not_exact"},
		{"laid in a year", "2026-11-25", Season{}, Roof{Promised: true, Laid: dated("2024")}, Due, "2025-01-01", "2025-12-31", "329 693", "roof gutters", "since_laid laid_not_exact"},
		{"no date known", "2026-11-25", Season{}, Roof{Promised: true}, Due, "", "", "? ?", "roof gutters", "no_date_known"},
		{"booked", "2026-11-25", Season{}, with(func(r *Roof) { r.BookedFor = day("2026-11-25") }), Booked, "2026-06-10", "2026-06-10", "168 168", "roof gutters", "since_laid"},
		{"booked day passed", "2026-11-25", Season{}, with(func(r *Roof) { r.BookedFor = day("2026-11-24") }), Due, "2026-06-10", "2026-06-10", "168 168", "roof gutters", "since_laid booked_passed"},
		{"booked day passed and done", "2026-11-25", Season{}, with(func(r *Roof) {
			r.BookedFor, r.RoofLookedOn, r.GuttersOn = day("2026-06-20"), day("2026-06-20"), day("2026-06-20")
		}), OK, "2027-06-20", "2027-06-20", "0 0", "roof gutters", "since_checkup"},
		{"declined this year's offer", "2026-11-25", Season{}, with(func(r *Roof) { r.DeclinedOn = day("2026-05-01") }), Declined, "2026-06-10", "2026-06-10", "168 168", "roof gutters", "since_laid declined_offer"},
		{"declined more than a year ago", "2027-05-01", Season{}, with(func(r *Roof) { r.DeclinedOn = day("2026-05-01") }), Due, "2026-06-10", "2026-06-10", "325 325", "roof gutters", "since_laid"},
		{"declined something long before it was due", "2026-06-10", Season{}, with(func(r *Roof) { r.DeclinedOn = day("2026-04-10") }), Due, "2026-06-10", "2026-06-10", "0 0", "roof gutters", "since_laid"},
		{"promise ends before it is due", "2026-05-01", Season{}, with(func(r *Roof) { r.PromisedUntil = day("2026-06-01") }), OK, "2026-06-10", "2026-06-10", "0 0", "roof gutters", "since_laid promise_runs_out"},
		{"storm on a roof not yet due", "2026-05-05", Season{}, with(func(r *Roof) { r.StormsCrossed = []units.Date{day("2026-05-01")} }), Due, "2026-05-01", "2026-05-15", "0 4", "roof storm", "since_laid after_storm"},
		{"storm looked at the day after", "2026-05-05", Season{}, with(func(r *Roof) {
			r.StormsCrossed, r.RoofLookedOn = []units.Date{day("2026-05-01")}, day("2026-05-02")
		}), OK, "2026-06-10", "2026-06-10", "0 0", "gutters", "since_laid"},
		{"looked at on the day of the storm", "2026-05-20", Season{}, with(func(r *Roof) {
			r.StormsCrossed, r.RoofLookedOn, r.GuttersOn = []units.Date{day("2026-05-01")}, day("2026-05-01"), day("2026-05-01")
		}), Due, "2026-05-01", "2026-05-15", "5 19", "roof storm", "since_checkup after_storm"},
		{"two storms, the first counts", "2026-05-30", Season{}, with(func(r *Roof) { r.StormsCrossed = []units.Date{day("2026-05-20"), day("2026-05-01")} }), Due, "2026-05-01", "2026-05-15", "15 29", "roof storm", "since_laid after_storm"},
		{"storm in the closed season does not move", "2026-01-20", frost, Roof{Promised: true, Laid: dated("2025-01-10"), StormsCrossed: []units.Date{day("2026-01-15")}}, Due, "2026-01-15", "2026-01-29", "0 5", "roof storm", "since_laid moved_to_season after_storm"},
		{"storm before the roof was laid", "2026-05-05", Season{}, with(func(r *Roof) { r.StormsCrossed = []units.Date{day("2025-05-01")} }), OK, "2026-06-10", "2026-06-10", "0 0", "roof gutters", "since_laid"},
		{"storm on a roof that is due as well", "2026-07-10", Season{}, with(func(r *Roof) { r.StormsCrossed = []units.Date{day("2026-07-01")} }), Due, "2026-06-10", "2026-06-10", "30 30", "roof gutters storm", "since_laid after_storm"},
		{"storm on a roof due since nobody knows when", "2026-07-10", Season{}, Roof{Promised: true, StormsCrossed: []units.Date{day("2026-07-01")}}, Due, "2026-07-01", "2026-07-15", "0 9", "roof gutters storm", "no_date_known after_storm"},
		{"storm after the offer was declined", "2026-07-10", Season{}, with(func(r *Roof) {
			r.DeclinedOn, r.StormsCrossed = day("2026-06-20"), []units.Date{day("2026-07-01")}
		}), Due, "2026-07-01", "2026-07-15", "0 9", "roof storm", "since_laid after_storm declined_offer"},
		{"the look after the storm declined", "2026-07-10", Season{}, with(func(r *Roof) {
			r.DeclinedOn, r.StormsCrossed = day("2026-07-03"), []units.Date{day("2026-07-01")}
		}), Declined, "2026-06-10", "2026-06-10", "30 30", "roof gutters", "since_laid after_storm declined_offer"},
		{"storm on a roof without a promise", "2026-07-10", Season{}, Roof{Laid: dated("2025-06-10"), StormsCrossed: []units.Date{day("2026-07-01")}}, Due, "2026-07-01", "2026-07-15", "0 9", "roof storm", "after_storm"},
	} {
		v, _ := one(t, c.today, Settings{Season: c.season}, c.roof)
		var parts []string
		for _, p := range []struct {
			on   bool
			name string
		}{{v.Roof, "roof"}, {v.Gutters, "gutters"}, {v.Storm, "storm"}} {
			if p.on {
				parts = append(parts, p.name)
			}
		}
		got := fmt.Sprint(v.State, ", ", v.DueOn, " to ", v.DueLatest, ", ", days(v.OverdueDays), " ", days(v.OverdueMost), ", ", strings.Join(parts, " "), ", ", whys(v))
		want := fmt.Sprint(c.state, ", ", c.due, " to ", c.latest, ", ", c.overdue, ", ", c.parts, ", ", c.why)
		if got != want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, want)
		}
	}
}

func TestLeftOut(t *testing.T) {
	for _, c := range []struct {
		name string
		roof Roof
		want Counts
	}{
		{"ended", Roof{Promised: true, EndedOn: day("2026-11-25")}, Counts{Ended: 1}},
		{"ends tomorrow", Roof{Promised: true, EndedOn: day("2026-11-26")}, Counts{Due: 1}},
		{"not promised", Roof{Laid: dated("2020")}, Counts{NotPromised: 1}},
		{"promise over", Roof{Promised: true, PromisedUntil: day("2026-11-24")}, Counts{NotPromised: 1}},
		{"last day of the promise", Roof{Promised: true, PromisedUntil: day("2026-11-25")}, Counts{Due: 1}},
	} {
		if _, got := one(t, "2026-11-25", Settings{}, c.roof); got != c.want {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

func TestOrderOfTheDue(t *testing.T) {
	out, err := WhoIsDue(Input{Today: day("2026-11-25"), Roofs: []Roof{
		{ID: "later", Promised: true, ClosedOn: day("2026-01-01")},
		{ID: "b", Promised: true, ClosedOn: day("2025-06-01")},
		{ID: "a", Promised: true, ClosedOn: day("2025-06-01")},
		{ID: "longest", Promised: true, ClosedOn: day("2024-06-01")},
		{ID: "nobody knows", Promised: true},
		{ID: "booked", Promised: true, ClosedOn: day("2023-06-01"), BookedFor: day("2026-12-01")},
	}})
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, v := range out.Visits {
		ids = append(ids, v.ID)
	}
	if want := []string{"nobody knows", "longest", "a", "b", "booked", "later"}; !slices.Equal(ids, want) {
		t.Errorf("got %v", ids)
	}
	if out.Counts != (Counts{Due: 4, Booked: 1, OK: 1}) || out.Caution != Caution {
		t.Errorf("%+v", out.Counts)
	}
}

func TestSeason(t *testing.T) {
	overNewYear := Season{MonthDay{time.November, 1}, MonthDay{time.March, 31}}
	for _, c := range []struct {
		s        Season
		on, next string
	}{
		{frost, "2026-04-14", "2026-04-15"}, {frost, "2026-04-15", "2026-04-15"}, {frost, "2026-11-15", "2026-11-15"},
		{frost, "2026-11-16", "2027-04-15"}, {frost, "2026-12-31", "2027-04-15"}, {frost, "2026-01-01", "2026-04-15"},
		{overNewYear, "2026-04-01", "2026-11-01"}, {overNewYear, "2026-12-31", "2026-12-31"}, {overNewYear, "2026-03-31", "2026-03-31"},
		{Season{}, "2026-01-01", "2026-01-01"},
	} {
		if got := c.s.Next(day(c.on)); got != day(c.next) {
			t.Errorf("%v from %s: %v, want %s", c.s, c.on, got, c.next)
		}
	}
	for _, text := range []string{"4-15", "02-29", "13-01", "04-31", "April 15"} {
		var m MonthDay
		if m.UnmarshalText([]byte(text)) == nil {
			t.Errorf("%q was read as %v", text, m)
		}
	}
}

func TestDueRefusals(t *testing.T) {
	for field, change := range map[string]func(*Input){
		"today":                         func(in *Input) { in.Today = 0 },
		"settings.season: needs both":   func(in *Input) { in.Settings.Season.From = MonthDay{4, 15} },
		"settings.season: 04-31":        func(in *Input) { in.Settings.Season = Season{MonthDay{4, 31}, MonthDay{11, 1}} },
		"settings.every_months -1":      func(in *Input) { in.Settings.EveryMonths = -1 },
		"settings.storm_days 400":       func(in *Input) { in.Settings.StormDays = 400 },
		"settings.declined_months -1":   func(in *Input) { in.Settings.DeclinedMonths = -1 },
		"settings.early_offer_days":     func(in *Input) { in.Settings.EarlyOfferDays = -1 },
		"roofs[0].id: is needed":        func(in *Input) { in.Roofs[0].ID = "" },
		"roofs[1].id \"a\": is there":   func(in *Input) { in.Roofs = append(in.Roofs, in.Roofs[0]) },
		"roofs[0].roof_looked_on 2026-": func(in *Input) { in.Roofs[0].RoofLookedOn = in.Today + 1 },
		"roofs[0].gutters_on 2026-":     func(in *Input) { in.Roofs[0].GuttersOn = in.Today + 1 },
	} {
		in := Input{Today: day("2026-11-25"), Roofs: []Roof{{ID: "a"}}}
		change(&in)
		if _, err := WhoIsDue(in); err == nil || !strings.HasPrefix(err.Error(), field) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

func TestDueProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		today := day("2026-11-25")
		past := func(name string) units.Date {
			if rapid.Bool().Draw(t, name+" unknown") {
				return 0
			}
			return today.AddDays(-rapid.IntRange(0, 3000).Draw(t, name))
		}
		r := Roof{ID: "r", Promised: rapid.Bool().Draw(t, "promised"), ClosedOn: past("closed"), RoofLookedOn: past("looked"), GuttersOn: past("gutters"), DeclinedOn: past("declined")}
		if on := past("laid"); on != 0 {
			r.Laid = units.Dated{On: on, Precision: rapid.SampledFrom([]units.Precision{units.ToDay, units.ToMonth, units.ToYear, units.About}).Draw(t, "precision")}
		}
		if on := past("storm"); on != 0 {
			r.StormsCrossed = []units.Date{on}
		}
		in := Input{Today: today, Settings: Settings{Season: rapid.SampledFrom([]Season{{}, frost}).Draw(t, "season")}, Roofs: []Roof{r}}
		out, err := WhoIsDue(in)
		if err != nil {
			t.Fatal(err)
		}
		if len(out.Visits) == 0 {
			return
		}
		v := out.Visits[0]
		if v.DueOn > v.DueLatest || v.DueOn.IsZero() != v.DueLatest.IsZero() || (v.OverdueDays == nil) != v.DueOn.IsZero() {
			t.Fatalf("due %v to %v, overdue %v", v.DueOn, v.DueLatest, v.OverdueDays)
		}
		if v.OverdueDays != nil && (*v.OverdueDays < 0 || *v.OverdueDays > *v.OverdueMost) {
			t.Fatalf("overdue %d to %d", *v.OverdueDays, *v.OverdueMost)
		}
		if (v.State == OK) != (v.DueOn > today) {
			t.Fatalf("%s, due on %v", v.State, v.DueOn)
		}
		if !v.Storm && !in.Settings.Season.Open(v.DueOn) && !v.DueOn.IsZero() && v.State != Declined {
			t.Fatalf("a check-up is due on %v, when the season is closed", v.DueOn)
		}
		if len(v.Why) == 0 || !(v.Roof || v.Gutters) {
			t.Fatalf("a visit without a reason or a part to look at: %+v", v)
		}
		// A full check-up today leaves nothing due for its interval.
		in.Roofs[0].RoofLookedOn, in.Roofs[0].GuttersOn = today, today
		if len(r.StormsCrossed) > 0 && r.StormsCrossed[0] == today {
			return
		}
		if after, err := WhoIsDue(in); err != nil || after.Counts.Due+after.Counts.Declined > 0 {
			t.Fatalf("after a check-up today: %+v, %v", after, err)
		}
	})
}

func TestDueInputFromJSON(t *testing.T) {
	in := Input{Today: day("2026-11-25"), Settings: Settings{Season: frost}, Roofs: []Roof{{ID: "a", Promised: true, Laid: dated("2024"), StormsCrossed: []units.Date{day("2026-05-01")}}}}
	text, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), `"season":{"from":"04-15","to":"11-15"}`) {
		t.Errorf("%s", text)
	}
	var back Input
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&back); err != nil || !reflect.DeepEqual(back, in) {
		t.Errorf("%v: %+v", err, back)
	}
}

func BenchmarkWhoIsDue(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	in := Input{Today: day("2026-11-25"), Settings: Settings{Season: frost}, Roofs: make([]Roof, 100_000)}
	for i := range in.Roofs {
		in.Roofs[i] = Roof{ID: fmt.Sprint(i), Promised: true, ClosedOn: in.Today.AddDays(-r.IntN(5000)), RoofLookedOn: in.Today.AddDays(-r.IntN(800)), GuttersOn: in.Today.AddDays(-r.IntN(800))}
	}
	for b.Loop() {
		if _, err := WhoIsDue(in); err != nil {
			b.Fatal(err)
		}
	}
}
