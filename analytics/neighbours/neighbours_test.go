package neighbours

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/geo"
	"overhang/analytics/units"
)

var today = units.NewDate(2026, 11, 25)

// nextDoor gives our roof and the twin of its house 24 m away.
func nextDoor() (Roof, House) {
	twin := Building{BuildYear: 2004, Builder: "Hollis", Plan: "B", Neighbourhood: "Mill Rise", Storeys: 2, Cladding: "stucco"}
	return Roof{
			ID: "r1", HouseID: "ours", At: geo.Point{Lat: 45, Lon: -93}, Building: twin,
			Covering: "laminated", LaidYear: 2024, OldCovering: "strip", OldLaidYear: 2004,
		}, House{
			ID: "h1", At: geo.Point{Lat: 45, Lon: -92.9997}, Building: twin, Covering: "strip", RoofYear: 2004,
		}
}

func rank(t testing.TB, s Settings, roofs []Roof, houses ...House) Result {
	t.Helper()
	r, err := Rank(Input{Today: today, Settings: s, Roofs: roofs, Houses: houses})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func codes(r Ranked) string {
	var all []string
	for _, reason := range r.Reasons {
		all = append(all, reason.Code)
	}
	return strings.Join(all, " ")
}

func TestTheTwinNextDoor(t *testing.T) {
	roof, house := nextDoor()
	got := rank(t, Settings{}, []Roof{roof}, house).Houses[0]
	if want := "same_plan built_about_then same_covering_as_taken_off near same_neighbourhood same_storeys same_cladding age_of_roof"; codes(got) != want {
		t.Errorf("reasons %s", codes(got))
	}
	// Every part counts 1 but the distance: 23.66 m of 250 m, weight 2 of 11.
	d := float64(geo.Distance(roof.At, house.At))
	if want := 1 - 2*d/250/11; math.Abs(got.Likeness-want) > 1e-12 || got.Known < 1-1e-12 {
		t.Errorf("likeness %v of %v known, want %v", got.Likeness, got.Known, want)
	}
	// The conditional Weibull by its own survival function S(t) = 2^−(t/m)⁴, with
	// m 20, the age at which ours was replaced, and the twin 22 years old.
	survival := func(t float64) float64 { return math.Exp2(-math.Pow(t/20, 4)) }
	if want := 1 - survival(27)/survival(22); math.Abs(got.Need-want) > 1e-12 || !got.NeedKnown {
		t.Errorf("need %v, want %v", got.Need, want)
	}
	if got.Score != got.Likeness*got.Need || got.RoofID != "r1" || got.RoofsNear != 1 {
		t.Errorf("%+v", got)
	}
}

func TestNeedAtTheMedian(t *testing.T) {
	// The constructed case of the life distributions, scale 20 and shape 4: the
	// chance of five more years at 15 is 0.505. Its median is 20·(ln 2)^¼ = 18.25.
	s := Settings{TypicalAgeYears: 20 * math.Pow(math.Ln2, 0.25)}.withDefaults()
	got := s.need(&Roof{}, &House{RoofYear: 2000}, 2015)
	if math.Abs(1-got.Value-0.505) > 0.0005 {
		t.Errorf("five more years at 15: %v, want 0.505", 1-got.Value)
	}
}

func TestWhatIsUnknownCountsHalf(t *testing.T) {
	roof, house := nextDoor()
	twin := rank(t, Settings{}, []Roof{roof}, house).Houses[0]
	house.Building, house.Covering, house.RoofYear = Building{}, "", 0
	bare := rank(t, Settings{}, []Roof{roof}, house).Houses[0]
	want := "builder_not_known build_year_not_known covering_not_known near neighbourhood_not_known storeys_not_known cladding_not_known need_not_known"
	if codes(bare) != want {
		t.Errorf("reasons %s", codes(bare))
	}
	if bare.NeedKnown || bare.Need != 0.5 || math.Abs(bare.Known-2.0/11) > 1e-12 {
		t.Errorf("%+v", bare)
	}
	// Nine of eleven weights fall from 1 to a half.
	if math.Abs(twin.Likeness-bare.Likeness-4.5/11) > 1e-12 {
		t.Errorf("twin %v, bare %v", twin.Likeness, bare.Likeness)
	}
	other := house
	other.Building, other.Covering = Building{BuildYear: 1950, Builder: "Other", Neighbourhood: "Elsewhere", Storeys: 1, Cladding: "brick"}, "metal"
	unlike := rank(t, Settings{}, []Roof{roof}, other).Houses[0]
	if math.Abs(bare.Likeness-unlike.Likeness-4.5/11) > 1e-12 {
		t.Errorf("bare %v, unlike %v", bare.Likeness, unlike.Likeness)
	}
}

func TestComparisons(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Roof, *House)
		code   string
		value  float64
	}{
		{"same builder, other plan", func(r *Roof, h *House) { h.Plan = "C" }, "same_builder", 0.8},
		{"same builder, plan unknown", func(r *Roof, h *House) { h.Plan = "" }, "same_builder", 0.8},
		{"capitals", func(r *Roof, h *House) { h.Builder = "HOLLIS" }, "same_plan", 1},
		{"other builder's plan of the same name", func(r *Roof, h *House) { h.Builder = "Marsh" }, "other_builder", 0},
		{"two years apart", func(r *Roof, h *House) { h.BuildYear = 2006 }, "built_about_then", 0.5},
		{"four years apart", func(r *Roof, h *House) { h.BuildYear = 2000 }, "built_another_time", 0},
		{"the covering we laid", func(r *Roof, h *House) { h.Covering = "laminated" }, "other_covering", 0},
		{"the covering we laid, old one unknown", func(r *Roof, h *House) { r.OldCovering = ""; h.Covering = "laminated" }, "same_covering_as_laid", 1},
		{"storeys", func(r *Roof, h *House) { h.Storeys = 1 }, "other_storeys", 0},
		{"neighbourhood", func(r *Roof, h *House) { h.Neighbourhood = "Hilltop" }, "other_neighbourhood", 0},
	} {
		roof, house := nextDoor()
		c.change(&roof, &house)
		got := rank(t, Settings{}, []Roof{roof}, house).Houses[0]
		i := slices.IndexFunc(got.Reasons, func(r Reason) bool { return r.Code == c.code })
		if i < 0 || got.Reasons[i].Value != c.value {
			t.Errorf("%s: %+v", c.name, got.Reasons)
		}
	}
}

func TestNeedRules(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Roof, *House)
		code   string
		age    int
		median float64
		from   string
	}{
		{"all known", func(r *Roof, h *House) {}, "age_of_roof", 22, 20, "covering_taken_off"},
		{"roof year unknown, first roof", func(r *Roof, h *House) { h.RoofYear = 0 }, "age_of_house", 22, 20, "covering_taken_off"},
		{"our old roof's year unknown", func(r *Roof, h *House) { r.OldLaidYear = 0 }, "age_of_roof", 22, 20, "first_roof_taken_off"},
		{"our house too old for its first roof", func(r *Roof, h *House) { r.OldLaidYear, r.BuildYear = 0, 1950 }, "age_of_roof", 22, 20, "typical"},
		{"our laid year unknown", func(r *Roof, h *House) { r.LaidYear = 0 }, "age_of_roof", 22, 20, "typical"},
		{"ours lasted 16 years", func(r *Roof, h *House) { r.OldLaidYear = 2008 }, "age_of_roof", 22, 16, "covering_taken_off"},
		{"a roof of next year", func(r *Roof, h *House) { h.RoofYear = 2027 }, "age_of_roof", 0, 20, "covering_taken_off"},
	} {
		roof, house := nextDoor()
		c.change(&roof, &house)
		s := Settings{}.withDefaults()
		got := s.need(&roof, &house, 2026)
		if got.Code != c.code || got.Params["age_years"] != c.age || got.Params["replaced_at_years"] != c.median || got.Params["replaced_at_from"] != c.from {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
	roof, house := nextDoor()
	house.RoofYear, house.BuildYear = 0, 1995 // 31 years: past one and a half times 20
	s := Settings{}.withDefaults()
	if got := s.need(&roof, &house, 2026); got.Known || got.Value != 0.5 {
		t.Errorf("an old house of unknown roof: %+v", got)
	}
	estimate := 0.9
	house.Need = &estimate
	if got := s.need(&roof, &house, 2026); got.Code != "estimated" || got.Value != 0.9 || !got.Known {
		t.Errorf("a supplied estimate: %+v", got)
	}
}

func TestWhoIsLeftOut(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*House)
		want   LeftOut
	}{
		{"shown", func(h *House) {}, LeftOut{}},
		{"ours by flag", func(h *House) { h.Ours = true }, LeftOut{Ours: 1}},
		{"ours by its roof", func(h *House) { h.ID = "ours" }, LeftOut{Ours: 1}},
		{"stop-list", func(h *House) { h.Stopped = true }, LeftOut{Stopped: 1}},
		{"stop-list, though it asked for a look", func(h *House) { h.Stopped, h.Outcome = true, WantsALook }, LeftOut{Stopped: 1}},
		{"tomorrow", func(h *House) { h.Outcome, h.NextOn = ComeBack, today+1 }, LeftOut{Resting: 1}},
		{"next date is today", func(h *House) { h.Outcome, h.NextOn = ComeBack, today }, LeftOut{}},
		{"no, a year ago tomorrow", func(h *House) { h.Outcome, h.CalledOn = No, today.AddMonths(-12)+1 }, LeftOut{Resting: 1}},
		{"no, a year ago", func(h *House) { h.Outcome, h.CalledOn = No, today.AddMonths(-12) }, LeftOut{}},
		{"no, but a next date has come", func(h *House) { h.Outcome, h.CalledOn, h.NextOn = No, today-30, today-1 }, LeftOut{}},
		{"come back, nobody knows when", func(h *House) { h.Outcome = ComeBack }, LeftOut{Resting: 1}},
		{"nobody home yesterday", func(h *House) { h.Outcome, h.CalledOn = NobodyHome, today-1 }, LeftOut{}},
		{"far", func(h *House) { h.At.Lat = 45.01 }, LeftOut{Far: 1}},
	} {
		roof, house := nextDoor()
		c.change(&house)
		got := rank(t, Settings{}, []Roof{roof}, house)
		if got.LeftOut != c.want || (len(got.Houses) == 1) != (c.want == LeftOut{}) {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

func TestRefusals(t *testing.T) {
	tooMuch := 1.5
	for field, change := range map[string]func(*Input){
		"today":                      func(in *Input) { in.Today = 0 },
		"settings.radius_m":          func(in *Input) { in.Settings.Radius = -1 },
		"settings.like_years":        func(in *Input) { in.Settings.LikeYears = 51 },
		"settings.horizon_years":     func(in *Input) { in.Settings.HorizonYears = math.NaN() },
		"settings.typical_age_years": func(in *Input) { in.Settings.TypicalAgeYears = 2 },
		"settings.rest_months":       func(in *Input) { in.Settings.RestMonths = -1 },
		"settings.limit":             func(in *Input) { in.Settings.Limit = -1 },
		"roofs[0].id":                func(in *Input) { in.Roofs[0].ID = "" },
		"roofs[0].at: lat":           func(in *Input) { in.Roofs[0].At.Lat = 99 },
		"houses[0].id":               func(in *Input) { in.Houses[0].ID = "" },
		"houses[0].at: lon":          func(in *Input) { in.Houses[0].At.Lon = 200 },
		"houses[0].need":             func(in *Input) { in.Houses[0].Need = &tooMuch },
		"houses[0].outcome":          func(in *Input) { in.Houses[0].Outcome = "maybe" },
	} {
		roof, house := nextDoor()
		in := Input{Today: today, Roofs: []Roof{roof}, Houses: []House{house}}
		change(&in)
		if _, err := Rank(in); err == nil || !strings.HasPrefix(err.Error(), field) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// village draws roofs and houses with facts that often agree and often lack.
func village(r *rand.Rand, roofs, houses int, side float64) Input {
	in := Input{Today: today, Roofs: make([]Roof, roofs), Houses: make([]House, houses)}
	pick := func(words ...string) string { return words[r.IntN(len(words))] }
	building := func() Building {
		b := Building{Builder: pick("", "Hollis", "Marsh"), Plan: pick("", "A", "B"), Neighbourhood: pick("", "Mill Rise", "Hilltop"), Storeys: r.IntN(3), Cladding: pick("", "stucco", "siding")}
		if r.IntN(4) > 0 {
			b.BuildYear = 1985 + r.IntN(35)
		}
		return b
	}
	at := func() geo.Point { return geo.Point{Lat: 45 + side*r.Float64(), Lon: -93 + 1.4*side*r.Float64()} }
	for i := range in.Roofs {
		in.Roofs[i] = Roof{ID: fmt.Sprint("r", i), HouseID: fmt.Sprint("h", r.IntN(houses*2)), At: at(), Building: building(), Covering: pick("", "laminated", "strip"), LaidYear: 2012 + r.IntN(14), OldCovering: pick("", "strip", "interlocking")}
	}
	for i := range in.Houses {
		in.Houses[i] = House{ID: fmt.Sprint("h", i), At: at(), Building: building(), Covering: pick("", "laminated", "strip", "interlocking"), Stopped: r.IntN(30) == 0, Ours: r.IntN(50) == 0}
		if r.IntN(3) == 0 {
			in.Houses[i].RoofYear = 1995 + r.IntN(30)
		}
		if r.IntN(10) == 0 {
			in.Houses[i].Outcome, in.Houses[i].CalledOn = outcomes[r.IntN(len(outcomes))], today.AddDays(-r.IntN(500))
		}
	}
	return in
}

func TestRankProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		in := village(r, rapid.IntRange(0, 12).Draw(t, "roofs"), rapid.IntRange(1, 60).Draw(t, "houses"), 0.006)
		got, err := Rank(in)
		if err != nil {
			t.Fatal(err)
		}
		byID := map[string]*House{}
		ours := map[string]bool{}
		for i := range in.Houses {
			byID[in.Houses[i].ID] = &in.Houses[i]
		}
		for _, roof := range in.Roofs {
			ours[roof.HouseID] = true
		}
		l := got.LeftOut
		if got.Ranked != len(got.Houses) || got.Ranked+l.Ours+l.Stopped+l.Resting+l.Far != len(in.Houses) {
			t.Fatalf("%d ranked, %+v left out of %d", got.Ranked, l, len(in.Houses))
		}
		s := in.Settings.withDefaults()
		for i, h := range got.Houses {
			house := byID[h.ID]
			if house.Stopped || house.Ours || ours[h.ID] {
				t.Fatalf("%s must not be called on", h.ID)
			}
			if h.Likeness < 0 || h.Likeness > 1+1e-12 || h.Need < 0 || h.Need > 1 || h.Known < 0 || h.Known > 1+1e-12 {
				t.Fatalf("out of range: %+v", h)
			}
			// Measured against every roof, no other within the radius is more like it.
			near, likest, sum := 0, 0.0, 0.0
			for k := range in.Roofs {
				if d := geo.Distance(in.Roofs[k].At, house.At); d <= s.Radius {
					parts := s.compare(&in.Roofs[k], house, d)
					likest, near = max(likest, likeness(&parts)), near+1
				}
			}
			for _, reason := range h.Reasons {
				sum += reason.Value * reason.Weight / weightAll
			}
			if near != h.RoofsNear || math.Abs(likest-h.Likeness) > 1e-9 || math.Abs(sum-h.Likeness) > 1e-9 {
				t.Fatalf("likeness %v, likest of %d roofs %v, its reasons sum to %v", h.Likeness, near, likest, sum)
			}
			if i > 0 {
				before := got.Houses[i-1]
				if before.Score < h.Score || before.Score == h.Score && before.ID >= h.ID {
					t.Fatalf("%s before %s", before.ID, h.ID)
				}
			}
		}
		// The order in which the files came makes no difference, and a limit only
		// cuts the list.
		r.Shuffle(len(in.Houses), func(i, j int) { in.Houses[i], in.Houses[j] = in.Houses[j], in.Houses[i] })
		r.Shuffle(len(in.Roofs), func(i, j int) { in.Roofs[i], in.Roofs[j] = in.Roofs[j], in.Roofs[i] })
		in.Settings.Limit = 5
		again, err := Rank(in)
		if err != nil || again.Ranked != got.Ranked || len(again.Houses) != min(5, got.Ranked) || !reflect.DeepEqual(again.Houses, got.Houses[:len(again.Houses)]) {
			t.Fatalf("shuffled and limited: %v", err)
		}
	})
}

// Ranked anew by the houses that changed alone, a ranking is that of all.
func TestRerank(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		in := village(r, rapid.IntRange(0, 12).Draw(t, "roofs"), rapid.IntRange(1, 60).Draw(t, "houses"), 0.006)
		before, err := Rank(in)
		if err != nil {
			t.Fatal(err)
		}
		was, now := in, in
		was.Houses, now.Houses = nil, nil
		for _, i := range r.Perm(len(in.Houses))[:rapid.IntRange(0, len(in.Houses)).Draw(t, "changed")] {
			h := &in.Houses[i]
			was.Houses = append(was.Houses, *h)
			h.Outcome, h.CalledOn, h.NextOn, h.Stopped = outcomes[r.IntN(len(outcomes))], today, today.AddDays(r.IntN(3)-1), r.IntN(5) == 0
			now.Houses = append(now.Houses, *h)
		}
		want, err := Rank(in)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Rerank(before, was, now)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Fatalf("%d changed: %v\n%+v\n%+v", len(now.Houses), err, got, want)
		}
	})
	bad := Input{Today: today, Roofs: []Roof{{}}}
	if _, err := Rerank(Result{}, Input{Today: today}, bad); err == nil || !strings.HasPrefix(err.Error(), "now: ") {
		t.Errorf("a roof of nothing: %v", err)
	}
}

func TestNeedGrowsWithAge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		roof, house := nextDoor()
		s := Settings{HorizonYears: rapid.Float64Range(0.5, 20).Draw(t, "horizon")}.withDefaults()
		house.RoofYear = rapid.IntRange(1970, 2025).Draw(t, "roof year")
		older := house
		older.RoofYear -= rapid.IntRange(0, 20).Draw(t, "older by")
		if a, b := s.need(&roof, &house, 2026).Value, s.need(&roof, &older, 2026).Value; a > b || a < 0 || b > 1 {
			t.Fatalf("need %v, older %v", a, b)
		}
	})
}

func TestInputFromJSON(t *testing.T) {
	roof, house := nextDoor()
	in := Input{Today: today, Roofs: []Roof{roof}, Houses: []House{house}}
	text, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	var back Input
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&back); err != nil || !reflect.DeepEqual(back, in) {
		t.Errorf("%v: %s", err, text)
	}
	if !strings.Contains(string(text), `"build_year":2004`) || !strings.Contains(string(text), `"at":{"lat":45,"lon":-93}`) {
		t.Errorf("%s", text)
	}
}

func TestWalk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 8).Draw(t, "houses")
		in := WalkInput{Start: geo.Point{Lat: 45, Lon: -93}}
		for i := range n {
			in.Stops = append(in.Stops, Stop{fmt.Sprint("h", i), geo.Point{Lat: 45 + rapid.Float64Range(0, 0.01).Draw(t, "lat"), Lon: -93 + rapid.Float64Range(0, 0.01).Draw(t, "lon")}})
		}
		got, err := Walk(in)
		if err != nil {
			t.Fatal(err)
		}
		at := map[string]geo.Point{}
		for _, s := range in.Stops {
			at[s.ID] = s.At
		}
		from, soFar := in.Start, units.Length(0)
		for _, s := range got.Stops {
			soFar += geo.Distance(from, at[s.ID])
			if math.Abs(float64(soFar-s.SoFar)) > 1e-4 {
				t.Fatalf("%+v after %v", s, soFar)
			}
			from = at[s.ID]
			delete(at, s.ID)
		}
		if len(at) > 0 || math.Abs(float64(got.Distance-soFar)) > 1e-4 {
			t.Fatalf("left out %v; %v of %v", at, soFar, got.Distance)
		}
		// Against every order there is.
		least := math.Inf(1)
		var try func(from geo.Point, left []Stop, length float64)
		try = func(from geo.Point, left []Stop, length float64) {
			if length >= least {
				return
			}
			if len(left) == 0 {
				least = length
			}
			for i := range left {
				rest := append(append([]Stop{}, left[:i]...), left[i+1:]...)
				try(left[i].At, rest, length+float64(geo.NearDistance(from, left[i].At)))
			}
		}
		try(in.Start, in.Stops, 0)
		if float64(got.Distance) > least*1.0001+0.01 {
			t.Fatalf("%v m, the shortest is %v m", float64(got.Distance), least)
		}
	})
}

func TestWalkRefusals(t *testing.T) {
	at := geo.Point{Lat: 45, Lon: -93}
	for rule, in := range map[string]WalkInput{
		"start":      {Start: geo.Point{Lat: 100}},
		"is needed":  {Start: at, Stops: []Stop{{At: at}}},
		"twice":      {Start: at, Stops: []Stop{{"a", at}, {"a", at}}},
		"stops[0]":   {Start: at, Stops: []Stop{{"a", geo.Point{Lon: 999}}}},
		"more than":  {Start: at, Stops: manyStops(geo.MaxStops + 1)},
		"stops[1].i": {Start: at, Stops: []Stop{{"a", at}, {"", at}}},
	} {
		if _, err := Walk(in); err == nil || !strings.Contains(err.Error(), rule) {
			t.Errorf("%s: %v", rule, err)
		}
	}
}

func manyStops(n int) []Stop {
	r := rand.New(rand.NewPCG(3, 3))
	stops := make([]Stop, n)
	for i := range stops {
		stops[i] = Stop{fmt.Sprint("h", i), geo.Point{Lat: 45 + 0.01*r.Float64(), Lon: -93 + 0.01*r.Float64()}}
	}
	return stops
}

// A million houses, thousands of roofs: the time must follow the houses near
// roofs, not their product.
func BenchmarkRank(b *testing.B) {
	for _, c := range []struct{ roofs, houses int }{{500, 100_000}, {5_000, 1_000_000}} {
		b.Run(fmt.Sprintf("%d_roofs_%d_houses", c.roofs, c.houses), func(b *testing.B) {
			in := village(rand.New(rand.NewPCG(7, 7)), c.roofs, c.houses, 0.0003*math.Sqrt(float64(c.houses)))
			in.Settings.Limit = 200
			for b.Loop() {
				if _, err := Rank(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkWalk(b *testing.B) {
	for _, n := range []int{60, 300} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			in := WalkInput{Start: geo.Point{Lat: 45, Lon: -93}, Stops: manyStops(n)}
			for b.Loop() {
				if _, err := Walk(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
