package models

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

func day(s string) units.Date {
	d, err := units.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func ptr[T any](v T) *T { return &v }

// sound is one record of each kind that keeps every rule. A test breaks one rule
// of a fresh one at a time.
var sound = map[string]func() Record{
	"company": func() Record { return &Company{Name: "Northlap Roofing", RingBackHours: 4} },
	"branch": func() Record {
		return &Branch{Name: "Main", Units: units.US, BuildingCode: "irc_2021", SeasonFrom: "04-15", SeasonTo: "11-15",
			FiscalYearStart: 1, TimeZone: "America/Denver", Language: "en", VisitsPerDay: 8, CheckupEveryMths: 12, StormLookDays: 14, NeighbourRadius: 300}
	},
	"person": func() Record {
		return &Person{Email: "a@example.org", Name: "A", PasswordHash: "x", Roles: Roles{Owner}}
	},
	"house":    func() Record { return &House{Ref: "H-1"} },
	"address":  func() Record { return &Address{Number: "12", Street: "Elm Street"} },
	"contact":  func() Record { return &Contact{Ref: "C-1", Name: "Ida"} },
	"holding":  func() Record { return &Holding{Role: "owner"} },
	"call":     func() Record { return &Call{Caller: "Ida", RangAt: time.Unix(0, 0)} },
	"callback": func() Record { return &Callback{Ref: "B-1", Caller: "Ida", LearnedOn: day("2026-11-25"), State: "new"} },
	"cost": func() Record {
		return &CostLine{On: day("2026-11-25"), LearnedOn: day("2026-11-25"), Kind: "labour", Amount: 100}
	},
	"claim": func() Record {
		return &Claim{Ref: "K-1", CallbackID: 1, Against: "maker", Who: "Maker", FiledOn: day("2026-11-01")}
	},
	"step": func() Record {
		return &CallbackStep{Kind: "looked", On: day("2026-11-25"), LearnedOn: day("2026-11-25")}
	},
	"structure": func() Record { return &Structure{Name: "main", Kind: "main"} },
	"attic":     func() Record { return &Attic{Name: "main"} },
	"slope":     func() Record { return &Slope{Name: "south"} },
	"vent":      func() Record { return &Vent{Name: "boxes", Kind: "box", Height: "high"} },
	"gutter":    func() Record { return &GutterRun{Name: "front"} },
	"detail":    func() Record { return &Detail{Name: "chimney", Kind: "chimney"} },
	"roof": func() Record {
		return &Roof{Ref: "R-1", HouseID: 1, Laid: units.Dated{On: day("2014-07-01"), Precision: units.ToYear}}
	},
	"covering": func() Record { return &Covering{Key: "strip", Name: "Strip", Family: "asphalt_strip"} },
	"job":      func() Record { return &Job{Ref: "J-1", HouseID: 1} },
	"declined": func() Record { return &Declined{What: "saddle", SignedOn: day("2020-05-01")} },
	"terms": func() Record {
		return &Terms{Key: "work-10", Name: "Ten years", Kind: "workmanship", TermMonths: 120, FullMonths: 120, ShareMethod: "none", Transfer: "once"}
	},
	"warranty": func() Record {
		return &Warranty{Ref: "W-1", RoofID: 1, TermsID: 1, OwedBy: "us", StartOn: day("2020-05-01")}
	},
	"closed month": func() Record {
		return &ClosedMonth{Month: "2026-10", ClosedOn: day("2026-11-05"), ClosedBy: "Ida", YearsEach: 1}
	},
	"plan": func() Record { return &Plan{FromOn: day("2020-05-01"), VisitsAYear: 1} },
	"visit": func() Record {
		return &Visit{Ref: "V-1", HouseID: 1, Purpose: "checkup", BookedFor: day("2020-05-01")}
	},
	"finding":  func() Record { return &Finding{Defect: "curling", Look: "seen", Severity: ptr(2)} },
	"prospect": func() Record { return &Prospect{HouseID: 1, State: "spoke"} },
	"knock":    func() Record { return &Knock{HouseID: 1, Outcome: "spoke", At: time.Unix(0, 0)} },
	"stop":     func() Record { return &StopEntry{Address: "12 Elm Street", AskedOn: day("2020-05-01")} },
	"storm": func() Record {
		return &Storm{Ref: "S-1", Name: "June hail", On: day("2020-06-01"), Kind: "hail", Shape: JSON[LatLon]{{46, -111}, {46.1, -111}}}
	},
	"photo": func() Record { return &Photo{HouseID: 1, FileName: "a.jpg", MediaType: "image/jpeg"} },
	"crew":  func() Record { return &Crew{Name: "North"} },
	"lot":   func() Record { return &Lot{Number: "L-1"} },
}

func TestSoundRecords(t *testing.T) {
	for name, make := range sound {
		if err := make().Validate(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func change[T any](fn func(*T)) func(Record) { return func(r Record) { fn(any(r).(*T)) } }

func TestRules(t *testing.T) {
	for _, c := range []struct {
		kind, field string
		change      func(Record)
	}{
		{"company", "name", change(func(c *Company) { c.Name = " " })},
		{"company", "ring_back_hours", change(func(c *Company) { c.RingBackHours = 0 })},
		{"branch", "units", change(func(b *Branch) { b.Units = "cubits" })},
		{"branch", "building_code", change(func(b *Branch) { b.BuildingCode = "irc_1900" })},
		{"branch", "season_from", change(func(b *Branch) { b.SeasonFrom = "15 April" })},
		{"branch", "season_to", change(func(b *Branch) { b.SeasonTo = "03-01" })},
		{"branch", "time_zone", change(func(b *Branch) { b.TimeZone = "Local" })},
		{"branch", "time_zone", change(func(b *Branch) { b.TimeZone = "Mars/Olympus" })},
		{"branch", "lon", change(func(b *Branch) { b.Lat = ptr(46.0) })},
		{"branch", "neighbour_radius", change(func(b *Branch) { b.NeighbourRadius = 1 })},
		{"person", "email", change(func(p *Person) { p.Email = "A@example.org" })},
		{"person", "email", change(func(p *Person) { p.Email = "nobody" })},
		{"person", "roles", change(func(p *Person) { p.Roles = nil })},
		{"house", "ref", change(func(h *House) { h.Ref = "" })},
		{"house", "lat", change(func(h *House) { h.Lat, h.Lon = ptr(91.0), ptr(0.0) })},
		{"house", "cladding", change(func(h *House) { h.Cladding = "straw" })},
		{"house", "build_year", change(func(h *House) { h.BuildYear = ptr(98) })},
		{"house", "site_notes", change(func(h *House) { h.SiteNotes = strings.Repeat("x", 2001) })},
		{"address", "number", change(func(a *Address) { a.Number = "" })},
		{"address", "street", change(func(a *Address) { a.Street = "" })},
		{"contact", "phone", change(func(c *Contact) { c.Phone = "ring me" })},
		{"contact", "email", change(func(c *Contact) { c.Email = "a b@example.org" })},
		{"holding", "to_on", change(func(h *Holding) { h.FromOn, h.ToOn = day("2020-01-02"), day("2020-01-01") })},
		{"call", "caller", change(func(c *Call) { c.Caller = "" })},
		{"callback", "caller", change(func(c *Callback) { c.Caller = "" })},
		{"callback", "learned_on", change(func(c *Callback) { c.LearnedOn = 0 })},
		{"callback", "learned_on", change(func(c *Callback) { c.HappenedOn = day("2026-11-26") })},
		{"callback", "state", change(func(c *Callback) { c.State = "lost" })},
		{"callback", "closed_on", change(func(c *Callback) { c.State = "closed" })},
		{"callback", "closed_on", change(func(c *Callback) { c.ClosedOn = day("2026-11-26") })},
		{"callback", "refused_because", change(func(c *Callback) { c.State = "refused" })},
		{"cost", "amount", change(func(c *CostLine) { c.Kind = "recovery" })},
		{"cost", "amount", change(func(c *CostLine) { c.Amount = -1 })},
		{"cost", "tax", change(func(c *CostLine) { c.Tax = -1 })},
		{"cost", "learned_on", change(func(c *CostLine) { c.LearnedOn = 0 })},
		{"cost", "learned_on", change(func(c *CostLine) { c.LearnedOn = day("2026-11-24") })},
		{"cost", "hours", change(func(c *CostLine) { c.Hours = ptr(-1.0) })},
		{"cost", "bearer", change(func(c *CostLine) { c.Bearer = "nobody" })},
		{"step", "kind", change(func(c *CallbackStep) { c.Kind = "danced" })},
		{"step", "learned_on", change(func(c *CallbackStep) { c.LearnedOn = day("2026-11-24") })},
		{"callback", "waiting_on", change(func(c *Callback) { c.WaitingSince = day("2026-11-25") })},
		{"claim", "who", change(func(c *Claim) { c.Who = "" })},
		{"claim", "against", change(func(c *Claim) { c.Against = "owner" })},
		{"claim", "filed_on", change(func(c *Claim) { c.FiledOn, c.VisitedOn = 0, day("2026-11-05") })},
		{"claim", "visited_on", change(func(c *Claim) { c.VisitedOn = day("2026-10-05") })},
		{"claim", "offered_on", change(func(c *Claim) { c.Offer = ptr(units.Money(100)) })},
		{"claim", "offered_on", change(func(c *Claim) { c.Answer, c.AnsweredOn = "accepted", day("2026-11-05") })},
		{"claim", "answered_on", change(func(c *Claim) { c.Answer = "refused" })},
		{"claim", "release_read_by", change(func(c *Claim) {
			c.OfferedOn, c.ReleaseAsked, c.ReleaseSignedOn = day("2026-11-04"), true, day("2026-11-05")
		})},
		{"claim", "paid_on", change(func(c *Claim) { c.Paid = ptr(units.Money(100)) })},
		{"claim", "paid", change(func(c *Claim) {
			c.Paid, c.PaidOn, c.Answer, c.AnsweredOn = ptr(units.Money(100)), day("2026-11-06"), "refused", day("2026-11-05")
		})},
		{"structure", "kind", change(func(s *Structure) { s.Kind = "barn" })},
		{"attic", "vented_area", change(func(a *Attic) { a.VentedArea = ptr(units.Area(-1)) })},
		{"attic", "retarder", change(func(a *Attic) { a.Retarder = "IV" })},
		{"slope", "facing", change(func(s *Slope) { s.Facing = ptr(361.0) })},
		{"slope", "pitch", change(func(s *Slope) { s.Pitch = ptr(units.Pitch(6)) })},
		{"vent", "blocked", change(func(v *Vent) { v.Blocked = ptr(1.1) })},
		{"vent", "height", change(func(v *Vent) { v.Height = "" })},
		{"gutter", "width", change(func(g *GutterRun) { g.Width = ptr(units.Length(2)) })},
		{"detail", "lap", change(func(d *Detail) { d.Lap = ptr(66.0) })},
		{"roof", "house_id", change(func(r *Roof) { r.HouseID = 0 })},
		{"roof", "laid_on", change(func(r *Roof) { r.Laid = units.Dated{} })},
		{"roof", "laid_on", change(func(r *Roof) { r.Laid.Precision = "roughly" })},
		{"roof", "ended_on", change(func(r *Roof) { r.EndedOn, r.EndReason = day("2013-12-31"), "storm" })},
		{"roof", "end_reason", change(func(r *Roof) { r.EndedOn = day("2020-01-01") })},
		{"roof", "end_reason", change(func(r *Roof) { r.EndReason = "storm" })},
		{"covering", "family", change(func(c *Covering) { c.Family = "gold" })},
		{"job", "holdback", change(func(j *Job) { j.Holdback = 1 })},
		{"job", "closed_on", change(func(j *Job) { j.StartedOn, j.ClosedOn = day("2020-05-02"), day("2020-05-01") })},
		{"declined", "signed_on", change(func(d *Declined) { d.SignedOn = 0 })},
		{"terms", "cap", change(func(t *Terms) { t.Cap = new(units.Money) })},
		{"terms", "full_months", change(func(t *Terms) { t.FullMonths = 121 })},
		{"terms", "steps", change(func(t *Terms) { t.ShareMethod = "steps" })},
		{"terms", "steps", change(func(t *Terms) { t.ShareMethod, t.Steps = "steps", JSON[Step]{{120, 0.5}, {60, 0.8}} })},
		{"terms", "steps", change(func(t *Terms) { t.ShareMethod, t.Steps = "steps", JSON[Step]{{60, 0.5}, {90, 0.8}} })},
		{"warranty", "start_on", change(func(w *Warranty) { w.StartOn = 0 })},
		{"warranty", "end_reason", change(func(w *Warranty) { w.EndedOn = day("2021-01-01") })},
		{"plan", "visits_a_year", change(func(p *Plan) { p.VisitsAYear = 0 })},
		{"visit", "booked_for", change(func(v *Visit) { v.BookedFor = 0 })},
		{"visit", "in_sight", change(func(v *Visit) { v.InSight = &JSON[int64]{3, 4, 3} })},
		{"visit", "in_sight", change(func(v *Visit) { v.InSight = &JSON[int64]{0} })},
		{"visit", "method", change(func(v *Visit) { v.DoneOn = day("2020-05-01") })},
		{"visit", "cancelled_on", change(func(v *Visit) { v.DoneOn, v.CancelledOn, v.Method = day("2020-05-01"), day("2020-05-01"), "walked" })},
		{"finding", "severity", change(func(f *Finding) { f.Severity = nil })},
		{"finding", "severity", change(func(f *Finding) { f.Look = "none" })},
		{"finding", "extent", change(func(f *Finding) { f.Extent = ptr(20.0) })},
		{"prospect", "state", change(func(p *Prospect) { p.State = "hot" })},
		{"knock", "outcome", change(func(k *Knock) { k.Outcome = "not_called" })},
		{"stop", "asked_on", change(func(s *StopEntry) { s.AskedOn = 0 })},
		{"storm", "shape", change(func(s *Storm) { s.Shape = s.Shape[:1] })},
		{"storm", "shape", change(func(s *Storm) { s.Closed = true })},
		{"photo", "media_type", change(func(p *Photo) { p.MediaType = "image/svg+xml" })},
		{"lot", "number", change(func(l *Lot) { l.Number = "" })},
	} {
		rec := sound[c.kind]()
		c.change(rec)
		err := rec.Validate()
		var e *Error
		if !errors.As(err, &e) || e.Code != Invalid {
			t.Errorf("%s with a bad %s gave %v", c.kind, c.field, err)
			continue
		}
		found := false
		for _, f := range e.Fields {
			found = found || f.Field == c.field
			if f.Rule == "" {
				t.Errorf("%s.%s says no rule", c.kind, f.Field)
			}
		}
		if !found {
			t.Errorf("%s with a bad %s blames %v", c.kind, c.field, e.Fields)
		}
	}
}

func TestAllRulesAreToldAtOnce(t *testing.T) {
	err := (&House{Cladding: "straw", BuildYear: ptr(98)}).Validate()
	var e *Error
	if !errors.As(err, &e) || len(e.Fields) != 3 {
		t.Fatalf("three broken rules gave %v", err)
	}
	if !strings.Contains(err.Error(), `cladding "straw": must be one of stucco`) {
		t.Errorf("it says %v", err)
	}
}

func TestFold(t *testing.T) {
	for in, want := range map[string]string{
		"12 Élm Street, Saint-André": "12 elm st st andre",
		"12  ELM st.":                "12 elm st",
		"5 North O'Neil Avenue":      "5 n oneil ave",
		"Chemin du Lac":              "rd du lac",
		"":                           "",
	} {
		if got := Fold(in); got != want {
			t.Errorf("Fold(%q) is %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]string{"+1 (406) 555-0142": "4065550142", "555-0142": "5550142", "n/a": ""} {
		if got := FoldPhone(in); got != want {
			t.Errorf("FoldPhone(%q) is %q, want %q", in, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "text")
		once := Fold(s)
		if Fold(once) != once {
			t.Fatalf("%q folds to %q and again to %q", s, once, Fold(once))
		}
	})
}

func TestRoles(t *testing.T) {
	r, err := ParseRoles("office, Scheduler,office")
	if err != nil || r.String() != "office,scheduler" || !r.Has(Scheduler) || r.Has(Owner) {
		t.Errorf("%v, %v", r, err)
	}
	if _, err := ParseRoles("office,king"); err == nil {
		t.Error("a king was let in")
	}
	var back Roles
	if err := back.Scan("owner"); err != nil || !back.Has(Owner) {
		t.Errorf("%v, %v", back, err)
	}
	if err := back.Scan(7); err == nil {
		t.Error("roles were read from a number")
	}
}

func TestCodes(t *testing.T) {
	if CodeOf(errors.New("disk full")) != "" || CodeOf(nil) != "" {
		t.Error("an internal error has a code")
	}
	if CodeOf(errors.Join(errors.New("saving"), Errorf(Conflict, "no"))) != Conflict {
		t.Error("a wrapped code is lost")
	}
}

// Nobody said which slopes were in sight, none was, and some were: three things.
func TestWhatAVisitSaw(t *testing.T) {
	for _, c := range []struct {
		name    string
		inSight *JSON[int64]
		saw     []bool // slopes 1 and 2
	}{
		{"nobody said", nil, []bool{true, true}},
		{"none", &JSON[int64]{}, []bool{false, false}},
		{"one", &JSON[int64]{2}, []bool{false, true}},
		{"both", &JSON[int64]{2, 1}, []bool{true, true}},
	} {
		v := Visit{Ref: "V-1", HouseID: 1, Purpose: "checkup", BookedFor: day("2020-05-01"), InSight: c.inSight}
		if err := v.Validate(); err != nil || v.Saw(1) != c.saw[0] || v.Saw(2) != c.saw[1] {
			t.Errorf("%s: saw %v and %v, %v", c.name, v.Saw(1), v.Saw(2), err)
		}
	}
}
