package server

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
)

// callbackSite adds a callback whose roof is not known, with water coming in
// and a ring-back that is late, and a holding, so that names find the house.
func callbackSite(t *testing.T) *site {
	s := newSite(t)
	s.add(
		&models.Holding{HouseID: 2, ContactID: 1, Role: "owner"},
		&models.Callback{Ref: "K-2", Caller: "Bo Anders", Phone: "555-0199", AddressGiven: "14 Larch St", About: "Water through the light", WaterComingIn: true,
			LearnedOn: units.NewDate(2026, time.June, 8), RingBackBy: ptr(s.clock.Now().Add(-2 * time.Hour)), State: "new"},
		&models.Callback{Ref: "K-3", HouseID: ptr[int64](2), LearnedOn: units.NewDate(2026, time.May, 2), RingBackBy: ptr(s.clock.Now().Add(time.Hour)), State: "accepted"},
		&models.Callback{Ref: "K-4", HouseID: ptr[int64](2), LearnedOn: units.NewDate(2026, time.May, 2), State: "refused", RefusedBecause: "hail", WaterComingIn: true},
	)
	return s
}

func (s *site) callback(id int64) *models.Callback {
	s.t.Helper()
	c, err := store.Get[models.Callback](s.service.Store.Query(s.t.Context()), id)
	if err != nil {
		s.t.Fatal(err)
	}
	return c
}

// Every number of the opening opens the rows that it counts.
func TestTheCallbacksOpenWithTheirNumbers(t *testing.T) {
	s := callbackSite(t)
	b := s.as(models.Office)
	page := b.get("/callbacks").want(200)
	if got := page.text(".opening"); got != "3 callbacks are open. One caller has waited longer than we promised to ring back. In one house water is coming in." &&
		got != "Three callbacks are open. One caller has waited longer than we promised to ring back. In one house water is coming in." {
		t.Errorf("the opening is %q", got)
	}
	for href, refs := range map[string]string{"/callbacks?state=open": "K-1 K-2 K-3", "/callbacks?state=late": "K-2", "/callbacks?state=water": "K-2"} {
		if page.page().Find(`.opening a[href="`+href+`"]`).Length() != 1 {
			t.Errorf("the opening does not lead to %s", href)
		}
		rows := b.get(href).want(200).page().Find("#callbacks tbody tr")
		if rows.Length() != len(strings.Fields(refs)) {
			t.Errorf("%s has %d rows, want %s", href, rows.Length(), refs)
		}
		for _, ref := range strings.Fields(refs) {
			if !strings.Contains(rows.Text(), ref) {
				t.Errorf("%s lacks %s", href, ref)
			}
		}
	}
	if first := page.text("#callbacks tbody tr:first-child"); !strings.Contains(first, "water coming in") || !strings.Contains(first, "roof not found yet") {
		t.Errorf("the first row is %q", first)
	}
	for q, ref := range map[string]string{"bo+anders": "K-2", "5550199": "K-2", "14 larch st": "K-2", "k-3": "K-3"} {
		if got := b.get("/callbacks?q=" + strings.ReplaceAll(q, " ", "+")).want(200).text("#callbacks tbody"); !strings.Contains(got, ref) {
			t.Errorf("searching for %s gives %q", q, got)
		}
	}
}

// What a person may not see is neither shown nor found.
func TestWhoSeesWhatOfACallback(t *testing.T) {
	s := callbackSite(t)
	s.add(&models.CostLine{CallbackID: 2, On: units.NewDate(2026, time.June, 9), LearnedOn: units.NewDate(2026, time.June, 9), Kind: "labour", Amount: 12345})
	for role, sees := range map[models.Role]struct{ name, cost, form, ring bool }{
		models.Owner:      {true, true, true, true},
		models.Office:     {true, true, true, true},
		models.Scheduler:  {true, false, false, true},
		models.Roofer:     {false, false, false, false},
		models.Bookkeeper: {false, true, false, false},
	} {
		b := s.as(role)
		page := b.get("/callbacks/2").want(200)
		if got := strings.Contains(page.Body, "Bo Anders"); got != sees.name {
			t.Errorf("%s sees the name: %v", role, got)
		}
		if got := strings.Contains(page.Body, "123.45"); got != sees.cost {
			t.Errorf("%s sees the cost: %v", role, got)
		}
		if got := page.page().Find("form#step").Length() == 1; got != sees.form {
			t.Errorf("%s sees how to change it: %v", role, got)
		}
		if got := page.page().Find("form#tried").Length() == 1; got != sees.ring {
			t.Errorf("%s may ring back: %v", role, got)
		}
		list := b.get("/callbacks?q=anders").want(200)
		if got := list.page().Find("#callbacks tbody tr").Length() == 1; got != sees.name {
			t.Errorf("%s finds a callback by the caller's name: %v", role, got)
		}
		if got := strings.Contains(b.get("/callbacks").Body, "123.45"); got != sees.cost {
			t.Errorf("%s sees the cost in the list: %v", role, got)
		}
	}
	s.as(models.Seller).get("/callbacks").want(403)
	s.as(models.Roofer).get("/callbacks/new").want(403)
	s.as(models.Scheduler).post("/callbacks/2", url.Values{"version": {"1"}, "state": {"closed"}}).want(403)
	s.as(models.Scheduler).post("/callbacks/2/costs", url.Values{"kind": {"labour"}, "amount": {"1"}}).want(403)
}

func TestTakingACall(t *testing.T) {
	s := callbackSite(t)
	b := s.as(models.Scheduler)
	form := b.get("/callbacks/new").want(200)
	if got := form.text(".caution"); !strings.Contains(got, "ceiling that sags") || !strings.Contains(got, "Do not go up on the roof") {
		t.Errorf("what the caller is told is %q", got)
	}
	// The telephone is answered: what is not asked yet is asked, nothing is lost.
	refused := b.post("/callbacks", url.Values{"caller": {"Ida Berg"}, "phone": {"no phone"}, "about": {"A stain"}, "address_given": {"nowhere"}}).want(422)
	for field, want := range map[string]string{"phone": "telephone", "water_coming_in": "ask the caller"} {
		if field == "phone" {
			continue // judged by the record, once all could be read
		}
		if got := refused.text("#call-" + field + "-error"); !strings.Contains(got, want) {
			t.Errorf("beside %s it says %q, want %q", field, got, want)
		}
	}
	for _, field := range []string{"caller", "phone", "address_given"} {
		if got, _ := refused.page().Find("#call-" + field).Attr("value"); got == "" {
			t.Errorf("what was typed into %s is lost", field)
		}
	}
	if refused := b.post("/callbacks", url.Values{"phone": {"no phone"}, "about": {"x"}, "water_coming_in": {"no"}}).want(422); refused.text("#call-phone-error") == "" {
		t.Error("nothing is said beside a telephone number without digits")
	}

	// Not found yet: kept as said.
	b.post("/callbacks", url.Values{"caller": {"Ida Berg"}, "about": {"A stain"}, "address_given": {"by the old mill"}, "water_coming_in": {"no"}}).leads("/callbacks/5")
	c := s.callback(5)
	if c.AddressGiven != "by the old mill" || c.HouseID != nil || c.RingBackBy == nil || !c.RingBackBy.Equal(s.clock.Now().Add(24*time.Hour)) {
		t.Errorf("the call is kept as %+v", c)
	}
	if got := b.get("/callbacks/5").want(200).text(".flash"); !strings.Contains(got, "We promised to ring back by Jun 11, 2026, 9:00 am") {
		t.Errorf("it is said that %q", got)
	}
}

// The roof is found as one types, and by a button where no script runs. It
// brings its job and promise along.
func TestTheCallersRoofIsFound(t *testing.T) {
	s := callbackSite(t)
	b := s.as(models.Office)
	found := b.post("/callbacks", url.Values{"find": {"yes"}, "caller": {"Odile"}, "about": {"A drip"}, "water_coming_in": {"yes"}, "address_given": {"12 larch"}}).want(200)
	if got := found.text("#houses"); !strings.Contains(got, "12 Larch Street, Tarn, roof R-1 is ours") || !strings.Contains(got, "the same as K-1") {
		t.Errorf("looking for 12 Larch finds %q", got)
	}
	if got, _ := found.page().Find("#call-caller").Attr("value"); got != "Odile" || found.page().Find("#call-water_coming_in input[value=yes][checked]").Length() != 1 {
		t.Error("looking for the house loses what was typed")
	}
	if n, err := store.Count[models.Callback](s.service.Store.Query(t.Context()), ""); err != nil || n != 4 {
		t.Errorf("looking for the house wrote something down: %d callbacks, %v", n, err)
	}
	typed := b.get("/callbacks/new?address_given=marchetti").want(200)
	if got := typed.text("#houses"); !strings.Contains(got, "14 Larch Street, Tarn, no roof of ours, Odile Marchetti") {
		t.Errorf("looking by name finds %q", got)
	}
	b.post("/callbacks", url.Values{"about": {"A drip"}, "water_coming_in": {"yes"}, "address_given": {"12 larch"}, "place": {"house:1"}}).leads("/callbacks/5")
	c := s.callback(5)
	if c.HouseID == nil || *c.HouseID != 1 || c.RoofID == nil || *c.RoofID != 1 || c.WarrantyID == nil || *c.WarrantyID != 1 || c.AddressGiven != "" {
		t.Errorf("the house brings %+v", c)
	}
	b.post("/callbacks", url.Values{"about": {"x"}, "water_coming_in": {"no"}, "place": {"roof:1"}}).want(422)
	b.post("/callbacks", url.Values{"about": {"x"}, "water_coming_in": {"no"}, "place": {"house:"}}).want(422)
}

// Two calls about one leak are one callback, and the second caller is rung back
// too.
func TestASecondCallJoins(t *testing.T) {
	s := callbackSite(t)
	b := s.as(models.Office)
	loose := b.get("/callbacks/new?address_given=14+larch+st").want(200)
	if got := loose.page().Find(`#houses input[value="callback:2"]`).Length(); got != 1 {
		t.Errorf("the open callback without a roof is offered %d times", got)
	}
	b.post("/callbacks/2/ring-back", url.Values{"reached": {"yes"}}).leads("/callbacks/2")
	b.post("/callbacks", url.Values{"caller": {"Her neighbour"}, "about": {"More water"}, "water_coming_in": {"yes"}, "place": {"callback:2"}}).leads("/callbacks/2")
	page := b.get("/callbacks/2").want(200)
	if got := page.text(".history"); !strings.Contains(got, "Her neighbour rang") || !strings.Contains(got, "More water") {
		t.Errorf("the story is %q", got)
	}
	if c := s.callback(2); c.RungBackAt != nil || c.RingBackBy == nil || !c.RingBackBy.After(s.clock.Now()) {
		t.Errorf("whoever rings again is to be rung back, but %+v", c)
	}
	b.post("/callbacks/1", url.Values{"version": {"1"}, "state": {"refused"}, "refused_because": {"hail"}}).leads("/callbacks/1")
	b.post("/callbacks/1", url.Values{"version": {"2"}, "state": {"closed"}}).leads("/callbacks/1")
	b.post("/callbacks", url.Values{"about": {"x"}, "water_coming_in": {"no"}, "place": {"callback:1"}}).want(409)
}

func TestRingingBack(t *testing.T) {
	s := callbackSite(t)
	b := s.as(models.Scheduler)
	if got := b.get("/callbacks/2").want(200).text(".opening"); !strings.Contains(got, "have not reached anybody") {
		t.Errorf("the opening of a late ring-back is %q", got)
	}
	b.post("/callbacks/2/ring-back", url.Values{"reached": {"no"}}).leads("/callbacks/2")
	b.post("/callbacks/2/ring-back", url.Values{"reached": {"no"}}).leads("/callbacks/2")
	if c := s.callback(2); c.Attempts != 2 || c.RungBackAt != nil {
		t.Errorf("after two tries: %d, %v", c.Attempts, c.RungBackAt)
	}
	b.post("/callbacks/2/ring-back", url.Values{"reached": {"yes"}}).leads("/callbacks/2")
	c := s.callback(2)
	if c.Attempts != 3 || c.RungBackAt == nil || c.State != "to_look" {
		t.Errorf("after reaching them: %+v", c)
	}
	page := b.get("/callbacks/2").want(200)
	if page.page().Find("form#tried").Length() != 0 || !strings.Contains(page.text(".history"), "We rang back and reached them") {
		t.Errorf("after reaching them the page says %q", page.text("main"))
	}
	b.post("/callbacks/2/ring-back", url.Values{}).want(422)
}

func TestACallbackThroughItsStates(t *testing.T) {
	s := callbackSite(t)
	b := s.as(models.Owner)
	refused := b.post("/callbacks/1", url.Values{"version": {"1"}, "state": {"refused"}, "refused_because": {""}, "cause_found": {"storm"}}).want(422)
	if got := refused.text("#step-refused_because-error"); !strings.Contains(got, "needs its reason") {
		t.Errorf("beside the reason it says %q", got)
	}
	if refused.page().Find("#step-cause_found option[value=storm][selected]").Length() != 1 {
		t.Error("the cause that was chosen is lost")
	}
	b.post("/callbacks/1", url.Values{"version": {"1"}, "state": {"accepted"}, "looked_on": {"2026-06-05"}, "cause_found": {"flashing"}, "place": {"chimney"},
		"waiting_on": {"weather"}, "covered_on": {"2026-06-05"}}).leads("/callbacks/1")
	if c := s.callback(1); c.DecidedOn != units.NewDate(2026, time.June, 10) || !c.ClosedOn.IsZero() || c.Caller != "Odile Marchetti" {
		t.Errorf("an accepted callback is %+v", c)
	}
	b.post("/callbacks/1", url.Values{"version": {"2"}, "state": {"closed"}, "repaired_on": {"2026-06-09"}, "bearer": {"us"}, "closed_on": {""}, "waiting_on": {""}}).leads("/callbacks/1")
	if c := s.callback(1); c.ClosedOn != units.NewDate(2026, time.June, 10) {
		t.Errorf("a closed callback is closed on %v", c.ClosedOn)
	}
	page := b.get("/callbacks/1").want(200)
	said := page.page().Find("details .history").Text()
	for _, want := range []string{"state from new to accepted", "state from accepted to closed", "cause found: flashing", "looked on: June 5, 2026", "waiting on taken out, was the weather"} {
		if !strings.Contains(said, want) {
			t.Errorf("the changes do not say %q: %s", want, said)
		}
	}
	var story []string
	page.page().Find("main > .history li").Each(func(_ int, li *goquery.Selection) {
		story = append(story, strings.TrimSpace(li.Find("p").Eq(1).Text()))
	})
	if got := strings.Join(story, ", "); got != "Waits no longer on the weather, Closed, Waits on the weather, Accepted, Repaired, We looked at it, Temporary cover laid, We learned of it" {
		t.Errorf("the story is %q", got)
	}
	// Opened again, it is closed no more.
	b.post("/callbacks/1", url.Values{"version": {"3"}, "state": {"repaired"}, "closed_on": {"2026-06-10"}}).leads("/callbacks/1")
	if c := s.callback(1); !c.ClosedOn.IsZero() {
		t.Errorf("an opened callback is closed on %v", c.ClosedOn)
	}
}

func TestTwoEditorsOfACallback(t *testing.T) {
	s := callbackSite(t)
	one, two := s.as(models.Owner), s.as(models.Office)
	one.post("/callbacks/1", url.Values{"version": {"1"}, "state": {"to_look"}, "waiting_on": {"owner"}}).leads("/callbacks/1")
	second := two.post("/callbacks/1", url.Values{"version": {"1"}, "state": {"accepted"}, "waiting_on": {"weather"}}).want(409)
	if got := second.text("#step-waiting_on-kept"); got != "Kept now: the homeowner" {
		t.Errorf("beside the field it says %q", got)
	}
	version, _ := second.page().Find("#step input[name=version]").Attr("value")
	two.post("/callbacks/1", url.Values{"version": {version}, "state": {"accepted"}, "waiting_on": {"weather"}}).leads("/callbacks/1")
	refused := two.post("/callbacks/1", url.Values{"version": {"1"}, "form": {"said"}, "about": {"other words"}}).want(409)
	if got := refused.text("#said-about"); got != "other words" || refused.page().Find("details[open] #said").Length() != 1 {
		t.Errorf("what the second typed is %q", got)
	}
}

// The roof is found later, and what hangs on it comes along; another house
// takes it away again.
func TestFindingTheRoofLater(t *testing.T) {
	s := callbackSite(t)
	b := s.as(models.Office)
	page := b.get("/callbacks/2?where=12+larch").want(200)
	if page.page().Find(`form#house input[name=house_id][value="1"]`).Length() != 1 {
		t.Fatalf("12 Larch is not offered: %s", page.text("#houses"))
	}
	if got := b.get("/callbacks/2").want(200).text("#houses"); !strings.Contains(got, "14 Larch Street") {
		t.Errorf("the address as said finds %q", got)
	}
	refused := b.post("/callbacks/2/house", url.Values{"version": {"1"}}).want(422)
	if got := refused.text("#house-house_id-error"); got == "" {
		t.Error("nothing is said beside the houses")
	}
	b.post("/callbacks/2/house", url.Values{"version": {"1"}, "house_id": {"1"}}).leads("/callbacks/2")
	if c := s.callback(2); c.RoofID == nil || *c.RoofID != 1 || c.WarrantyID == nil {
		t.Errorf("the house brings %+v", c)
	}
	b.post("/callbacks/2/house", url.Values{"version": {"2"}, "house_id": {"2"}}).leads("/callbacks/2")
	if c := s.callback(2); c.RoofID != nil || c.WarrantyID != nil || *c.HouseID != 2 {
		t.Errorf("another house leaves %+v", c)
	}
	b.post("/callbacks/2/house", url.Values{"version": {"3"}, "house_id": {"77"}}).want(422)
}

func TestCostsOfACallback(t *testing.T) {
	s := callbackSite(t)
	b := s.as(models.Bookkeeper)
	refused := b.post("/callbacks/1/costs", url.Values{"kind": {"material"}, "on": {"2026-06-09"}, "amount": {""}, "note": {"two bundles"}}).want(422)
	if got := refused.text("#cost-amount-error"); !strings.HasPrefix(got, "is needed") {
		t.Errorf("beside the amount it says %q", got)
	}
	if got, _ := refused.page().Find("#cost-note").Attr("value"); got != "two bundles" {
		t.Errorf("the note is now %q", got)
	}
	b.post("/callbacks/1/costs", url.Values{"kind": {"material"}, "on": {"2026-06-09"}, "amount": {"200.10"}}).leads("/callbacks/1")
	b.post("/callbacks/1/costs", url.Values{"kind": {"recovery"}, "on": {"2026-06-10"}, "amount": {"50"}}).leads("/callbacks/1")
	b.post("/callbacks/1/costs", url.Values{"kind": {"labour"}, "on": {"2026-06-09"}, "hours": {"a few"}}).want(422)
	page := b.get("/callbacks/1").want(200)
	if got := page.text("main"); !strings.Contains(got, "In all $150.10") || !strings.Contains(got, "−$50.00") {
		t.Errorf("200.10 less 50 that came back is %q", page.text("#costs"))
	}
}

// A nought that is typed is nought, and what is left empty is worked out: on the
// form that adds a cost and on the one that corrects it, which says a nought that
// is kept, so that sending it again changes nothing.
func TestTypedNoughtAndEmptyAreTwoThings(t *testing.T) {
	s := courseSite(t)
	set, err := s.service.Settings(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	set.Branch.TaxRate = 0.0825
	if err := s.service.SaveSettings(t.Context(), service.Program("a test"), &set); err != nil {
		t.Fatal(err)
	}
	b := s.as(models.Bookkeeper)
	form := b.get("/callbacks/1").want(200)
	for _, name := range []string{"amount", "tax"} {
		if got, _ := form.page().Find("#cost-" + name).Attr("value"); got != "" {
			t.Errorf("a new cost begins with %s %q", name, got)
		}
	}
	if got := form.text("#cost"); !strings.Contains(got, "Left empty, our sales tax is put on what we buy") {
		t.Errorf("what an empty tax means is not said: %q", got)
	}
	for _, c := range []struct {
		kind, hours, amount, tax string
		wantAmount, wantTax      units.Money
	}{
		{"material", "", "240", "", 240_00, 19_80},
		{"material", "", "240", "0", 240_00, 0},
		{"material", "", "240", "0.00", 240_00, 0},
		{"material", "", "0", "", 0, 0},
		{"labour", "2", "", "", 172_00, 0}, // 2 × 86
		{"labour", "2", "0", "", 0, 0},
		{"labour", "2", "0", "0", 0, 0},
		{"credit", "", "240", "", -240_00, -19_80},
		{"recovery", "", "240", "", -240_00, 0},
		{"recovery", "", "240", "0", -240_00, 0},
	} {
		fields := url.Values{"kind": {c.kind}, "on": {"2026-06-05"}, "hours": {c.hours}, "amount": {c.amount}, "tax": {c.tax}}
		b.post("/callbacks/1/costs", fields).leads("/callbacks/1")
		lines := s.costs(1)
		l := lines[len(lines)-1]
		if l.Amount != c.wantAmount || l.Tax != c.wantTax {
			t.Errorf("%v is kept as %d with %d, want %d with %d", fields, l.Amount, l.Tax, c.wantAmount, c.wantTax)
		}
		at := "/callbacks/1/costs/" + idOf(l.ID)
		page := b.get(at).want(200).page()
		again := url.Values{"how": {"anew"}, "why": {"a test"}}
		for _, name := range []string{"on", "hours", "amount", "tax"} {
			got, _ := page.Find("#correct-" + name).Attr("value")
			again.Set(name, got)
		}
		again.Set("kind", c.kind)
		b.post(at, again).leads("/callbacks/1")
		lines = s.costs(1)
		if anew := lines[len(lines)-1]; anew.Amount != c.wantAmount || anew.Tax != c.wantTax || anew.ID == l.ID {
			t.Errorf("%v sent again as %v is %d with %d", fields, again, anew.Amount, anew.Tax)
		}
	}
}
