package service

import (
	"context"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/analytics/visits"
	"overhang/models"
	"overhang/models/store"
)

// town reads the files of testdata/town into a new company, whose day is 25
// November 2026.
func town(t testing.TB) *Service {
	t.Helper()
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "town.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	svc := New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), func() time.Time { return time.Date(2026, 11, 25, 17, 0, 0, 0, time.UTC) })
	if _, err := svc.AddPerson(t.Context(), Program("a test"), NewPerson{Email: "owner@example.org", Name: "Olive Ownington",
		Password: "a ridge vent and a saddle", Roles: models.Roles{models.Owner}}); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob("../../testdata/town/*.csv")
	if err != nil || len(files) != 12 {
		t.Fatalf("the town has %d files, %v", len(files), err)
	}
	for _, file := range files {
		_, kind, _ := strings.Cut(strings.TrimSuffix(filepath.Base(file), ".csv"), "-")
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		report, err := svc.Import(t.Context(), Program("a test"), kind, filepath.Base(file), f, false, nil)
		f.Close()
		if err != nil || !report.OK() || report.New == 0 {
			var b strings.Builder
			_ = report.WriteText(&b)
			t.Fatalf("importing %s: %v\n%s", file, err, b.String())
		}
	}
	return svc
}

var (
	owner     = Actor{Name: "Olive", Roles: models.Roles{models.Owner}}
	seller    = Actor{Name: "Sal", Roles: models.Roles{models.Seller}}
	scheduler = Actor{Name: "Dora", Roles: models.Roles{models.Scheduler}}
	roofer    = Actor{Name: "Rolf", Roles: models.Roles{models.Roofer}}
)

func TestSchedulerSeesWhoIsDue(t *testing.T) {
	svc := town(t)
	list, err := svc.Due(t.Context(), scheduler, DueFilter{}, store.Page{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range list.Rows {
		got = append(got, r.RoofRef+" "+r.DueOn.String())
	}
	if want := "R-103 2022-08-27, R-101 2025-09-12"; strings.Join(got, ", ") != want {
		t.Errorf("due are %s, want %s", strings.Join(got, ", "), want)
	}
	if list.Season {
		t.Error("in late November the season is closed")
	}
	if _, err := svc.Due(t.Context(), seller, DueFilter{}, store.Page{}); models.CodeOf(err) != models.Forbidden {
		t.Errorf("the seller sees visits: %v", err)
	}
}

func TestSellerSeesWhoNeedsARoof(t *testing.T) {
	svc := town(t)
	list, err := svc.Neighbours(t.Context(), seller, NeighbourFilter{}, store.Page{})
	if err != nil {
		t.Fatal(err)
	}
	place := map[string]int{}
	for i, r := range list.Rows {
		place[r.House.Address()] = i + 1
		if r.House.Ours {
			t.Errorf("our own roof at %s is on the list", r.House.Address())
		}
	}
	if len(list.Rows) != 9 || list.LeftOut.Ours != 3 {
		t.Fatalf("%d houses are ranked, %+v left out", len(list.Rows), list.LeftOut)
	}
	for _, best := range []string{"12 Sorrel Lane, Norwick", "16 Sorrel Lane, Norwick"} {
		if place[best] < 1 || place[best] > 3 {
			t.Errorf("%s stands at %d of %v", best, place[best], place)
		}
	}
	if last := place["21 Sorrel Lane, Norwick"]; last != 9 {
		t.Errorf("the new roof at 21 Sorrel Lane stands at %d of %v", last, place)
	}
	// A knock moves a house off the list, and the stop-list keeps it off.
	id := list.Rows[0].House.HouseID
	if err := svc.Knock(t.Context(), seller, id, "come_back", "after supper", units.NewDate(2026, 12, 1)); err != nil {
		t.Fatal(err)
	}
	stopped := list.Rows[1].House
	if err := svc.StopCalling(t.Context(), seller, stopped.Number+" "+stopped.Street, "asked"); err != nil {
		t.Fatal(err)
	}
	if err := svc.Knock(t.Context(), seller, stopped.HouseID, "spoke", "", 0); models.CodeOf(err) != models.Conflict {
		t.Errorf("a knock at a house on the stop-list gave %v", err)
	}
	again, err := svc.Neighbours(t.Context(), seller, NeighbourFilter{}, store.Page{})
	if err != nil || len(again.Rows) != 7 || again.LeftOut.Resting != 1 || again.LeftOut.Stopped != 1 {
		t.Fatalf("%d houses are ranked after the knock, %+v left out, %v", len(again.Rows), again.LeftOut, err)
	}
	walk, err := svc.Walk(t.Context(), seller, NeighbourFilter{Street: "Teasel Court"}, 60)
	if err != nil || len(walk.Rows) < 3 || walk.Distance <= 0 {
		t.Fatalf("the walk has %d houses over %v, %v", len(walk.Rows), walk.Distance, err)
	}
	if _, err := svc.Neighbours(t.Context(), roofer, NeighbourFilter{}, store.Page{}); models.CodeOf(err) != models.Forbidden {
		t.Errorf("the roofer sees neighbours: %v", err)
	}
}

func TestOwnerSeesWhatIsOwed(t *testing.T) {
	svc := town(t)
	list, err := svc.Promises(t.Context(), owner, PromiseFilter{}, store.Page{})
	if err != nil {
		t.Fatal(err)
	}
	ends := map[string]string{}
	for _, r := range list.Rows {
		ends[r.Warranty.Ref] = r.EndsOn.String()
		for _, c := range r.Result.Conditions {
			if r.Warranty.Ref == "W-103" && c.Kind == "yearly_checkup" && c.Standing != promise.Met {
				t.Errorf("check-ups that nobody offered count against the owner of R-103: %+v", c)
			}
		}
	}
	// The last day in force is the day before the anniversary.
	for ref, want := range map[string]string{"W-101": "2029-06-12", "W-102": "2033-05-05", "W-103": "2031-08-26", "W-112": "2053-05-05"} {
		if ends[ref] != want {
			t.Errorf("%s ends on %s, want %s", ref, ends[ref], want)
		}
	}
	if list.Roofs != 3 || list.Counts["in_force"] != 4 || list.Counts["registration"] != 1 {
		t.Errorf("%d roofs, %v", list.Roofs, list.Counts)
	}
	if list.Owed == nil || list.Owed.Total.Expected == nil || *list.Owed.Total.Expected <= 0 || !list.Owed.SmallSample {
		t.Errorf("what is owed: %+v", list.Owed)
	}
	today, err := svc.TodayFor(t.Context(), owner)
	if err != nil || today.Open != 1 || today.WaterComingIn != 1 || today.Due != 2 || len(today.Registrations) != 1 || today.ToCallOn != 9 {
		t.Errorf("today: %+v, %v", today, err)
	}
	// Each sees their own part of the day.
	if s, err := svc.TodayFor(t.Context(), seller); err != nil || s.Open != 0 || s.Due != 0 || len(s.Registrations) != 0 || s.ToCallOn != 9 {
		t.Errorf("the seller's today: %+v, %v", s, err)
	}
	office := Actor{Name: "Ollie", Roles: models.Roles{models.Office}}
	if p, err := svc.Promises(t.Context(), office, PromiseFilter{}, store.Page{}); err != nil || p.Owed != nil {
		t.Errorf("the office sees money: %v, %v", p.Owed, err)
	}
}

func TestNightlyEstimates(t *testing.T) {
	svc := town(t)
	day := units.NewDate(2026, 11, 25)
	count := func() int {
		n, err := store.Count[models.Estimate](svc.Store.Query(t.Context()), "")
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	refresh := func(day units.Date) string {
		t.Helper()
		detail, err := svc.RefreshEstimates(t.Context(), Program("a test"), day, func(int, int) {})
		if err != nil {
			t.Fatal(err)
		}
		return detail
	}
	if detail := refresh(day); count() != 3 || detail != "3 roofs looked through, 3 estimated anew." {
		t.Fatalf("%d estimates, %s", count(), detail)
	}
	refresh(day + 1)
	if count() != 3 {
		t.Errorf("with nothing changed there are %d estimates", count())
	}
	refresh(day + 31)
	if count() != 6 {
		t.Errorf("after a month there are %d estimates", count())
	}
	roof, err := store.First[models.Roof](svc.Store.Query(t.Context()), "ref = 'R-101'")
	if err != nil {
		t.Fatal(err)
	}
	page, err := svc.Roof(t.Context(), owner, roof.ID, AsUsual)
	if err != nil || page.Life == nil || len(page.Faults) != 0 {
		t.Fatalf("%+v, %v", page, err)
	}
	f := page.File
	if f.Roof.Ref != "R-101" || len(page.Venting) != 1 || len(page.Promises) != 1 || page.Next == nil || len(page.Others) != 1 || len(page.Looks) != 1 {
		t.Errorf("the page of %s has %d attics, %d promises, %d other roofs, %d looks", f.Roof.Ref, len(page.Venting), len(page.Promises), len(page.Others), len(page.Looks))
	}
	// Attic of 1,500 ft², 500 in² high and 220 low: fails IRC 2012 and later
	// without a retarder, since the high share is above 50 % of the area asked.
	// Trade reference, worked example of R806.2.
	if v := page.Venting[0].Rule().Verdict; v != "fails" {
		t.Errorf("the vents of R-101: %s", v)
	}
	if page.Life.Result.TooNew {
		t.Error("a roof of seven years is not too new")
	}
	// A visit changes what one estimate is made from, and only that one.
	visit := &models.Visit{HouseID: f.House.ID, RoofID: &f.Roof.ID, Purpose: "checkup", DoneOn: day, Method: "walked"}
	three, half := 3, 0.5
	if err := svc.RecordVisit(t.Context(), roofer, visit, []models.Finding{{Defect: "granule_loss", Look: "seen", Severity: &three, Extent: &half}}); err != nil {
		t.Fatal(err)
	}
	if detail := refresh(day + 32); !strings.Contains(detail, "1 estimated anew") {
		t.Errorf("after a visit: %s", detail)
	}
}

func TestACallIsTakenBeforeItsRoofIsFound(t *testing.T) {
	svc := town(t)
	ctx := context.Background()
	c, err := svc.TakeCall(ctx, scheduler, NewCall{Caller: "Somebody", Phone: "555-0199", AddressGiven: "the blue house by the mill", About: "drip in the hall", WaterComingIn: true})
	if err != nil || c.RoofID != nil || c.RingBackBy == nil {
		t.Fatalf("%+v, %v", c, err)
	}
	hits, err := svc.Search(ctx, scheduler, "5 téasel ct")
	if err != nil || len(hits) != 1 || hits[0].Holder != "Una Marlow" {
		t.Fatalf("search gave %+v, %v", hits, err)
	}
	if hits, err := svc.Search(ctx, seller, "Marlow"); err != nil || len(hits) != 0 {
		t.Errorf("the seller finds people by name: %+v, %v", hits, err)
	}
	for _, text := range []string{"(555) 01-03", "una marlow", "R-103", "h-103"} {
		if hits, err := svc.Search(ctx, scheduler, text); err != nil || len(hits) != 1 || hits[0].RoofRef != "R-103" {
			t.Errorf("%q finds %+v, %v", text, hits, err)
		}
	}
	file, err := svc.Callback(ctx, owner, c.ID)
	if err != nil {
		t.Fatal(err)
	}
	file.Callback.HouseID = &hits[0].HouseID
	if err := svc.ChangeCallback(ctx, owner, &file.Callback); err != nil {
		t.Fatal(err)
	}
	file, err = svc.Callback(ctx, owner, c.ID)
	if err != nil || file.Roof == nil || file.Roof.Roof.Ref != "R-103" || file.Callback.JobID == nil || file.Callback.WarrantyID == nil {
		t.Errorf("the house brought no roof, job or promise along: %+v, %v", file.Callback, err)
	}
	if _, err := svc.TakeCall(ctx, seller, NewCall{Caller: "x"}); models.CodeOf(err) != models.Forbidden {
		t.Errorf("the seller takes calls: %v", err)
	}
	six := 6.0
	line := &NewCost{Line: models.CostLine{CallbackID: c.ID, On: units.NewDate(2026, 11, 25), Kind: "labour", Hours: &six}}
	set, err := svc.Settings(ctx)
	if err != nil {
		t.Fatal(err)
	}
	set.Branch.LabourRate = 78 * units.Dollar
	if err := svc.SaveSettings(ctx, owner, &set); err != nil {
		t.Fatal(err)
	}
	if err := svc.AddCost(ctx, owner, line); err != nil || line.Line.Amount != 468*units.Dollar {
		t.Errorf("six hours cost %v, %v", line.Line.Amount, err)
	}
}

func TestDaysArePlannedAndBooked(t *testing.T) {
	svc := town(t)
	plan, err := svc.PlanDays(t.Context(), scheduler, DueFilter{}, 0)
	if err != nil || len(plan.Days) != 1 || len(plan.Days[0].Stops) != 2 {
		t.Fatalf("%+v, %v", plan, err)
	}
	day := units.NewDate(2027, 4, 20)
	var bookings []Booking
	for i, stop := range plan.Days[0].Stops {
		row, place := plan.Row(stop.ID), i+1
		bookings = append(bookings, Booking{HouseID: row.HouseID, RoofID: &row.RoofID, Purpose: row.Purpose, On: day, PlaceInDay: &place, ByName: "Cole Barden"})
	}
	if err := svc.Book(t.Context(), scheduler, bookings); err != nil {
		t.Fatal(err)
	}
	booked, err := svc.BookedOn(t.Context(), scheduler, day)
	if err != nil || len(booked) != 1 || len(booked[0].Stops) != 2 || booked[0].Distance <= 0 || booked[0].Stops[0].Phone == "" {
		t.Fatalf("%+v, %v", booked, err)
	}
	if seen, err := svc.BookedOn(t.Context(), roofer, day); err != nil || seen[0].Stops[0].Phone != "" {
		t.Errorf("the roofer sees telephone numbers: %+v, %v", seen, err)
	}
	// Booking again moves the visits and makes no second ones.
	for i := range bookings {
		bookings[i].On = day + 1
	}
	if err := svc.Book(t.Context(), scheduler, bookings); err != nil {
		t.Fatal(err)
	}
	if again, err := svc.BookedOn(t.Context(), scheduler, day); err != nil || len(again) != 0 {
		t.Errorf("the old day still has %+v, %v", again, err)
	}
	due, err := svc.Due(t.Context(), scheduler, DueFilter{State: visits.Booked}, store.Page{})
	if err != nil || due.Total != 2 {
		t.Errorf("%d roofs are booked, %v", due.Total, err)
	}
	if err := svc.Book(t.Context(), scheduler, []Booking{{HouseID: 1, Purpose: "checkup", On: units.NewDate(2026, 11, 24)}}); models.CodeOf(err) != models.Invalid {
		t.Errorf("a day that is over was booked: %v", err)
	}
}
