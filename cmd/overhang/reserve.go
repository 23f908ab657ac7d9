package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"overhang/analytics/owed"
	"overhang/models/intake"
	"overhang/server/service"
)

type reserveCommand struct {
	Month string `name:"month" placeholder:"YYYY-MM" help:"As it stood when this month was closed; today when it is not given."`
	Sigma string `name:"last-sigma" enum:"mack,log_linear" default:"mack" help:"The rule for the last variance of the payments carried forward: ${enum} (default ${default})."`
	CSV   string `name:"csv" placeholder:"FILE" xor:"out" help:"Write one table as CSV; - is standard output."`
	Part  string `name:"part" default:"roll_forward" help:"Which table goes into the CSV file: roll_forward, entries, cohorts, triangle or prepaid (default ${default})."`
	XLSX  string `name:"xlsx" placeholder:"FILE" xor:"out" help:"Write all tables as a workbook."`
	JSON  bool   `name:"json" xor:"out" help:"Print the whole result as JSON."`
	database
}

// Run says what to set aside, or writes it for the bookkeeper.
func (c *reserveCommand) Run(ctx context.Context, p *program) error {
	if !slices.Contains(service.ReserveParts, c.Part) {
		return fmt.Errorf("%w: --part must be one of %s", errMisuse, strings.Join(service.ReserveParts, ", "))
	}
	svc, closeStore, err := c.open(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	f, err := svc.Reserve(ctx, service.Program("command line"), c.Month, owed.LastSigma(c.Sigma))
	if err != nil {
		return err
	}
	switch {
	case c.JSON:
		return writeJSON(p.out, f.ReserveBook)
	case c.CSV != "":
		sheet, _ := f.Sheet(c.Part)
		return writeTo(p, c.CSV, func(w io.Writer) error { return intake.WriteTable(w, sheet) })
	case c.XLSX != "":
		return writeTo(p, c.XLSX, func(w io.Writer) error { return intake.WriteWorkbook(w, f.Sheets()) })
	}
	fmt.Fprintf(p.out, "As of %s, booked: %s\n", f.AsOf, f.Ledger.Closing)
	if f.Reserve.Low != nil && f.Reserve.High != nil {
		fmt.Fprintf(p.out, "%s to %s, eight times in ten\n", f.Reserve.Low.Round(), f.Reserve.High.Round())
	}
	for _, s := range f.Reserve.Says {
		fmt.Fprintln(p.out, s)
	}
	before, years := f.Ledger.After(f.FirstClosed())
	for i, y := range append([]owed.Roll{before}, years...) {
		if i == 0 {
			fmt.Fprint(p.out, "to ")
		}
		fmt.Fprintf(p.out, "%s  opening %s  issued %s  paid %s  changes %s  closing %s\n", y.Period, y.Opening, y.Issued, y.Paid, y.Changes, y.Closing)
	}
	if !f.Tie.Ties() {
		fmt.Fprintf(p.out, "The ledger and the cost lines differ: %s in the lines, %s booked.\n", f.Tie.Sum, f.Tie.Paid-f.Tie.Back)
	}
	_, err = fmt.Fprintln(p.out, "This is an estimate, and no substitute for the judgement of a bookkeeper or auditor.")
	return err
}

// writeTo writes a new file whole or, where it fails, leaves none; - is standard
// output.
func writeTo(p *program, name string, write func(io.Writer) error) (err error) {
	if name == "-" {
		return write(p.out)
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("writing the file: %w", err)
	}
	defer func() {
		if closed := f.Close(); err == nil {
			err = closed
		}
		if err != nil {
			os.Remove(name) // half a file would be taken for a whole one
		}
	}()
	return write(f)
}
