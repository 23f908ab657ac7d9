// Command overhang keeps a re-roofing company's promises: completed roofs, their
// warranties, callbacks and check-ups, and the houses next door.
//
// It is one program: a server for the pages (serve, demo), and commands for
// files (import, export), calculations (calc, estimate), people and nightly
// jobs. This package reads the command line and prints; what is done is done in
// package service.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/alecthomas/kong"
	"golang.org/x/term"

	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
)

// Exit codes.
const (
	done   = 0
	failed = 1
	misuse = 2
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	p := &program{in: os.Stdin, out: os.Stdout, err: os.Stderr, now: time.Now}
	os.Exit(p.run(ctx, os.Args[1:]))
}

// program is one run of the command line, with its streams and its clock, so
// that a test can run it too.
type program struct {
	in       io.Reader
	out, err io.Writer
	now      func() time.Time
}

// cli is the command line. Its help reads as a page of a manual.
type cli struct {
	Demo     demoCommand     `cmd:"" help:"Start with an invented company, to look around."`
	Serve    serveCommand    `cmd:"" help:"Start the server on a company's own database."`
	Import   importCommand   `cmd:"" help:"Read a CSV file in: checked whole first, then written whole or not at all."`
	Export   exportCommand   `cmd:"" help:"Write records out as a CSV file that import reads back."`
	Estimate estimateCommand `cmd:"" help:"Estimate the years left in one roof, or in all that changed."`
	Lives    livesCommand    `cmd:"" help:"What own and watched roofs say of how long coverings last, and how right the estimates have been."`
	Owed     owedCommand     `cmd:"" help:"What callbacks under our own promises are expected to cost, with scenarios."`
	Reserve  reserveCommand  `cmd:"" help:"Say what to set aside for what is promised, or write it for the bookkeeper."`
	Calc     calcCommand     `cmd:"" help:"Run one calculation on JSON (or CSV) from standard input."`
	Person   personCommand   `cmd:"" help:"Add, list and reset the people who sign in."`
	Job      jobCommand      `cmd:"" help:"Run a nightly job now."`
	Version  versionCommand  `cmd:"" help:"Say which overhang this is."`
}

const about = `overhang keeps a re-roofing company's promises: completed roofs, their
warranties, callbacks and check-ups, and the houses next door that need it just as badly.

Exit status: 0 when it was done, 1 when it failed, 2 when the command was not understood.
What goes wrong is said on standard error; results go to standard output.`

// exitStatus is what kong panics with through Exit, caught in run.
type exitStatus int

// run runs one command line and gives its exit status.
func (p *program) run(ctx context.Context, args []string) (status int) {
	defer func() {
		if r := recover(); r != nil {
			code, is := r.(exitStatus)
			if !is {
				panic(r)
			}
			status = int(code)
		}
	}()
	var c cli
	parser, err := kong.New(&c, kong.Name("overhang"), kong.Description(about), kong.Writers(p.out, p.err),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 90}),
		kong.Exit(func(code int) { panic(exitStatus(code)) }),
		kong.Vars{"calculations": calculationNames(), "jobs": jobNames(), "kinds": kindNames()},
		kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(p))
	if err != nil {
		fmt.Fprintln(p.err, "overhang:", err)
		return failed
	}
	command, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(p.err, "overhang: %v\nRun \"overhang --help\" to see what it understands.\n", err)
		return misuse
	}
	if err := command.Run(); err != nil {
		fmt.Fprintln(p.err, "overhang:", plain(err))
		if errors.Is(err, errMisuse) {
			return misuse
		}
		return failed
	}
	return done
}

// errMisuse marks an error in how a command was given.
var errMisuse = errors.New("wrong use")

// plain writes an error for a person at a terminal.
func plain(err error) string {
	var e *models.Error
	if errors.As(err, &e) {
		return e.Error()
	}
	return err.Error()
}

// database is the option that every command on a database takes.
type database struct {
	DB string `name:"db" placeholder:"FILE" default:"overhang.db" help:"The company's database file (default ${default})."`
}

// open opens the database that must be there already, so that a slip in its
// name does not make a new, empty one.
func (d database) open(ctx context.Context, p *program) (*service.Service, func(), error) {
	if _, err := os.Stat(d.DB); err != nil {
		return nil, nil, fmt.Errorf("there is no database at %s; name it with --db, or make one with \"overhang serve --db FILE\"", d.DB)
	}
	return d.openOrMake(ctx, p)
}

func (d database) openOrMake(ctx context.Context, p *program) (*service.Service, func(), error) {
	st, err := store.Open(ctx, d.DB)
	if err != nil {
		return nil, nil, err
	}
	return service.New(st, p.log(), p.now), func() { st.Close() }, nil
}

// log writes for a person on a terminal, and as JSON lines for a collector.
func (p *program) log() *slog.Logger {
	if p.onTerminal() {
		return slog.New(slog.NewTextHandler(p.err, nil))
	}
	return slog.New(slog.NewJSONHandler(p.err, nil))
}

// onTerminal says whether a person watches what is written to standard error.
func (p *program) onTerminal() bool {
	f, is := p.err.(*os.File)
	return is && term.IsTerminal(int(f.Fd()))
}
