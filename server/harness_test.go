package server

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/alexedwards/argon2id"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
)

// site is a whole server over a small company, with a clock that a test moves
// and a log that it reads. It begins with one record of each kind, numbered 1:
// house 1 with roof 1, which we laid, and house 2 with roof 2, which we did not.
// Each role has a person whose email is ROLE@example.org.
type site struct {
	t *testing.T
	*Server
	log    *lines
	clock  *clock
	people map[models.Role]*models.Person
}

const testPassword = "four walls and a lid"

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

// lines is a log that may be read while it is written.
type lines struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// testRenderer is parsed once: the templates are the same for every site.
var testRenderer = sync.OnceValues(views.New)

// emptySite is a server over a database in which nothing is.
func emptySite(t *testing.T, options Options, more ...Route) *site {
	t.Helper()
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "records.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	s := &site{t: t, log: &lines{}, people: map[models.Role]*models.Person{},
		clock: &clock{now: time.Date(2026, 6, 10, 15, 0, 0, 0, time.UTC)}}
	svc := service.New(st, slog.New(slog.NewJSONHandler(s.log, &slog.HandlerOptions{Level: slog.LevelDebug})), s.clock.Now)
	renderer, err := testRenderer()
	if err != nil {
		t.Fatal(err)
	}
	if s.Server, err = newServer(svc, renderer, options, more...); err != nil {
		t.Fatal(err)
	}
	return s
}

// newSite is a server over a small company.
func newSite(t *testing.T, more ...Route) *site {
	t.Helper()
	s := emptySite(t, Options{}, more...)
	err := s.service.Store.Write(t.Context(), store.By{Name: "a test"}, s.seed)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func ptr[T any](v T) *T { return &v }

// seed writes the records that the examples of the route table speak of.
func (s *site) seed(tx *store.Tx) error {
	// A cheap hash: checking it as slowly as a real one would slow every test.
	hash, err := argon2id.CreateHash(testPassword, &argon2id.Params{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32})
	if err != nil {
		return err
	}
	for _, role := range models.AllRoles {
		s.people[role] = &models.Person{Email: string(role) + "@example.org", Name: "The " + string(role), PasswordHash: hash, Roles: models.Roles{role}}
		if err := tx.Create(s.people[role]); err != nil {
			return err
		}
	}
	day := units.NewDate(2026, time.June, 1)
	records := []models.Record{
		&models.Company{Name: "Larch Valley Roofing", RingBackHours: 24},
		&models.Branch{Name: "Main", Units: units.US, BuildingCode: "irc_2021", SeasonFrom: "04-15", SeasonTo: "11-15",
			Lat: ptr(44.0), Lon: ptr(-114.0), FiscalYearStart: 1, TimeZone: "America/Denver", Language: "en", Currency: "$", VisitsPerDay: 8,
			CheckupEveryMths: 12, StormLookDays: 14, NeighbourRadius: 300 * units.Metre, StandingLagYears: 2},
		&models.House{Ref: "H-1", BranchID: 1, Lat: ptr(44.001), Lon: ptr(-114.001), Neighbourhood: "Tarn Flats", BuildYear: ptr(1996), Cladding: "stucco"},
		&models.House{Ref: "H-2", BranchID: 1, Lat: ptr(44.0012), Lon: ptr(-114.0012), Neighbourhood: "Tarn Flats", BuildYear: ptr(1996), Cladding: "siding"},
		&models.Address{HouseID: 1, Number: "12", Street: "Larch Street", Town: "Tarn", Main: true},
		&models.Address{HouseID: 2, Number: "14", Street: "Larch Street", Town: "Tarn", Main: true},
		&models.Contact{Ref: "C-1", Name: "Odile Marchetti", Kind: "person", Phone: "555-0134"},
		&models.Holding{HouseID: 1, ContactID: 1, Role: "owner"},
		&models.Structure{HouseID: 1, Name: "House", Kind: "main"},
		&models.Attic{StructureID: 1, Name: "Main attic"},
		&models.Covering{Key: "laminated-30", Name: "Laminated shingle", Family: "asphalt_laminated"},
		&models.Roof{Ref: "R-1", HouseID: 1, StructureID: ptr[int64](1), CoveringID: ptr[int64](1), Ours: true,
			Laid: units.Dated{On: units.NewDate(2015, time.August, 3), Precision: units.ToDay}},
		&models.Roof{Ref: "R-2", HouseID: 2, Laid: units.Dated{On: units.NewDate(2004, time.July, 1), Precision: units.About}},
		&models.Crew{Name: "North crew"},
		&models.Job{Ref: "J-1", HouseID: 1, ClosedOn: units.NewDate(2015, time.August, 5)},
		&models.Terms{Key: "work-10", Name: "Ten years on our work", Kind: "workmanship", TermMonths: 240, FullMonths: 120,
			ShareMethod: "whole_term", Labour: true, Transfer: "once"},
		&models.Warranty{Ref: "W-1", RoofID: 1, JobID: ptr[int64](1), TermsID: 1, OwedBy: "us", StartOn: units.NewDate(2015, time.August, 5)},
		&models.Certificate{WarrantyID: 1, GivenOn: day, GivenTo: "Odile Marchetti", Body: models.JSON[models.CertificatePart]{{Heading: "Who promises", Paragraphs: []string{"We do."}}}},
		&models.Callback{Ref: "K-1", HouseID: ptr[int64](1), RoofID: ptr[int64](1), Caller: "Odile Marchetti", LearnedOn: day, State: "new"},
		&models.CostLine{CallbackID: 1, On: day, LearnedOn: day, Kind: "labour", Note: "Seen in passing"},
		&models.Claim{Ref: "C-1", CallbackID: 1, Against: "maker", Who: "Invented Shingle Works"},
		&models.Visit{Ref: "V-1", HouseID: 1, RoofID: ptr[int64](1), Purpose: "checkup", BookedFor: day + 14},
		&models.Storm{Ref: "S-1", Name: "The May hail", On: day - 10, Kind: "hail", HalfWidth: 500,
			Shape: models.JSON[models.LatLon]{{Lat: 43.99, Lon: -114.01}, {Lat: 44.01, Lon: -113.99}}},
		&models.Prospect{HouseID: 2, State: "not_called"},
		&models.Scenario{Name: "A hard winter", Kind: "ice_winter", Cause: "ice", Year: ptr(2027), RateTimes: 4, CostTimes: 1},
	}
	for _, rec := range records {
		if err := tx.Create(rec); err != nil {
			return err
		}
	}
	return nil
}

// browser sends requests as one browser does: it keeps cookies, and puts the
// token of the session into what it posts.
type browser struct {
	s       *site
	cookies map[string]string
	csrf    string
	header  http.Header // sent with every request
}

// stranger is a browser in which nobody is signed in.
func (s *site) stranger() *browser {
	return &browser{s: s, cookies: map[string]string{}, header: http.Header{"Accept": {"text/html"}}}
}

// as is a browser in which the role's person is signed in. It does not pass the
// sign-in page, which is slow and has tests of its own.
func (s *site) as(role models.Role) *browser {
	s.t.Helper()
	// As long as a real one, and another for each role.
	pad := func(with string) string { return (string(role) + strings.Repeat(with, 43))[:43] }
	token, csrf := pad("t"), pad("c")
	sum := sha256.Sum256([]byte(token))
	now := s.clock.Now()
	err := s.service.Store.Write(s.t.Context(), store.By{}, func(tx *store.Tx) error {
		return tx.Put(&models.Session{TokenHash: hex.EncodeToString(sum[:]), PersonID: s.people[role].ID, CSRF: csrf,
			CreatedAt: now, LastSeenAt: now, ExpiresAt: now.Add(24 * time.Hour)})
	})
	if err != nil {
		s.t.Fatal(err)
	}
	b := s.stranger()
	b.cookies["overhang_"+sessionCookie], b.csrf = token, csrf
	return b
}

// answer is what came back.
type answer struct {
	t      *testing.T
	Status int
	Header http.Header
	Body   string
}

// get asks for a page.
func (b *browser) get(path string) answer { return b.send("GET", path, nil) }

// post sends a form with the token of the session.
func (b *browser) post(path string, fields url.Values) answer {
	form := url.Values{"csrf": {b.csrf}}
	for name, values := range fields {
		form[name] = values
	}
	return b.send("POST", path, form)
}

func (b *browser) send(method, path string, form url.Values) answer {
	b.s.t.Helper()
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	req := httptest.NewRequest(method, path, body)
	for name, values := range b.header {
		req.Header[name] = values
	}
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	return b.do(req)
}

func (b *browser) do(req *http.Request) answer {
	b.s.t.Helper()
	for name, value := range b.cookies {
		req.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	res, err := b.s.app.Test(req, -1)
	if err != nil {
		b.s.t.Fatalf("%s %s: %v", req.Method, req.URL.Path, err)
	}
	defer res.Body.Close()
	content, err := io.ReadAll(res.Body)
	if err != nil {
		b.s.t.Fatal(err)
	}
	for _, c := range res.Cookies() {
		if c.MaxAge < 0 || (!c.Expires.IsZero() && c.Expires.Before(time.Now())) {
			delete(b.cookies, c.Name)
			continue
		}
		b.cookies[c.Name] = c.Value
	}
	return answer{t: b.s.t, Status: res.StatusCode, Header: res.Header, Body: string(content)}
}

// page parses the answer as HTML.
func (a answer) page() *goquery.Document {
	a.t.Helper()
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(a.Body))
	if err != nil {
		a.t.Fatal(err)
	}
	return doc
}

// text is the text of what a selector finds, with single spaces.
func (a answer) text(selector string) string {
	a.t.Helper()
	return strings.Join(strings.Fields(a.page().Find(selector).Text()), " ")
}

// want fails the test when the status is another.
func (a answer) want(status int) answer {
	a.t.Helper()
	if a.Status != status {
		a.t.Fatalf("the status is %d, want %d; main: %s", a.Status, status, a.text("main"))
	}
	return a
}

// leads fails the test when the answer does not lead on to that address.
func (a answer) leads(to string) answer {
	a.t.Helper()
	if got := a.Header.Get("Location"); a.Status != http.StatusSeeOther || got != to {
		a.t.Fatalf("the answer is %d and leads to %q, want %q; main: %s", a.Status, got, to, a.text("main"))
	}
	return a
}
