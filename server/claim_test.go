package server

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// costs are the cost lines of a callback, in the order of writing.
func (s *site) costs(callback int64) []models.CostLine {
	s.t.Helper()
	lines, err := store.List[models.CostLine](s.service.Store.Query(s.t.Context()), "id", "callback_id = ?", callback)
	if err != nil {
		s.t.Fatal(err)
	}
	return lines
}

func costOf(lines []models.CostLine) (sum units.Money) {
	for _, l := range lines {
		sum += l.Cost()
	}
	return sum
}

func (s *site) claim(id int64) *models.Claim {
	s.t.Helper()
	c, err := store.Get[models.Claim](s.service.Store.Query(s.t.Context()), id)
	if err != nil {
		s.t.Fatal(err)
	}
	return c
}

// What is paid on a claim is got back among the costs, once; a payment that is
// changed or taken out leaves a line that takes the first one back.
func TestTheClaimsPayment(t *testing.T) {
	s := courseSite(t)
	b := s.as(models.Bookkeeper)
	version := func() string {
		v, _ := b.get("/claims/2").want(200).page().Find("#claim input[name=version]").Attr("value")
		return v
	}
	change := func(fields url.Values) answer {
		fields.Set("version", version())
		return b.post("/claims/2", fields)
	}
	b.post("/callbacks/1/costs", url.Values{"kind": {"material"}, "on": {"2026-06-05"}, "amount": {"240"}, "tax": {"19.80"}, "bearer": {"maker"}}).leads("/callbacks/1")
	b.post("/callbacks/1/claims", url.Values{"against": {"maker"}}).leads("/claims/2")
	// Thirty days of notice from June 1, on which we learned of it; the warranty
	// says who the maker is.
	if c := s.claim(2); c.Who != "Invented Shingle Works" || c.FileBy != units.NewDate(2026, time.July, 1) || c.WarrantyID == nil || *c.WarrantyID != 2 {
		t.Errorf("the claim begins as %+v", c)
	}
	change(url.Values{"filed_on": {"2026-06-06"}, "number": {"ISW 4471"}}).leads("/claims/2")
	change(url.Values{"offered_on": {"2026-06-08"}, "offer": {"200"}, "answer_by": {"2026-06-20"}}).leads("/claims/2")
	change(url.Values{"answer": {"accepted"}}).leads("/claims/2")
	if c := s.claim(2); c.AnsweredOn != units.NewDate(2026, time.June, 10) {
		t.Errorf("an answer without a day is of %v, want today", c.AnsweredOn)
	}
	change(url.Values{"paid_on": {"2026-06-09"}, "paid": {"200"}}).leads("/claims/2")
	lines := s.costs(1)
	last := lines[len(lines)-1]
	if last.Kind != "recovery" || last.Amount != -200_00 || last.Bearer != "maker" || last.On != units.NewDate(2026, time.June, 9) || last.LearnedOn != units.NewDate(2026, time.June, 10) ||
		last.PaidOn != last.On || costOf(lines) != 59_80 {
		t.Errorf("the payment is %+v, and the costs add up to %d", last, costOf(lines))
	}
	page := b.get("/claims/2").want(200)
	if got := page.text(".opening"); !strings.Contains(got, "It stands so: paid.") || !strings.Contains(got, "$59.80 is theirs to bear") {
		t.Errorf("a claim that is paid in part opens with %q", got)
	}
	if got := b.get("/callbacks/1").want(200).text("#borne"); !strings.Contains(got, "the maker $259.80 $200.00 $59.80") && !strings.Contains(got, "the maker$259.80$200.00$59.80") {
		t.Errorf("who bears it says %q", got)
	}
	if got := b.get("/claims").want(200).text("#claims tbody"); strings.Contains(got, "ISW") || strings.Contains(got, "paid") {
		t.Errorf("a claim that is paid is still open: %q", got)
	}

	// Saved again without a change of the payment, nothing is added.
	change(url.Values{"notes": {"By cheque"}}).leads("/claims/2")
	if n := len(s.costs(1)); n != len(lines) {
		t.Errorf("a note added %d cost lines", n-len(lines))
	}
	// It was 259.80 in truth: the line is taken back and written anew.
	change(url.Values{"paid": {"259.80"}}).leads("/claims/2")
	after := s.costs(1)
	if len(after) != len(lines)+2 || costOf(after) != 0 {
		t.Fatalf("after the change %d lines add up to %d", len(after), costOf(after))
	}
	back, anew := after[len(after)-2], after[len(after)-1]
	if back.Corrects == nil || *back.Corrects != last.ID || back.Amount != 200_00 || !back.Reverses() || anew.Amount != -259_80 || anew.Corrects == nil || *anew.Corrects != last.ID {
		t.Errorf("the first payment is taken back by %+v and stands anew as %+v", back, anew)
	}
	// Nothing was paid after all.
	change(url.Values{"paid": {""}, "paid_on": {""}}).leads("/claims/2")
	if got := costOf(s.costs(1)); got != 259_80 {
		t.Errorf("without a payment the costs add up to %d", got)
	}
	// Paid once more, and corrected among the costs: it is changed there.
	change(url.Values{"paid_on": {"2026-06-09"}, "paid": {"100"}}).leads("/claims/2")
	line := s.claim(2).CostLineID
	if line == nil {
		t.Fatal("the claim does not know its recovery")
	}
	b.post("/callbacks/1/costs/"+idOf(*line), url.Values{"how": {"away"}, "why": {"the cheque bounced"}}).leads("/callbacks/1")
	change(url.Values{"paid": {"120"}}).want(409)
	if got := costOf(s.costs(1)); got != 259_80 {
		t.Errorf("a refused change moved the costs to %d", got)
	}
}

// What a claim may not say is refused beside its field, and nothing is kept.
func TestWhatAClaimRefuses(t *testing.T) {
	offered := url.Values{"filed_on": {"2026-06-02"}, "offered_on": {"2026-06-04"}, "offer": {"200"}}
	with := func(base url.Values, more ...string) url.Values {
		out := url.Values{}
		for k, v := range base {
			out[k] = v
		}
		for i := 0; i+1 < len(more); i += 2 {
			out.Set(more[i], more[i+1])
		}
		return out
	}
	s := courseSite(t)
	b := s.as(models.Office)
	for _, c := range []struct {
		what   string
		fields url.Values
		field  string
		says   string
	}{
		{"a look before it was filed", url.Values{"visited_on": {"2026-06-04"}}, "filed_on", "is needed before"},
		{"an offer before it was filed", with(offered, "filed_on", "2026-06-05"), "offered_on", "filed_on"},
		{"an offer without a day", url.Values{"filed_on": {"2026-06-02"}, "offer": {"200"}}, "offered_on", "an offer needs its day"},
		{"nothing offered, and accepted", url.Values{"filed_on": {"2026-06-02"}, "answer": {"accepted"}}, "offered_on", "only an offer"},
		{"a release that nobody read", with(offered, "answer", "accepted", "release_asked", "yes", "release_signed_on", "2026-06-05"), "release_read_by", "have it read"},
		{"a release that nobody asked for", with(offered, "answer", "accepted", "release_read_by", "Our lawyer", "release_signed_on", "2026-06-05"), "release_asked", "is yes when"},
		{"money without a day", with(offered, "answer", "accepted", "paid", "200"), "paid_on", "go together"},
		{"a day without money", with(offered, "answer", "accepted", "paid_on", "2026-06-08"), "paid_on", "go together"},
		{"money on a claim that they refused", url.Values{"filed_on": {"2026-06-02"}, "answer": {"refused"}, "paid_on": {"2026-06-08"}, "paid": {"200"}}, "paid", "nothing is paid on a claim"},
		{"money that is no number", with(offered, "answer", "accepted", "paid_on", "2026-06-08", "paid", "plenty"), "paid", "write an amount"},
		{"nobody", url.Values{"who": {""}}, "who", "is needed"},
		{"on the neighbour", url.Values{"against": {"neighbour"}}, "against", ""},
	} {
		before := *s.claim(1)
		costs := len(s.costs(1))
		got := b.post("/claims/1", with(c.fields, "version", idOf(before.Version))).want(422)
		if said := got.text("#claim-" + c.field + "-error"); said == "" || !strings.Contains(said, c.says) {
			t.Errorf("%s: beside %s it says %q, want %q; above: %s", c.what, c.field, said, c.says, got.text("#claim .wrong"))
		}
		if in := got.page().Find("#claim-" + c.field).Closest("details"); in.Length() > 0 {
			if _, open := in.Attr("open"); !open {
				t.Errorf("%s: the rule is shut away with its field", c.what)
			}
		}
		if after := *s.claim(1); after.Version != before.Version || len(s.costs(1)) != costs {
			t.Errorf("%s: something was kept: %+v", c.what, after)
		}
	}
	// Two at once: the second sees what the first kept.
	b.post("/claims/1", url.Values{"version": {"1"}, "number": {"one"}}).leads("/claims/1")
	b.post("/claims/1", url.Values{"version": {"1"}, "number": {"two"}}).want(409)
	if got := s.claim(1).Number; got != "one" {
		t.Errorf("the number is %q", got)
	}
}
