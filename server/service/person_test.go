package service

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"

	"overhang/models"
	"overhang/models/store"
)

// clock is a time that a test moves.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

func openPeople(t *testing.T) (*Service, *clock) {
	t.Helper()
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "people.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	c := &clock{now: time.Date(2026, 6, 10, 15, 0, 0, 0, time.UTC)}
	return New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), c.Now), c
}

const goodPassword = "four walls and a lid"

func addOwner(t *testing.T, s *Service, email string) *models.Person {
	t.Helper()
	p, err := s.AddPerson(t.Context(), Program("a test"), NewPerson{Email: email, Name: "Wren Holloway", Password: goodPassword,
		Roles: models.Roles{models.Owner}})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func wantCode(t *testing.T, err error, code models.Code) {
	t.Helper()
	if models.CodeOf(err) != code {
		t.Fatalf("got the error %v, want one with the code %q", err, code)
	}
}

func wantField(t *testing.T, err error, field string) {
	t.Helper()
	var e *models.Error
	if errors.As(err, &e) {
		for _, f := range e.Fields {
			if f.Field == field {
				return
			}
		}
	}
	t.Fatalf("got the error %v, want one about the field %s", err, field)
}

func try(email, password string) SignInTry {
	return SignInTry{Email: email, Password: password, Address: "192.0.2.7"}
}

func TestPasswordRules(t *testing.T) {
	const email, name = "wren.holloway@example.org", "Wren Holloway"
	for _, refused := range []string{"", "short", "elevenchars", "password1234", "PassWord 1234", "aaaaaaaaaaaaaaaa", "121212121212",
		"wren.holloway@example.org", "Wren Holloway", "WrenHolloway99", strings.Repeat("long walk ", 21), "twelve\x00chars..", "bad utf8 \xff bytes"} {
		wantField(t, checkPassword(refused, email, name), "new_password")
	}
	for _, taken := range []string{goodPassword, "twelve chars", "höhe über alles", "!@#$%^&*()_+", "wren sees nine larches", strings.Repeat("long walk ", 20)} {
		if err := checkPassword(taken, email, name); err != nil {
			t.Errorf("%q is refused: %v", taken, err)
		}
	}
}

func TestNobodysHashTakesAsLongAsAnothers(t *testing.T) {
	params, _, _, err := argon2id.DecodeHash(nobodysHash)
	if err != nil {
		t.Fatal(err)
	}
	if *params != passwordCost {
		t.Errorf("an unknown email is checked at the cost %+v, a known one at %+v", *params, passwordCost)
	}
}

// The same letter written in two ways (composed and decomposed) is one password.
func TestPasswordInTwoSpellings(t *testing.T) {
	hash, err := hashPassword("gr\u00fcne D\u00e4cher")
	if err != nil {
		t.Fatal(err)
	}
	if fits, _, err := passwordFits("gru\u0308ne Da\u0308cher", hash); err != nil || !fits {
		t.Errorf("the decomposed spelling does not fit (%v)", err)
	}
	if fits, _, err := passwordFits("grune Dacher", hash); err != nil || fits {
		t.Errorf("another password fits (%v)", err)
	}
}

func TestAnOldHashIsMadeAnew(t *testing.T) {
	s, _ := openPeople(t)
	p := addOwner(t, s, "wren@example.org")
	old, err := argon2id.CreateHash(goodPassword, &argon2id.Params{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32})
	if err != nil {
		t.Fatal(err)
	}
	p.PasswordHash = old
	if err := s.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Update(p) }); err != nil {
		t.Fatal(err)
	}
	if _, err := s.SignIn(t.Context(), try("wren@example.org", goodPassword)); err != nil {
		t.Fatal(err)
	}
	p, err = s.PersonByEmail(t.Context(), Program("a test"), "wren@example.org")
	if err != nil {
		t.Fatal(err)
	}
	if _, outdated, err := passwordFits(goodPassword, p.PasswordHash); err != nil || outdated {
		t.Errorf("the hash is still the old one (%v)", err)
	}
}

func TestSignIn(t *testing.T) {
	s, _ := openPeople(t)
	p := addOwner(t, s, "Wren@Example.org ")
	in, err := s.SignIn(t.Context(), try(" WREN@example.org", goodPassword))
	if err != nil {
		t.Fatal(err)
	}
	if in.Actor.PersonID != p.ID || !in.Actor.May(EditPeople) || len(in.Token) != tokenLength || in.CSRF == in.Token {
		t.Errorf("signed in as %+v", in)
	}
	got, err := s.Session(t.Context(), in.Token)
	if err != nil || got.Actor.PersonID != p.ID || got.CSRF != in.CSRF {
		t.Errorf("the session is %+v, %v", got, err)
	}
	// The token itself is nowhere in the database.
	rows, err := store.List[models.Session](s.Store.Query(t.Context()), "token_hash", "")
	if err != nil || len(rows) != 1 || strings.Contains(rows[0].TokenHash, in.Token) {
		t.Errorf("kept sessions %+v, %v", rows, err)
	}
	// The next sign-in of the browser has another token, and the first is dead.
	again := try("wren@example.org", goodPassword)
	again.Previous = in.Token
	second, err := s.SignIn(t.Context(), again)
	if err != nil || second.Token == in.Token {
		t.Fatalf("the second sign-in: %v", err)
	}
	_, err = s.Session(t.Context(), in.Token)
	wantCode(t, err, models.NoSession)

	wrong, err := s.SignIn(t.Context(), try("wren@example.org", "not the password"))
	wantCode(t, err, models.Invalid)
	_, unknown := s.SignIn(t.Context(), try("nobody@example.org", goodPassword))
	if unknown.Error() != err.Error() || wrong.Token != "" {
		t.Errorf("an unknown email is told apart: %q and %q", unknown, err)
	}
}

func TestTriesAreSlowedDown(t *testing.T) {
	s, c := openPeople(t)
	addOwner(t, s, "wren@example.org")
	from := func(address, password string) error {
		_, err := s.SignIn(t.Context(), SignInTry{Email: "wren@example.org", Password: password, Address: address})
		return err
	}
	for range accountPatience.free {
		wantCode(t, from("192.0.2.1", "not the password"), models.Invalid)
	}
	// The right password waits too, and from another address.
	wantCode(t, from("192.0.2.2", goodPassword), models.TooMany)
	c.pass(29 * time.Second)
	err := from("192.0.2.1", goodPassword)
	wantCode(t, err, models.TooMany)
	if !strings.Contains(err.Error(), "Wait 1 second,") {
		t.Errorf("the message is %q", err)
	}
	c.pass(time.Second)
	wantCode(t, from("192.0.2.1", "not the password"), models.Invalid)
	// The wait has doubled.
	c.pass(59 * time.Second)
	wantCode(t, from("192.0.2.1", goodPassword), models.TooMany)
	c.pass(time.Second)
	if err := from("192.0.2.1", goodPassword); err != nil {
		t.Fatalf("the right password after the wait: %v", err)
	}
	// A good sign-in takes the count away.
	wantCode(t, from("192.0.2.1", "not the password"), models.Invalid)
	if err := from("192.0.2.1", goodPassword); err != nil {
		t.Errorf("one failure after a good sign-in: %v", err)
	}
}

func TestTriesFromOneAddress(t *testing.T) {
	s, c := openPeople(t)
	addOwner(t, s, "wren@example.org")
	// The tries are written straight down: checking thirty passwords is slow.
	if err := s.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		for range addressPatience.free {
			if _, err := tx.AddTry("address 192.0.2.7"); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	_, err := s.SignIn(t.Context(), try("wren@example.org", goodPassword))
	wantCode(t, err, models.TooMany)
	if _, err := s.SignIn(t.Context(), SignInTry{Email: "wren@example.org", Password: goodPassword, Address: "192.0.2.8"}); err != nil {
		t.Errorf("from another address: %v", err)
	}
	c.pass(triesCountFor + time.Minute)
	if _, err := s.SignIn(t.Context(), try("wren@example.org", goodPassword)); err != nil {
		t.Errorf("a day later: %v", err)
	}
	if n, err := store.Count[models.SignInAttempt](s.Store.Query(t.Context()), ""); err != nil || n != 0 {
		t.Errorf("%d old tries are kept (%v)", n, err)
	}
}

// Many tries at the same moment cannot pass before the first of them has failed.
func TestTriesAtTheSameMoment(t *testing.T) {
	s, _ := openPeople(t)
	addOwner(t, s, "wren@example.org")
	var looked, waits int
	var mu sync.Mutex
	var group sync.WaitGroup
	for range 4 * accountPatience.free {
		group.Go(func() {
			_, err := s.beginTry(context.Background(), "wren@example.org", "192.0.2.7")
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				looked++
			} else if models.CodeOf(err) == models.TooMany {
				waits++
			}
		})
	}
	group.Wait()
	if looked != accountPatience.free || waits != 3*accountPatience.free {
		t.Errorf("%d tries passed and %d wait", looked, waits)
	}
}

func TestWaits(t *testing.T) {
	for n, want := range map[int]time.Duration{0: 0, 4: 0, 5: 30 * time.Second, 6: time.Minute, 9: 8 * time.Minute, 10: 15 * time.Minute, 10000: 15 * time.Minute} {
		if got := accountPatience.wait(n); got != want {
			t.Errorf("after %d failures the wait is %v, want %v", n, got, want)
		}
	}
}

func TestSessionsExpire(t *testing.T) {
	s, c := openPeople(t)
	addOwner(t, s, "wren@example.org")
	signIn := func() string {
		in, err := s.SignIn(t.Context(), try("wren@example.org", goodPassword))
		if err != nil {
			t.Fatal(err)
		}
		return in.Token
	}
	idle := signIn()
	c.pass(sessionIdle)
	_, err := s.Session(t.Context(), idle)
	wantCode(t, err, models.NoSession)

	used := signIn()
	for range 5 {
		c.pass(6 * 24 * time.Hour)
		_, err = s.Session(t.Context(), used)
	}
	wantCode(t, err, models.NoSession) // thirty days, though never idle
	c.pass(-time.Minute)
	if _, err := s.Session(t.Context(), used); err != nil {
		t.Errorf("a minute before thirty days: %v", err)
	}
	for _, token := range []string{"", "short", strings.Repeat("x", tokenLength)} {
		_, err := s.Session(t.Context(), token)
		wantCode(t, err, models.NoSession)
	}
}

func TestChangePassword(t *testing.T) {
	s, _ := openPeople(t)
	addOwner(t, s, "wren@example.org")
	in, err := s.SignIn(t.Context(), try("wren@example.org", goodPassword))
	if err != nil {
		t.Fatal(err)
	}
	change := PasswordChange{Current: goodPassword, New: "a lid and four walls", Address: "192.0.2.7"}
	wrong := change
	wrong.Current = "not the password"
	_, err = s.ChangePassword(t.Context(), in.Actor, wrong)
	wantField(t, err, "password")
	weak := change
	weak.New = "short"
	_, err = s.ChangePassword(t.Context(), in.Actor, weak)
	wantField(t, err, "new_password")
	next, err := s.ChangePassword(t.Context(), in.Actor, change)
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.Session(t.Context(), in.Token)
	wantCode(t, err, models.NoSession)
	if _, err := s.Session(t.Context(), next.Token); err != nil {
		t.Errorf("the new session: %v", err)
	}
	if n, err := s.Browsers(t.Context(), in.Actor); err != nil || n != 1 {
		t.Errorf("signed in in %d browsers (%v), want 1", n, err)
	}
	_, err = s.SignIn(t.Context(), try("wren@example.org", goodPassword))
	wantCode(t, err, models.Invalid)
	if err := s.SignOutEverywhere(t.Context(), next.Actor); err != nil {
		t.Fatal(err)
	}
	_, err = s.Session(t.Context(), next.Token)
	wantCode(t, err, models.NoSession)
}

func TestGuessingTheCurrentPasswordIsSlowedDown(t *testing.T) {
	s, _ := openPeople(t)
	p := addOwner(t, s, "wren@example.org")
	var err error
	for range accountPatience.free + 1 {
		_, err = s.ChangePassword(t.Context(), actorOf(p), PasswordChange{Current: "a guess", New: "a lid and four walls"})
	}
	wantCode(t, err, models.TooMany)
}

func TestTheLastOwnerStays(t *testing.T) {
	s, _ := openPeople(t)
	p := addOwner(t, s, "wren@example.org")
	owner := actorOf(p)
	err := s.EndPerson(t.Context(), owner, p.ID, p.Version)
	wantField(t, err, "ended_on")
	_, err = s.ChangePerson(t.Context(), owner, PersonChange{ID: p.ID, Version: p.Version, Email: p.Email, Name: p.Name, Roles: models.Roles{models.Office}})
	wantField(t, err, "roles")

	other := addOwner(t, s, "tarn@example.org")
	in, err := s.SignIn(t.Context(), try("wren@example.org", goodPassword))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.EndPerson(t.Context(), actorOf(other), p.ID, p.Version); err != nil {
		t.Fatal(err)
	}
	_, err = s.Session(t.Context(), in.Token)
	wantCode(t, err, models.NoSession)
	_, err = s.SignIn(t.Context(), try("wren@example.org", goodPassword))
	wantCode(t, err, models.Invalid)
	// One who has ended does not count as an owner.
	err = s.EndPerson(t.Context(), actorOf(other), other.ID, other.Version)
	wantField(t, err, "ended_on")
}

func TestPeopleNeedPermission(t *testing.T) {
	s, _ := openPeople(t)
	p := addOwner(t, s, "wren@example.org")
	for _, role := range models.AllRoles {
		a := Actor{PersonID: 99, Roles: models.Roles{role}}
		_, list := s.People(t.Context(), a)
		_, add := s.AddPerson(t.Context(), a, NewPerson{})
		_, change := s.ChangePerson(t.Context(), a, PersonChange{ID: p.ID})
		_, link := s.PasswordLink(t.Context(), a, 12345)
		_, read := s.Person(t.Context(), a, p.ID)
		for i, err := range []error{list, add, change, link, read, s.EndPerson(t.Context(), a, 12345, 1), s.ResetPassword(t.Context(), a, 12345, "")} {
			if refused := models.CodeOf(err) == models.Forbidden; refused == (role == models.Owner) {
				t.Errorf("use case %d as %s: %v", i, role, err)
			}
		}
	}
}

func TestAddPersonTellsEveryRule(t *testing.T) {
	s, _ := openPeople(t)
	_, err := s.AddPerson(t.Context(), Program("a test"), NewPerson{Email: "not an email", Password: "short"})
	for _, field := range []string{"email", "name", "roles", "new_password"} {
		wantField(t, err, field)
	}
	addOwner(t, s, "wren@example.org")
	_, err = s.AddPerson(t.Context(), Program("a test"), NewPerson{Email: "wren@example.org", Name: "Another", Password: goodPassword, Roles: models.Roles{models.Roofer}})
	wantField(t, err, "email")
}

func TestFirstOwner(t *testing.T) {
	s, c := openPeople(t)
	first, err := s.FirstOwnerLink(t.Context())
	if err != nil || first == "" {
		t.Fatalf("the link is %q, %v", first, err)
	}
	token, err := s.FirstOwnerLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	in := FirstOwner{Company: "Larch Valley Roofing", Email: "wren@example.org", Name: "Wren Holloway", Password: goodPassword, TimeZone: "America/Boise"}
	_, err = s.UseFirstOwnerLink(t.Context(), first, in) // replaced by the second
	wantCode(t, err, models.NotFound)
	wrong := FirstOwner{Email: "x", TimeZone: "Nowhere/Land"}
	_, err = s.UseFirstOwnerLink(t.Context(), token, wrong)
	for _, field := range []string{"company", "email", "name", "new_password", "time_zone"} {
		wantField(t, err, field)
	}
	c.pass(linkLasts)
	wantCode(t, s.CheckFirstOwnerLink(t.Context(), token), models.NotFound)
	c.pass(-time.Second)
	signedIn, err := s.UseFirstOwnerLink(t.Context(), token, in)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Session(t.Context(), signedIn.Token); err != nil || !signedIn.Actor.May(EditPeople) {
		t.Errorf("the first owner is not signed in: %v", err)
	}
	set, err := s.Settings(t.Context())
	if err != nil || set.Company.Name != "Larch Valley Roofing" || set.Branch.TimeZone != "America/Boise" {
		t.Errorf("the settings are %+v, %v", set, err)
	}
	_, err = s.UseFirstOwnerLink(t.Context(), token, in)
	wantCode(t, err, models.NotFound)
	if again, err := s.FirstOwnerLink(t.Context()); err != nil || again != "" {
		t.Errorf("another link %q for a company that has an owner (%v)", again, err)
	}
}

// A link that was printed before somebody was let in another way is dead.
func TestFirstOwnerLinkAfterAnotherWayIn(t *testing.T) {
	s, _ := openPeople(t)
	token, err := s.FirstOwnerLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	addOwner(t, s, "wren@example.org")
	wantCode(t, s.CheckFirstOwnerLink(t.Context(), token), models.NotFound)
}

func TestPasswordLink(t *testing.T) {
	s, _ := openPeople(t)
	p := addOwner(t, s, "wren@example.org")
	in, err := s.SignIn(t.Context(), try("wren@example.org", goodPassword))
	if err != nil {
		t.Fatal(err)
	}
	token, err := s.PasswordLink(t.Context(), in.Actor, p.ID)
	if err != nil {
		t.Fatal(err)
	}
	wantField(t, s.UsePasswordLink(t.Context(), token, "short"), "new_password")
	if err := s.UsePasswordLink(t.Context(), token, "a lid and four walls"); err != nil {
		t.Fatal(err)
	}
	wantCode(t, s.UsePasswordLink(t.Context(), token, "a lid and four walls"), models.NotFound)
	_, err = s.Session(t.Context(), in.Token)
	wantCode(t, err, models.NoSession)
	if _, err := s.SignIn(t.Context(), try("wren@example.org", "a lid and four walls")); err != nil {
		t.Errorf("the new password: %v", err)
	}
	// The first owner's link is no link to set a password with.
	wantCode(t, s.CheckFirstOwnerLink(t.Context(), token), models.NotFound)
}

func TestResetPasswordForgetsDemoAndTries(t *testing.T) {
	s, _ := openPeople(t)
	p, err := s.AddPerson(t.Context(), Program("a test"), NewPerson{Email: "wren@example.org", Name: "Wren", Password: goodPassword,
		Roles: models.Roles{models.Owner}, Demo: true})
	if err != nil {
		t.Fatal(err)
	}
	if demo, err := s.HasDemoSignIns(t.Context()); err != nil || !demo {
		t.Errorf("demo sign-ins: %v, %v", demo, err)
	}
	for range accountPatience.free {
		if _, err := s.beginTry(t.Context(), p.Email, "192.0.2.7"); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.ResetPassword(t.Context(), Program("a test"), p.ID, "a lid and four walls"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.SignIn(t.Context(), try("wren@example.org", "a lid and four walls")); err != nil {
		t.Errorf("after the reset: %v", err)
	}
	if demo, err := s.HasDemoSignIns(t.Context()); err != nil || demo {
		t.Errorf("demo sign-ins after the reset: %v, %v", demo, err)
	}
}

func TestHistory(t *testing.T) {
	s, _ := openPeople(t)
	p := addOwner(t, s, "wren@example.org")
	if _, err := s.ChangePerson(t.Context(), actorOf(p), PersonChange{ID: p.ID, Version: p.Version, Email: p.Email, Name: "Wren H.", Roles: p.Roles}); err != nil {
		t.Fatal(err)
	}
	entries, err := s.History(t.Context(), actorOf(p), "person", p.ID, store.Page{})
	if err != nil || len(entries) != 2 || entries[0].Action != "changed" || entries[0].By != "Wren Holloway" || entries[1].Action != "added" {
		t.Errorf("the history is %+v, %v", entries, err)
	}
	for _, e := range entries {
		if strings.Contains(e.Changes, "argon2") {
			t.Errorf("the history shows a password's hash: %s", e.Changes)
		}
	}
	_, err = s.History(t.Context(), Actor{Roles: models.Roles{models.Office}}, "person", p.ID, store.Page{})
	wantCode(t, err, models.Forbidden)
}
