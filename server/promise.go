package server

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/owed"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/intake"
	"overhang/server/service"
	"overhang/views"
	"overhang/views/charts"
)

func (s *Server) promiseRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/promises", Need: service.SeePromises, Handle: s.listPromises},
		{Method: "GET", Path: "/promises.csv", Need: service.Export, Handle: s.exportPromises},
		{Method: "GET", Path: "/promises/:id", Need: service.SeePromises, Example: "/promises/1", Handle: s.showPromise},
		{Method: "GET", Path: "/promises/:id/edit", Need: service.EditPromises, Example: "/promises/1/edit", Handle: s.editPromise},
		{Method: "POST", Path: "/promises/:id", Need: service.EditPromises, Example: "/promises/1", Handle: s.changePromise},
		{Method: "POST", Path: "/promises/:id/paid", Need: service.EditCosts, Example: "/promises/1/paid", Handle: s.keepPaid},
		{Method: "GET", Path: "/roofs/:id/promises/new", Need: service.EditPromises, Example: "/roofs/1/promises/new", Handle: s.newPromise},
		{Method: "POST", Path: "/roofs/:id/promises", Need: service.EditPromises, Example: "/roofs/1/promises", Handle: s.addPromise},
	}
}

// promiseFilter reads which promises are asked for.
func promiseFilter(r *Request) service.PromiseFilter {
	filter := service.PromiseFilter{Show: r.Query("show"), Ours: r.Query("owed_by") == "us", Text: r.Query("q")}
	if !slices.Contains(service.PromiseShows, filter.Show) {
		filter.Show = "in_force"
	}
	if year, err := strconv.Atoi(r.Query("ends")); err == nil && year > 0 && year < 10000 {
		filter.Ends = year
	}
	return filter
}

func (s *Server) listPromises(r *Request) error {
	filter := promiseFilter(r)
	page := r.Page(25)
	list, err := s.service.Promises(r.Context(), r.Actor, filter, page)
	if err != nil {
		return err
	}
	p := views.PromisesPage{Frame: r.Frame(views.Promises)}
	p.Title = views.Say("section.promises")
	p.Opening = promisesOpening(list)
	// Whoever asks for a part of the list reads the list first.
	if list.Owed != nil && filter == (service.PromiseFilter{Show: "in_force"}) {
		p.Owed = owedPart(list.Owed)
	}
	here := r.Here()
	for _, show := range service.PromiseShows {
		p.Parts = append(p.Parts, views.NavEntry{Current: show == filter.Show, URL: here.With("show", show),
			Label: views.Say("parts.count", "part", views.Term("promise_part", show), "count", list.Counts[show])})
	}
	whose := ""
	if filter.Ours {
		whose = "us"
	}
	p.Filter = views.PromiseFilter(p.Frame, filter.Show, whose, filter.Text, r.Query("ends"))
	if r.Actor.May(service.Export) {
		here.Path = "/promises.csv"
		p.File = here.With("show", filter.Show)
	}
	p.Years = endingYears(list.Years)
	p.Table = views.Table{ID: "promises", Stacks: true, Caption: views.Term("promise_part", filter.Show), Empty: views.Say("promise.empty"),
		Pager: r.Pager(page, list.Total),
		Columns: []views.Column{{Head: views.Say("promise.number")}, {Head: views.Say("promise.roof")}, {Head: views.Say("promise.stands")},
			{Head: views.Say("promise.ends")}, {Head: views.Say("promise.open")}}}
	for _, row := range list.Rows {
		p.Table.Rows = append(p.Table.Rows, promiseRow(row, filter.Show, r.Today))
	}
	return r.Render(p)
}

// endingYears says how many promises end in each year, each number a link to them.
func endingYears(years []service.PromiseYear) views.Table {
	t := views.Table{ID: "years", Caption: views.Say("promise.years"), Empty: views.Say("promise.empty"),
		Columns: []views.Column{{Head: views.Say("promise.owed.year")}, {Head: views.Say("promise.years.all"), Numeric: true}, {Head: views.Say("promise.years.ours"), Numeric: true}}}
	for _, y := range years {
		ends := fmt.Sprintf("/promises?ends=%d", y.Year)
		ours := views.Cell{Value: y.Ours}
		if y.Ours > 0 {
			ours.URL = ends + "&owed_by=us"
		}
		t.Rows = append(t.Rows, views.NewRow(fmt.Sprint(y.Year), views.Cell{Value: y.Ends, URL: ends}, ours))
	}
	return t
}

// exportPromises sends the listing as it is narrowed, for a spreadsheet. Its heads
// and values are those of the records, so that they stay the same in every
// language.
func (s *Server) exportPromises(r *Request) error {
	rows, err := s.service.EveryPromise(r.ctx, r.Actor, promiseFilter(r))
	if err != nil {
		return err
	}
	list := make([][]string, len(rows))
	for i, row := range rows {
		var open []string
		for _, c := range row.Result.Conditions {
			if c.Standing == promise.NotShownMet {
				open = append(open, c.Kind)
			}
		}
		w := row.Warranty
		list[i] = []string{w.Ref, row.RoofRef, row.Address, row.Terms.Key, row.Terms.Kind, w.OwedBy, w.StartOn.String(), row.EndsOn.String(), string(row.Result.State),
			strconv.FormatFloat(row.Result.ShareLeast, 'f', -1, 64), strconv.FormatFloat(row.Result.Share, 'f', -1, 64), strings.Join(open, "|"),
			row.RegistrationDue().String(), w.RegisteredOn.String(), row.NoticeDue().String(), strconv.Itoa(len(row.NotGiven))}
	}
	heads := []string{"ref", "roof_ref", "address", "terms", "kind", "owed_by", "start_on", "last_day", "state", "share_least", "share", "not_shown_met",
		"registration_due_on", "registered_on", "notice_due_on", "checkups_not_offered"}
	return r.Download(fmt.Sprintf("promises-%s.csv", r.Today), csvType, func(w io.Writer) error { return intake.WriteList(w, heads, list) })
}

func promisesOpening(list *service.PromiseList) []views.Phrase {
	opening := []views.Phrase{views.Say("promise.roofs", "count", list.Roofs).Link("ours", "/promises?owed_by=us")}
	if n := list.Counts["ending"]; n > 0 {
		opening = append(opening, views.Say("promise.ending", "count", n, "days", service.EndingDays).Link("ending", "/promises?show=ending"))
	}
	if n := list.Counts["registration"]; n > 0 {
		opening = append(opening, views.Say("promise.registrations", "count", n).Link("registration", "/promises?show=registration"))
	}
	if n := list.Counts["notice"]; n > 0 {
		opening = append(opening, views.Say("promise.notices", "count", n).Link("notice", "/promises?show=notice"))
	}
	if n := list.Counts["not_offered"]; n > 0 {
		opening = append(opening, views.Say("promise.notoffered", "count", n).Link("not_offered", "/promises?show=not_offered"))
	}
	if n := list.Counts["not_shown"]; n > 0 {
		return append(opening, views.Say("promise.notshown", "count", n).Link("not_shown", "/promises?show=not_shown"))
	}
	if list.Counts["in_force"] > 0 {
		opening = append(opening, views.Say("promise.allshown"))
	}
	return opening
}

// owedPart draws what is owed by year. A year of which no amount can be given
// stands in the table alone.
func owedPart(o *owed.ModelResult) *views.OwedPart {
	part := &views.OwedPart{}
	part.Records = o.CostsKnown
	for _, n := range o.Notes {
		part.Notes = append(part.Notes, views.OwedNote(n.Code, n.Number))
	}
	between := func(y owed.ModelYear) any {
		if y.Low == nil || y.High == nil {
			return nil
		}
		return views.Say("promise.owed.between", "low", *y.Low, "high", *y.High)
	}
	numbers := &views.Table{ID: "owed-numbers", Caption: views.Say("promise.owed.by"), Empty: views.Say("promise.owed.unknown"),
		Columns: []views.Column{{Head: views.Say("promise.owed.year")}, {Head: views.Say("promise.owed.promises"), Numeric: true},
			{Head: views.Say("promise.owed.expected"), Numeric: true}, {Head: views.Say("promise.owed.range"), Numeric: true}}}
	known := make([]owed.ModelYear, 0, len(o.Years))
	for _, y := range o.Years {
		numbers.Rows = append(numbers.Rows, views.NewRow(views.Cell{Value: fmt.Sprint(y.Year), URL: fmt.Sprintf("/owed/promises?by=year&of=%d", y.Year)}, y.Promises, y.Expected, between(y)))
		if y.Expected != nil && y.Low != nil && y.High != nil {
			known = append(known, y)
		}
	}
	summary := views.Say("promise.owed.unknown")
	if t := o.Total; t.Expected != nil && t.Low != nil && t.High != nil {
		summary = views.Say("promise.owed.summary", "expected", *t.Expected, "low", *t.Low, "high", *t.High)
		if t.Discounted != nil && *t.Discounted != *t.Expected {
			part.Notes = append([]views.Phrase{views.Say("promise.owed.discounted", "discounted", *t.Discounted)}, part.Notes...)
		}
	}
	part.Chart = views.Chart{ID: "owed", Title: views.Say("promise.owed.by"), Summary: summary, Numbers: numbers,
		Draw: func(say func(any) string) (charts.Options, error) {
			spans := make([]charts.Span, len(known))
			for i, y := range known {
				mid := y.Expected.Dollars()
				// Where few callbacks are expected their mean can lie above the 90 %
				// point: mostly nothing, seldom much. The line then ends at the bar.
				spans[i] = charts.Span{Name: fmt.Sprint(y.Year), Low: min(y.Low.Dollars(), mid), Mid: mid, High: max(y.High.Dollars(), mid),
					Said: say(views.Say("promise.owed.said", "year", fmt.Sprint(y.Year), "expected", *y.Expected, "low", *y.Low, "high", *y.High))}
			}
			return charts.OwedByYear(charts.Unit{Before: currencyOf(say)}, spans)
		}}
	return part
}

// currencyOf gives the sign before amounts, as the reader's amounts have it.
func currencyOf(say func(any) string) string {
	return strings.TrimRight(say(units.Money(0)), "0.,")
}

func promiseRow(row service.PromiseRow, show string, today units.Date) views.Row {
	w, res := row.Warranty, row.Result
	stands := views.Term("promise_state", res.State)
	if row.InForce() {
		stands = views.Say("promise.standsat", "state", stands, "share", views.PromiseShare(res.ShareLeast, res.Share))
	}
	state := views.Cell{Value: stands}
	switch {
	case show == "not_offered":
		var years []views.Phrase
		for _, d := range row.NotGiven {
			years = append(years, views.Say("promise.day", "day", d))
		}
		state.Note = views.Say("promise.notoffered.years", "count", len(years), "days", years)
	case row.RegistrationWaits(today) && row.RegistrationDue() >= today:
		state.Note = views.Say("promise.register.by", "day", row.RegistrationDue())
	case row.RegistrationWaits(today):
		state.Note = views.Say("promise.register.past", "day", row.RegistrationDue())
	case row.NoticeDue() != 0:
		state.Note = views.Say("promise.notice.by", "day", row.NoticeDue())
	}
	var open, how []views.Phrase
	for _, c := range res.Conditions {
		if c.Standing == promise.NotShownMet {
			open = append(open, views.Term("promise_condition", c.Kind))
			how = append(how, views.Term("promise_howto", c.Kind))
		}
	}
	notShown := views.Cell{Value: views.Say("promise.open.none")}
	if len(open) > 0 {
		notShown = views.Cell{Value: sentences(open), Note: sentences(how)}
	}
	return views.NewRow(
		views.Cell{Value: w.Ref, URL: fmt.Sprintf("/promises/%d", w.ID), Note: views.Say("promise.by", "terms", row.Terms.Name, "who", views.OwedBy(w.OwedBy))},
		views.Cell{Value: row.Address, URL: fmt.Sprintf("/roofs/%d", row.RoofID)},
		state, row.EndsOn, notShown)
}

// sentences sets whole sentences one after the other.
func sentences(of []views.Phrase) views.Phrase {
	out := of[0]
	for _, next := range of[1:] {
		out = views.Say("promise.and", "first", out, "next", next)
	}
	return out
}

func (s *Server) showPromise(r *Request) error {
	p, err := s.promisePage(r)
	if err != nil {
		return err
	}
	return r.Render(p)
}

// promisePage makes the page of one promise as it stands now.
func (s *Server) promisePage(r *Request) (views.PromisePage, error) {
	id, err := r.ID("id")
	if err != nil {
		return views.PromisePage{}, err
	}
	on, err := r.QueryDay("on")
	if err != nil {
		return views.PromisePage{}, err
	}
	f, err := s.service.Promise(r.Context(), r.Actor, id, on)
	if err != nil {
		return views.PromisePage{}, err
	}
	w := &f.Warranty
	here := fmt.Sprintf("/promises/%d", id)
	p := views.PromisePage{Frame: r.Frame(views.Promises), Wording: w.Wording}
	p.Title = views.Say("promise.title", "ref", w.Ref)
	p.On = views.PromiseDay(p.Frame, here, on)
	p.Facts = promiseFacts(f, r.Today, r.Actor.May(service.SeeMoney))
	p.Conditions = views.Table{ID: "conditions", Stacks: true, Caption: views.Say("promise.conditions"), Empty: views.Say("promise.conditions.none"),
		Columns: []views.Column{{Head: views.Say("promise.condition")}, {Head: views.Say("promise.standing")}, {Head: views.Say("promise.because")},
			{Head: views.Say("promise.howto")}}}
	p.Next = views.Table{ID: "next", Caption: views.Say("promise.next"),
		Columns: []views.Column{{Head: views.Say("promise.next.day")}, {Head: views.Say("promise.next.what")}}}
	if r.Actor.May(service.EditPromises) {
		p.Change, p.Paper = here+"/edit", here+"/certificate"
		if r.Actor.May(service.EditRoofs) {
			p.Decline = fmt.Sprintf("/roofs/%d/declined", w.RoofID)
		}
		asks := !f.Terms.RegistrationDue(w).IsZero() || asksFor(&f.Terms, "registered")
		if asks && w.RegisteredOn.IsZero() && w.EndedOn.IsZero() {
			p.Register = views.RegisterForm(p.Frame, here, w)
		}
		if w.EndedOn.IsZero() && (f.Judged == nil || f.Judged.Result.State != promise.Ended) {
			p.End = views.EndForm(p.Frame, here, w)
		}
	}
	if job := f.Roof.JobOf(w); job != nil && job.PaidOn.IsZero() && r.Actor.May(service.EditCosts) && asksFor(&f.Terms, "paid_in_full") {
		p.Pay = views.JobPaidForm(p.Frame, here+"/paid", job)
	}
	if f.Judged == nil {
		p.Opening = []views.Phrase{views.Say("promise.is.unjudged")}
	} else {
		judgedParts(r, f, &p)
	}
	p.History, err = changesOf(f.Trail, func(column, text string) views.Phrase {
		if column == "owed_by" {
			return views.OwedBy(text)
		}
		return views.Phrase{}
	})
	return p, err
}

func asksFor(t *models.Terms, kind string) bool {
	return slices.ContainsFunc(t.Conditions, func(c models.Condition) bool { return c.Kind == kind })
}

// keepPaid keeps the day on which the job of a promise was paid in full.
func (s *Server) keepPaid(r *Request) error {
	p, err := s.promisePage(r)
	if err != nil {
		return err
	}
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	f := r.Form()
	on := f.Day("paid_on")
	switch {
	case on.IsZero() && f.Text("paid_on") == "":
		f.Refuse("paid_on", "is needed")
	case on > r.Today:
		f.Refuse("paid_on", "must not be after today (%s)", r.Today)
	}
	if err = f.Err(); err == nil {
		err = s.service.PaidInFull(r.ctx, r.Actor, id, f.Version(), on)
	}
	if err != nil && p.Pay != nil {
		return r.Refused(p, p.Pay, err)
	}
	if err != nil {
		return err
	}
	return r.Redirect(fmt.Sprintf("/promises/%d", id), views.Say("promise.paidinfull.done", "day", on))
}

func promiseFacts(f *service.PromiseFile, today units.Date, money bool) []views.Fact {
	w, t := &f.Warranty, &f.Terms
	var covers []views.Phrase
	for _, part := range []struct {
		key  string
		paid bool
	}{{"labour", t.Labour}, {"material", t.Material}, {"tear_off", t.TearOff}, {"disposal", t.Disposal}} {
		if part.paid {
			covers = append(covers, views.Term("promise_covers", part.key))
		}
	}
	if covers == nil {
		covers = []views.Phrase{views.Say("promise.covers.nothing")}
	}
	facts := []views.Fact{
		{Term: views.Say("promise.roof"), Value: f.Roof.Address.Line(), URL: fmt.Sprintf("/roofs/%d", w.RoofID), Note: views.Plain(f.Roof.Roof.Ref)},
		{Term: views.Say("promise.owedby"), Value: views.OwedBy(w.OwedBy)},
		{Term: views.Say("promise.terms"), Value: t.Name},
		{Term: views.Say("promise.kind"), Value: views.Term("promise_kind", t.Kind)},
		{Term: views.Say("promise.covers"), Value: covers},
	}
	if t.Cap != nil {
		facts = append(facts, views.Fact{Term: views.Say("promise.cap"), Value: *t.Cap})
	}
	if t.ClaimCap != nil {
		facts = append(facts, views.Fact{Term: views.Say("promise.claimcap"), Value: *t.ClaimCap})
	}
	if t.CapOfPrice != nil {
		facts = append(facts, views.Fact{Term: views.Say("promise.capofprice"), Value: views.Say("percent", "share", int(math.Round(*t.CapOfPrice*100)))})
	}
	if f.Judged != nil && f.Judged.Paid > 0 && money && f.On == today {
		facts = append(facts, views.Fact{Term: views.Say("promise.paid"), Value: f.Judged.Paid})
	}
	facts = append(facts, views.Fact{Term: views.Say("promise.start"), Value: w.StartOn})
	if f.Judged != nil {
		res := f.Judged.Result
		facts = append(facts, views.Fact{Term: views.Say("promise.ends"), Value: res.LastDay})
		if f.Judged.InForce() {
			facts = append(facts, views.Fact{Term: views.Say("promise.share"), Value: views.PromiseShare(res.ShareLeast, res.Share)})
		}
	}
	if f.Holder != nil && f.On == today && f.Judged != nil && f.Judged.InForce() {
		facts = append(facts, views.Fact{Term: views.Say("promise.holder"), Value: f.Holder.Name})
	}
	facts = append(facts, views.Fact{Term: views.Say("promise.heldby"), Value: views.Term("transfer", t.Transfer)})
	if f.Job != nil {
		fact := views.Fact{Term: views.Say("promise.job"), Value: f.Job.Ref}
		if !f.Job.ClosedOn.IsZero() {
			fact.Value = views.Say("promise.job.closed", "job", f.Job.Ref, "day", f.Job.ClosedOn)
		}
		facts = append(facts, fact)
	}
	if w.AssumedFrom != "" {
		facts = append(facts, views.Fact{Term: views.Say("promise.assumed"), Value: w.AssumedFrom})
	}
	switch {
	case !w.RegisteredOn.IsZero() && w.RegistrationNo != "":
		facts = append(facts, views.Fact{Term: views.Say("promise.registration.is"),
			Value: views.Say("promise.registration.done", "day", w.RegisteredOn, "number", w.RegistrationNo)})
	case !w.RegisteredOn.IsZero():
		facts = append(facts, views.Fact{Term: views.Say("promise.registration.is"), Value: views.Say("promise.registration.nonumber", "day", w.RegisteredOn)})
	case t.RegistrationDue(w) >= today:
		facts = append(facts, views.Fact{Term: views.Say("promise.registration.is"), Value: views.Say("promise.registration.waits", "day", t.RegistrationDue(w))})
	case !t.RegistrationDue(w).IsZero():
		facts = append(facts, views.Fact{Term: views.Say("promise.registration.is"), Value: views.Say("promise.registration.late", "day", t.RegistrationDue(w))})
	}
	if !w.EndedOn.IsZero() {
		facts = append(facts, views.Fact{Term: views.Say("promise.end.early"), Value: views.Say("promise.ended.early", "day", w.EndedOn, "reason", w.EndReason)})
	}
	return facts
}

// judgedParts fills the parts of the page that the judging gives.
func judgedParts(r *Request, f *service.PromiseFile, p *views.PromisePage) {
	res := f.Judged.Result
	switch {
	case res.State == promise.InFull && res.LastFullDay == res.LastDay:
		p.Opening = []views.Phrase{views.Say("promise.is.whole", "day", f.On, "last", res.LastDay)}
	case res.State == promise.InFull:
		p.Opening = []views.Phrase{views.Say("promise.is.full", "day", f.On, "full", res.LastFullDay, "last", res.LastDay)}
	case res.State == promise.InPart:
		p.Opening = []views.Phrase{views.Say("promise.is.part", "day", f.On, "share", views.PromiseShare(res.ShareLeast, res.Share), "last", res.LastDay).Link("why", "#why")}
	case res.State == promise.Ended:
		p.Opening = []views.Phrase{views.Say("promise.is.ended", "last", res.LastDay)}
	case res.State == promise.NotBegun:
		p.Opening = []views.Phrase{views.Say("promise.is.ahead", "start", f.Warranty.StartOn, "last", res.LastDay)}
	default:
		p.Opening = []views.Phrase{views.Say("promise.is.unknown")}
	}
	if f.On != r.Today {
		p.Opening = append(p.Opening, views.Say("promise.is.known"))
	}
	if n := f.Judged.NotShown(); n > 0 && res.State != promise.Ended {
		p.Opening = append(p.Opening, views.Say("promise.is.open", "count", n).Link("conditions", "#conditions"))
	}
	for _, reason := range res.Reasons {
		said := views.PromiseReason(reason.Code, reason.On, reason.Number, reason.Text)
		if reason.Code == "declined" || reason.Code == "declined_unsigned" {
			p.LeftOut = append(p.LeftOut, said)
			continue
		}
		p.Reasons = append(p.Reasons, said)
	}
	for _, c := range res.Conditions {
		stands := views.Cell{Value: views.Term("standing", c.Standing)}
		if !c.DueOn.IsZero() {
			stands.Note = views.Say("promise.due", "day", c.DueOn)
		}
		how := views.Cell{Value: views.Plain("–")}
		if c.Standing != promise.Met {
			how = views.Cell{Value: views.Term("promise_howto", c.Kind), URL: showAt(r, f, p, c)}
		}
		p.Conditions.Rows = append(p.Conditions.Rows, views.NewRow(views.Term("promise_condition", c.Kind), stands,
			views.PromiseReason(c.Reason.Code, c.Reason.On, c.Reason.Number, c.Reason.Text), how))
	}
	for _, n := range res.Next {
		what := views.Cell{Value: views.Term("promise_next", n.What)}
		if n.Condition != "" {
			what.Note = views.Term("promise_condition", n.Condition)
		}
		p.Next.Rows = append(p.Next.Rows, views.NewRow(n.On, what))
	}
}

// showAt leads to where a condition can be shown met; empty where there is no one
// place for it, or the reader may not go there.
func showAt(r *Request, f *service.PromiseFile, p *views.PromisePage, c promise.ConditionResult) string {
	roof, kind := roofURL(f.Warranty.RoofID), c.Kind
	switch {
	case kind == "paid_in_full" && p.Pay != nil:
		return "#paid"
	case kind == "registered" && p.Register != nil:
		return "#register"
	case kind == "ventilation_to_code":
		return roof + "#structure"
	case kind == "yearly_checkup" && r.Actor.May(service.BookVisits), kind == "only_our_people" && r.Actor.May(service.AddFindings):
		return roof + "#visits"
	case kind == "transfer_notice" && r.Actor.May(service.EditRoofs) && c.Reason.Code != "no_sale":
		return fmt.Sprintf("/houses/%d/sale#kept", f.Roof.House.ID)
	}
	return ""
}

// promiseForm makes the page on which a warranty is corrected, from what is kept
// now.
func (s *Server) promiseForm(r *Request, id int64) (*models.Warranty, views.PromiseFormPage, error) {
	w, err := s.service.Warranty(r.Context(), r.Actor, id)
	if err != nil {
		return nil, views.PromiseFormPage{}, err
	}
	d, err := s.service.NewPromise(r.Context(), r.Actor, w.RoofID)
	if err != nil {
		return nil, views.PromiseFormPage{}, err
	}
	p := views.PromiseFormPage{Frame: r.Frame(views.Promises)}
	p.Title = views.Say("promise.edit.title", "ref", w.Ref)
	here := fmt.Sprintf("/promises/%d", id)
	p.Form = views.WarrantyForm(p.Frame, here, here, w, d.Jobs, d.Terms)
	return w, p, nil
}

func (s *Server) editPromise(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	_, p, err := s.promiseForm(r, id)
	if err != nil {
		return err
	}
	return r.Render(p)
}

// readWarranty takes over those fields of a warranty that the form has: a part
// of it is enough to register or end a promise. A wording that is kept is not taken
// out: where it is left empty it stays.
func readWarranty(f *Form, w *models.Warranty) {
	w.Version = f.Version()
	wording := w.Wording
	if f.Has("terms_id") {
		w.TermsID = 0
		if id := f.ID("terms_id"); id != nil {
			w.TermsID = *id
		}
	}
	if f.Has("job_id") {
		w.JobID = f.ID("job_id")
	}
	if f.Has("owed_by") {
		if w.OwedBy = f.Text("owed_by"); strings.EqualFold(w.OwedBy, "us") {
			w.OwedBy = "us"
		}
	}
	for name, on := range map[string]*units.Date{"start_on": &w.StartOn, "registration_due_on": &w.RegistrationDueOn,
		"registered_on": &w.RegisteredOn, "ended_on": &w.EndedOn} {
		if f.Has(name) {
			*on = f.Day(name)
		}
	}
	for name, text := range map[string]*string{"wording": &w.Wording, "assumed_from": &w.AssumedFrom,
		"registration_no": &w.RegistrationNo, "end_reason": &w.EndReason} {
		if f.Has(name) {
			*text = f.Text(name)
		}
	}
	w.Wording = cmp.Or(w.Wording, wording)
}

func (s *Server) changePromise(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	w, err := s.service.Warranty(r.Context(), r.Actor, id)
	if err != nil {
		return err
	}
	was := *w
	f := r.Form()
	readWarranty(f, w)
	why := f.Text("why")
	if err = f.Err(); err == nil {
		if why != "" {
			err = s.service.CorrectWarranty(r.Context(), r.Actor, w, why)
		} else {
			err = s.service.SaveWarranty(r.Context(), r.Actor, w)
		}
	}
	if err != nil {
		_, page, unread := s.promiseForm(r, id)
		if unread != nil {
			return unread
		}
		return r.Refused(page, page.Form, err)
	}
	done := views.Say("promise.saved", "ref", w.Ref)
	if why != "" {
		done = views.Say("promise.corrected", "ref", w.Ref)
	}
	if was.RegisteredOn.IsZero() && !w.RegisteredOn.IsZero() {
		done = views.Say("promise.register.done", "ref", w.Ref)
	}
	return r.Redirect(fmt.Sprintf("/promises/%d", id), done)
}

func (s *Server) newPromisePage(r *Request, roofID int64) (views.PromiseFormPage, error) {
	d, err := s.service.NewPromise(r.Context(), r.Actor, roofID)
	if err != nil {
		return views.PromiseFormPage{}, err
	}
	p := views.PromiseFormPage{Frame: r.Frame(views.Promises)}
	p.Title = views.Say("promise.new.title", "roof", d.Address)
	w := models.Warranty{OwedBy: "us"}
	if len(d.Jobs) == 1 {
		w.JobID, w.StartOn = &d.Jobs[0].ID, d.Jobs[0].ClosedOn
	}
	p.Form = views.WarrantyForm(p.Frame, fmt.Sprintf("/roofs/%d/promises", roofID), fmt.Sprintf("/roofs/%d", roofID), &w, d.Jobs, d.Terms)
	return p, nil
}

func (s *Server) newPromise(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	p, err := s.newPromisePage(r, id)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) addPromise(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	w := &models.Warranty{RoofID: id}
	f := r.Form()
	readWarranty(f, w)
	if w.TermsID == 0 && f.Text("terms_id") == "" {
		f.Refuse("terms_id", "is needed")
	}
	if err = f.Err(); err == nil {
		err = s.service.SaveWarranty(r.Context(), r.Actor, w)
	}
	if err != nil {
		p, unread := s.newPromisePage(r, id)
		if unread != nil {
			return unread
		}
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect(fmt.Sprintf("/promises/%d", w.ID), views.Say("promise.added", "ref", w.Ref))
}
