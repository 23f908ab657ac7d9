package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/sync/errgroup"

	"overhang/models/demo"
	"overhang/server"
	"overhang/server/jobs"
	"overhang/server/service"
	"overhang/views"
)

// listening are the options of a command that answers requests.
type listening struct {
	Addr string `placeholder:"HOST:PORT" default:"127.0.0.1:8460" help:"Where to listen (default ${default}, this machine alone)."`
}

type serveCommand struct {
	listening
	database
	AllowDemoSignIns bool           `help:"Serve a database with the demo's sign-ins, whose passwords anybody can read."`
	HTTPS            bool           `name:"https" help:"Visitors come through TLS, which a proxy in front of this server ends."`
	TrustedProxy     []netip.Prefix `placeholder:"NETWORK" help:"Networks whose X-Forwarded-For header is believed."`
}

// Run serves a company's own database.
func (c *serveCommand) Run(ctx context.Context, p *program) error {
	svc, closeStore, err := c.openOrMake(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	open, err := svc.HasDemoSignIns(ctx)
	if err != nil {
		return err
	}
	if open && !c.AllowDemoSignIns {
		return fmt.Errorf("%s has sign-ins whose passwords anybody can read; end them with \"overhang person\", or say --allow-demo-sign-ins", c.DB)
	}
	return p.serve(ctx, svc, c.Addr, server.Options{HTTPS: c.HTTPS, TrustedProxies: c.TrustedProxy}, func(address string) error {
		token, err := svc.FirstOwnerLink(ctx)
		if err != nil {
			return err
		}
		if token != "" {
			fmt.Fprintf(p.out, "Nobody can sign in yet. The first owner begins here, within a day:\n  %s\n", address+server.Address(server.FirstOwnerPath, token))
		}
		return nil
	})
}

type demoCommand struct {
	listening
	DB     string `name:"db" placeholder:"FILE" help:"Keep the demo in this file and go on with it next time. Without it the demo is new every time, and gone afterwards."`
	Seed   uint64 `default:"1" help:"Which invented company; the same seed gives the same one (default ${default})."`
	Roofs  int    `default:"260" help:"Roofs that it has laid (default ${default})."`
	Houses int    `default:"3500" help:"Houses around them (default ${default})."`
}

// Run serves an invented company.
func (c *demoCommand) Run(ctx context.Context, p *program) error {
	if c.Roofs < 1 || c.Roofs > demo.MostRoofs || c.Houses < c.Roofs || c.Houses > demo.MostHouses {
		return fmt.Errorf("%w: --roofs goes to %d and --houses, of which there are at least as many, to %d", errMisuse, demo.MostRoofs, demo.MostHouses)
	}
	path := c.DB
	if path == "" {
		folder, err := os.MkdirTemp("", "overhang-demo-")
		if err != nil {
			return fmt.Errorf("making a place for the demo: %w", err)
		}
		defer os.RemoveAll(folder)
		path = filepath.Join(folder, "demo.db")
	}
	svc, closeStore, err := database{DB: path}.openOrMake(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	signIns, err := c.fill(ctx, p, svc)
	if err != nil {
		return err
	}
	return p.serve(ctx, svc, c.Addr, server.Options{}, func(string) error {
		if len(signIns) == 0 {
			fmt.Fprintln(p.out, "The demo goes on from the file; its sign-ins are as they were.")
			return nil
		}
		fmt.Fprintln(p.out, "Sign in as one of:")
		for _, in := range signIns {
			fmt.Fprintf(p.out, "  %-22s %-26s password %s\n", strings.Join(strings.Split(in.Roles.String(), ","), ", "), in.Email, in.Password)
		}
		return nil
	})
}

// fill makes the demo company in an empty database; one that has the demo
// already is left as it is.
func (c *demoCommand) fill(ctx context.Context, p *program, svc *service.Service) ([]service.DemoSignIn, error) {
	if set, err := svc.Settings(ctx); err == nil {
		if !set.Company.Demo {
			return nil, fmt.Errorf("%s holds a real company; name another file for the demo", c.DB)
		}
		return nil, nil
	}
	draw := map[string]func(int, int){}
	signIns, err := svc.FillDemo(ctx, service.Program("demo"), demo.Options{Seed: c.Seed, Roofs: c.Roofs, Houses: c.Houses},
		func(step string, done, total int) {
			if draw[step] == nil {
				draw[step] = p.progress(step)
			}
			draw[step](done, total)
		})
	if err != nil {
		return nil, fmt.Errorf("making the demo company: %w", err)
	}
	set, err := svc.Settings(ctx)
	if err != nil {
		return nil, err
	}
	if err := svc.KeepHindcast(ctx, service.Program("demo")); err != nil {
		return nil, fmt.Errorf("making the demo company: %w", err)
	}
	day := jobs.LastDue(p.now(), set.Branch.Location())
	for _, job := range service.Jobs {
		if _, err := svc.RunJob(ctx, service.Program("demo"), job.Name, day, p.progress(job.Name)); err != nil {
			return nil, fmt.Errorf("making the demo company: %w", err)
		}
	}
	return signIns, nil
}

// serve answers requests and runs the nightly jobs until ctx ends. Once it
// listens it prints the address and what hello has to say.
func (p *program) serve(ctx context.Context, svc *service.Service, addr string, options server.Options, hello func(address string) error) error {
	renderer, err := views.New()
	if err != nil {
		return fmt.Errorf("reading the pages: %w", err)
	}
	srv, err := server.New(svc, renderer, options)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", addr)
	if err != nil {
		return fmt.Errorf("listening: %w; another program may hold it, choose one with --addr", err)
	}
	address := "http://" + listener.Addr().String()
	fmt.Fprintf(p.out, "overhang listens on %s (stop it with Ctrl-C)\n", address)
	if err := hello(address); err != nil {
		return errors.Join(err, listener.Close())
	}
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return srv.Run(ctx, listener) })
	g.Go(func() error { return jobs.New(svc, svc.Log).Run(ctx) })
	g.Go(func() error {
		if err := svc.WarmUp(ctx); err != nil && ctx.Err() == nil {
			svc.Log.Warn("the first pages will be slow", "error", err)
		}
		return nil
	})
	return g.Wait()
}
