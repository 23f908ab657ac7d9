package server

import (
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
	"overhang/models/store"
)

// found lists what a visit has of a defect: where, how it was looked at and how bad.
func (s *site) found(visit int64, defect string) []string {
	s.t.Helper()
	of, err := store.List[models.Finding](s.service.Store.Query(s.t.Context()), "slope_id, id", "visit_id = ? AND defect = ?", visit, defect)
	if err != nil {
		s.t.Fatal(err)
	}
	var out []string
	for _, f := range of {
		said := "all"
		if f.SlopeID != nil {
			said = fmt.Sprint(*f.SlopeID)
		}
		said += " " + f.Look
		if f.Severity != nil {
			said += fmt.Sprint(" ", *f.Severity)
		}
		if f.Extent != nil {
			said += fmt.Sprint(" ", *f.Extent)
		}
		out = append(out, said)
	}
	return out
}

// held lists the lines of a defect that a form holds: where, and what was seen.
func held(a answer, defect string) []string {
	var out []string
	a.page().Find("#record details.fold").Each(func(_ int, fold *goquery.Selection) {
		look := fold.Find(`[name^="look.` + defect + `"]`)
		name := look.AttrOr("name", "")
		if name != "look."+defect && !strings.HasPrefix(name, "look."+defect+".") {
			return
		}
		where, _ := fold.Find(`[name^="slope."] option[selected]`).Attr("value")
		said, _ := look.Filter("[checked]").Attr("value")
		out = append(out, where+"="+said)
	})
	return out
}

// One save takes a defect on all slopes and otherwise on some; what is wrong in it is
// told beside its line, and nothing of it is lost.
func TestADefectOnSeveralSlopes(t *testing.T) {
	const at = "/roofs/3/visits"
	for _, c := range []struct {
		name  string
		typed url.Values
		want  []string // kept
		field string   // refused
		rule  string
		held  []string // in the refused form
	}{
		{"on all", url.Values{"look.moss": {"2"}}, []string{"all seen 2"}, "", "", nil},
		{"on one", url.Values{"look.moss": {"2"}, "slope.moss": {"1"}}, []string{"1 seen 2"}, "", "", nil},
		{"on all, and otherwise on one", url.Values{"look.moss": {"2"}, "extent.moss": {"0.2"}, "look.moss.2": {"3"}, "slope.moss.2": {"2"}, "extent.moss.2": {"0.4"}},
			[]string{"all seen 2 0.2", "2 seen 3 0.4"}, "", "", nil},
		{"none on one of them", url.Values{"look.moss": {"2"}, "look.moss.2": {"none"}, "slope.moss.2": {"2"}}, []string{"all seen 2", "2 none"}, "", "", nil},
		{"each its own", url.Values{"look.moss": {"1"}, "slope.moss": {"2"}, "look.moss.2": {"3"}, "slope.moss.2": {"1"}}, []string{"1 seen 3", "2 seen 1"}, "", "", nil},
		{"one, and all the others", url.Values{"look.moss": {"1"}, "slope.moss": {"2"}, "look.moss.2": {"3"}, "slope.moss.2": {"all"}}, []string{"all seen 3", "2 seen 1"}, "", "", nil},
		{"a line that was left empty", url.Values{"look.moss": {"2"}, "look.moss.2": {""}, "slope.moss.2": {""}, "extent.moss.2": {""}, "note.moss.2": {""}}, []string{"all seen 2"}, "", "", nil},
		{"the second line alone", url.Values{"look.moss": {""}, "slope.moss": {""}, "look.moss.2": {"3"}, "slope.moss.2": {"2"}}, []string{"2 seen 3"}, "", "", nil},
		{"all else none", url.Values{"look.moss": {""}, "look.moss.2": {"3"}, "slope.moss.2": {"2"}, "rest.covering": {"none"}}, []string{"all none", "2 seen 3"}, "", "", nil},
		{"on no slope", url.Values{"look.moss": {"2"}, "look.moss.2": {"3"}, "slope.moss.2": {""}}, nil, "slope.moss.2", "say on which slope", []string{"=2", "=3"}},
		{"twice on one", url.Values{"look.moss": {"1"}, "slope.moss": {"2"}, "look.moss.2": {"3"}, "slope.moss.2": {"2"}}, nil, "slope.moss.2", "has a line of this defect already", []string{"2=1", "2=3"}},
		{"twice on all", url.Values{"look.moss": {"1"}, "look.moss.2": {"3"}, "slope.moss.2": {"all"}}, nil, "slope.moss.2", "has a line of this defect already", []string{"=1", "all=3"}},
		{"a slope and nothing of it", url.Values{"look.moss": {"1"}, "look.moss.2": {""}, "slope.moss.2": {"2"}}, nil, "look.moss.2", "say what was seen", []string{"=1", "2="}},
		{"a note and nothing of it", url.Values{"look.moss": {"1"}, "slope.moss.2": {""}, "note.moss.2": {"by the chimney"}}, nil, "look.moss.2", "say what was seen", []string{"=1", "="}},
		{"out of sight", url.Values{"in_sight": {"1"}, "look.moss": {"1"}, "look.moss.2": {"3"}, "slope.moss.2": {"2"}}, nil, "slope.moss.2", "was not in sight", []string{"=1", "2=3"}},
		{"of another roof", url.Values{"look.moss": {"1"}, "look.moss.2": {"3"}, "slope.moss.2": {"9"}}, nil, "slope.moss.2", "is not a slope of this roof", []string{"=1", "=3"}},
		{"how much is no share", url.Values{"look.moss": {"1"}, "look.moss.2": {"3"}, "slope.moss.2": {"2"}, "extent.moss.2": {"7"}}, nil, "extent.moss.2", "must lie between", []string{"=1", "2=3"}},
		{"so bad there is none", url.Values{"look.moss": {"1"}, "look.moss.2": {"4"}, "slope.moss.2": {"2"}}, nil, "look.moss.2", "is not in the list", []string{"=1", "2="}},
	} {
		s := visitSite(t)
		b := s.as(models.Roofer)
		for name, value := range map[string]string{"purpose": "checkup", "done_on": "2026-06-09", "method": "street", "notes": "Dry"} {
			c.typed.Set(name, value)
		}
		if c.field == "" {
			b.post(at, c.typed).leads("/visits/2")
			if got := s.found(2, "moss"); !slices.Equal(got, c.want) {
				t.Errorf("%s: kept are %q, want %q", c.name, got, c.want)
			}
			// Saved again as it stands it is the same.
			b.post("/visits/2", edited(b.get("/visits/2").want(200), "#record")).leads("/visits/2")
			if got := s.found(2, "moss"); !slices.Equal(got, c.want) {
				t.Errorf("%s: saved again they are %q, want %q", c.name, got, c.want)
			}
			continue
		}
		a := b.post(at, c.typed).want(422)
		if got := a.text("#record-" + strings.ReplaceAll(c.field, ".", `\.`) + "-error"); !strings.Contains(got, c.rule) {
			t.Errorf("%s: beside the field stands %q", c.name, got)
		}
		if got := held(a, "moss"); !slices.Equal(got, c.held) || a.text("#record-notes") != "Dry" {
			t.Errorf("%s: the form holds %q, want %q", c.name, got, c.held)
		}
		if got := a.page().Find("#record details.line[open]").Length(); got != 1 {
			t.Errorf("%s: %d further lines stand open", c.name, got)
		}
		if got := s.found(2, "moss"); len(got) != 0 {
			t.Errorf("%s: kept are %q", c.name, got)
		}
	}
}

// The button for one more line saves nothing, keeps all that was typed and gives a
// line to fill in, as often as there are slopes.
func TestOneMoreLine(t *testing.T) {
	s := visitSite(t)
	b := s.as(models.Roofer)
	const at = "/roofs/3/visits"
	typed := edited(b.get(at+"/new").want(200), "#record")
	typed.Set("method", "street")
	typed["in_sight"] = []string{"1"}
	typed.Set("look.moss", "2")
	typed.Set("note.stains", "below the vent")
	for n := 2; n <= 3; n++ {
		typed.Set("more", "moss")
		a := b.post(at, typed).want(200)
		if got := held(a, "moss"); len(got) != n || got[0] != "=2" || got[n-1] != "=" {
			t.Fatalf("with %d lines the form holds %q", n, got)
		}
		line := a.page().Find(fmt.Sprintf("#record-slope\\.moss\\.%d", n)).Closest("details")
		if _, open := line.Attr("open"); !open || !line.HasClass("line") || line.Find(".rule").Length() != 0 {
			t.Error("the new line is shut, or wrong already")
		}
		if got, _ := a.page().Find(`#record-note\.stains`).Attr("value"); got != "below the vent" || a.page().Find(`#record-in_sight [value="1"][checked]`).Length() != 1 || a.page().Find(`#record-method [value="street"][checked]`).Length() != 1 {
			t.Error("what was typed is lost")
		}
		button := a.page().Find(`button[name="more"][value="moss"]`)
		if (button.Length() == 1) != (n < 3) {
			t.Errorf("with %d lines there are %d buttons for more", n, button.Length())
		}
		if got, _ := button.Attr("formaction"); n < 3 && got != at+"#record-slope.moss.3" {
			t.Errorf("the button leads to %q", got)
		}
		typed = edited(a, "#record")
		typed.Del("more")
	}
	if n, err := store.Count[models.Visit](s.service.Store.Query(t.Context()), "house_id = 3"); err != nil || n != 0 {
		t.Errorf("%d visits are kept, %v", n, err)
	}
	// With the last slope there is nothing to ask for any more; what nobody asks for is not there.
	for defect, want := range map[string]int{"moss": 3, "no_such_thing": 3} {
		typed.Set("more", defect)
		if got := held(b.post(at, typed).want(200), "moss"); len(got) != want {
			t.Errorf("asked for one more of %s the form holds %q", defect, got)
		}
	}
	// A roof of one slope, or of none that is known, has nothing to tell apart.
	if n := b.get("/roofs/4/visits/new").want(200).page().Find(`button[name="more"], [name^="slope."]`).Length(); n != 0 {
		t.Errorf("of a roof without slopes %d times is asked on which", n)
	}
}

// What is corrected on one line changes that line: another place takes the old one
// back, and what was noted more finely than the form asks stays so.
func TestCorrectALine(t *testing.T) {
	s := visitSite(t)
	b := s.as(models.Owner)
	s.add(&models.Visit{Ref: "V-2", HouseID: 3, RoofID: ptr[int64](3), Purpose: "checkup", DoneOn: units.NewDate(2026, 6, 1), Method: "street"},
		&models.Finding{VisitID: 2, Defect: "moss", Look: "seen", Severity: ptr(2), Extent: ptr(0.12), Note: "thin"},
		&models.Finding{VisitID: 2, Defect: "moss", Look: "seen", Severity: ptr(3), SlopeID: ptr[int64](2)},
		&models.Finding{VisitID: 2, Defect: "moss", Look: "seen", Severity: ptr(1), SlopeID: ptr[int64](2)})
	step := func(change func(url.Values), want ...string) {
		t.Helper()
		form := edited(b.get("/visits/2").want(200), "#record")
		change(form)
		b.post("/visits/2", form).leads("/visits/2")
		if got := s.found(2, "moss"); !slices.Equal(got, want) {
			t.Errorf("kept are %q, want %q", got, want)
		}
	}
	a := b.get("/visits/2").want(200)
	if got := held(a, "moss"); !slices.Equal(got, []string{"=2", "2=3"}) {
		t.Fatalf("the form holds %q", got)
	}
	if got := names(a, "#record summary"); !slices.Contains(got, "Moss, on North") {
		t.Errorf("its lines are %q", got)
	}
	if got := names(a, "#findings tbody tr"); !strings.Contains(got[0], "the rest of the roof") || !strings.Contains(got[1], "North") {
		t.Errorf("read back: %q", got)
	}
	step(func(url.Values) {}, "all seen 2 0.12", "2 seen 3", "2 seen 1")
	step(func(f url.Values) { f.Set("extent.moss", "0.4") }, "all seen 2 0.4", "2 seen 3", "2 seen 1")
	step(func(f url.Values) { f.Set("slope.moss.2", "1") }, "all seen 2 0.4", "1 seen 3", "2 not_looked", "2 seen 1")
	// Of two of one defect on one slope, which only a file can bring, the other comes forward now.
	step(func(f url.Values) { f.Set("look.moss.3", "") }, "all seen 2 0.4", "1 seen 3", "2 not_looked", "2 not_looked")
	// Two lines change places.
	step(func(f url.Values) { f.Set("slope.moss", "1"); f.Set("slope.moss.2", "all") }, "all seen 3", "1 seen 2 0.4", "2 not_looked", "2 not_looked")
	step(func(f url.Values) { f.Set("look.moss", "") }, "all not_looked", "1 seen 2 0.4", "2 not_looked", "2 not_looked")
	step(func(f url.Values) { f.Set("look.moss", "none") }, "all not_looked", "1 none", "2 not_looked", "2 not_looked")
}

// Who saves second finds the other's line beside the own ones, and keeps both.
func TestTwoEditLines(t *testing.T) {
	s := visitSite(t)
	one, two := s.as(models.Scheduler), s.as(models.Owner)
	s.add(&models.Visit{Ref: "V-2", HouseID: 3, RoofID: ptr[int64](3), Purpose: "checkup", DoneOn: units.NewDate(2026, 6, 1), Method: "street"},
		&models.Finding{VisitID: 2, Defect: "moss", Look: "seen", Severity: ptr(1)})
	mine := edited(one.get("/visits/2").want(200), "#record")
	theirs := edited(two.get("/visits/2").want(200), "#record")
	for name, value := range map[string]string{"look.moss": "2", "look.moss.2": "3", "slope.moss.2": "1"} {
		theirs.Set(name, value)
	}
	two.post("/visits/2", theirs).leads("/visits/2")
	mine.Set("look.moss.2", "1")
	mine.Set("slope.moss.2", "2")
	a := one.post("/visits/2", mine).want(409)
	if got := held(a, "moss"); !slices.Equal(got, []string{"=1", "2=1", "1=3"}) {
		t.Errorf("the form holds %q", got)
	}
	if got := a.text(`#record-look\.moss`); !strings.Contains(got, "Kept now: 2, plain") {
		t.Errorf("beside the own line stands %q", got)
	}
	one.post("/visits/2", edited(a, "#record")).leads("/visits/2")
	if got := s.found(2, "moss"); !slices.Equal(got, []string{"all seen 1", "1 seen 3", "2 seen 1"}) {
		t.Errorf("kept are %q", got)
	}
}

// What a method cannot judge is marked for the style sheet, as the catalogue says.
func TestDefectsAreMarkedByWhatCannotJudgeThem(t *testing.T) {
	for _, family := range wear.Families() {
		for _, d := range wear.For(family) {
			class := strings.Fields(unjudged(d, family))
			for _, method := range []wear.Method{wear.Walked, wear.Ladder, wear.Street, wear.Photo} {
				r, err := wear.Rate(wear.Input{Method: method, Covering: family, Findings: []wear.Finding{{Defect: d.Key, Look: wear.Seen, Severity: ptr(2)}}})
				if err != nil {
					t.Fatal(err)
				}
				if got := slices.Contains(class, "not-"+string(method)); got != (len(r.SetAside) == 1) {
					t.Errorf("%s on %s by %s: marked %v, set aside %v", d.Key, family, method, got, r.SetAside)
				}
			}
			if slices.Contains(class, "needs-dry") != d.NeedsDry {
				t.Errorf("%s: marked %q", d.Key, class)
			}
		}
	}
}

// "Everything else: none" does not speak of what somebody else saw meanwhile.
func TestTheRestIsNotWhatAnotherSaw(t *testing.T) {
	s := visitSite(t)
	one, two := s.as(models.Scheduler), s.as(models.Owner)
	mine, theirs := edited(one.get("/visits/1").want(200), "#record"), edited(two.get("/visits/1").want(200), "#record")
	theirs.Set("method", "street")
	theirs.Set("look.moss", "2")
	two.post("/visits/1", theirs).leads("/visits/1")
	mine.Set("method", "street")
	mine.Set("rest.covering", "none")
	a := one.post("/visits/1", mine).want(409)
	if got := a.text(`#record-look\.moss`); !strings.Contains(got, "Kept now: 2, plain") {
		t.Errorf("beside the defect stands %q", got)
	}
	one.post("/visits/1", edited(a, "#record")).leads("/visits/1")
	if got := s.found(1, "moss"); !slices.Equal(got, []string{"all seen 2"}) {
		t.Errorf("moss is now %q", got)
	}
	if got := s.found(1, "curling"); !slices.Equal(got, []string{"all none"}) {
		t.Errorf("curling is now %q", got)
	}
}
