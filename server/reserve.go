package server

import (
	"fmt"
	"io"
	"net/url"
	"strconv"

	"overhang/analytics/owed"
	"overhang/models"
	"overhang/models/intake"
	"overhang/server/service"
	"overhang/views"
)

const workbookType = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

func (s *Server) reserveRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/reserve", Need: service.SeeMoney, Handle: s.showReserve},
		{Method: "GET", Path: "/reserve.csv", Need: service.SeeMoney, Handle: s.reserveTable},
		{Method: "GET", Path: "/reserve.xlsx", Need: service.SeeMoney, Handle: s.reserveWorkbook},
		{Method: "POST", Path: "/reserve/close", Need: service.CloseMonths, Handle: s.closeMonth},
	}
}

func (s *Server) showReserve(r *Request) error {
	p, err := s.reservePage(r, r.Query("month"))
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) reservePage(r *Request, month string) (views.ReservePage, error) {
	p := views.ReservePage{Frame: r.Frame(views.Promises)}
	f, err := s.service.Reserve(r.ctx, r.Actor, month, "")
	if err != nil {
		return p, err
	}
	p.Title = views.Say("reserve.title")
	t := &f.Reserve.Total
	switch {
	case f.Month != "":
		p.OpenAgain = "/reserve"
		p.Opening = []views.Phrase{views.Say("reserve.opening.closed", "month", f.Month, "booked", f.Ledger.Closing, "count", t.Promises).Link("rolls", "#years").Link("views", "#two")}
	case t.Discounted == nil || f.Reserve.Low == nil || f.Reserve.High == nil:
		p.Opening = []views.Phrase{views.Say("reserve.opening.unknown", "day", f.AsOf)}
	case *t.Discounted == *t.Expected:
		p.Opening = []views.Phrase{views.Say("reserve.opening.whole", "day", f.AsOf, "booked", f.Ledger.Closing, "count", t.Promises,
			"low", *f.Reserve.Low, "high", *f.Reserve.High).Link("rolls", "#years").Link("views", "#two")}
	default:
		p.Opening = []views.Phrase{views.Say("reserve.opening", "day", f.AsOf, "booked", f.Ledger.Closing, "count", t.Promises, "whole", *t.Expected,
			"low", *f.Reserve.Low, "high", *f.Reserve.High).Link("rolls", "#years").Link("views", "#two")}
	}
	p.Views = reserveViews(&f.Reserve)
	switch d := t.Difference; {
	case t.ChainLadder == nil:
		p.Alone = views.Say("reserve.leads.not", "reason", f.Reserve.Why)
	case d != nil && t.Expected != nil:
		p.Leads = &views.Table{ID: "leads", Caption: views.Say("reserve.leads"), Columns: []views.Column{{Head: views.Say("reserve.leads.what")}, {Head: views.Say("reserve.leads.amount"), Numeric: true}},
			Rows: []views.Row{views.NewRow(views.Say("reserve.expected"), *t.Expected), views.NewRow(views.Say("reserve.leads.after"), -d.AfterTriangle), views.NewRow(views.Say("reserve.leads.own"), d.OwnHistory),
				views.NewRow(views.Say("reserve.leads.rest"), d.Pattern), views.NewRow(views.Say("reserve.forward"), *t.ChainLadder)}}
	}
	for _, n := range f.Reserve.Notes {
		p.Notes = append(p.Notes, views.OwedNote(n.Code, n.Number))
	}
	p.Years, p.Months = yearTable(f), rollTable("by-month", views.Say("reserve.by_month"), views.Say("reserve.month"), f.Ledger.Months)
	if p.Ties = views.Say("reserve.ties", "count", f.Tie.Lines, "sum", views.Cents(f.Tie.Sum)); !f.Tie.Ties() {
		p.Ties = views.Say("reserve.ties.not", "sum", views.Cents(f.Tie.Sum), "booked", views.Cents(f.Tie.Paid-f.Tie.Back))
		p.Differ = &views.Table{ID: "differ", Caption: views.Say("reserve.differ"), Columns: []views.Column{{Head: views.Say("reserve.line")}, {Head: views.Say("reserve.line.says"), Numeric: true}, {Head: views.Say("reserve.line.booked"), Numeric: true}}}
		for _, d := range f.Tie.Differ {
			p.Differ.Rows = append(p.Differ.Rows, views.NewRow(fmt.Sprint(d.CallbackRef, " ", d.CostLineID), views.Cents(d.Line), views.Cents(d.Booked)))
		}
	}
	p.Triangle = paidTriangle(f)
	p.Prepaid = prepaidTable(f.Prepaid)
	of := url.Values{}
	if month != "" {
		of.Set("month", month)
	}
	address := func(path string, of url.Values) string {
		if len(of) == 0 {
			return path
		}
		return path + "?" + of.Encode()
	}
	p.Workbook = address("/reserve.xlsx", of)
	for _, part := range service.ReserveParts {
		of.Set("part", part)
		p.Files = append(p.Files, views.NavEntry{Label: views.Say("reserve.file", "table", views.Term("reserve_table", part)), URL: address("/reserve.csv", of)})
	}
	p.Closed = closedTable(f.Closed)
	if r.Actor.May(service.CloseMonths) && len(f.Closable) > 0 && month == "" && f.Tie.Ties() {
		var months []views.Option
		for _, m := range f.Closable {
			months = append(months, views.Option{Value: m.String(), Label: views.Plain(m.String())})
		}
		p.Close = views.CloseMonthForm(p.Frame, "/reserve/close", months)
	}
	return p, nil
}

// reserveViews sets the two views side by side, by year laid or by what years were
// joined.
func reserveViews(res *owed.ReserveResult) views.Table {
	t := views.Table{ID: "two", Stacks: true, Caption: views.Say("reserve.views"), Empty: views.Say("reserve.none"), Columns: []views.Column{{Head: views.Say("reserve.laid")},
		{Head: views.Say("reserve.promises"), Numeric: true}, {Head: views.Say("reserve.expected"), Numeric: true}, {Head: views.Say("reserve.discounted"), Numeric: true},
		{Head: views.Say("reserve.borne"), Numeric: true}, {Head: views.Say("reserve.forward"), Numeric: true}, {Head: views.Say("reserve.error"), Numeric: true}}}
	rows := res.Cohorts
	if len(res.Spans) > 0 {
		rows = res.Spans
	}
	add := func(name any, c *owed.CohortReserve) {
		t.Rows = append(t.Rows, views.NewRow(name, c.Promises, c.Expected, c.Discounted, c.Paid, c.ChainLadder, c.Error))
	}
	for i := range rows {
		c := &rows[i]
		var name any = strconv.Itoa(c.LaidYear)
		if c.LaidFrom != 0 {
			name = views.Say("reserve.span", "from", strconv.Itoa(c.LaidFrom), "until", strconv.Itoa(c.LaidYear))
		}
		add(name, c)
	}
	if len(rows) > 0 {
		add(views.Say("reserve.all"), &res.Total)
	}
	return t
}

// yearTable shows the newest year first, and last all months to the first that was
// closed.
func yearTable(f *service.ReserveFile) views.Table {
	before, years := f.Ledger.After(f.FirstClosed())
	t := rollTable("years", views.Say("reserve.rolls"), views.Say("reserve.year"), append([]owed.Roll{before}, years...))
	if n := len(t.Rows); before.Period != "" {
		t.Rows[n-1].Cells[0].Value = views.Say("reserve.until", "month", before.Period)
	}
	return t
}

// rollTable shows the newest period first.
func rollTable(id string, caption, head views.Phrase, rolls []owed.Roll) views.Table {
	t := views.Table{ID: id, Stacks: true, Caption: caption, Empty: views.Say("reserve.none"), Columns: []views.Column{{Head: head},
		{Head: views.Say("reserve.opened"), Numeric: true}, {Head: views.Say("reserve.issued"), Numeric: true}, {Head: views.Say("reserve.paid"), Numeric: true},
		{Head: views.Say("reserve.changes"), Numeric: true}, {Head: views.Say("reserve.unwound"), Numeric: true}, {Head: views.Say("reserve.closing"), Numeric: true},
		{Head: views.Say("reserve.recovered"), Numeric: true}, {Head: views.Say("reserve.late"), Numeric: true}}}
	for i := len(rolls) - 1; i >= 0; i-- {
		x := rolls[i]
		period := views.Cell{Value: x.Period}
		if x.Locked {
			period.Note = views.Say("reserve.locked")
		}
		t.Rows = append(t.Rows, views.NewRow(period, views.Cents(x.Opening), views.Cents(x.Issued), views.Cents(x.Paid), views.Cents(x.Changes),
			views.Cents(x.Unwound), views.Cents(x.Closing), views.Cents(x.Recovered), views.Cents(x.Late)))
	}
	return t
}

// paidTriangle is the triangle as it is carried forward, with the factors below;
// nil where nothing was paid.
func paidTriangle(f *service.ReserveFile) *views.Table {
	in := f.Carried()
	if len(in.IncrementalCents) == 0 {
		return nil
	}
	each := max(1, in.YearsEach)
	t := &views.Table{ID: "cells", Caption: views.Say("reserve.triangle"), Columns: []views.Column{{Head: views.Say("reserve.laid")}}}
	for k := range in.IncrementalCents[0] {
		head := views.Say("reserve.since", "count", k*each)
		if each > 1 {
			head = views.Say("reserve.span", "from", strconv.Itoa(k*each), "until", views.Say("reserve.since", "count", k*each+each-1))
		}
		t.Columns = append(t.Columns, views.Column{Head: head, Numeric: true})
	}
	for i, cells := range in.IncrementalCents {
		var name any = strconv.Itoa(in.FirstYear + i)
		if each > 1 {
			name = views.Say("reserve.span", "from", strconv.Itoa(in.FirstYear+i*each), "until", strconv.Itoa(in.FirstYear+(i+1)*each-1))
		}
		row := []any{name}
		for k := range in.IncrementalCents[0] {
			if k < len(cells) {
				row = append(row, views.Cents(cells[k]))
			} else {
				row = append(row, views.Plain(""))
			}
		}
		t.Rows = append(t.Rows, views.NewRow(row...))
	}
	return t
}

func prepaidTable(months []owed.PrepaidMonth) views.Table {
	const shown = 6 // the file has them all
	t := views.Table{ID: "plans", Stacks: true, Caption: views.Say("reserve.prepaid"), Empty: views.Say("reserve.prepaid.none"), Columns: []views.Column{{Head: views.Say("reserve.month")},
		{Head: views.Say("reserve.opened"), Numeric: true}, {Head: views.Say("reserve.billed"), Numeric: true}, {Head: views.Say("reserve.earned"), Numeric: true}, {Head: views.Say("reserve.unearned"), Numeric: true}}}
	for i := len(months) - 1; i >= max(0, len(months)-shown); i-- {
		m := months[i]
		t.Rows = append(t.Rows, views.NewRow(m.Month, views.Cents(m.Opening), views.Cents(m.Billed), views.Cents(m.Earned), views.Cents(m.Unearned)))
	}
	return t
}

func closedTable(months []models.ClosedMonth) views.Table {
	t := views.Table{ID: "closed", Stacks: true, Caption: views.Say("reserve.closed"), Empty: views.Say("reserve.closed.none"), Columns: []views.Column{{Head: views.Say("reserve.month")},
		{Head: views.Say("reserve.closed.on")}, {Head: views.Say("reserve.closed.by")}}}
	for i := len(months) - 1; i >= 0; i-- {
		m := months[i]
		t.Rows = append(t.Rows, views.NewRow(views.Cell{Value: m.Month, URL: "/reserve?month=" + m.Month}, m.ClosedOn, m.ClosedBy))
	}
	return t
}

func (s *Server) reserveTable(r *Request) error {
	f, err := s.service.Reserve(r.ctx, r.Actor, r.Query("month"), "")
	if err != nil {
		return err
	}
	part := r.Query("part")
	if part == "" {
		part = service.ReserveParts[0]
	}
	sheet, found := f.Sheet(part)
	if !found {
		return models.Errorf(models.NotFound, "There is no such table.")
	}
	return r.Download(fmt.Sprintf("reserve-%s-%s.csv", part, f.AsOf), csvType, func(w io.Writer) error { return intake.WriteTable(w, sheet) })
}

func (s *Server) reserveWorkbook(r *Request) error {
	f, err := s.service.Reserve(r.ctx, r.Actor, r.Query("month"), "")
	if err != nil {
		return err
	}
	return r.Download(fmt.Sprintf("reserve-%s.xlsx", f.AsOf), workbookType, func(w io.Writer) error { return intake.WriteWorkbook(w, f.Sheets()) })
}

func (s *Server) closeMonth(r *Request) error {
	f := r.Form()
	month := f.Text("month")
	err := f.Err()
	if err == nil {
		err = s.service.CloseMonth(r.ctx, r.Actor, month)
	}
	if err != nil {
		p, failed := s.reservePage(r, "")
		if failed != nil {
			return failed
		}
		if p.Close == nil {
			return err
		}
		return r.Refused(p, p.Close, err)
	}
	return r.Redirect("/reserve#months", views.Say("reserve.close.done", "month", month))
}
