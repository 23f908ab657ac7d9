package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"overhang/views/browser"
)

// serving starts the server on a database and gives its address.
func serving(t *testing.T, path string) string {
	t.Helper()
	return serve(t, path, func(line string) string {
		_, rest, _ := strings.Cut(line, "listens on ")
		address, _, _ := strings.Cut(rest, " ")
		return address
	})
}

// serve starts the server on a database and reads what it says until find gives
// something.
func serve(t *testing.T, path string, find func(line string) string) string {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	out, said := io.Pipe()
	p := &program{in: strings.NewReader(""), out: said, err: io.Discard,
		now: func() time.Time { return time.Date(2026, 11, 25, 17, 0, 0, 0, time.UTC) }}
	ended := make(chan int, 1)
	go func() {
		ended <- p.run(ctx, []string{"serve", "--addr", "127.0.0.1:0", "--db", path})
		said.Close()
	}()
	t.Cleanup(func() {
		stop()
		if status := <-ended; status != done {
			t.Errorf("the server ended with status %d", status)
		}
	})
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if found := find(lines.Text()); found != "" {
			go func() { _, _ = io.Copy(io.Discard, out) }()
			return found
		}
	}
	t.Fatal("the server did not say what was waited for")
	return ""
}

// A database in which nobody is yet is begun by the link that serve prints.
func TestTheFirstOwnersLink(t *testing.T) {
	link := serve(t, filepath.Join(t.TempDir(), "new.db"), func(line string) string {
		if line = strings.TrimSpace(line); strings.HasPrefix(line, "http://") {
			return line
		}
		return ""
	})
	res, err := http.Get(link)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK || !strings.Contains(string(body), `type="password"`) {
		t.Errorf("%s answers %d: %s, %v", link, res.StatusCode, body, err)
	}
}

// signIn signs somebody in as a person would, through the page.
func signIn(t *testing.T, tab *browser.Tab, email, password string) {
	t.Helper()
	err := chromedp.Do(tab.Context,
		chromedp.SetValue(`input[name="email"]`, email),
		chromedp.SetValue(`input[name="password"]`, password),
		chromedp.Submit(`input[name="password"]`),
		chromedp.WaitReady(`nav`))
	if err != nil {
		t.Fatalf("signing %s in: %v", email, err)
	}
}

// The main job, end to end: files of a company go in at the command line, and
// the owner, the seller and the scheduler each read their answer from a page,
// at a desk and on a telephone. What the answers must be is worked out by hand in
// testdata/town/README.md.
func TestThreeAnswers(t *testing.T) {
	b := browser.Start(t)
	path := company(t)
	const password = "valleys and chimneys too"
	for _, role := range []string{"seller", "scheduler"} {
		if status, _, errs := command(t, password+"\n", "person", "add", role+"@example.org", "--name", "The "+role, "--roles", role, "--db", path); status != done {
			t.Fatal(errs)
		}
	}
	files, err := filepath.Glob("../../testdata/town/*.csv")
	if err != nil || len(files) != 12 {
		t.Fatalf("the town has %d files, %v", len(files), err)
	}
	for _, file := range files {
		_, kind, _ := strings.Cut(strings.TrimSuffix(filepath.Base(file), ".csv"), "-")
		if status, out, errs := command(t, "", "import", kind, file, "--db", path); status != done {
			t.Fatalf("importing %s: %s%s", file, out, errs)
		}
	}
	address := serving(t, path)
	for _, screen := range []browser.Screen{browser.Office, browser.Phone} {
		for _, c := range []struct {
			role, password, page string
			inOrder              []string // texts that stand on the page, one after the other
			absent               []string
		}{
			{"owner", "a ridge vent and a saddle", "/promises", []string{"3 roofs"}, nil},
			{"owner", "a ridge vent and a saddle", "/today", []string{"Teasel Court"}, nil},
			{"owner", "a ridge vent and a saddle", "/roofs", []string{"14 Sorrel Lane", "18 Sorrel Lane"}, []string{"12 Sorrel Lane"}},
			{"owner", "a ridge vent and a saddle", "/search?q=14+sorrel", []string{"14 Sorrel Lane", "falls short"}, nil},
			{"seller", password, "/neighbours", []string{"Sorrel Lane", "21 Sorrel Lane"},
				[]string{"14 Sorrel Lane, Norwick\n", "Fernsby", "555-01"}},
			{"scheduler", password, "/visits", []string{"5 Teasel Court", "14 Sorrel Lane"}, []string{"18 Sorrel Lane"}},
		} {
			t.Run(screen.Name+c.page, func(t *testing.T) {
				tab := b.Open(t, address+"/sign-in", screen)
				signIn(t, tab, c.role+"@example.org", c.password)
				tab.Go(t, address+c.page)
				text := browser.Eval[string](t, tab, `document.querySelector("main").innerText`)
				rest := text
				for _, want := range c.inOrder {
					_, after, found := strings.Cut(rest, want)
					if !found {
						t.Fatalf("%q does not stand where it should on %s:\n%s", want, c.page, text)
					}
					rest = after
				}
				for _, not := range c.absent {
					if strings.Contains(text, not) {
						t.Errorf("%q stands on %s:\n%s", not, c.page, text)
					}
				}
				tab.NoProblems(t)
				tab.Fits(t)
				tab.Shot(t, c.role+strings.NewReplacer("/", "-", "?", "-", "=", "-", "+", "-").Replace(c.page))
			})
		}
	}
}
