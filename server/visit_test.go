package server

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
	"overhang/models/store"
	"overhang/views"
)

// visitSite adds three roofs that we laid in different years along Larch Street
// and that are due, one of them with two slopes, steep, and a dog in the yard.
// Their check-ups count from the day they were laid; roof 1 has a visit booked
// for June 15.
func visitSite(t *testing.T) *site {
	s := newSite(t)
	for i := range int64(3) {
		house, roof := i+3, i+3
		records := []models.Record{
			&models.House{Ref: fmt.Sprint("H-", house), BranchID: 1, Lat: ptr(44.001 + 0.001*float64(i)), Lon: ptr(-114.3), Neighbourhood: "Spruce Hill", SiteNotes: "A dog in the yard"},
			&models.Address{HouseID: house, Number: fmt.Sprint(20 + 2*i), Street: "Spruce Road", Town: "Tarn", Main: true},
			&models.Structure{HouseID: house, Name: "House", Kind: "main"},
			&models.Roof{Ref: fmt.Sprint("R-", roof), HouseID: house, StructureID: ptr(i + 2), CoveringID: ptr[int64](1), Ours: true, Pitch: ptr(units.PitchIn12(8)),
				Laid: units.Dated{On: units.NewDate(2024, time.May, 1+10*int(i)), Precision: units.ToDay}},
			&models.Warranty{Ref: fmt.Sprint("W-2", i), RoofID: roof, TermsID: 1, OwedBy: "us", StartOn: units.NewDate(2024, time.June, 1)},
		}
		s.add(records...)
	}
	s.add(&models.Slope{StructureID: 2, Name: "South"}, &models.Slope{StructureID: 2, Name: "North"},
		&models.Contact{Ref: "C-9", Name: "Bertil Aune", Kind: "person", Phone: "555-0177"}, &models.Holding{HouseID: 3, ContactID: 2, Role: "owner"})
	err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		return store.PutAll(tx, []models.RoofSlope{{RoofID: 3, SlopeID: 1}, {RoofID: 3, SlopeID: 2}})
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestVisitsSayWhoIsDue(t *testing.T) {
	s := visitSite(t)
	b := s.as(models.Scheduler)
	a := b.get("/visits").want(200)
	if got := names(a, "#due tbody th a"); len(got) != 3 || got[0] != "20 Spruce Road, Tarn" {
		t.Errorf("due are %q, the one that waits longest first", got)
	}
	for _, want := range []string{"Three roofs are due", "Three have waited longer than a month", "counted from the day it was laid, May 1, 2024", "gutters, roof"} {
		if !strings.Contains(a.text("main"), want) {
			t.Errorf("the page does not say %q: %s", want, a.text("main"))
		}
	}
	if got := a.text("#storms tbody"); !strings.Contains(got, "The May hail") || !strings.Contains(got, "1") {
		t.Errorf("the storms are %q", got)
	}
	to, _ := a.page().Find("#storms tbody a").Attr("href")
	if got := names(b.get(to).want(200), "#due tbody th a"); len(got) != 1 || got[0] != "12 Larch Street, Tarn" {
		t.Errorf("not looked at since the storm: %q", got)
	}
	for _, c := range []struct {
		query string
		rows  int
	}{{"state=booked", 1}, {"state=overdue", 3}, {"state=soon", 0}, {"neighbourhood=Tarn+Flats", 0}, {"neighbourhood=Spruce+Hill", 3}, {"purpose=storm_look", 0}, {"state=nonsense", 3}, {"page=7", 0}} {
		if got := names(b.get("/visits?"+c.query).want(200), "#due tbody tr"); len(got) != c.rows {
			t.Errorf("%s shows %d rows, want %d", c.query, len(got), c.rows)
		}
	}
	b.get("/visits?storm=99").want(404)
	// Out of season the page says until when.
	s.clock.pass(200 * 24 * time.Hour)
	if got := s.as(models.Scheduler).get("/visits").want(200).text(".opening"); !strings.Contains(got, "The season is closed until April 15, 2027") {
		t.Errorf("on December 27 the opening is %q", got)
	}
}

func TestBookChosenRoofs(t *testing.T) {
	s := visitSite(t)
	b := s.as(models.Scheduler)
	a := b.post("/visits/book", url.Values{"roofs": {"3", "5"}, "booked_for": {"2026-06-01"}, "by_name": {"The roofer"}, "list": {"neighbourhood=Spruce+Hill"}}).want(422)
	if got := a.text("#book-booked_for-error"); !strings.Contains(got, "must not be before today") {
		t.Errorf("beside the day stands %q", got)
	}
	if n := a.page().Find(`#due input[checked]`).Length(); n != 2 {
		t.Errorf("%d roofs are still chosen, want 2", n)
	}
	if got, _ := a.page().Find("#narrow-neighbourhood option[selected]").Attr("value"); got != "Spruce Hill" {
		t.Errorf("the list is now narrowed to %q", got)
	}
	if got, _ := a.page().Find("#book-by_name option[selected]").Attr("value"); got != "The roofer" {
		t.Errorf("who looks is now %q", got)
	}
	if got := b.post("/visits/book", url.Values{"booked_for": {"2026-06-20"}}).want(422).text("#book .wrong"); !strings.Contains(got, "Choose at least one roof") {
		t.Errorf("with nothing chosen the form says %q", got)
	}
	b.post("/visits/book", url.Values{"roofs": {"5", "3"}, "booked_for": {"2026-06-22"}, "by_name": {"The roofer"}}).leads("/visits/day/2026-06-22")
	a = b.get("/visits/day/2026-06-22").want(200)
	if got := names(a, ".stops .name"); len(got) != 2 {
		t.Errorf("the day has %q", got)
	}
	if got := a.text("h2"); got != "The roofer" {
		t.Errorf("the day is by %q", got)
	}
	if got := names(b.get("/visits"), "#due tbody tr"); len(got) != 1 {
		t.Errorf("%d roofs are still due", len(got))
	}
	// Somebody else had the list open.
	if got := b.post("/visits/book", url.Values{"roofs": {"4", "3"}, "booked_for": {"2026-06-23"}}).want(409).text("#book .wrong"); !strings.Contains(got, "20 Spruce Road") {
		t.Errorf("a roof that is booked already gives %q", got)
	}
	if got := names(b.get("/visits/day/2026-06-23").want(200), ".stops li"); len(got) != 0 {
		t.Error("half of the roofs were booked")
	}
}

func TestPlanDays(t *testing.T) {
	s := visitSite(t)
	b := s.as(models.Scheduler)
	a := b.get("/visits/plan").want(200)
	if got := a.text(".opening"); !strings.Contains(got, "Three due roofs in 1 proposed day,") || !strings.Contains(got, "Nothing is booked yet") {
		t.Errorf("the opening is %q", got)
	}
	form := a.page().Find("#book-1")
	day, _ := form.Find("[name=booked_for]").Attr("value")
	roofs, _ := form.Find("[name=roofs]").Attr("value")
	if day != "2026-06-11" || len(strings.Split(roofs, ",")) != 3 { // the Thursday after June 10, 2026
		t.Errorf("offered are %q with the roofs %q", day, roofs)
	}
	a = b.post("/visits/plan", url.Values{"roofs": {roofs}, "booked_for": {"soon"}, "day": {"1"}}).want(422)
	if got, _ := a.page().Find("#book-1-booked_for").Attr("value"); got != "soon" || a.text("#book-1-booked_for-error") == "" {
		t.Errorf("refused, the day is %q", got)
	}
	b.post("/visits/plan", url.Values{"roofs": {roofs}, "booked_for": {day}, "by_name": {"The roofer"}, "day": {"1"}}).leads("/visits/day/2026-06-11")
	order := []string{}
	for _, id := range strings.Split(roofs, ",") {
		order = append(order, map[string]string{"3": "20 Spruce Road, Tarn", "4": "22 Spruce Road, Tarn", "5": "24 Spruce Road, Tarn"}[id])
	}
	if got := names(b.get("/visits/day/"+day).want(200), ".stops .name"); strings.Join(got, ";") != strings.Join(order, ";") {
		t.Errorf("the day is booked as %q, want %q", got, order)
	}
	if got := b.get("/visits/plan").want(200).text("main"); !strings.Contains(got, "There is nothing to propose") {
		t.Errorf("when all is booked the plan says %q", got)
	}
}

func TestRouteSheet(t *testing.T) {
	s := visitSite(t)
	s.as(models.Scheduler).post("/visits/book", url.Values{"roofs": {"3", "4"}, "booked_for": {"2026-06-22"}, "by_name": {"The roofer"}}).leads("/visits/day/2026-06-22")
	a := s.as(models.Scheduler).get("/visits/day/2026-06-22").want(200)
	for _, want := range []string{"A dog in the yard", "555-0177", "Bertil Aune", "gutters, roof", "8:12", "SlopesSouth, North", "mark those in sight", "29 CFR 1926.500", "without fall protection"} {
		if !strings.Contains(a.text("main"), want) {
			t.Errorf("the sheet does not say %q: %s", want, a.text("main"))
		}
	}
	if got, _ := a.page().Find(".stops a[href^='tel:']").Attr("href"); got != "tel:5550177" {
		t.Errorf("the phone leads to %q", got)
	}
	a = s.as(models.Roofer).get("/visits/day/2026-06-22").want(200)
	for _, hidden := range []string{"555-0177", "Bertil", "call off"} {
		if strings.Contains(a.text("main"), hidden) {
			t.Errorf("the roofer's sheet shows %q", hidden)
		}
	}
	if !strings.Contains(a.text("main"), "Write down what was found") {
		t.Error("the roofer cannot write down what was found")
	}
	b := s.as(models.Roofer)
	for _, bad := range []string{"june", "2026-13-01", "22-06-2026"} {
		b.get("/visits/day/" + bad).want(404)
	}
	if a := b.get("/visits").want(200); a.page().Find("#book, td.pick").Length() != 0 || strings.Contains(a.Body, "/visits/plan") {
		t.Error("the roofer is offered to book")
	}
}

// record fills the form of a visit with what its page has in it.
func record(a answer, more url.Values) url.Values {
	fields := url.Values{}
	for _, name := range []string{"version", "done_on"} {
		fields[name] = []string{a.page().Find("#record [name="+name+"]").AttrOr("value", "")}
	}
	for name, values := range more {
		fields[name] = values
	}
	return fields
}

func TestRecordAVisit(t *testing.T) {
	s := visitSite(t)
	s.as(models.Scheduler).post("/visits/book", url.Values{"roofs": {"3"}, "booked_for": {"2026-06-22"}, "by_name": {"The roofer"}}).leads("/visits/day/2026-06-22")
	const family = "asphalt_laminated" // of the roof's covering
	b := s.as(models.Roofer)
	a := b.get("/visits/2").want(200)
	if strings.Contains(a.text("main"), "555-0177") || strings.Contains(a.text("main"), "years") {
		t.Errorf("the roofer sees a phone or years left: %s", a.text("main"))
	}
	if n := a.page().Find("#record details.fold").Length(); n != len(wear.For(family)) || n == len(wear.Catalogue()) {
		t.Errorf("%d defects can be written down, want the %d of the covering", n, len(wear.For(family)))
	}
	if a.page().Find("#record details[open]").Length() != 0 {
		t.Error("an empty form is open")
	}
	// What is wrong stands beside its field, and what was typed is kept.
	a = b.post("/visits/2", record(a, url.Values{"look.moss": {"2"}, "extent.moss": {"0.2"}, "slope.moss": {"2"}, "note.stains": {"Below the vent"}, "done_on": {"2026-07-30"}})).want(422)
	if got := a.text("#record .rule"); !strings.Contains(got, "say what was seen") {
		t.Errorf("the rules are %q", got)
	}
	if a.page().Find(`#record [name="look.moss"][value="2"][checked]`).Length() != 1 || a.page().Find("#record details[open]").Length() != 2 {
		t.Error("what was chosen is lost, or folded away")
	}
	a = b.post("/visits/2", record(a, url.Values{"look.moss": {"2"}})).want(422)
	if got := a.text("#record-method-error") + a.text("#record-done_on-error"); got == "" {
		t.Error("a look without a method is taken, or one in July on a day in June")
	}
	good := url.Values{"done_on": {"2026-06-09"}, "method": {"street"}, "gutters": {"no"}, "look.moss": {"2"}, "extent.moss": {"0.2"}, "slope.moss": {"2"}, "rest.covering": {"none"}}
	b.post("/visits/2", record(a, good)).leads("/visits/2")
	findings, err := store.List[models.Finding](s.service.Store.Query(t.Context()), "id", "visit_id = 2")
	if err != nil {
		t.Fatal(err)
	}
	// From the ground moss and five more defects of a covering show; the others
	// are not looked at, whatever the box says.
	shown := 0
	for _, d := range wear.For(family) {
		if d.Part == wear.Covering && d.ShownBy(wear.Street) {
			shown++
		}
	}
	// There is moss on the north, and none on what else was looked at.
	if len(findings) != shown+1 {
		t.Errorf("%d findings are kept, want %d", len(findings), shown+1)
	}
	for _, f := range findings {
		if f.SlopeID != nil && (f.Defect != "moss" || f.Look != "seen" || *f.Severity != 2 || *f.Extent != 0.2 || *f.SlopeID != 2) || f.SlopeID == nil && f.Look != "none" {
			t.Errorf("kept is %+v", f)
		}
	}
	a = b.get("/visits/2").want(200)
	if got := a.text("#findings"); !strings.Contains(got, "Moss") || !strings.Contains(got, "2, plain") || !strings.Contains(got, "North") {
		t.Errorf("the findings are %q", got)
	}
	v, err := store.Get[models.Visit](s.service.Store.Query(t.Context()), 2)
	if err != nil || v.Method != "street" || *v.Gutters || v.ByName != "The roofer" {
		t.Errorf("the visit is %+v, %v", v, err)
	}
	// Taken back, it is not looked at.
	b.post("/visits/2", record(a, url.Values{"method": {"street"}, "was.moss": {"2"}, "slope.moss": {"2"}})).leads("/visits/2")
	if f, err := store.First[models.Finding](s.service.Store.Query(t.Context()), "visit_id = 2 AND defect = 'moss' AND slope_id = 2"); err != nil || f.Look != "not_looked" || f.Severity != nil {
		t.Errorf("taken back it is %+v, %v", f, err)
	}
	for _, bad := range []url.Values{{"look.moss": {"4"}}, {"look.moss": {"1"}, "slope.moss": {"77"}}, {"look.moss": {"1"}, "note.moss": {strings.Repeat("x", 1001)}}, {"look.moss": {"1"}, "extent.moss": {"3"}}} {
		bad.Set("method", "walked")
		b.post("/visits/2", record(b.get("/visits/2"), bad)).want(422)
	}
}

// A saved look says what it rates and what cost most, as its findings do by
// themselves; not to who is booked to look at the roof again.
func TestASavedVisitSaysWhatCostMost(t *testing.T) {
	s := visitSite(t)
	s.as(models.Scheduler).post("/visits/book", url.Values{"roofs": {"3"}, "booked_for": {"2026-06-10"}, "by_name": {"The roofer"}}).leads("/visits/day/2026-06-10")
	b := s.as(models.Roofer)
	a := b.get("/visits/2").want(200)
	if a.page().Find("#rates").Length() != 0 {
		t.Error("a visit that is to come is rated")
	}
	b.post("/visits/2", record(a, url.Values{"done_on": {"2026-06-10"}, "method": {"street"}, "gutters": {"no"}, "look.moss": {"2"}, "extent.moss": {"0.2"}, "slope.moss": {"2"},
		"look.curling": {"3"}, "extent.curling": {"0.35"}, "slope.curling": {"1"}, "look.gutter_debris": {"2"}, "rest.covering": {"none"}})).leads("/visits/2")
	findings, err := store.List[models.Finding](s.service.Store.Query(t.Context()), "id", "visit_id = 2")
	if err != nil {
		t.Fatal(err)
	}
	in := wear.Input{Method: wear.Street, Covering: "asphalt_laminated"}
	for _, f := range findings {
		slope := ""
		if f.SlopeID != nil {
			slope = fmt.Sprint(*f.SlopeID)
		}
		in.Findings = append(in.Findings, wear.Finding{Defect: f.Defect, Slope: slope, Look: wear.Looked(f.Look), Severity: f.Severity, Extent: f.Extent})
	}
	want, err := wear.Rate(in)
	if err != nil {
		t.Fatal(err)
	}
	covering := want.Part(wear.Covering)
	if want.Dearest.Defect != "curling" || covering.WorstSlope != "1" || len(want.SetAside) != 1 {
		t.Fatalf("the findings rate %+v", want)
	}
	a = b.get("/visits/2").want(200)
	most := fmt.Sprintf("%.0f points by itself", want.Dearest.Points)
	if got := a.text(".opening"); !strings.Contains(got, "What cost most: Edges curled up on South, "+most) {
		t.Errorf("the opening is %q", got)
	}
	rows := names(a, "#rates tbody tr")
	if len(rows) != 3 {
		t.Fatalf("the parts are %q", rows)
	}
	low, high := covering.Likely()
	for _, say := range []string{"The covering", fmt.Sprintf("%.0f, likely %.0f to %.0f", *covering.Rating, low, high), "Its worst slope, South",
		"Edges curled up, " + most, fmt.Sprintf("would gain %.0f", covering.Costs[0].GivesBack), fmt.Sprintf("%d of %d defects were not looked at", len(covering.NotLooked), covering.Catalogued)} {
		if !strings.Contains(rows[0], say) {
			t.Errorf("of the covering it says %q, without %q", rows[0], say)
		}
	}
	if !strings.Contains(rows[1], "Nothing: nobody looked") {
		t.Errorf("of the flashing it says %q", rows[1])
	}
	for _, say := range []string{"One finding counts for nothing", "an estimate", "A licensed person must check"} {
		if !strings.Contains(a.text("main"), say) {
			t.Errorf("the page does not say %q", say)
		}
	}
	// Who is to look again is not told what the last look rated.
	s.as(models.Scheduler).post("/roofs/3/visits/book", url.Values{"booked_for": {"2026-06-22"}, "by_name": {"The roofer"}, "purpose": {"checkup"}}).want(303)
	if a := b.get("/visits/2").want(200); a.page().Find("#rates").Length() != 0 || strings.Contains(a.text(".opening"), "cost most") {
		t.Error("who is to look at the roof again is told what the last look rated")
	}
	if s.as(models.Scheduler).get("/visits/2").want(200).page().Find("#rates").Length() != 1 {
		t.Error("who is not booked to look is not told")
	}
}

// What cannot be judged on a wet roof counts for nothing there, nor is it taken for
// looked at; the form says of a defect which looks judge it.
func TestALookAtAWetRoof(t *testing.T) {
	s := visitSite(t)
	s.as(models.Scheduler).post("/visits/book", url.Values{"roofs": {"3"}, "booked_for": {"2026-06-10"}, "by_name": {"The roofer"}}).leads("/visits/day/2026-06-10")
	b := s.as(models.Roofer)
	a := b.get("/visits/2").want(200)
	for _, want := range []string{"It is judged on a dry roof alone.", "set aside from others: Walked on it.", "set aside from others: Walked on it, From a ladder at the eave."} {
		if !strings.Contains(a.text("#record"), want) {
			t.Errorf("the form does not say %q", want)
		}
	}
	found := url.Values{"done_on": {"2026-06-10"}, "method": {"ladder"}, "wet": {"yes"}, "look.granule_loss": {"3"}, "extent.granule_loss": {"0.4"}, "look.curling": {"1"}, "rest.covering": {"none"}}
	b.post("/visits/2", record(a, found)).leads("/visits/2")
	a = b.get("/visits/2").want(200)
	if text := a.text("main"); !strings.Contains(text, "Was the roof wet?Yes") || !strings.Contains(text, "One finding counts for nothing") || strings.Contains(a.text("#rates"), "Granules") {
		t.Errorf("wet: %s", text)
	}
	looks := func() map[string]string {
		kept, err := store.List[models.Finding](s.service.Store.Query(t.Context()), "id", "visit_id = 2")
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]string{}
		for _, f := range kept {
			out[f.Defect] = f.Look
		}
		return out
	}
	if got := looks(); got["stains"] != "" || got["moss"] != "none" {
		t.Errorf("the rest of a wet roof: stains %q, moss %q", got["stains"], got["moss"])
	}
	// It was dry after all.
	found["wet"] = []string{"no"}
	b.post("/visits/2", record(a, found)).leads("/visits/2")
	a = b.get("/visits/2").want(200)
	if text := a.text("main"); strings.Contains(text, "counts for nothing") || !strings.Contains(a.text("#rates"), "Granules") || looks()["stains"] != "none" {
		t.Errorf("dry: %s", text)
	}
	if got, _ := a.page().Find(`#record [name=wet][checked]`).Attr("value"); got != "no" {
		t.Errorf("the form holds %q", got)
	}
}

func TestTwoEditAVisit(t *testing.T) {
	s := visitSite(t)
	one, two := s.as(models.Scheduler), s.as(models.Owner)
	first := one.get("/visits/1").want(200)
	two.post("/visits/1", record(two.get("/visits/1"), url.Values{"done_on": {"2026-06-09"}, "method": {"ladder"}, "notes": {"Dry"}, "look.moss": {"1"}})).leads("/visits/1")
	a := one.post("/visits/1", record(first, url.Values{"done_on": {"2026-06-08"}, "method": {"street"}, "notes": {"Wet"}})).want(409)
	if got := a.text("#record-notes"); got != "Wet" || !strings.Contains(a.text("#record"), "Somebody else changed this visit") {
		t.Errorf("the note is now %q: %s", got, a.text("#record .wrong"))
	}
	// Whoever goes on does not wipe out what the other saw.
	one.post("/visits/1", record(a, url.Values{"done_on": {"2026-06-08"}, "method": {"street"}, "notes": {"Wet"}})).leads("/visits/1")
	if f, err := store.First[models.Finding](s.service.Store.Query(t.Context()), "visit_id = 1 AND defect = 'moss'"); err != nil || f.Look != "seen" {
		t.Errorf("the other's finding is %+v, %v", f, err)
	}
}

func TestMoveAndEndAVisit(t *testing.T) {
	s := visitSite(t)
	b := s.as(models.Scheduler)
	version := b.get("/visits/1").want(200).page().Find("#moving [name=version]").AttrOr("value", "")
	a := b.post("/visits/1/move", url.Values{"version": {version}, "booked_for": {"2026-05-01"}, "by_name": {"The roofer"}}).want(422)
	if a.text("#moving-booked_for-error") == "" || a.page().Find(`#moving option[value="The roofer"][selected]`).Length() != 1 {
		t.Error("refused, the form lost its rule or who looks")
	}
	b.post("/visits/1/move", url.Values{"version": {"7"}, "booked_for": {"2026-06-18"}}).want(409)
	b.post("/visits/1/move", url.Values{"version": {version}, "booked_for": {"2026-06-18"}, "by_name": {"The roofer"}}).leads("/visits/day/2026-06-18")
	a = b.get("/visits/1").want(200)
	if got := a.text(".opening"); !strings.Contains(got, "booked for June 18, 2026") {
		t.Errorf("moved, the opening is %q", got)
	}
	b.post("/visits/1/end", url.Values{"version": {version}, "how": {"declined"}}).want(409)
	version = a.page().Find("#decline [name=version]").AttrOr("value", "")
	b.post("/visits/1/end", url.Values{"version": {version}, "how": {"lost"}}).want(422)
	b.post("/visits/1/end", url.Values{"version": {version}, "how": {"declined"}}).leads("/visits")
	a = b.get("/visits/1").want(200)
	if !strings.Contains(a.text(".opening"), "They declined it on June 10, 2026") || a.page().Find("#moving, #record").Length() != 0 {
		t.Errorf("declined, the page says %q", a.text("main"))
	}
	b.post("/visits/1/end", url.Values{"version": {"3"}, "how": {"cancelled"}}).want(409)
	b.post("/visits/1", url.Values{"version": {"3"}, "method": {"street"}, "done_on": {"2026-06-09"}}).want(409)
	if s.as(models.Roofer).get("/visits/1").want(200).page().Find("#decline").Length() != 0 {
		t.Error("the roofer may decline")
	}
}

func TestUnplannedVisit(t *testing.T) {
	s := visitSite(t)
	b := s.as(models.Office)
	a := b.get("/roofs/3/visits/new").want(200)
	if a.page().Find("#record, #book").Length() != 2 {
		t.Error("the office may record and book")
	}
	b.post("/roofs/3/visits/book", url.Values{"purpose": {"repair"}, "booked_for": {"2026-06-30"}, "notes": {"Bring step flashing"}}).leads("/visits/day/2026-06-30")
	if got := b.get("/visits/day/2026-06-30").want(200).text(".stops"); !strings.Contains(got, "Bring step flashing") || !strings.Contains(got, "repair") {
		t.Errorf("the day has %q", got)
	}
	a = b.post("/roofs/3/visits/book", url.Values{"purpose": {"repair"}, "notes": {"Twice"}}).want(422)
	if a.text("#book-notes") != "Twice" {
		t.Error("the note is lost")
	}
	r := s.as(models.Roofer)
	if r.get("/roofs/3/visits/new").want(200).page().Find("#book").Length() != 0 {
		t.Error("the roofer may book")
	}
	r.post("/roofs/3/visits", url.Values{"purpose": {"checkup"}, "done_on": {"2026-06-09"}, "method": {"walked"}, "gutters": {"yes"}, "look.rust": {"3"}}).leads("/visits/3")
	if got := r.get("/visits/3").want(200).text("#findings"); !strings.Contains(got, "Rusted metal") {
		t.Errorf("found is %q", got)
	}
	if got := names(s.as(models.Scheduler).get("/visits"), "#due tbody th a"); len(got) != 2 {
		t.Errorf("looked at, the roof is still due: %q", got)
	}
	r.get("/roofs/99/visits/new").want(404)
}

// The words of the pages are the catalogue's own.
func TestDefectsHaveTheirWords(t *testing.T) {
	renderer, err := testRenderer()
	if err != nil {
		t.Fatal(err)
	}
	say := func(p views.Phrase) string {
		text, err := renderer.Text(views.Frame{}, p)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	for _, d := range wear.Catalogue() {
		if got := say(views.Term("defect", d.Key)); got != d.Name {
			t.Errorf("%s is called %q, want %q", d.Key, got, d.Name)
		}
		for i, step := range d.Steps {
			if got := say(views.Term("step", fmt.Sprint(d.Key, ".", i+1))); got != step {
				t.Errorf("step %d of %s is %q, want %q", i+1, d.Key, got, step)
			}
		}
	}
}

// A storm leaves a fortnight to look; only past it has a roof waited too long.
func TestStormLooksHaveTheirDays(t *testing.T) {
	s := visitSite(t)
	s.add(&models.Storm{Ref: "S-2", Name: "The June hail", On: units.NewDate(2026, 6, 5), Kind: "hail", HalfWidth: 3 * units.Kilometre,
		Shape: models.JSON[models.LatLon]{{Lat: 43.99, Lon: -114.3}, {Lat: 44.01, Lon: -114.3}}},
		&models.Visit{Ref: "V-2", HouseID: 3, RoofID: ptr[int64](3), Purpose: "checkup", DoneOn: units.NewDate(2026, 6, 1), Method: "street"})
	list := func() string {
		return s.as(models.Scheduler).get("/visits?purpose=storm_look&storm=2").want(200).text("#due tbody tr:contains('20 Spruce')")
	}
	if got := list(); !strings.Contains(got, "to be looked at by June 19, 2026") || strings.Contains(got, "past") {
		t.Errorf("five days after the storm: %q", got)
	}
	s.clock.pass(15 * 24 * time.Hour)
	if got := list(); !strings.Contains(got, "6 days past June 19, 2026") {
		t.Errorf("twenty days after the storm: %q", got)
	}
	// The order of the list is by the days past, and they are told with it.
	if got := s.as(models.Scheduler).get("/today").want(200).text("#due tbody tr:contains('20 Spruce')"); !strings.Contains(got, "6 days past June 19, 2026") {
		t.Errorf("today says %q", got)
	}
}

// A visit says which slopes were in sight: it is read back, what was found counts on
// them alone, and what contradicts it is refused with all that was typed in place.
func TestSlopesInSight(t *testing.T) {
	s := visitSite(t)
	b := s.as(models.Roofer)
	const at = "/roofs/3/visits"
	form := b.get(at + "/new").want(200).page().Find("#record-in_sight")
	if got := form.Find("label").Text(); !strings.Contains(got, "South") || !strings.Contains(got, "North") || !strings.Contains(got, "None of them") || form.Find("[checked]").Length() != 0 {
		t.Errorf("asked is %q", got)
	}
	with := func(more url.Values) url.Values {
		out := url.Values{"purpose": {"checkup"}, "done_on": {"2026-06-09"}, "method": {"street"}}
		for name, values := range more {
			out[name] = values
		}
		return out
	}
	for _, c := range []struct {
		name  string
		typed url.Values
		field string
		rule  string
	}{
		{"both and none", url.Values{"in_sight": {"1", "none"}}, "in_sight", "either none was in sight"},
		{"another roof's", url.Values{"in_sight": {"77"}}, "in_sight", "is not a slope of this roof"},
		{"seen where it was not in sight", url.Values{"in_sight": {"1"}, "look.moss": {"2"}, "slope.moss": {"2"}}, "slope.moss", "was not in sight"},
		{"none seen where it was not in sight", url.Values{"in_sight": {"1"}, "look.moss": {"none"}, "slope.moss": {"2"}}, "slope.moss", "was not in sight"},
		{"seen where none was", url.Values{"in_sight": {"none"}, "look.moss": {"2"}}, "in_sight", "nothing can have been looked for"},
		{"looked at all where none was", url.Values{"in_sight": {"none"}, "rest.covering": {"none"}}, "in_sight", "nothing can have been looked for"},
	} {
		c.typed.Set("notes", "From the pavement")
		a := b.post(at, with(c.typed)).want(422)
		if got := a.text("#record-" + strings.ReplaceAll(c.field, ".", `\.`) + "-error"); !strings.Contains(got, c.rule) {
			t.Errorf("%s: beside the field stands %q", c.name, got)
		}
		var ticked []string
		for _, box := range a.page().Find("#record-in_sight [checked]").EachIter() {
			ticked = append(ticked, box.AttrOr("value", ""))
		}
		want := c.typed["in_sight"]
		if want[0] == "77" {
			want = nil
		}
		if fmt.Sprint(ticked) != fmt.Sprint(want) || a.text("#record-notes") != "From the pavement" {
			t.Errorf("%s: ticked are %q, the note is %q", c.name, ticked, a.text("#record-notes"))
		}
	}
	if n, err := store.Count[models.Visit](s.service.Store.Query(t.Context()), "house_id = 3"); err != nil || n != 0 {
		t.Fatalf("%d visits are kept of what was refused, %v", n, err)
	}
	b.post(at, with(url.Values{"in_sight": {"1"}, "look.moss": {"2"}, "extent.moss": {"0.2"}, "rest.covering": {"none"}})).leads("/visits/2")
	a := b.get("/visits/2").want(200)
	if got := a.text(".facts"); !strings.Contains(got, "Slopes in sightSouth") {
		t.Errorf("read back it says %q", got)
	}
	if got := names(a, "#slope-rates tbody tr"); len(got) != 2 || !strings.Contains(got[0], "South") || !strings.Contains(got[0], ", likely ") || !strings.Contains(got[0], "Moss") ||
		!strings.Contains(got[1], "North") || !strings.Contains(got[1], "it was not in sight") {
		t.Errorf("slope by slope: %q", got)
	}
	if got := s.as(models.Owner).get("/roofs/3").want(200).text(".history"); !strings.Contains(got, "Slope by slope: South ") || !strings.Contains(got, ", North not in sight.") {
		t.Errorf("the roof says %q", got)
	}
	// Corrected, it holds what is kept.
	if got := a.page().Find("#record-in_sight [checked]").AttrOr("value", ""); got != "1" {
		t.Errorf("the form holds %q", got)
	}
	for _, c := range []struct {
		ticked []string
		fact   string
	}{{nil, "nobody said"}, {[]string{"none"}, "None of them"}, {[]string{"1", "2"}, "South, North"}} {
		more := url.Values{"method": {"street"}, "in_sight": c.ticked, "was.moss": {"2"}}
		if len(c.ticked) == 1 { // with nothing in sight what was found is taken back
			found, err := store.List[models.Finding](s.service.Store.Query(t.Context()), "id", "visit_id = 2")
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range found {
				more.Set("was."+f.Defect, "none")
			}
		} else {
			more.Set("look.moss", "2")
		}
		b.post("/visits/2", record(b.get("/visits/2"), more)).leads("/visits/2")
		if got := b.get("/visits/2").want(200).text(".facts"); !strings.Contains(got, c.fact) {
			t.Errorf("with %q ticked it says %q", c.ticked, got)
		}
	}
	// One who was on the roof need not say so.
	b.post(at, with(url.Values{"method": {"walked"}})).leads("/visits/3")
	if got := b.get("/visits/3").want(200).text(".facts"); strings.Contains(got, "in sight") {
		t.Errorf("of one who walked the roof it says %q", got)
	}
}

// Two roofs of one house are told apart wherever a look at them is booked, and days are
// not proposed for a closed season as if it were open.
func TestARoofBesideTheHouseIsNamed(t *testing.T) {
	s := visitSite(t)
	s.add(&models.Structure{HouseID: 3, Name: "Long shed", Kind: "garage"},
		&models.Roof{Ref: "R-9", HouseID: 3, StructureID: ptr[int64](5), CoveringID: ptr[int64](1), Ours: true,
			Laid: units.Dated{On: units.NewDate(2024, time.May, 1), Precision: units.ToDay}},
		&models.Warranty{Ref: "W-9", RoofID: 6, TermsID: 1, OwedBy: "us", StartOn: units.NewDate(2024, time.June, 1)})
	b := s.as(models.Scheduler)
	for path, rows := range map[string]string{"/visits": "#due tbody tr", "/today": "#due tbody tr", "/visits/plan": "tbody tr"} {
		a := b.get(path).want(200)
		if n, named := a.page().Find(rows+":contains('20 Spruce')").Length(), a.page().Find(rows+":contains('Long shed')").Length(); n != 2 || named != 1 {
			t.Errorf("%s has %d rows of the house, %d with the shed: %s", path, n, named, a.text("main"))
		}
		if strings.Contains(a.text(".opening"), "season is closed") {
			t.Errorf("%s opens in June with %q", path, a.text(".opening"))
		}
	}
	b.post("/visits/book", url.Values{"roofs": {"3", "6"}, "booked_for": {"2026-06-22"}, "by_name": {"The roofer"}}).leads("/visits/day/2026-06-22")
	day := b.get("/visits/day/2026-06-22").want(200)
	if n, named := day.page().Find(".stops li").Length(), day.page().Find(".stops li:contains('Long shed')").Length(); n != 2 || named != 1 {
		t.Errorf("the day has %d stops, %d at the shed: %s", n, named, day.text("main"))
	}
	s.clock.pass(190 * 24 * time.Hour)
	if got := s.as(models.Scheduler).get("/visits/plan").want(200).text(".opening"); !strings.Contains(got, "The season is closed until April 15, 2027") {
		t.Errorf("in December the plan opens with %q", got)
	}
}
