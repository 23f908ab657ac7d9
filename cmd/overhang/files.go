package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"overhang/models/intake"
	"overhang/server/service"
)

func kindNames() string {
	var names []string
	for _, k := range intake.Kinds() {
		names = append(names, k.Name)
	}
	return strings.Join(names, ", ")
}

type importCommand struct {
	Kind   string `arg:"" help:"What the rows are: ${kinds}."`
	File   string `arg:"" help:"The CSV file, or - for standard input."`
	DryRun bool   `help:"Check the file and report, and write nothing."`
	JSON   bool   `name:"json" help:"Print the report as JSON."`
	database
}

// Run reads a file in. A refused row fails the command, and nothing of the file
// is written.
func (c *importCommand) Run(ctx context.Context, p *program) error {
	svc, closeStore, err := c.open(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	in, name := p.in, "standard input"
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			return fmt.Errorf("reading the file: %w", err)
		}
		defer f.Close()
		in, name = f, filepath.Base(c.File)
	}
	report, err := svc.Import(ctx, service.Program("command line"), c.Kind, name, in, c.DryRun, p.progress("rows"))
	if err != nil {
		return err
	}
	if c.JSON {
		err = writeJSON(p.out, report)
	} else {
		err = report.WriteText(p.out)
	}
	if err != nil {
		return err
	}
	switch {
	case report.OK():
		return nil
	case report.Refusals == 1:
		return fmt.Errorf("a rule was broken; nothing of %s is written", name)
	}
	return fmt.Errorf("%d rules were broken; nothing of %s is written", report.Refusals, name)
}

type exportCommand struct {
	Kind     string `arg:"" help:"What to write: ${kinds}."`
	Out      string `short:"o" placeholder:"FILE" help:"Write to this file instead of standard output. A file that is there is not written over."`
	Template bool   `help:"Write an example file of the kind instead, with every column."`
	database
}

// Run writes records out as CSV.
func (c *exportCommand) Run(ctx context.Context, p *program) error {
	write := func(w io.Writer) error {
		if c.Template {
			b, err := intake.Template(c.Kind)
			if err != nil {
				return err
			}
			_, err = w.Write(b)
			return err
		}
		svc, closeStore, err := c.open(ctx, p)
		if err != nil {
			return err
		}
		defer closeStore()
		return svc.Export(ctx, service.Program("command line"), c.Kind, w)
	}
	if c.Out == "" {
		return write(p.out)
	}
	return writeTo(p, c.Out, write)
}
