package store

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/pressly/goose/v3"
	"gorm.io/gorm"

	"overhang/analytics/units"
	"overhang/migrations"
	"overhang/models"
)

// everyTable is one value of each kind of row, so that a column that stands in
// only one of the struct and the schema is found.
var everyTable = []any{
	&models.Company{}, &models.Branch{}, &models.Person{}, &models.Session{}, &models.SignInAttempt{}, &models.OneTimeLink{},
	&models.House{}, &models.Address{}, &models.Contact{}, &models.Holding{},
	&models.Structure{}, &models.Attic{}, &models.Slope{}, &models.Vent{}, &models.GutterRun{}, &models.Detail{},
	&models.Covering{}, &models.Roof{}, &models.RoofSlope{}, &models.Crew{}, &models.CrewMember{}, &models.Job{}, &models.JobRoof{},
	&models.Lot{}, &models.Subcontract{}, &models.Declined{}, &models.Terms{}, &models.Warranty{}, &models.Plan{},
	&models.Callback{}, &models.CallbackStep{}, &models.Call{}, &models.CostLine{}, &models.Claim{}, &models.Storm{}, &models.Visit{}, &models.Showing{}, &models.Finding{}, &models.Estimate{},
	&models.Prospect{}, &models.Knock{}, &models.StopEntry{}, &models.Photo{}, &models.AuditEntry{}, &models.JobRun{}, &models.Import{},
	&models.Practice{}, &models.Certificate{}, &models.Scenario{},
	&models.Watch{}, &models.LifeFit{},
	&models.ClosedMonth{}, &models.ClosedProvision{}, &models.BookedEntry{},
}

var tester = By{Name: "a test"}

func openTest(t *testing.T) *Store {
	t.Helper()
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "records.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func write(t *testing.T, s *Store, fn func(*Tx) error) {
	t.Helper()
	if err := s.Write(t.Context(), tester, fn); err != nil {
		t.Fatal(err)
	}
}

func addHouse(t *testing.T, s *Store, ref string) *models.House {
	t.Helper()
	h := &models.House{Ref: ref}
	write(t, s, func(tx *Tx) error {
		var branch models.Branch
		found, err := List[models.Branch](tx.Query, "id", "")
		if err != nil {
			return err
		}
		if len(found) > 0 {
			branch = found[0]
		} else {
			branch = testBranch()
			if err := tx.Create(&branch); err != nil {
				return err
			}
		}
		h.BranchID = branch.ID
		return tx.Create(h)
	})
	return h
}

func testBranch() models.Branch {
	return models.Branch{Name: "Main", Units: units.US, BuildingCode: "irc_2021", SeasonFrom: "04-15", SeasonTo: "11-15",
		FiscalYearStart: 1, TimeZone: "America/Denver", Language: "en", Currency: "$", VisitsPerDay: 8, CheckupEveryMths: 12,
		StormLookDays: 14, NeighbourRadius: 300, StandingLagYears: 2}
}

func TestEveryColumnHasItsField(t *testing.T) {
	s := openTest(t)
	tables, err := Rows[struct{ Name string }](s.Query(t.Context()),
		"SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'goose_%'")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, row := range everyTable {
		stmt := &gorm.Statement{DB: s.reads}
		if err := stmt.Parse(row); err != nil {
			t.Fatal(err)
		}
		columns, err := Rows[struct{ Name string }](s.Query(t.Context()), "SELECT name FROM pragma_table_info(?)", stmt.Schema.Table)
		if err != nil {
			t.Fatal(err)
		}
		var have []string
		for _, c := range columns {
			have = append(have, c.Name)
		}
		want := slices.Clone(stmt.Schema.DBNames)
		slices.Sort(have)
		slices.Sort(want)
		if !slices.Equal(have, want) {
			t.Errorf("table %s has the columns %v, its struct %v", stmt.Schema.Table, have, want)
		}
		seen[stmt.Schema.Table] = true
	}
	for _, table := range tables {
		if !seen[table.Name] {
			t.Errorf("table %s has no struct in this test", table.Name)
		}
	}
}

func TestEveryForeignKeyIsIndexedOrUnimportant(t *testing.T) {
	s := openTest(t)
	// Every statement below must be answered by an index: these are the
	// listings of the pages.
	for _, statement := range []string{
		"SELECT * FROM roofs WHERE house_id = 1",
		"SELECT * FROM roofs WHERE ours = 1 AND ended_on IS NULL ORDER BY laid_on",
		"SELECT * FROM addresses WHERE house_id = 1",
		"SELECT * FROM houses WHERE lat BETWEEN 1 AND 2",
		"SELECT * FROM warranties WHERE roof_id = 1",
		"SELECT * FROM callbacks WHERE state = 'new' ORDER BY learned_on",
		"SELECT * FROM cost_lines WHERE callback_id = 1",
		"SELECT * FROM callback_steps WHERE callback_id = 1",
		"SELECT * FROM claims WHERE callback_id = 1",
		"SELECT * FROM visits WHERE booked_for = '2026-11-25' ORDER BY place_in_day",
		"SELECT * FROM findings WHERE visit_id = 1",
		"SELECT * FROM estimates WHERE roof_id = 1 ORDER BY as_of",
		"SELECT * FROM holdings WHERE house_id = 1",
		"SELECT * FROM audit_entries WHERE record = 'roof' AND record_id = 1 ORDER BY id",
	} {
		plan, err := Rows[struct{ Detail string }](s.Query(t.Context()), "EXPLAIN QUERY PLAN "+statement)
		if err != nil {
			t.Fatal(err)
		}
		for _, step := range plan {
			if strings.HasPrefix(step.Detail, "SCAN") || strings.Contains(step.Detail, "TEMP B-TREE") {
				t.Errorf("%s: %s", statement, step.Detail)
			}
		}
	}
}

func TestConnectionSettings(t *testing.T) {
	s := openTest(t)
	for i, want := range []map[string]string{
		{"foreign_keys": "1", "journal_mode": "wal", "synchronous": "2", "busy_timeout": "5000"},
		{"foreign_keys": "1", "journal_mode": "wal", "query_only": "1", "busy_timeout": "5000"},
	} {
		// Several connections at once, so that a setting made on one of them
		// only would be found.
		var conns []*sql.Conn
		for range min(4, s.pools[i].Stats().MaxOpenConnections) {
			c, err := s.pools[i].Conn(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			conns = append(conns, c)
			for name, value := range want {
				var got string
				if err := c.QueryRowContext(t.Context(), "PRAGMA "+name).Scan(&got); err != nil || got != value {
					t.Errorf("pool %d: %s is %q, want %q (%v)", i, name, got, value, err)
				}
			}
		}
		for _, c := range conns {
			c.Close()
		}
	}
}

func TestUpdateTellsTheSecond(t *testing.T) {
	s := openTest(t)
	house := addHouse(t, s, "H-1")
	first, err := Get[models.House](s.Query(t.Context()), house.ID)
	if err != nil {
		t.Fatal(err)
	}
	second := *first

	first.Cladding = "stucco"
	write(t, s, func(tx *Tx) error { return tx.Update(first) })

	second.SiteNotes = "dog in the yard"
	err = s.Write(t.Context(), tester, func(tx *Tx) error { return tx.Update(&second) })
	if models.CodeOf(err) != models.Conflict {
		t.Fatalf("the second edit gave %v, want a conflict", err)
	}
	kept, err := Get[models.House](s.Query(t.Context()), house.ID)
	if err != nil || kept.Cladding != "stucco" || kept.SiteNotes != "" || kept.Version != 2 {
		t.Fatalf("kept %+v, %v", kept, err)
	}
	// A change back to unknown is a change, and nothing changed is none.
	kept.Cladding = ""
	write(t, s, func(tx *Tx) error { return tx.Update(kept) })
	write(t, s, func(tx *Tx) error { return tx.Update(kept) })
	again, _ := Get[models.House](s.Query(t.Context()), house.ID)
	if again.Cladding != "" || again.Version != 3 {
		t.Fatalf("kept %+v", again)
	}
	trail, err := List[models.AuditEntry](s.Query(t.Context()), "id", "record = 'house' AND record_id = ?", house.ID)
	if err != nil || len(trail) != 3 {
		t.Fatalf("the trail has %d entries, %v", len(trail), err)
	}
	if trail[1].Changes != `{"cladding":["","stucco"]}` || trail[1].By != "a test" {
		t.Errorf("the trail says %+v", trail[1])
	}
}

func TestAuditKeepsNoPassword(t *testing.T) {
	s := openTest(t)
	p := &models.Person{Email: "a@example.org", Name: "A", PasswordHash: "hash-one", Roles: models.Roles{models.Owner}}
	write(t, s, func(tx *Tx) error { return tx.Create(p) })
	p.PasswordHash = "hash-two"
	write(t, s, func(tx *Tx) error { return tx.Update(p) })
	trail, err := List[models.AuditEntry](s.Query(t.Context()), "id", "record = 'person'")
	if err != nil || len(trail) != 2 {
		t.Fatalf("%d entries, %v", len(trail), err)
	}
	for _, e := range trail {
		if strings.Contains(e.Changes, "hash-") || !strings.Contains(e.Changes, "password_hash") {
			t.Errorf("the trail says %s", e.Changes)
		}
	}
}

func TestNothingIsHalfWritten(t *testing.T) {
	s := openTest(t)
	addHouse(t, s, "H-1")
	err := s.Write(t.Context(), tester, func(tx *Tx) error {
		if err := tx.Create(&models.Contact{Ref: "C-1", Name: "Somebody"}); err != nil {
			return err
		}
		return tx.Create(&models.Roof{Ref: "R-1", HouseID: 99, Laid: units.Dated{On: units.NewDate(2014, 6, 1), Precision: units.ToDay}})
	})
	if models.CodeOf(err) != models.Invalid {
		t.Errorf("a roof on no house gave %v", err)
	}
	if n, _ := Count[models.Contact](s.Query(t.Context()), ""); n != 0 {
		t.Error("the contact stayed")
	}
	err = s.Write(t.Context(), tester, func(tx *Tx) error { return tx.Create(&models.House{Ref: "H-1", BranchID: 1}) })
	if models.CodeOf(err) != models.Conflict {
		t.Errorf("a second H-1 gave %v", err)
	}
}

func TestChecksInTheSchema(t *testing.T) {
	s := openTest(t)
	addHouse(t, s, "H-1")
	for _, statement := range []string{
		"UPDATE houses SET cladding = 'straw'",
		"UPDATE houses SET lat = 40",
		"UPDATE houses SET ended_on = '1/2/2020'",
		"UPDATE branches SET units = 'cubits'",
		"DELETE FROM branches",
	} {
		if err := s.Write(t.Context(), tester, func(tx *Tx) error { _, err := tx.Exec(statement); return err }); err == nil {
			t.Errorf("%s was taken", statement)
		}
	}
}

func TestNewerSchemaIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.pools[0].Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)"); err != nil {
		t.Fatal(err)
	}
	s.Close()
	if _, err := Open(t.Context(), path); !errors.Is(err, ErrNewerSchema) {
		t.Fatalf("a newer schema gave %v", err)
	}
}

func TestUpgradeOfAnOlderFile(t *testing.T) {
	files, err := fs.Sub(migrations.SQLite, "sqlite")
	if err != nil {
		t.Fatal(err)
	}
	schemaOf := func(s *Store) []string {
		rows, err := Rows[struct{ SQL string }](s.Query(t.Context()), "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY type, name")
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, r := range rows {
			out = append(out, r.SQL)
		}
		return out
	}
	fresh := schemaOf(openTest(t))

	path := filepath.Join(t.TempDir(), "older.db")
	old, err := open(path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, old.pools[0], files, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(t.Context(), 2); err != nil {
		t.Fatal(err)
	}
	rows, err := os.ReadFile("testdata/version_2.sql")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := old.pools[0].ExecContext(t.Context(), string(rows)); err != nil {
		t.Fatal(err)
	}
	old.Close()

	s, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := First[models.House](s.Query(t.Context()), "ref = ?", "H-old"); err != nil {
		t.Errorf("the house of the older file: %v", err)
	}
	if b, err := First[models.Branch](s.Query(t.Context()), "id = 1"); err != nil || b.BuildingCode != "irc_2015" || b.HighVentsThere || b.DesignRain != nil {
		t.Errorf("the branch of the older file: %+v, %v", b, err)
	}
	if c, err := First[models.Company](s.Query(t.Context()), "id = 1"); err != nil || c.ShownSince < units.NewDate(2026, time.January, 1) || c.LookDays != 0 {
		t.Errorf("the company of the older file: %+v, %v", c, err)
	}
	v, err := First[models.Vent](s.Query(t.Context()), "name = ?", "roof boxes")
	if err != nil || v.ID != 7 || v.Version != 3 || v.Kind != "box" || *v.Count != 6 || *v.FreeArea != 0.032 || *v.Blocked != 0.25 || v.FanFlow != nil {
		t.Errorf("the vent of the older file: %+v, %v", v, err)
	}
	if got := schemaOf(s); !slices.Equal(got, fresh) {
		t.Errorf("the upgraded schema differs from a fresh one:\n%v\n%v", got, fresh)
	}
}

func TestReadersAndWritersSideBySide(t *testing.T) {
	s := openTest(t)
	house := addHouse(t, s, "H-1")
	var wait sync.WaitGroup
	errs := make(chan error, 64)
	for range 8 {
		wait.Go(func() {
			for range 25 {
				// Reading and then writing is what fails on a deferred transaction.
				errs <- s.Write(context.Background(), tester, func(tx *Tx) error {
					h, err := Get[models.House](tx.Query, house.ID)
					if err != nil {
						return err
					}
					n := 1
					if h.BuildYear != nil {
						n = *h.BuildYear - 1899
					}
					n += 1900
					h.BuildYear = &n
					return tx.Update(h)
				})
				_, err := Get[models.House](s.Query(context.Background()), house.ID)
				errs <- err
			}
		})
	}
	go func() { wait.Wait(); close(errs) }()
	for err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
	kept, err := Get[models.House](s.Query(t.Context()), house.ID)
	if err != nil || *kept.BuildYear != 1900+200 || kept.Version != 201 {
		t.Fatalf("200 changes left the year %d and version %d, %v", *kept.BuildYear, kept.Version, err)
	}
}

func TestMomentsAreUTC(t *testing.T) {
	s := openTest(t)
	zone := time.FixedZone("", -7*3600)
	s.Now = func() time.Time { return time.Date(2026, 11, 25, 20, 0, 0, 0, zone) }
	addHouse(t, s, "H-1")
	rows, err := Rows[struct{ At string }](s.Query(t.Context()), "SELECT CAST(created_at AS TEXT) AS at FROM houses")
	if err != nil || !strings.HasPrefix(rows[0].At, "2026-11-26 03:00:00") || !strings.HasSuffix(rows[0].At, "+00:00") {
		t.Fatalf("kept %v, %v", rows, err)
	}
}

func TestBackup(t *testing.T) {
	s := openTest(t)
	addHouse(t, s, "H-1")
	copyPath := filepath.Join(t.TempDir(), "copy.db")
	if err := s.Backup(t.Context(), copyPath); err != nil {
		t.Fatal(err)
	}
	if err := s.Backup(t.Context(), copyPath); models.CodeOf(err) != models.Conflict {
		t.Errorf("writing over a backup gave %v", err)
	}
	c, err := Open(t.Context(), copyPath)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if n, err := Count[models.House](c.Query(t.Context()), ""); n != 1 || err != nil {
		t.Errorf("the copy has %d houses, %v", n, err)
	}
}

func TestManyRows(t *testing.T) {
	s := openTest(t)
	first := addHouse(t, s, "H-0")
	houses := make([]models.House, 1234)
	for i := range houses {
		houses[i] = models.House{Ref: "N-" + time.Duration(i).String(), BranchID: first.BranchID}
	}
	write(t, s, func(tx *Tx) error { return CreateAll(tx, houses) })
	var ids []int64
	for _, h := range houses {
		ids = append(ids, h.ID)
	}
	back, err := ListIn[models.House](s.Query(t.Context()), "id", ids)
	if err != nil || len(back) != len(houses) {
		t.Fatalf("%d came back, %v", len(back), err)
	}
	if n, _ := Count[models.AuditEntry](s.Query(t.Context()), "record = 'house'"); n != len(houses)+1 {
		t.Errorf("the trail has %d entries", n)
	}
}

// There is one showing of a person and a roof: of the days on which the estimate was
// shown the latest stands, and what was said beside it is not touched by that.
func TestShowings(t *testing.T) {
	s := openTest(t)
	house := addHouse(t, s, "H-1")
	person := &models.Person{Email: "a@example.org", Name: "A", PasswordHash: "x", Roles: models.Roles{models.Owner}}
	laid := units.Dated{On: units.NewDate(2008, time.July, 1), Precision: units.About}
	roofs := []models.Roof{{Ref: "R-1", HouseID: house.ID, Laid: laid}, {Ref: "R-2", HouseID: house.ID, Laid: laid}}
	write(t, s, func(tx *Tx) error {
		if err := tx.Create(person); err != nil {
			return err
		}
		return CreateAll(tx, roofs)
	})
	day := units.NewDate(2026, time.June, 1)
	for _, step := range []struct {
		name string
		do   func(tx *Tx) error
		want models.Showing // of the first roof
	}{
		{"shown", func(tx *Tx) error { return tx.Shown(person.ID, 1, day) }, models.Showing{ShownOn: day}},
		{"shown on an earlier day", func(tx *Tx) error { return tx.Shown(person.ID, 1, day-3) }, models.Showing{ShownOn: day}},
		{"shown on a later day", func(tx *Tx) error { return tx.Shown(person.ID, 1, day+3) }, models.Showing{ShownOn: day + 3}},
		{"said", func(tx *Tx) error { return tx.SayLook(person.ID, 1, models.SaidLooks, day+4) }, models.Showing{ShownOn: day + 3, Said: models.SaidLooks, SaidOn: day + 4}},
		{"shown after that", func(tx *Tx) error { return tx.Shown(person.ID, 1, day+5) }, models.Showing{ShownOn: day + 5, Said: models.SaidLooks, SaidOn: day + 4}},
		{"said otherwise", func(tx *Tx) error { return tx.SayLook(person.ID, 1, models.SaidLooksNot, day+6) }, models.Showing{ShownOn: day + 5, Said: models.SaidLooksNot, SaidOn: day + 6}},
		{"said of another roof", func(tx *Tx) error { return tx.SayLook(person.ID, 2, models.SaidLooks, day) }, models.Showing{ShownOn: day + 5, Said: models.SaidLooksNot, SaidOn: day + 6}},
		{"taken back", func(tx *Tx) error { return tx.SaidNothing(person.ID, []int64{1, 2}) }, models.Showing{ShownOn: day + 5}},
	} {
		write(t, s, step.do)
		got, err := ShowingsOf(s.Query(t.Context()), person.ID, house.ID)
		if err != nil {
			t.Fatal(err)
		}
		step.want.PersonID, step.want.RoofID = person.ID, 1
		if got[1] != step.want {
			t.Errorf("%s: kept is %+v, want %+v", step.name, got[1], step.want)
		}
	}
	for since, want := range map[units.Date]bool{day + 5: true, day + 6: false} {
		if got, err := ShownSince(s.Query(t.Context()), person.ID, []int64{1, 2}, since); err != nil || got[1] != want || got[2] {
			t.Errorf("shown since %s: %v, %v", since, got, err)
		}
	}
}
