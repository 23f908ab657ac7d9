package promise

import (
	"fmt"
	"testing"

	"overhang/analytics/units"

	"pgregory.net/rapid"
)

// The shares of the 20-year table of TestSteps, day by day at its changes.
func TestSchedule(t *testing.T) {
	terms := Terms{Kind: Material, TermMonths: 240, FullMonths: 120, Method: Steps, Covers: all, Transfer: Once,
		Steps: []Step{{120, 0.8}, {144, 0.4}}}
	for _, c := range []struct{ start, want string }{
		{"2000-07-01", "2000-07-01–2010-06-30 1, 2010-07-01–2012-06-30 0.8, 2012-07-01–2020-06-30 0.4, "},
		{"2004-02-29", "2004-02-29–2014-02-27 1, 2014-02-28–2016-02-28 0.8, 2016-02-29–2024-02-28 0.4, "}, // a leap day
		{"2003-01-31", "2003-01-31–2013-01-30 1, 2013-01-31–2015-01-30 0.8, 2015-01-31–2023-01-30 0.4, "},
	} {
		spans, err := Schedule(terms, day(t, c.start))
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, s := range spans {
			got += fmt.Sprintf("%v–%v %v, ", s.From, s.Until, s.Share)
		}
		if got != c.want {
			t.Errorf("from %s:\n%s\nwant\n%s", c.start, got, c.want)
		}
	}
	if _, err := Schedule(Terms{}, day(t, "2000-07-01")); err == nil {
		t.Error("terms without anything have a schedule")
	}
	if got := Shares(terms, 0, 0, 0); got != nil {
		t.Errorf("an unknown start has shares: %v", got)
	}
	if got := Shares(terms, day(t, "2000-07-01"), day(t, "2030-01-01"), 0); got != nil {
		t.Errorf("after the term there are shares: %v", got)
	}
	// A prorated share changes with every month that is completed.
	terms = Terms{Kind: Material, TermMonths: 360, FullMonths: 120, Method: WholeTerm, Transfer: Never}
	if got := len(Shares(terms, day(t, "1994-05-10"), 0, 0)); got != 1+240 {
		t.Errorf("%d spans, want 241", got)
	}
}

// The spans say for each day what judging that day says.
func TestSharesAreThoseOfEachDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		terms := drawTerms(t)
		start := units.NewDate(1980, 1, 1) + units.Date(rapid.IntRange(0, 15000).Draw(t, "start"))
		from := start + units.Date(rapid.IntRange(-400, 15000).Draw(t, "from"))
		until := from + units.Date(rapid.IntRange(-10, 5000).Draw(t, "until"))
		spans := Shares(terms, start, from, until)
		for i, s := range spans {
			if s.From > s.Until || s.Share <= 0 || s.From < from || s.Until > until {
				t.Fatalf("span %+v of %v to %v", s, from, until)
			}
			if i > 0 && (s.From != spans[i-1].Until+1 || s.Share >= spans[i-1].Share) {
				t.Fatalf("%+v follows %+v", s, spans[i-1])
			}
		}
		on := from + units.Date(rapid.IntRange(0, 5000).Draw(t, "on"))
		want := 0.0
		if on <= until {
			r, err := Judge(Input{Terms: terms, Facts: Facts{AsOf: on, StartOn: start}})
			if err != nil {
				t.Fatal(err)
			}
			want = r.Share
		}
		got := 0.0
		for _, s := range spans {
			if on >= s.From && on <= s.Until {
				got = s.Share
			}
		}
		if got != want {
			t.Fatalf("on %v the spans give %v, judging gives %v", on, got, want)
		}
	})
}

func BenchmarkShares(b *testing.B) {
	terms := Terms{Kind: Material, TermMonths: 360, FullMonths: 120, Method: ProratedSpan, Covers: all, Transfer: Never}
	start := units.NewDate(2016, 5, 10)
	b.ReportAllocs()
	for b.Loop() {
		Shares(terms, start, 0, 0)
	}
}
