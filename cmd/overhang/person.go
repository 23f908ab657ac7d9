package main

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"strings"
	"text/tabwriter"

	"golang.org/x/term"

	"overhang/models"
	"overhang/server/service"
)

type personCommand struct {
	Add   personAddCommand   `cmd:"" help:"Let somebody sign in. The password is asked for, or read from standard input."`
	Reset personResetCommand `cmd:"" help:"Give somebody a new password and end their sessions."`
	List  personListCommand  `cmd:"" help:"List who can sign in."`
}

type personAddCommand struct {
	Email string `arg:"" help:"What they sign in with."`
	Name  string `required:"" help:"Their name."`
	Roles string `required:"" help:"What they do here, with commas: owner, office, seller, scheduler, roofer, bookkeeper."`
	database
}

// Run lets somebody sign in. In a new database the first person begins the
// company.
func (c *personAddCommand) Run(ctx context.Context, p *program) error {
	roles, err := models.ParseRoles(c.Roles)
	if err != nil {
		return fmt.Errorf("%w: %w", errMisuse, err)
	}
	svc, closeStore, err := c.openOrMake(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	password, err := p.askPassword()
	if err != nil {
		return err
	}
	person, err := svc.AddPerson(ctx, service.Program("command line"), service.NewPerson{Email: c.Email, Name: c.Name, Password: password, Roles: roles})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.out, "%s can sign in as %s (%s)\n", person.Name, person.Email, person.Roles)
	return err
}

type personResetCommand struct {
	Email string `arg:"" help:"Whose password."`
	database
}

// Run sets a new password.
func (c *personResetCommand) Run(ctx context.Context, p *program) error {
	svc, closeStore, err := c.open(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	who := service.Program("command line")
	person, err := svc.PersonByEmail(ctx, who, c.Email)
	if err != nil {
		return err
	}
	password, err := p.askPassword()
	if err != nil {
		return err
	}
	if err := svc.ResetPassword(ctx, who, person.ID, password); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.out, "%s has a new password; every session of theirs is ended\n", person.Email)
	return err
}

type personListCommand struct{ database }

// Run lists who can sign in.
func (c *personListCommand) Run(ctx context.Context, p *program) error {
	svc, closeStore, err := c.open(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	people, err := svc.People(ctx, service.Program("command line"))
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(p.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(w, "EMAIL\tNAME\tROLES\tUNTIL")
	for _, person := range people {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", person.Email, person.Name, person.Roles, person.EndedOn)
	}
	return w.Flush()
}

// askPassword asks for a password twice on a terminal, without showing it, or
// reads one line of a pipe.
func (p *program) askPassword() (string, error) {
	f, is := p.in.(*os.File)
	if !is || !term.IsTerminal(int(f.Fd())) {
		line, err := bufio.NewReader(p.in).ReadString('\n')
		line = strings.TrimRight(line, "\r\n")
		if line == "" {
			return "", fmt.Errorf("reading the password from standard input: it is empty (%w)", err)
		}
		return line, nil
	}
	ask := func(prompt string) (string, error) {
		fmt.Fprint(p.err, prompt)
		b, err := term.ReadPassword(int(f.Fd()))
		fmt.Fprintln(p.err)
		return string(b), err
	}
	first, err := ask("Password: ")
	if err != nil {
		return "", fmt.Errorf("reading the password: %w", err)
	}
	second, err := ask("The same again: ")
	if err != nil {
		return "", fmt.Errorf("reading the password: %w", err)
	}
	if first != second {
		return "", fmt.Errorf("the two passwords differ; nothing was changed")
	}
	return first, nil
}
