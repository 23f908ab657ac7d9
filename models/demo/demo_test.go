package demo

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/analytics/venting"
	"overhang/analytics/wear"
	"overhang/models"
)

var wednesday = units.NewDate(2026, time.November, 25)

// Companies of several sizes, ending on several days. They are made once.
var storyOptions = []Options{
	{Seed: 1, Today: wednesday},
	{Seed: 2, Today: units.NewDate(2026, time.June, 17)},
	{Seed: 3, Today: units.NewDate(2027, time.January, 2)}, // a Saturday in the closed season
	{Seed: 4, Today: units.NewDate(2028, time.April, 16)},  // a Sunday, the season's second day
	{Seed: 5, Today: units.NewDate(2028, time.February, 29)},
	{Seed: 6, Roofs: 1, Houses: 1, Today: wednesday},
	{Seed: 7, Roofs: 30, Houses: 40, Today: units.NewDate(2026, time.November, 15)},
	{Seed: 8, Roofs: 400, Houses: 20, Today: units.NewDate(2026, time.August, 3)},
	{Seed: 9, Roofs: 1600, Houses: 9000, Today: wednesday},
}

var stories = sync.OnceValue(func() []*Company {
	var out []*Company
	for _, o := range storyOptions {
		out = append(out, Make(o))
	}
	return out
})

func eachCompany(t *testing.T, check func(t *testing.T, o Options, c *Company)) {
	t.Helper()
	for i, c := range stories() {
		o := storyOptions[i]
		t.Run(fmt.Sprintf("seed %d, %d roofs, %d houses, %s", o.Seed, o.Roofs, o.Houses, o.Today), func(t *testing.T) { check(t, o, c) })
	}
}

func TestTheSameOptionsMakeTheSameRecords(t *testing.T) {
	write := func(o Options) []byte {
		b, err := json.Marshal(Make(o))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	o := Options{Seed: 42, Roofs: 60, Houses: 300, Today: wednesday}
	first := write(o)
	if !bytes.Equal(first, write(o)) {
		t.Error("two companies of one seed differ")
	}
	o.Seed++
	if bytes.Equal(first, write(o)) {
		t.Error("two seeds made one company")
	}
}

// rows calls fn with every record and link of a company, and its place.
func rows(c *Company, fn func(kind string, n int, row reflect.Value)) {
	v := reflect.ValueOf(c).Elem()
	for i := range v.NumField() {
		f := v.Field(i)
		if f.Kind() == reflect.Struct {
			fn(v.Type().Field(i).Name, 0, f)
			continue
		}
		for n := range f.Len() {
			fn(v.Type().Field(i).Name, n, f.Index(n))
		}
	}
}

func TestRecordsKeepTheirRules(t *testing.T) {
	eachCompany(t, func(t *testing.T, _ Options, c *Company) {
		refs := map[string]bool{}
		told := 0
		rows(c, func(kind string, n int, row reflect.Value) {
			rec, is := row.Addr().Interface().(models.Record)
			if !is || told > 5 {
				return
			}
			if err := rec.Validate(); err != nil {
				t.Errorf("%s %d: %v in %+v", kind, n+1, err, rec)
				told++
			}
			if rec.Base().ID != int64(n+1) {
				t.Errorf("%s %d has the number %d", kind, n+1, rec.Base().ID)
				told++
			}
			if f := row.FieldByName("Ref"); f.IsValid() {
				if key := kind + f.String(); refs[key] {
					t.Errorf("%s %s is there twice", kind, f)
					told++
				} else {
					refs[key] = true
				}
			}
		})
	})
}

// named says which kind of record a field names.
var named = map[string]string{"BranchID": "Branch", "HouseID": "Houses", "ContactID": "Contacts", "StructureID": "Structures", "AtticID": "Attics",
	"SlopeID": "Slopes", "CoveringID": "Coverings", "RoofID": "Roofs", "CrewID": "Crews", "JobID": "Jobs", "TermsID": "Terms", "WarrantyID": "Warranties",
	"CallbackID": "Callbacks", "ReturnOf": "Callbacks", "LotID": "Lots",
	"SubcontractID": "Subcontracts", "DetailID": "Details", "CostLineID": "CostLines", "Corrects": "CostLines", "ClaimID": "Claims", "StormID": "Storms", "VisitID": "Visits",
	"LookedVisitID": "Visits", "RelaidSlopeID": "Slopes"}

func TestRecordsNameWhatStandsBefore(t *testing.T) {
	order := map[string]int{}
	typ := reflect.TypeFor[Company]()
	for i := range typ.NumField() {
		order[typ.Field(i).Name] = i
	}
	eachCompany(t, func(t *testing.T, _ Options, c *Company) {
		v := reflect.ValueOf(c).Elem()
		told := 0
		rows(c, func(kind string, n int, row reflect.Value) {
			for i := range row.NumField() {
				name := row.Type().Field(i).Name
				target, is := named[name]
				if !is {
					if strings.HasSuffix(name, "ID") && name != "SellerID" && name != "PersonID" {
						t.Fatalf("%s.%s names what?", kind, name)
					}
					continue
				}
				f := row.Field(i)
				if f.Kind() == reflect.Pointer {
					if f.IsNil() {
						continue
					}
					f = f.Elem()
				}
				most := 1
				if list := v.FieldByName(target); list.Kind() == reflect.Slice {
					most = list.Len()
				}
				if f.Int() < 1 || f.Int() > int64(most) || order[target] > order[kind] || (target == kind && f.Int() > int64(n)) {
					if told++; told < 5 {
						t.Errorf("%s %d: %s is %d", kind, n+1, name, f.Int())
					}
				}
			}
		})
	})
}

// ahead are the days that may lie ahead of today: what is booked or due.
var ahead = []string{"Visits.BookedFor", "Warranties.RegistrationDueOn", "Prospects.NextOn", "Plans.ToOn", "Callbacks.RingBackBy", "Calls.RingBackBy",
	"Callbacks.LookBy", "Callbacks.RepairBy", "Claims.FileBy", "Claims.AnswerBy"}

func TestNothingHappensAfterToday(t *testing.T) {
	eachCompany(t, func(t *testing.T, o Options, c *Company) {
		midnight := o.Today.AddDays(1).In(c.Branch.Location())
		told := 0
		rows(c, func(kind string, n int, row reflect.Value) {
			for i := range row.NumField() {
				field := kind + "." + row.Type().Field(i).Name
				var late bool
				switch v := row.Field(i).Interface().(type) {
				case units.Date:
					late = v > o.Today
				case units.Dated:
					late = v.On > o.Today
				case time.Time:
					late = v.After(midnight)
				case *time.Time:
					late = v != nil && v.After(midnight)
				}
				if late && !slices.Contains(ahead, field) {
					if told++; told < 5 {
						t.Errorf("%s of %d: %v", field, n+1, row.Field(i).Interface())
					}
				}
			}
		})
	})
}

func TestCounts(t *testing.T) {
	eachCompany(t, func(t *testing.T, o Options, c *Company) {
		o = o.settled()
		roofs, houses := 0, map[int64]bool{}
		for _, r := range c.Roofs {
			if r.Ours {
				roofs++
				houses[r.HouseID] = true
			}
		}
		if roofs != o.Roofs {
			t.Errorf("%d roofs are ours, want %d", roofs, o.Roofs)
		}
		if others := len(c.Houses) - len(houses); others != o.Houses {
			t.Errorf("%d other houses, want %d", others, o.Houses)
		}
		standing := map[int64]int{}
		for _, r := range c.Roofs {
			if r.EndedOn == 0 && (r.StructureID == nil || c.Structures[*r.StructureID-1].Kind == "main") {
				standing[r.HouseID]++
			}
		}
		for i := range c.Houses {
			if standing[int64(i+1)] != 1 {
				t.Fatalf("house %d has %d coverings on its main roof", i+1, standing[int64(i+1)])
			}
		}
	})
}

func TestAddressesArePlain(t *testing.T) {
	c := stories()[len(storyOptions)-1]
	seen := map[string]bool{}
	for _, a := range c.Addresses {
		if !a.Main {
			continue
		}
		if seen[a.Line()] {
			t.Fatalf("%s is there twice", a.Line())
		}
		seen[a.Line()] = true
	}
	for _, p := range c.Contacts {
		for _, n := range []string{p.Phone, p.Phone2} {
			if n != "" && !strings.Contains(n, ") 555-01") {
				t.Fatalf("%s has the telephone number %s", p.Name, n)
			}
		}
	}
	names := map[string]bool{}
	for k := range 16_800 {
		names[streetName(7, k)] = true
	}
	if len(names) != 16_800 {
		t.Errorf("16,800 streets have %d names", len(names))
	}
}

// Houses stand along their streets: the nearest one is a lot away, and no two
// stand in one place. Lots of some 15 to 20 m, setbacks of 14 m: common
// practice, no source.
func TestHousesStandApart(t *testing.T) {
	c := stories()[0]
	type spot struct{ x, y float64 }
	cells := map[[2]int][]spot{}
	var spots []spot
	for _, h := range c.Houses {
		if h.Lat == nil {
			continue
		}
		x, y := metres(*h.Lat, *h.Lon)
		s := spot{x, y}
		spots = append(spots, s)
		k := [2]int{int(math.Floor(x / 60)), int(math.Floor(y / 60))}
		cells[k] = append(cells[k], s)
	}
	var nearest []float64
	for _, s := range spots {
		best := math.Inf(1)
		kx, ky := int(math.Floor(s.x/60)), int(math.Floor(s.y/60))
		for dx := -1; dx <= 1; dx++ {
			for dy := -1; dy <= 1; dy++ {
				for _, o := range cells[[2]int{kx + dx, ky + dy}] {
					if o != s {
						best = math.Min(best, math.Hypot(o.x-s.x, o.y-s.y))
					}
				}
			}
		}
		nearest = append(nearest, best)
	}
	slices.Sort(nearest)
	if nearest[0] < 8 {
		t.Errorf("two houses stand %.1f m apart", nearest[0])
	}
	if middle := nearest[len(nearest)/2]; middle < 14 || middle > 20 {
		t.Errorf("the next house is %.1f m away, want 15 to 20", middle)
	}
}

// What a roofer would look at first. The ranges are common practice, no source,
// where a row names none.
func TestARooferWouldBelieveIt(t *testing.T) {
	for seed := range uint64(4) {
		o := Options{Seed: seed, Today: wednesday}
		c := Make(o)
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			within := func(what string, v, low, high float64) {
				t.Helper()
				if !(v >= low-1e-9 && v <= high+1e-9) {
					t.Errorf("%s is %.3g, want %g to %g", what, v, low, high)
				}
			}
			for _, s := range c.Slopes {
				within("a pitch in twelve", s.Pitch.In12(), 3, 12)
				if s.Overhang != nil {
					within("an overhang in inches", s.Overhang.In(units.Inch), 6, 36)
				}
			}
			main := map[int64]bool{}
			for _, s := range c.Structures {
				main[s.ID] = s.Kind == "main"
			}
			area, sloped := map[int64]units.Area{}, map[int64]units.Area{}
			for _, l := range c.RoofSlopes {
				sloped[l.RoofID] += *c.Slopes[l.SlopeID-1].Area
			}
			job := map[int64]int64{}
			for _, l := range c.JobRoofs {
				job[l.RoofID] = l.JobID
			}
			years := 0.0
			squares := map[int64]float64{}
			for _, r := range c.Roofs {
				if !r.Ours {
					continue
				}
				area[r.ID] = *r.Area
				within("slopes over roof area", float64(sloped[r.ID] / *r.Area), .99, 1.01)
				if main[*r.StructureID] {
					within("squares of a roof", r.Area.In(units.Square), 12, 60)
				} else {
					within("squares of a garage", r.Area.In(units.Square), 5, 12)
				}
				squares[job[r.ID]] += r.Area.In(units.Square)
				end := o.Today
				if r.EndedOn != 0 {
					end = r.EndedOn
				}
				years += end.YearsSince(r.Laid.On)
			}
			for _, j := range c.Jobs {
				covering := int64(0)
				for _, l := range c.JobRoofs {
					if l.JobID == j.ID {
						covering = *c.Roofs[l.RoofID-1].CoveringID
					}
				}
				low, high := 280.0, 1050.0
				if covering == ribbedMetal {
					low, high = 650, 1700
				}
				within("the price of a square", j.Price.Dollars()/squares[j.ID], low, high)
				if d := j.StartedOn; !inSeason(d) || d.Weekday() == time.Sunday {
					t.Errorf("a crew began on %s, a %s", d, d.Weekday())
				}
				if j.Foreman == "" {
					t.Errorf("job %s has no foreman", j.Ref)
				}
			}

			// Ages at which coverings were worn out: the mean life of asphalt is
			// put between 17.7 years (engineer's page on a survey) and 20 (National
			// Association of Home Builders 2007, both seen quoted), and worn-out
			// roofs lie on for some years.
			var sum, n float64
			for _, r := range c.Roofs {
				if r.EndReason != "worn_out" || r.CoveringID == nil || !strings.HasPrefix(c.Coverings[*r.CoveringID-1].Family, "asphalt") {
					continue
				}
				age := r.EndedOn.YearsSince(r.Laid.On)
				within("the age of a worn-out roof", age, 2, 50)
				sum, n = sum+age, n+1
			}
			within("the mean age of worn-out asphalt", sum/n, 16, 25)
			reasons := map[string]int{}
			for _, r := range c.Roofs {
				reasons[r.EndReason]++
			}
			for _, reason := range models.RoofEndReasons {
				if reasons[reason] == 0 {
					t.Errorf("no roof ended by %s", reason)
				}
			}

			// Callbacks.
			within("callbacks in a hundred roof-years", 100*float64(len(c.Callbacks))/years, 2, 7)
			causes, early := map[string]int{}, 0
			for _, b := range c.Callbacks {
				causes[b.CauseFound]++
				if b.JobID != nil && b.LearnedOn.YearsSince(c.Jobs[*b.JobID-1].ClosedOn) < 1.5 {
					early++
				}
			}
			for _, cause := range models.Causes {
				if causes[cause] == 0 {
					t.Errorf("no callback was caused by %s", cause)
				}
			}
			within("the share of callbacks in the first eighteen months", float64(early)/float64(len(c.Callbacks)), .15, .7)
			var laps [2]float64 // by the crew with the habit, by the others
			for _, b := range c.Callbacks {
				if b.CauseFound == "lap" {
					if *c.Jobs[*b.JobID-1].CrewID == habitCrew {
						laps[0]++
					} else {
						laps[1]++
					}
				}
			}
			if laps[0] <= laps[1] {
				t.Errorf("the crew with the habit had %g leaks at a lap, the others %g", laps[0], laps[1])
			}

			// Attics short of the code, by the program's own rule.
			openings := map[int64][]venting.Opening{}
			for _, v := range c.Vents {
				o := venting.Opening{Kind: venting.Kind(v.Kind), Height: venting.Height(v.Height), Count: v.Count, BlockedShare: v.Blocked}
				if v.Height == "between" {
					o.Height = venting.Other
				}
				if v.Length != nil {
					o.LengthFt = new(v.Length.In(units.Foot))
				}
				switch {
				case v.FreeArea == nil:
				case v.Length != nil:
					o.NetPerFtIn2 = new(v.FreeArea.In(units.SquareInch) * units.Foot.In(units.Metre))
				default:
					o.NetEachIn2 = new(v.FreeArea.In(units.SquareInch))
				}
				openings[v.AtticID] = append(openings[v.AtticID], o)
			}
			verdicts := map[venting.Verdict]float64{}
			for _, a := range c.Attics {
				in := venting.Input{Openings: openings[a.ID], RetarderClass: a.Retarder, ClimateZone: c.Branch.ClimateZone, Codes: []string{c.Branch.BuildingCode}}
				if a.VentedArea != nil {
					in.PlanAreaFt2 = new(a.VentedArea.In(units.SquareFoot))
				}
				res, err := venting.Check(in)
				if err != nil {
					t.Fatal(err)
				}
				verdicts[res.Rules[0].Verdict]++
			}
			attics := float64(len(c.Attics))
			within("the share of attics that pass", verdicts[venting.Passes]/attics, .2, .65)
			within("the share of attics short of vents", verdicts[venting.Fails]/attics, .25, .6)
			within("the share of attics not known", verdicts[venting.NotKnown]/attics, .03, .3)
		})
	}
}

// The looks at one roof must tell a story that the wear catalogue understands:
// every defect is one that the method can show, and old coverings rate lower.
func TestFindingsAreOfTheCatalogue(t *testing.T) {
	c := Make(Options{Seed: 1, Roofs: 600, Houses: 3000, Today: wednesday})
	found := map[int64][]wear.Finding{}
	for _, f := range c.Findings {
		w := wear.Finding{Defect: f.Defect, Look: wear.Looked(f.Look), Severity: f.Severity, Extent: f.Extent}
		if f.SlopeID != nil {
			w.Slope = fmt.Sprint(*f.SlopeID)
		}
		found[f.VisitID] = append(found[f.VisitID], w)
	}
	var young, old, nYoung, nOld float64
	wet := 0
	for _, v := range c.Visits {
		fs := found[v.ID]
		if len(fs) == 0 {
			continue
		}
		if v.DoneOn == 0 {
			t.Fatalf("visit %s found something before it was held", v.Ref)
		}
		r, err := wear.Rate(wear.Input{Method: wear.Method(v.Method), Wet: v.Wet, Findings: fs})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.SetAside) > 0 {
			t.Fatalf("visit %s, %s: %+v", v.Ref, v.Method, r.SetAside[0])
		}
		rating := r.Part(wear.Covering).Rating
		if v.Wet != nil && *v.Wet {
			if wet++; v.Method == "walked" {
				t.Errorf("visit %s walked a wet roof", v.Ref)
			}
		}
		if rating == nil || v.Purpose != "checkup" || *c.Roofs[*v.RoofID-1].CoveringID == ribbedMetal {
			continue
		}
		switch age := v.DoneOn.YearsSince(c.Roofs[*v.RoofID-1].Laid.On); {
		case age < 4:
			young, nYoung = young+*rating, nYoung+1
		case age > 10:
			old, nOld = old+*rating, nOld+1
		}
	}
	if wet == 0 {
		t.Error("no roof was wet")
	}
	if young/nYoung < 85 || old/nOld > young/nYoung-10 || old/nOld < 30 {
		t.Errorf("roofs under 4 years rate %.0f, over 10 years %.0f", young/nYoung, old/nOld)
	}
}

func TestTermsAreOnesThatPromiseReads(t *testing.T) {
	for _, terms := range Make(Options{Roofs: 1, Houses: 1}).Terms {
		p := promise.Terms{Kind: promise.Kind(terms.Kind), TermMonths: terms.TermMonths, FullMonths: terms.FullMonths, Method: promise.Method(terms.ShareMethod),
			Transfer: promise.Transfer(terms.Transfer), TransferNoticeDays: terms.NoticeDays, AfterTransferMonths: terms.AfterTransfer}
		for _, s := range terms.Steps {
			p.Steps = append(p.Steps, promise.Step{FromMonth: s.FromMonth, Share: s.Share})
		}
		for _, k := range terms.Conditions {
			p.Conditions = append(p.Conditions, promise.Condition{Kind: k.Kind, Days: k.Days})
		}
		if err := p.Validate(); err != nil {
			t.Errorf("terms %s: %v", terms.Key, err)
		}
	}
}

func TestTheMorningHasWork(t *testing.T) {
	for _, o := range []Options{
		{Seed: 1, Today: wednesday},
		{Seed: 1, Today: units.NewDate(2026, time.June, 17)},
		{Seed: 9, Roofs: 60, Houses: 500, Today: units.NewDate(2027, time.March, 3)},
	} {
		c := Make(o)
		start := o.Today.In(c.Branch.Location())
		late, wet, lost, openCallbacks := 0, 0, 0, 0
		for _, b := range c.Callbacks {
			if b.State == "closed" {
				continue
			}
			openCallbacks++
			if b.RungBackAt == nil && b.RingBackBy != nil && b.RingBackBy.Before(start) {
				late++
			}
			if b.WaterComingIn && b.LearnedOn >= o.Today.AddDays(-1) {
				wet++
			}
			if b.HouseID == nil {
				lost++
			}
		}
		booked, offered, declined, done, looks, held := 0, 0, 0, 0, 0, 0
		for _, v := range c.Visits {
			if v.BookedFor >= o.Today && v.DoneOn == 0 && v.CancelledOn == 0 {
				booked++
				if v.Purpose == "checkup" && !inSeason(v.BookedFor) {
					t.Errorf("a check-up is booked for %s", v.BookedFor)
				}
				if d := v.BookedFor.Weekday(); d == time.Saturday || d == time.Sunday {
					t.Errorf("a visit is booked for %s, a %s", v.BookedFor, d)
				}
			}
			if v.Purpose == "checkup" {
				switch {
				case v.DoneOn != 0:
					done++
				case v.DeclinedOn != 0:
					declined++
				case v.BookedFor == 0 && v.CancelledOn == 0:
					offered++
				}
			}
			if v.Purpose == "storm_look" {
				looks++
				if v.DoneOn != 0 {
					held++
				}
			}
		}
		if late != 2 || wet < 1 || lost != 1 || openCallbacks < 7 {
			t.Errorf("%s: %d ring-backs are late, %d drip, %d have no house, %d are open", o.Today, late, wet, lost, openCallbacks)
		}
		if booked < 5 || offered == 0 || declined == 0 || done == 0 || looks == held || held == 0 {
			t.Errorf("%s: %d booked, %d offered, %d declined, %d done, %d of %d storm looks held", o.Today, booked, offered, declined, done, held, looks)
		}
		states := map[string]int{}
		due := 0
		for _, p := range c.Prospects {
			states[p.State]++
			if p.NextOn != 0 && p.NextOn <= o.Today {
				due++
			}
		}
		if due == 0 || len(c.StopEntries) == 0 || len(c.Knocks) == 0 {
			t.Errorf("%s: %d doors are due, %d stop entries, %d knocks", o.Today, due, len(c.StopEntries), len(c.Knocks))
		}
		if o.Roofs == 0 {
			for _, s := range models.ProspectStates {
				if states[s] == 0 {
					t.Errorf("%s: no door is at %s", o.Today, s)
				}
			}
			if len(c.Plans) == 0 || len(c.Declined) == 0 || len(c.Lots) == 0 || len(c.Subcontracts) == 0 {
				t.Errorf("%s: plans, declined work, lots or subcontracts are missing", o.Today)
			}
			sales, told := 0, 0
			for _, h := range c.Holdings {
				if h.ToOn != 0 {
					sales++
				}
				if h.NoticeOn != 0 {
					told++
				}
			}
			if sales == 0 || told == 0 || told >= sales {
				t.Errorf("%s: %d sales, %d told", o.Today, sales, told)
			}
		}
	}
}

// What is there of promises on any day that a demo of the usual size is started:
// certificates that were given, a sale whose notice is still due, a scenario of
// each kind, and cost lines that bear the company's tax of 6 in a hundred.
func TestPromisesOfTheDemo(t *testing.T) {
	eachCompany(t, func(t *testing.T, o Options, c *Company) {
		if o.Roofs != 0 {
			return
		}
		for _, g := range c.Certificates {
			w := c.Warranties[g.WarrantyID-1]
			if w.OwedBy != "us" || g.GivenOn < w.StartOn {
				t.Errorf("%s was given on %s on a certificate, and %s owes it from %s", w.Ref, g.GivenOn, w.OwedBy, w.StartOn)
			}
		}
		if n := len(c.Certificates); n < 5 || n > 60 {
			t.Errorf("%d certificates were given", n)
		}
		pending := 0
		for _, w := range c.Warranties {
			terms := c.Terms[w.TermsID-1]
			for _, h := range c.Holdings {
				late := h.FromOn.AddDays(terms.NoticeDays) < o.Today
				if h.HouseID == c.Roofs[w.RoofID-1].HouseID && h.Role == "owner" && h.FromOn > w.StartOn && h.NoticeOn == 0 && w.OwedBy == "us" && w.EndedOn == 0 &&
					terms.Transfer == "by_notice" && !late {
					pending++
				}
			}
		}
		if pending == 0 || pending > 8 {
			t.Errorf("%d promises of ours wait for the notice of a sale", pending)
		}
		releases := 0
		for _, k := range c.Claims {
			roof := c.Callbacks[k.CallbackID-1].RoofID
			promised := func(w models.Warranty) bool { return roof != nil && w.RoofID == *roof && w.OwedBy == k.Who }
			if k.Against == "maker" && !slices.ContainsFunc(c.Warranties, promised) {
				t.Errorf("%s is on %s, who promised nothing on the roof", k.Ref, k.Who)
			}
			if k.ReleaseAsked && k.Answer == "" && k.AnswerBy >= o.Today {
				releases++
			}
		}
		if releases == 0 {
			t.Error("no maker asks for a release")
		}
		kinds := map[string]int{}
		for _, s := range c.Scenarios {
			kinds[s.Kind]++
			roofs := 0
			for _, l := range c.Lots {
				if s.Lot != "" && l.Number == s.Lot {
					roofs++
				}
			}
			if s.Kind == "bad_lot" && (roofs < 3 || roofs > 40) {
				t.Errorf("the bad lot went on %d jobs", roofs)
			}
		}
		for _, k := range models.ScenarioKinds {
			if kinds[k] != 1 {
				t.Errorf("%d scenarios are of the kind %s", kinds[k], k)
			}
		}
		taxed, wrong := 0, 0
		for _, l := range c.CostLines {
			want := math.Round(float64(l.Amount) * .06)
			switch l.Kind {
			case "labour", "recovery": // our own hours, and what is paid back whole: common practice, no source
				want = 0
			default:
				taxed++
			}
			if float64(l.Tax) != want {
				t.Errorf("%s of %v bears %v of tax", l.Kind, l.Amount, l.Tax)
			}
			if l.Corrects != nil {
				wrong++
			}
		}
		if taxed == 0 || wrong == 0 {
			t.Errorf("%d lines bear tax, %d take back or mend another", taxed, wrong)
		}
	})
}

// Coverings last as was published, in the middle: the sources stand beside
// lifespan's table of priors, which is held to the same.
func TestLivesAsPublished(t *testing.T) {
	m := tell(Options{Seed: 1, Roofs: 300, Houses: 12_000, Today: wednesday})
	lives := map[int8][]float64{}
	for i := range m.lots {
		if m.lots[i].ours { // those became another covering
			continue
		}
		for _, y := range m.lots[i].layers {
			lives[y.covering] = append(lives[y.covering], float64(y.wears))
		}
	}
	for covering, published := range map[int8][2]float64{strip25: {15, 20}, laminated30: {24, 30}, oldOrganic: {13.5, 15.5}, splitShake: {20, 30},
		oldInterlocking: {17.7, 20.5}, laminated50: {25, 40}, ribbedMetal: {30, 80}} {
		all := lives[covering]
		slices.Sort(all)
		if len(all) < 100 {
			t.Errorf("%d coverings of kind %d say nothing", len(all), covering)
		} else if median := all[len(all)/2]; median < published[0] || median > published[1] {
			t.Errorf("half of the coverings of kind %d last %.1f years, published %v to %v", covering, median, published[0], published[1])
		}
	}
}

// Our roofs end as often as their kinds' lives say, and the looks at them tell how far
// gone they are: near the line when they are worn out, and of one story with the end.
func TestEndsAndLooksTellOneLife(t *testing.T) {
	m := tell(Options{Seed: 3, Roofs: 10_000, Houses: 60_000, Today: wednesday})
	seen, foretold := 0.0, 0.0
	of := map[int64]*ourRoof{}
	for _, r := range m.roofs {
		of[r.id] = r
		if !r.main {
			continue
		}
		c := m.c.Roofs[r.id-1]
		age := wednesday.YearsSince(c.Laid.On)
		if c.EndReason == "worn_out" {
			seen++
			if c.EndedOn.YearsSince(c.Laid.On) < r.wears-0.01 {
				t.Errorf("%s was worn out at %.1f years and said to be before, on %s", c.Ref, r.wears, c.EndedOn)
			}
		} else if c.EndedOn != 0 {
			age = c.EndedOn.YearsSince(c.Laid.On)
		}
		// Medians and shapes as in lifespan's table, worn out two years ago: near the
		// mean of a lag of two years.
		life := map[int8][2]float64{strip25: {18, 4.2}, laminated30: {26, 4.3}, laminated50: {30, 4.3}, ribbedMetal: {42, 4}}[r.covering]
		foretold += math.Ln2 * math.Pow(max(0, age-2)/life[0], life[1])
	}
	if off := (seen - foretold) / math.Sqrt(foretold); seen < 30 || math.Abs(off) > 4 || math.Abs(seen/foretold-1) > 0.5 {
		t.Errorf("%.0f roofs wore out, foretold %.1f", seen, foretold)
	}
	t.Logf("%.0f roofs wore out, foretold %.1f", seen, foretold)

	found := map[int64][]wear.Finding{}
	for _, f := range m.c.Findings {
		w := wear.Finding{Defect: f.Defect, Look: wear.Looked(f.Look), Severity: f.Severity, Extent: f.Extent}
		if f.SlopeID != nil {
			w.Slope = fmt.Sprint(*f.SlopeID)
		}
		found[f.VisitID] = append(found[f.VisitID], w)
	}
	var sum, n [12]float64 // by tenths of the life
	for _, v := range m.c.Visits {
		if v.Purpose != "checkup" || (v.Method != "walked" && v.Method != "ladder") || len(found[v.ID]) == 0 {
			continue
		}
		r := of[*v.RoofID]
		at := int(10 * v.DoneOn.YearsSince(r.laid) / r.wears)
		res, err := wear.Rate(wear.Input{Method: wear.Method(v.Method), Wet: v.Wet, Findings: found[v.ID]})
		if err != nil {
			t.Fatal(err)
		}
		if rating := res.Part(wear.Covering).Rating; rating != nil && at < len(sum) && r.covering != ribbedMetal {
			sum[at], n[at] = sum[at]+*rating, n[at]+1
		}
	}
	last := 101.0
	for at := range sum {
		if n[at] < 5 {
			continue
		}
		mean := sum[at] / n[at]
		t.Logf("at %d to %d tenths of the life %.0f looks rate %.1f", at, at+1, n[at], mean)
		if mean > last {
			t.Errorf("at %d tenths of their lives roofs rate %.1f, a tenth before %.1f", at, mean, last)
		}
		last = mean
		if (at < 3 && mean < 85) || (at == 9 && (mean < wear.Line || mean > wear.Line+25)) || (at == 10 && mean > wear.Line+10) {
			t.Errorf("at %d tenths of their lives roofs rate %.1f, the line is %v", at, mean, wear.Line)
		}
	}
	if n[9] < 5 {
		t.Errorf("%.0f looks near the end say nothing", n[9])
	}
}

func TestDice(t *testing.T) {
	d := newDice(1)
	seen := map[int]int{}
	for range 3000 {
		seen[d.weighted(1, 0, 2)]++
	}
	if seen[1] != 0 || seen[2] < 1800 || seen[2] > 2200 {
		t.Errorf("weights 1, 0, 2 gave %v", seen)
	}
	sum := 0.0
	for range 20000 {
		sum += d.weibull(20, 4)
	}
	// Mean 18.13 for scale 20 and shape 4, as η·Γ(1 + 1/k).
	if mean := sum / 20000; math.Abs(mean-18.13) > .15 {
		t.Errorf("the mean life is %.2f", mean)
	}
}

func BenchmarkMake(b *testing.B) {
	for _, o := range []Options{{Seed: 1, Today: wednesday}, {Seed: 1, Today: wednesday, Roofs: 5000, Houses: 100_000}} {
		b.Run(fmt.Sprintf("%d roofs and %d houses", o.settled().Roofs, o.settled().Houses), func(b *testing.B) {
			for b.Loop() {
				Make(o)
			}
		})
	}
}

// The outlines that were drawn enclose the areas that were measured, on the
// eaves that were measured, and each line between two slopes is drawn by both.
func TestOutlinesFitTheMeasures(t *testing.T) {
	eachCompany(t, func(t *testing.T, _ Options, c *Company) { outlinesFit(t, c) })
}

func outlinesFit(t *testing.T, c *Company) {

	type line struct{ x1, y1, x2, y2 int }
	drawn, lines := 0, map[int64]map[line]string{}
	for _, s := range c.Slopes {
		if s.Outline == nil {
			continue
		}
		drawn++
		if err := s.Outline.Validate(); err != nil {
			t.Fatalf("slope %d: %v", s.ID, err)
		}
		area := float64(s.Outline.PlanArea()) * math.Hypot(1, float64(*s.Pitch))
		if math.Abs(area-float64(*s.Area)) > .006*area {
			t.Errorf("slope %d %s: the outline encloses %.2f m², measured were %.2f", s.ID, s.Name, area, float64(*s.Area))
		}
		eave := 0.0
		of := lines[s.StructureID]
		if of == nil {
			of = map[line]string{}
			lines[s.StructureID] = of
		}
		for i, a := range s.Outline {
			b := s.Outline[(i+1)%len(s.Outline)]
			if a.Edge == "eave" {
				eave += math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y))
			}
			mm := func(l units.Length) int { return int(math.Round(l.In(units.Millimetre))) }
			if a.Edge == "ridge" || a.Edge == "hip" || a.Edge == "valley" {
				back := line{mm(b.X), mm(b.Y), mm(a.X), mm(a.Y)}
				if of[back] == a.Edge {
					delete(of, back)
				} else {
					of[line{mm(a.X), mm(a.Y), mm(b.X), mm(b.Y)}] = a.Edge
				}
			}
		}
		if math.Abs(eave-float64(*s.Eave)) > .05 {
			t.Errorf("slope %d %s: eaves of %.2f m are drawn, %.2f were measured", s.ID, s.Name, eave, float64(*s.Eave))
		}
	}
	if drawn < len(c.Slopes)/2 {
		t.Errorf("%d of %d slopes are drawn", drawn, len(c.Slopes))
	}
	for id, left := range lines {
		for l, edge := range left {
			t.Errorf("structure %d: the %s %v is drawn by one slope alone", id, edge, l)
		}
	}
}
