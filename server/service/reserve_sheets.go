package service

import (
	"fmt"
	"strings"

	"overhang/analytics/owed"
	"overhang/analytics/units"
	"overhang/models/intake"
)

// ReserveParts are the tables that go out for the bookkeeper, by the name that a
// CSV file of one of them is asked for with.
var ReserveParts = []string{"roll_forward", "entries", "cohorts", "triangle", "prepaid"}

// estimateOnly goes with every workbook.
const estimateOnly = "An estimate from our own records; it is no substitute for the judgement of a bookkeeper or auditor."

// Sheets gives the tables of the drawer, in the order of ReserveParts.
func (f *ReserveFile) Sheets() []intake.Extract {
	roll := intake.Extract{Name: "Roll-forward", Remarks: []string{estimateOnly,
		"Closing is opening plus issued less paid plus changes in estimate. Passage of time is a part of the changes; recovered is beside them."},
		Heads: []string{"Month", "Closed", "Opening", "Issued", "Paid", "Changes in estimate", "of which passage of time", "Closing", "Recovered from others", "of closing less opening: late"}}
	if first := f.FirstClosed(); first != "" {
		roll.Remarks = append(roll.Remarks, "Before "+first+", the first month that was closed, no estimate was booked: the closing is what was issued less what was paid, and no provision.")
	}
	for _, m := range f.Ledger.Months {
		locked := "no"
		if m.Locked {
			locked = "yes"
		}
		roll.Rows = append(roll.Rows, []any{m.Period, locked, m.Opening, m.Issued, m.Paid, m.Changes, m.Unwound, m.Closing, m.Recovered, m.Late})
	}
	entries := intake.Extract{Name: "Entries", Heads: []string{"Month", "Closed", "Kind", "Corrects", "About", "Cost line", "Borne by", "Year laid", "Happened on", "Learned on", "Amount", "Change of the provision"}}
	for _, e := range f.Entries {
		var line any
		if e.CostLineID != 0 {
			line = int(e.CostLineID)
		}
		kept := "no"
		if e.Kept {
			kept = "yes"
		}
		entries.Rows = append(entries.Rows, []any{e.Month, kept, string(e.Kind), string(e.Corrects), e.Ref, line, e.Bearer, e.LaidYear, e.HappenedOn, e.LearnedOn, e.Amount, e.Change})
	}
	return []intake.Extract{roll, entries, f.cohortSheet(), f.triangleSheet(), f.prepaidSheet()}
}

func (f *ReserveFile) cohortSheet() intake.Extract {
	s := intake.Extract{Name: "By year laid", Heads: []string{"Year laid", "Promises in force", "Expected", "Expected, discounted", "Borne to date", "Payments carried forward",
		"Standard error", "After the triangle", "Own history", "Pattern", "Booked"},
		Remarks: []string{fmt.Sprintf("Discounted at %.2f %% a year. Payments carried forward are expected less what comes after the triangle, plus own history and pattern.", 100*f.Rate), estimateOnly}}
	if f.Reserve.Why != "" {
		s.Remarks = append(s.Remarks, "Payments are not carried forward: "+f.Reserve.Why+".")
	}
	booked := map[int]units.Money{}
	for _, c := range f.Ledger.Cohorts {
		if n := len(c.Years); n > 0 {
			booked[c.LaidYear] = c.Years[n-1].Closing
		}
	}
	row := func(year any, c owed.CohortReserve, booked units.Money) {
		cells := []any{year, c.Promises, c.Expected, c.Discounted, c.Paid, c.ChainLadder, c.Error, nil, nil, nil, booked}
		if d := c.Difference; d != nil {
			cells[7], cells[8], cells[9] = -d.AfterTriangle, d.OwnHistory, d.Pattern
		}
		s.Rows = append(s.Rows, cells)
	}
	for _, c := range f.Reserve.Cohorts {
		row(c.LaidYear, c, booked[c.LaidYear])
		delete(booked, c.LaidYear)
	}
	for year := 0; len(booked) > 0; year++ {
		if sum, found := booked[year]; found {
			row(year, owed.CohortReserve{LaidYear: year}, sum)
			delete(booked, year)
		}
	}
	row("all", f.Reserve.Total, f.Ledger.Closing)
	return s
}

func (f *ReserveFile) triangleSheet() intake.Extract {
	s := intake.Extract{Name: "Triangle", Heads: []string{"Year laid"}, Remarks: []string{
		"What we bore, less what came back, by year laid and calendar years since, each year for itself."}}
	if len(f.Triangle) > 0 {
		for k := range f.Triangle[0] {
			s.Heads = append(s.Heads, fmt.Sprintf("%d years since", k))
		}
	}
	for i, row := range f.Triangle {
		cells := []any{f.FirstYear + i}
		for _, x := range row {
			cells = append(cells, x)
		}
		s.Rows = append(s.Rows, cells)
	}
	if cl := f.Reserve.ChainLadder; cl != nil {
		factors := []any{"factors"}
		for _, x := range cl.Factors {
			factors = append(factors, x)
		}
		s.Rows = append(s.Rows, factors)
		s.Remarks = append(s.Remarks, "Factors lead from each year to the next. Last variance by the rule: "+strings.ReplaceAll(string(cl.LastSigma), "_", "-")+".")
	}
	return s
}

func (f *ReserveFile) prepaidSheet() intake.Extract {
	s := intake.Extract{Name: "Prepaid plans", Heads: []string{"Month", "Opening", "Paid for plans", "Earned", "Not earned yet"},
		Remarks: []string{"No part of the provision. Each plan year is taken to be paid on its first day and earned day by day."}}
	for _, p := range f.Prepaid {
		s.Rows = append(s.Rows, []any{p.Month, p.Opening, p.Billed, p.Earned, p.Unearned})
	}
	return s
}

// Sheet gives one of ReserveParts.
func (f *ReserveFile) Sheet(part string) (intake.Extract, bool) {
	for i, name := range ReserveParts {
		if name == part {
			return f.Sheets()[i], true
		}
	}
	return intake.Extract{}, false
}
