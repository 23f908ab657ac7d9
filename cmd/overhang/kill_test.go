package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
)

// kills is how often each of the two tests kills a process.
const kills = 25

// edit changes one house for ever and says so after each change that was
// saved, until it is killed.
func edit(path string) int {
	ctx := context.Background()
	st, err := store.Open(ctx, path)
	if err != nil {
		fmt.Println(err)
		return failed
	}
	svc := service.New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), time.Now)
	for {
		house, err := store.First[models.House](st.Query(ctx), "1 = 1")
		if err != nil {
			fmt.Println(err)
			return failed
		}
		n, _ := strconv.Atoi(house.SiteNotes)
		house.SiteNotes = strconv.Itoa(n + 1)
		if err := svc.ChangeHouse(ctx, service.Program("editor"), house); err != nil {
			fmt.Println(err)
			return failed
		}
		fmt.Println(n + 1)
	}
}

// start starts the test binary in a role, as a process of its own.
func start(t *testing.T, role string, args ...string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), os.Args[0], args...)
	cmd.Env = append(os.Environ(), "OVERHANG_TEST_ROLE="+role)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, bufio.NewScanner(out)
}

func sound(t *testing.T, st *store.Store) {
	t.Helper()
	for _, check := range []string{"SELECT integrity_check AS says FROM pragma_integrity_check", "SELECT \"table\" AS says FROM pragma_foreign_key_check"} {
		rows, err := store.Rows[struct{ Says string }](st.Query(t.Context()), check)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			if r.Says != "ok" {
				t.Fatalf("the database is broken: %s", r.Says)
			}
		}
	}
}

func reopen(t *testing.T, path string) *store.Store {
	t.Helper()
	st, err := store.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	return st
}

// A process that is killed at any moment loses no change that it said was
// saved, and leaves none half made.
func TestKillDuringEdits(t *testing.T) {
	path := company(t)
	if status, _, errs := command(t, "ref,number,street\nH-1,12,Elm Street\n", "import", "houses", "-", "--db", path); status != done {
		t.Fatal(errs)
	}
	random := rand.New(rand.NewPCG(1, 2))
	said, changes := 0, 0
	for range kills {
		cmd, out := start(t, "editor", path)
		// The clock starts with the first change, however long a busy machine takes
		// to start the process.
		var stop *time.Timer
		for out.Scan() {
			if stop == nil {
				stop = time.AfterFunc(time.Duration(random.IntN(120))*time.Millisecond, func() { _ = cmd.Process.Kill() })
			}
			n, err := strconv.Atoi(out.Text())
			if err != nil {
				t.Fatalf("the editor said %q", out.Text())
			}
			said = n
			changes++
		}
		if stop == nil {
			t.Fatal("the editor ended before it changed anything")
		}
		stop.Stop()
		_ = cmd.Wait()
		st := reopen(t, path)
		sound(t, st)
		house, err := store.First[models.House](st.Query(t.Context()), "1 = 1")
		if err != nil {
			t.Fatal(err)
		}
		kept, _ := strconv.Atoi(house.SiteNotes)
		// The last change may have been saved before it could be said.
		if kept != said && kept != said+1 {
			t.Fatalf("it said that change %d was saved; kept is %d", said, kept)
		}
		trail, err := store.Count[models.AuditEntry](st.Query(t.Context()), "record = 'house' AND action = 'changed'")
		if err != nil || trail != kept {
			t.Fatalf("%d changes have %d rows in the audit trail (%v)", kept, trail, err)
		}
		said = kept // a change that could not be said any more is kept all the same
		st.Close()
	}
	if changes < kills {
		t.Errorf("only %d changes were made before %d kills; the test says little", changes, kills)
	}
}

// A file that is being read in when the process is killed is written whole or
// not at all, and whole when the process said so.
func TestKillDuringImport(t *testing.T) {
	path := company(t)
	const rows = 2500
	random := rand.New(rand.NewPCG(3, 4))
	early, late := 0, 0
	for round := range kills {
		var b strings.Builder
		b.WriteString("ref,number,street,contact_name\n")
		for i := range rows {
			fmt.Fprintf(&b, "K%02d-%d,%d,Kill Street %d,Pat %d\n", round, i, i+1, round, i)
		}
		file := filepath.Join(t.TempDir(), "houses.csv")
		if err := os.WriteFile(file, []byte(b.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		cmd, out := start(t, "program", "import", "houses", file, "--db", path)
		stop := time.AfterFunc(time.Duration(random.IntN(900))*time.Millisecond, func() { _ = cmd.Process.Kill() })
		said := false
		for out.Scan() {
			said = said || strings.Contains(out.Text(), "; written")
		}
		stop.Stop()
		_ = cmd.Wait()
		st := reopen(t, path)
		sound(t, st)
		houses, err := store.Count[models.House](st.Query(t.Context()), "ref LIKE ?", fmt.Sprintf("K%02d-%%", round))
		if err != nil {
			t.Fatal(err)
		}
		addresses, err := store.Count[models.Address](st.Query(t.Context()), "street = ?", fmt.Sprintf("Kill Street %d", round))
		if err != nil {
			t.Fatal(err)
		}
		st.Close()
		switch {
		case houses != addresses || (houses != 0 && houses != rows):
			t.Fatalf("a killed import left %d houses with %d addresses of %d", houses, addresses, rows)
		case said && houses != rows:
			t.Fatalf("it said that the file was written, and %d houses are there", houses)
		case houses == 0:
			early++
		default:
			late++
		}
	}
	t.Logf("%d files were killed before they were written, %d were whole", early, late)
}
