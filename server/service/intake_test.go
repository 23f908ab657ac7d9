package service

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/demo"
	"overhang/models/intake"
	"overhang/models/store"
)

var importer = Program("a test")

// emptyService opens a fresh store without a company, on a fixed day.
func emptyService(t testing.TB) *Service {
	t.Helper()
	st, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "records.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	now := time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)
	return New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), func() time.Time { return now })
}

// intakeService opens a fresh store with a company that has its settings.
func intakeService(t testing.TB) *Service {
	t.Helper()
	s := emptyService(t)
	err := s.Store.Write(context.Background(), store.By{Name: "a test"}, func(tx *store.Tx) error {
		if err := tx.Create(&models.Company{Name: "Invented Roofing", RingBackHours: 4}); err != nil {
			return err
		}
		return tx.Create(&models.Branch{Name: "Main", Units: "us", BuildingCode: "irc_2021", SeasonFrom: "04-15", SeasonTo: "11-15",
			FiscalYearStart: 1, TimeZone: "America/Denver", Language: "en", Currency: "$", VisitsPerDay: 8, CheckupEveryMths: 12,
			StormLookDays: 14, NeighbourRadius: 300, StandingLagYears: 2})
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func readIn(t testing.TB, s *Service, kind, file string) intake.Report {
	t.Helper()
	return readAs(t, s, importer, kind, file, false)
}

func readAs(t testing.TB, s *Service, who Actor, kind, file string, dryRun bool) intake.Report {
	t.Helper()
	r, err := s.Import(context.Background(), who, kind, kind+".csv", strings.NewReader(file), dryRun, nil)
	if err != nil {
		t.Fatalf("%s: %v", kind, err)
	}
	return r
}

func told(r intake.Report) string {
	var b strings.Builder
	r.WriteText(&b)
	return b.String()
}

func mustRead(t testing.TB, s *Service, kind, file string) intake.Report {
	t.Helper()
	r := readIn(t, s, kind, file)
	if !r.OK() || !r.Written {
		t.Fatalf("refused:\n%s", told(r))
	}
	return r
}

func auditRows(t testing.TB, s *Service) int {
	t.Helper()
	n, err := store.Count[models.AuditEntry](s.Store.Query(context.Background()), "")
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func templates(t testing.TB, s *Service) {
	t.Helper()
	for _, k := range intake.Kinds() {
		file, err := intake.Template(k.Name)
		if err != nil {
			t.Fatal(err)
		}
		mustRead(t, s, k.Name, string(file))
	}
}

func export(t testing.TB, s *Service, kind string) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.Export(context.Background(), importer, kind, &b); err != nil {
		t.Fatalf("%s: %v", kind, err)
	}
	return b.String()
}

func TestTemplatesReadInTwice(t *testing.T) {
	s := intakeService(t)
	for _, k := range intake.Kinds() {
		file, err := intake.Template(k.Name)
		if err != nil {
			t.Fatal(err)
		}
		// A structure that another file named first may stand there already.
		if r := mustRead(t, s, k.Name, string(file)); r.Total != 2 || r.New == 0 || r.Changed > 0 {
			t.Errorf("the template of %s: %s", k.Name, told(r))
		}
	}
	before := auditRows(t, s)
	for _, k := range intake.Kinds() {
		file, _ := intake.Template(k.Name)
		if r := mustRead(t, s, k.Name, string(file)); r.Same != 2 {
			t.Errorf("read again:\n%s", told(r))
		}
	}
	if after := auditRows(t, s); after != before {
		t.Errorf("reading the same files again wrote %d audit entries", after-before)
	}
	n, err := store.Count[models.Import](s.Store.Query(t.Context()), "length(sha256) = 64 AND by_name = 'a test'")
	if err != nil || n != 2*len(intake.Kinds()) {
		t.Errorf("%d imports are noted (%v)", n, err)
	}
	versions, err := store.Count[models.House](s.Store.Query(t.Context()), "version <> 1")
	if err != nil || versions != 0 {
		t.Errorf("%d houses have a new version (%v)", versions, err)
	}
}

func TestExportReadsBackUnchangedAndIntoAFreshStore(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	before := auditRows(t, s)
	fresh := intakeService(t)
	files := map[string]string{}
	for _, k := range intake.Kinds() {
		files[k.Name] = export(t, s, k.Name)
		if r := mustRead(t, s, k.Name, files[k.Name]); r.New != 0 || r.Changed != 0 || r.Same == 0 {
			t.Errorf("read back:\n%s", told(r))
		}
		mustRead(t, fresh, k.Name, files[k.Name])
	}
	if after := auditRows(t, s); after != before {
		t.Errorf("reading back wrote %d audit entries", after-before)
	}
	for _, k := range intake.Kinds() {
		if got := export(t, fresh, k.Name); got != files[k.Name] {
			t.Errorf("%s from the fresh store:\n%s\nnot\n%s", k.Name, got, files[k.Name])
		}
	}
	// The other units say the same.
	branch, err := store.First[models.Branch](s.Store.Query(t.Context()), "1 = 1")
	if err != nil {
		t.Fatal(err)
	}
	branch.Units = "metric"
	if err := s.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Update(branch) }); err != nil {
		t.Fatal(err)
	}
	for kind, column := range map[string]string{"roofs": "area_m2", "slopes": "overhang_mm", "callbacks": "relaid_area_m2", "vents": "free_area_cm2_per_m", "attics": "insulation_rsi"} {
		file := export(t, s, kind)
		if !strings.Contains(file, column) || strings.Contains(file, "_ft2") {
			t.Errorf("%s in metric units: %s", kind, file)
		}
		if r := mustRead(t, s, kind, file); r.New+r.Changed != 0 {
			t.Errorf("read back in metric units:\n%s", told(r))
		}
	}
}

func TestReferencesAndRulesOfRows(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	for _, c := range []struct {
		kind, file string
		line       int
		field      string
		rule       string
	}{
		{"roofs", "ref,house_ref,laid,ours\nR-9,H-9,2010,yes\n", 2, "house_ref", "no such house"},
		{"roofs", "ref,house_ref,laid,ours,covering\nR-9,H-0001,2010,yes,thatch\n", 2, "covering", "no such covering"},
		{"roofs", "ref,house_ref,laid,ours,structure\nR-9,H-0001,2010,yes,tower\n", 2, "structure", "no such structure"},
		{"roofs", "ref,house_ref,ours\nR-9,H-0001,yes\n", 2, "laid", "year it was laid is needed"},
		{"roofs", "ref,house_ref,laid\nR-9,H-0001,2010\n", 2, "ours", "needed in a new row"},
		{"roofs", "ref,house_ref,laid,ours,area_squares\nR-9,H-0001,2010,yes,9000000\n", 2, "area_squares", "must lie between"},
		{"roofs", "ref,ended_on\nR-0001,2026-01-01\n", 2, "end_reason", "has a reason"},
		{"roofs", "ref,ended_on,end_reason\nR-0001,2001-01-01,storm\n", 2, "ended_on", "before it was laid"},
		{"warranties", "ref,roof_ref,terms,start_on\nW-9,R-9,our-work-10,2020-01-01\n", 2, "roof_ref", "no such roof"},
		{"warranties", "ref,roof_ref,terms,start_on\nW-9,R-0001,forever,2020-01-01\n", 2, "terms", "no such terms"},
		{"warranties", "ref,terms,start_on\nW-9,our-work-10,2020-01-01\n", 2, "roof_ref", "needs its roof"},
		{"jobs", "ref,house_ref,roof_refs\nJ-9,H-0002,R-0001\n", 2, "roof_refs", "another house"},
		{"jobs", "ref,house_ref,roof_refs\nJ-9,H-0001,R-0001|R-9\n", 2, "roof_refs", "no such roof"},
		{"jobs", "ref,house_ref,price,holdback\nJ-9,H-0001,10,20\n", 2, "holdback", "more than the price"},
		{"slopes", "house_ref,name,attic\nH-0001,west,loft\n", 2, "attic", "no such attic"},
		{"slopes", "house_ref,name,roof_refs\nH-0002,west,R-0001\n", 2, "roof_refs", "another house"},
		{"vents", "house_ref,structure,name,kind,height\nH-0001,tower,boxes,box,high\n", 2, "structure", "no such structure"},
		{"vents", "house_ref,name,kind,height,free_area_in2,free_area_in2_per_ft\nH-0001,boxes,box,high,50,9\n", 2, "free_area_in2_per_ft", "one of them"},
		{"vents", "house_ref,name,kind,height,length_ft,free_area_in2\nH-0001,long,ridge,high,30,50\n", 2, "free_area_in2", "stamped by its run"},
		{"vents", "house_ref,name,kind,height,free_area_in2_per_ft\nH-0001,long,ridge,high,18\n", 2, "free_area_in2_per_ft", "stamped singly"},
		{"gutters", "house_ref,name,slope\nH-0001,side,west\n", 2, "slope", "no such slope"},
		{"details", "house_ref,name,kind,slope\nH-0001,side,valley,west\n", 2, "slope", "no such slope"},
		{"callbacks", "ref,learned_on,return_of,caller\nB-9,2024-01-01,B-7,Kim\n", 2, "return_of", "no such callback"},
		{"callbacks", "ref,learned_on,return_of,caller\nB-9,2024-01-01,B-9,Kim\n", 2, "return_of", ""},
		{"callbacks", "ref,learned_on,house_ref,roof_ref\nB-9,2024-01-01,H-0002,R-0001\n", 2, "roof_ref", "another house"},
		{"callbacks", "ref,learned_on\nB-9,2024-01-01\n", 2, "caller", "a house, or a caller"},
		{"callbacks", "ref,learned_on,caller,state\nB-9,2024-01-01,Kim,closed\n", 2, "closed_on", "set when the callback is closed"},
		{"callbacks", "ref,relaid,relaid_area_ft2\nB-0002,part,40\n", 2, "relaid", "give the day of the repair"},
		{"callbacks", "ref,relaid\nB-0001,half\n", 2, "relaid", "must be one of part, whole_slope"},
		{"callbacks", "ref,relaid,relaid_area_ft2\nB-0001,whole_slope,40\n", 2, "relaid_area_ft2", "is of a part"},
		{"callbacks", "ref,relaid_slope\nB-0001,H-0001/main/west\n", 2, "relaid_slope", "no such slope"},
		{"callbacks", "ref,house_ref,learned_on,repaired_on,relaid,relaid_slope\nB-9,H-0002,2024-01-01,2024-01-02,whole_slope,H-0001/main/south\n", 2, "relaid_slope", "another house"},
		{"costs", "callback_ref,on,kind,nth,amount\nB-0001,2021-03-12,labour,3,10\n", 2, "nth", "not the next"},
		{"costs", "callback_ref,on,kind,amount\nB-0001,2021-03-13,recovery,10\n", 2, "amount", "negative"},
		{"costs", "callback_ref,on,kind,amount\nB-9,2021-03-13,labour,10\n", 2, "callback_ref", "no such callback"},
		{"costs", "callback_ref,on,kind,amount\nB-0001,2021-03-12,labour,292.51\n", 2, "amount", "of a kept line does not change"},
		{"costs", "callback_ref,on,kind,amount\nB-0001,2021-03-12,labour,0\n", 2, "amount", "of a kept line does not change"},
		{"costs", "callback_ref,on,kind,tax\nB-0001,2021-03-12,labour,1\n", 2, "tax", "of a kept line does not change"},
		{"costs", "callback_ref,on,kind,hours\nB-0001,2021-03-12,labour,4\n", 2, "hours", "of a kept line does not change"},
		{"costs", "callback_ref,on,kind,hours\nB-0001,2021-03-12,labour,-\n", 2, "hours", "of a kept line does not change"},
		{"costs", "callback_ref,on,kind,bearer\nB-0001,2021-03-12,labour,owner\n", 2, "bearer", "of a kept line does not change"},
		{"costs", "callback_ref,on,kind,learned_on\nB-0001,2021-03-12,labour,2021-03-13\n", 2, "learned_on", "of a kept line does not change"},
		{"costs", "callback_ref,on,kind,corrects\nB-0001,2021-04-02,recovery,2021-03-12 labour 1\n", 2, "corrects", "of a kept line does not change"},
		{"callback_steps", "callback_ref,on,kind,note\nB-0001,2021-03-05,looked,lap\n", 2, "note", "of a kept step does not change"},
		{"callback_steps", "callback_ref,on,kind,learned_on\nB-0001,2021-03-05,looked,2021-03-06\n", 2, "learned_on", "of a kept step does not change"},
		{"callback_steps", "callback_ref,on,kind,by_name\nB-0001,2021-03-05,looked,-\n", 2, "by_name", "of a kept step does not change"},
		{"callback_steps", "callback_ref,on,kind,claim_ref\nB-0001,2021-04-01,claim_filed,-\n", 2, "claim_ref", "of a kept step does not change"},
		{"callback_steps", "callback_ref,on,kind,claim_ref\nB-0002,2021-04-12,claim_filed,K-0001\n", 2, "claim_ref", "for another callback"},
		{"callback_steps", "callback_ref,on,kind,claim_ref\nB-0001,2021-04-12,claim_filed,K-9\n", 2, "claim_ref", "no such claim"},
		{"callback_steps", "callback_ref,on,kind\nB-9,2021-04-12,looked\n", 2, "callback_ref", "no such callback"},
		{"callback_steps", "callback_ref,on,kind\nB-0001,2021-04-12,slept\n", 2, "kind", "must be one of"},
		{"callback_steps", "callback_ref,on,kind,nth\nB-0001,2021-03-05,looked,3\n", 2, "nth", "not the next"},
		{"callback_steps", "callback_ref,on,kind,learned_on\nB-0001,2021-04-12,looked,2021-04-11\n", 2, "learned_on", "must not be before"},
		{"calls", "rang_at,caller\n2021-03-02,Kim\n", 2, "rang_at", "write day, time and offset"},
		{"calls", "rang_at,about\n2021-03-04T16:40:00Z,Again\n", 2, "caller", "a name or a telephone number"},
		{"calls", "rang_at,nth,caller\n2021-03-02T16:40:00Z,3,Kim\n", 2, "nth", "not the next"},
		{"calls", "rang_at,caller,callback_ref\n2021-03-04T16:40:00Z,Kim,B-9\n", 2, "callback_ref", "no such callback"},
		{"visits", "ref,house_ref,purpose,done_on\nV-9,H-0001,checkup,2024-01-01\n", 2, "method", "how it was looked at"},
		{"visits", "ref,house_ref,purpose,done_on,method\nV-9,H-0001,checkup,2026-11-26,walked\n", 2, "done_on", "must not lie ahead"},
		{"visits", "ref,house_ref,purpose,booked_for,storm_ref\nV-9,H-0001,storm_look,2024-01-01,S-9\n", 2, "storm_ref", "no such storm"},
		{"visits", "ref,in_sight\nV-0001,south|west\n", 2, "in_sight", "no such slope"},
		{"visits", "ref,in_sight\nV-0001,tower/south\n", 2, "in_sight", "no such slope"},
		{"visits", "ref,in_sight\nV-0001,south|south\n", 2, "in_sight", "twice"},
		{"visits", "ref,in_sight\nV-0001,south|main/south\n", 2, "in_sight", "twice"},
		{"visits", "ref,in_sight\nV-0001,none|south\n", 2, "in_sight", "stands alone"},
		{"findings", "visit_ref,defect,look\nV-9,granule_loss,none\n", 2, "visit_ref", "no such visit"},
		{"findings", "visit_ref,defect,look\nV-0001,moss_on_cat,none\n", 2, "defect", "catalogue"},
		{"findings", "visit_ref,slope,defect,look\nV-0001,west,granule_loss,none\n", 2, "slope", "no such slope"},
		{"findings", "visit_ref,defect,look\nV-0001,granule_loss,seen\n", 2, "severity", "needs its severity"},
		{"watches", "neighbourhood,from_on\nLarkspur,2026-11-26\n", 2, "from_on", "must not lie ahead"},
		{"watches", "neighbourhood,from_on,to_on\nLarkspur,2016-05-01,2026-11-26\n", 2, "to_on", "must not lie ahead"},
		{"watches", "neighbourhood,from_on,to_on\nLarkspur,2016-05-01,2016-04-30\n", 2, "to_on", "must not be before"},
		{"watches", "neighbourhood,from_on\nLarkspur,2020-01-01\n", 2, "from_on", "began on 2019-04-01"},
		{"watches", "neighbourhood,from_on,to_on\nLarkspur,2018-10-31,2018-11-30\n", 2, "from_on", "is in a watch of Larkspur already"},
		{"watches", "neighbourhood,from_on\nLarkspurr,2015-01-01\n", 2, "neighbourhood", "has no houses"},
		{"watches", "neighbourhood,from_on,to_on\nLarkspur,2010-01-01,2010-12-31\nLarkspur,2010-06-01,2010-07-01\n", 3, "from_on", "began on 2010-01-01"},
		{"terms", "key,conditions\nour-work-10,full_moon\n", 2, "conditions", ""},
		{"terms", "key,full_months\nour-work-10,500\n", 2, "full_months", "longer than the term"},
		{"houses", "ref,street\nH-9,Elm Street\n", 2, "number", "is needed"},
		{"houses", "ref,lat\nH-9,40\n", 2, "lon", "go together"},
		{"houses", "ref,contact_ref,contact_name\nH-0001,C-0002,Kim Sample\n", 2, "holder_since", "day of the sale"},
		{"houses", "ref,contact_ref,contact_name,holder_since\nH-0001,C-0002,Kim Sample,2001-01-01\n", 2, "holder_since", "not be before"},
		{"houses", "ref,holder_since\nH-0002,2001-01-01\n", 2, "contact_ref", "nobody is kept"},
		{"holdings", "house_ref,contact_ref\nH-0001,C-9\n", 2, "contact_ref", "no such contact"},
		{"holdings", "house_ref,contact_ref,from_on,to_on\nH-0002,C-0003,2010-01-01,2009-01-01\n", 2, "to_on", "must not be before"},
		{"contacts", "ref,email\nC-0001,robin\n", 2, "email", "name@example.org"},
		{"houses", "ref,phone\nH-0001,12\n", 2, "phone", "digits"},
		{"houses", "ref,covering,roof_year\nH-0001,laminated-30,2019\n", 2, "covering", "has the roof R-0001"},
		{"houses", "ref,covering\nH-0002,thatch\n", 2, "covering", "no such covering"},
		{"houses", "ref,number,street,contact_ref,contact_name\nH-8,1,Elm Street,C-8,Kim\nH-9,2,Elm Street,C-8,Robin\n", 3, "contact_name", "line 2"},
	} {
		before := auditRows(t, s)
		r := readIn(t, s, c.kind, c.file)
		at := slices.IndexFunc(r.RefusalList, func(f intake.Refusal) bool {
			return f.Line == c.line && f.Field == c.field && strings.Contains(f.Rule, c.rule)
		})
		if at < 0 || r.Written || r.Refused == 0 {
			t.Errorf("%s %q: want line %d, %s: …%s…, not\n%s", c.kind, c.file, c.line, c.field, c.rule, told(r))
		}
		if auditRows(t, s) != before {
			t.Errorf("%s %q wrote something", c.kind, c.file)
		}
	}
}

// A file may end one watch and begin the next one of the same place; the end that it
// says stands for the one that is kept.
func TestWatchesFollowEachOther(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	file := "neighbourhood,from_on,to_on,notes\nLarkspur,2022-07-01,,\nLarkspur,2019-04-01,2022-06-30,Walked in spring and in autumn\n"
	if r := mustRead(t, s, "watches", file); r.New != 1 || r.Changed != 1 {
		t.Errorf("%s", told(r))
	}
	kept, err := store.List[models.Watch](s.Store.Query(t.Context()), "from_on", "neighbourhood = 'Larkspur'")
	if err != nil || len(kept) != 3 || kept[1].ToOn != units.NewDate(2022, 6, 30) || !kept[2].ToOn.IsZero() {
		t.Errorf("%+v, %v", kept, err)
	}
	fresh := intakeService(t)
	for _, kind := range []string{"coverings", "houses"} {
		mustRead(t, fresh, kind, export(t, s, kind))
	}
	if mustRead(t, fresh, "watches", export(t, s, "watches")); export(t, fresh, "watches") != export(t, s, "watches") {
		t.Errorf("read back:\n%s, written:\n%s", export(t, fresh, "watches"), export(t, s, "watches"))
	}
}

func TestAFileIsWrittenWholeOrNotAtAll(t *testing.T) {
	s := intakeService(t)
	file := "ref,number,street\nH-1,1,Elm Street\nH-2,2,\nH-3,3,Elm Street\n"
	r := readIn(t, s, "houses", file)
	if r.Total != 3 || r.New != 2 || r.Refused != 1 || r.Refusals != 1 || r.Written {
		t.Errorf("report: %s", told(r))
	}
	if n, _ := store.Count[models.House](s.Store.Query(t.Context()), ""); n != 0 {
		t.Errorf("%d houses are written", n)
	}
	if n, _ := store.Count[models.Import](s.Store.Query(t.Context()), ""); n != 0 {
		t.Errorf("%d imports are noted", n)
	}
	good := strings.Replace(file, "H-2,2,", "H-2,2,Elm Street", 1)
	dry := readAs(t, s, importer, "houses", good, true)
	if n, _ := store.Count[models.House](s.Store.Query(t.Context()), ""); n != 0 || dry.Written || auditRows(t, s) != 2 {
		t.Errorf("a dry run wrote %d houses", n)
	}
	real := mustRead(t, s, "houses", good)
	dry.DryRun, dry.Written = false, true
	if told(dry) != told(real) {
		t.Errorf("the dry run tells\n%s\nthe real one\n%s", told(dry), told(real))
	}
}

func TestALaterFileChangesWhatItSays(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	r := mustRead(t, s, "houses", "ref;build_year;builder;site_notes;lat;phone\nH-0001;2001;;-;40,5;\nH-0002;1999;;;;\n")
	if r.Changed != 1 || r.Same != 1 {
		t.Fatal(told(r))
	}
	want := []intake.Change{{Field: "lat", From: "40.0012", To: "40.5"}, {Field: "build_year", From: "1998", To: "2001"},
		{Field: "site_notes", From: "Decorative concrete: no truck on the drive", To: ""}}
	if !slices.Equal(r.RowList[0].Changes, want) {
		t.Errorf("changes: %v", r.RowList[0].Changes)
	}
	q := s.Store.Query(t.Context())
	h, err := store.First[models.House](q, "ref = 'H-0001'")
	if err != nil {
		t.Fatal(err)
	}
	if *h.BuildYear != 2001 || h.Builder != "Invented Homes" || h.SiteNotes != "" || h.Version != 2 {
		t.Errorf("kept: %+v", h)
	}
	// A list only grows, and a crew is made once.
	r = mustRead(t, s, "jobs", "ref,lots,crew\nJ-0001,L-7742|L-9,Ridge crew\nJ-0002,L-1,Valley crew\n")
	if r.Changed != 2 || len(r.MadeList) != 1 || r.MadeList[0] != (intake.Made{Noun: "crew", Count: 1}) {
		t.Error(told(r))
	}
	if got := r.RowList[0].Changes; len(got) != 1 || got[0].To != "L-7741|L-7742|L-9" {
		t.Errorf("changes: %v", got)
	}
	if n, _ := store.Count[models.Lot](q, ""); n != 4 {
		t.Errorf("%d lots", n)
	}
	// A reference that is emptied.
	mustRead(t, s, "callbacks", "ref,job_ref\nB-0001,-\n")
	if c, err := store.First[models.Callback](q, "ref = 'B-0001'"); err != nil || c.JobID != nil || c.RoofID == nil {
		t.Errorf("kept: %+v %v", c, err)
	}
	// Alike rows are told apart.
	r = mustRead(t, s, "costs", "callback_ref,on,kind,nth,amount\nB-0001,2021-03-12,labour,2,50\nB-0001,2021-03-12,labour,1,292.50\n")
	if r.New != 1 || r.Same != 1 {
		t.Error(told(r))
	}
	// When a line was paid is written down later, and a note.
	r = mustRead(t, s, "costs", "callback_ref,on,kind,nth,paid_on,note\nB-0001,2021-03-12,labour,1,2021-05-01,Three people\n")
	if r.Changed != 1 {
		t.Error(told(r))
	}
	// A call is corrected, and the second of one moment is another.
	r = mustRead(t, s, "calls", "rang_at,nth,caller,callback_ref\n2021-03-02T09:40:00-07:00,,Robin S. Sample,\n2021-03-02T16:40:00Z,2,Kim Sample,B-0002\n")
	if calls, err := store.List[models.Call](q, "id", ""); err != nil || r.Changed != 1 || r.New != 1 || len(calls) != 3 || calls[0].Caller != "Robin S. Sample" || *calls[2].CallbackID != 2 {
		t.Errorf("%s: %+v, %v", told(r), calls, err)
	}
	// Rows of one file may name earlier ones.
	r = mustRead(t, s, "callbacks", "ref,learned_on,caller,return_of\nB-10,2024-01-01,Kim,\nB-11,2024-02-01,Kim,B-10\nB-12,2024-03-01,Kim,B-11\n")
	if r.New != 3 {
		t.Error(told(r))
	}
	if c, err := store.First[models.Callback](q, "ref = 'B-12'"); err != nil || c.ReturnOf == nil || c.Version != 1 || c.State != "new" {
		t.Errorf("kept: %+v %v", c, err)
	}
}

func TestASaleEndsOneHoldingAndStartsTheNext(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	sale := "ref,contact_ref,contact_name,holder_since\nH-0001,C-0002,Kim Sample,2024-06-01\n"
	r := mustRead(t, s, "houses", sale)
	if r.Changed != 1 {
		t.Fatal(told(r))
	}
	holdings, err := store.List[models.Holding](s.Store.Query(t.Context()), "id", "")
	if err != nil || len(holdings) != 3 {
		t.Fatalf("holdings: %v %v", holdings, err)
	}
	if holdings[0].ToOn.String() != "2024-06-01" || holdings[2].FromOn.String() != "2024-06-01" || !holdings[2].ToOn.IsZero() ||
		holdings[1].ToOn.String() != "2011-08-01" {
		t.Errorf("holdings: %+v", holdings)
	}
	buyer, err := store.First[models.Contact](s.Store.Query(t.Context()), "ref = 'C-0002'")
	if err != nil || buyer.Name != "Kim Sample" || buyer.Phone != "" {
		t.Errorf("the buyer has the seller's telephone: %+v %v", buyer, err)
	}
	before := auditRows(t, s)
	if r := mustRead(t, s, "houses", sale); r.Same != 1 || auditRows(t, s) != before {
		t.Error(told(r))
	}
	// Who holds a house without a number of their own is given one, and one
	// contact may hold several.
	r = mustRead(t, s, "houses", "ref,number,street,contact_ref,contact_name,phone\nH-7,7,Elm Street,,Lee Sample,555-010-0107\n"+
		"H-8,8,Elm Street,C-0002,,555-010-0108\nH-9,9,Elm Street,C-0002,Kim Sample,\n")
	if r.New != 3 {
		t.Fatal(told(r))
	}
	q := s.Store.Query(t.Context())
	if c, err := store.First[models.Contact](q, "ref = 'H-7-C'"); err != nil || c.Name != "Lee Sample" {
		t.Errorf("contact: %+v %v", c, err)
	}
	if c, err := store.First[models.Contact](q, "ref = 'C-0002'"); err != nil || c.Phone != "555-010-0108" || c.Version != 2 {
		t.Errorf("contact: %+v %v", c, err)
	}
	if n, _ := store.Count[models.Contact](q, ""); n != 4 {
		t.Errorf("%d contacts", n)
	}
}

func TestBrokenFilesAreToldNotFailed(t *testing.T) {
	s := intakeService(t)
	for name, c := range map[string]struct{ file, rule string }{
		"empty":      {"", "empty"},
		"wrong kind": {"ref,roof_ref,terms,start_on\nW-1,R-1,t,2020-01-01\n", "of a file of warranties"},
		"quote":      {"ref,number,street\nH-1,1,Elm\nH-2,2,\"Elm\n", "not closed"},
	} {
		r := readIn(t, s, "houses", c.file)
		if r.OK() || r.Written || !strings.Contains(told(r), c.rule) {
			t.Errorf("%s: %s", name, told(r))
		}
	}
	if _, err := s.Import(t.Context(), importer, "barns", "x", strings.NewReader(""), true, nil); models.CodeOf(err) != models.NotFound {
		t.Errorf("an unknown kind: %v", err)
	}
	if err := s.Export(t.Context(), importer, "barns", io.Discard); models.CodeOf(err) != models.NotFound {
		t.Errorf("an unknown kind: %v", err)
	}
}

func TestWhoMayReadInAndWriteOut(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	actor := func(role models.Role) Actor { return Actor{Name: string(role), Roles: models.Roles{role}} }
	for _, role := range models.AllRoles {
		who := actor(role)
		_, err := s.Import(t.Context(), who, "houses", "x", strings.NewReader("ref\n"), true, nil)
		if allowed := err == nil; allowed != who.May(Import) || (!allowed && models.CodeOf(err) != models.Forbidden) {
			t.Errorf("%s reads in: %v", role, err)
		}
		for _, k := range intake.Kinds() {
			var b bytes.Buffer
			err := s.Export(t.Context(), who, k.Name, &b)
			if (err == nil) != who.MayExport(k.Name) || (err != nil && (models.CodeOf(err) != models.Forbidden || b.Len() > 0)) {
				t.Errorf("%s has %s: %v", role, k.Name, err)
			}
			if k.Name == "jobs" && err == nil && strings.Contains(b.String(), "price") != who.May(SeeMoney) {
				t.Errorf("%s sees prices: %v", role, who.May(SeeMoney))
			}
			if err == nil && slices.Contains([]string{"contacts", "holdings", "houses"}, k.Name) && !who.May(SeeContacts) {
				t.Errorf("%s has the contacts in %s", role, k.Name)
			}
		}
	}
	for _, k := range intake.Kinds() {
		if len(exportNeeds[k.Name]) == 0 {
			t.Errorf("nothing says who may have %s", k.Name)
		}
	}
	// The office reads prices in, but is not told the kept ones.
	r := readAs(t, s, actor(models.Office), "jobs", "ref,price\nJ-0001,12000\n", true)
	if r.Changed != 1 || strings.Contains(told(r), "11760") {
		t.Error(told(r))
	}
}

func TestTwoReadingsAtOnce(t *testing.T) {
	s := intakeService(t)
	var b strings.Builder
	b.WriteString("ref,number,street,contact_ref,contact_name\n")
	for i := range 300 {
		fmt.Fprintf(&b, "H-%d,%d,Elm Street,C-%d,Kim Sample\n", i, i, i/2)
	}
	var wait sync.WaitGroup
	reports := make([]intake.Report, 3)
	for i := range reports {
		wait.Go(func() { reports[i] = readIn(t, s, "houses", b.String()) })
	}
	wait.Wait()
	added, same := 0, 0
	for _, r := range reports {
		added, same = added+r.New, same+r.Same
		if !r.Written {
			t.Error(told(r))
		}
	}
	if added != 300 || same != 600 {
		t.Errorf("%d rows are new and %d the same", added, same)
	}
}

// manyHouses writes a file of n houses, of which every other has a holder.
func manyHouses(n int) string {
	var b strings.Builder
	b.WriteString("ref,number,street,town,lat,lon,build_year,contact_ref,contact_name,covering,roof_year\n")
	for i := range n {
		if i%2 == 0 {
			fmt.Fprintf(&b, "H-%06d,%d,Elm Street,Snowfield,40.%06d,-105.1,1990,C-%06d,Kim Sample,,\n", i, i, i, i)
		} else {
			fmt.Fprintf(&b, "H-%06d,%d,Elm Street,Snowfield,40.%06d,-105.1,1990,,,three-tab-20,about 1995\n", i, i, i)
		}
	}
	return b.String()
}

func TestManyRowsComeThroughInChunks(t *testing.T) {
	s := intakeService(t)
	file, _ := intake.Template("coverings")
	mustRead(t, s, "coverings", string(file))
	var done []int
	n := chunk*2 + 5
	r, err := s.Import(t.Context(), importer, "houses", "many.csv", strings.NewReader(manyHouses(n)), false, func(d, total int) {
		if total != n {
			t.Errorf("of %d rows", total)
		}
		done = append(done, d)
	})
	if err != nil || r.New != n || !slices.Equal(done, []int{chunk, 2 * chunk, n}) {
		t.Fatalf("%v %v\n%s", err, done, told(r))
	}
	again := mustRead(t, s, "houses", export(t, s, "houses"))
	if again.Same != n {
		t.Error(told(again))
	}
	changed := mustRead(t, s, "houses", strings.ReplaceAll(manyHouses(n), ",1990,", ",1991,"))
	if changed.Changed != n {
		t.Error(told(changed))
	}
}

func BenchmarkImportHouses(b *testing.B) {
	file := manyHouses(5000)
	for b.Loop() {
		b.StopTimer()
		s := intakeService(b)
		covering, _ := intake.Template("coverings")
		mustRead(b, s, "coverings", string(covering))
		b.StartTimer()
		mustRead(b, s, "houses", file)
	}
	b.ReportMetric(float64(5000*b.N)/b.Elapsed().Seconds(), "rows/s")
}

// The invented company has all that a real one has: what is written out of it
// changes nothing when it is read back, and makes the same files of a fresh
// store.
func TestACompanyGoesOutAndComesBack(t *testing.T) {
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "records.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	s := New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), func() time.Time { return time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC) })
	if _, err := s.FillDemo(t.Context(), importer, demo.Options{Seed: 3, Roofs: 60, Houses: 300, Today: units.NewDate(2026, 11, 25)}, nil); err != nil {
		t.Fatal(err)
	}
	fresh := intakeService(t)
	before := auditRows(t, s)
	files := map[string]string{}
	for _, k := range intake.Kinds() {
		files[k.Name] = export(t, s, k.Name)
		if r := mustRead(t, s, k.Name, files[k.Name]); r.New+r.Changed != 0 || r.Same == 0 {
			t.Errorf("read back:\n%.2000s", told(r))
		}
		mustRead(t, fresh, k.Name, files[k.Name])
	}
	if after := auditRows(t, s); after != before {
		t.Errorf("reading back wrote %d audit entries", after-before)
	}
	for _, k := range intake.Kinds() {
		if got := export(t, fresh, k.Name); got != files[k.Name] {
			// The order is that in which rows were written.
			a, b := strings.Split(got, "\n"), strings.Split(files[k.Name], "\n")
			slices.Sort(a)
			slices.Sort(b)
			for i := range min(len(a), len(b)) {
				if a[i] != b[i] {
					t.Errorf("%s, line %d: %s, not %s", k.Name, i+1, a[i], b[i])
					break
				}
			}
			if len(a) != len(b) {
				t.Errorf("%s has %d lines, not %d", k.Name, len(a), len(b))
			}
		}
	}
}

// Texts that a file or a spreadsheet could trip over come through the store as
// they are kept.
func TestNastyTextsComeBack(t *testing.T) {
	s := intakeService(t)
	mustRead(t, s, "houses", "ref,number,street\nH-1,1,Elm Street\n")
	nasty := []string{"=1+1", "-", "'=x", "+1 555", "@a", "a|b\\c", "a,b;c\td", "\"quoted\"", "two\r\nlines", "  blanks  ", "\ufeff=1", "雪 é", "'twas", "-12", "", "\r"}
	err := s.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		for i, text := range nasty {
			job := &models.Job{Ref: fmt.Sprintf("=J|%d", i), HouseID: 1, Notes: text, Payer: text, Price: 100}
			if err := tx.Create(job); err != nil {
				return err
			}
			if strings.TrimSpace(text) != "" {
				if err := tx.Create(&models.Lot{JobID: job.ID, Number: text}); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	before := auditRows(t, s)
	file := export(t, s, "jobs")
	if r := mustRead(t, s, "jobs", file); r.Same != len(nasty) || auditRows(t, s) != before {
		t.Errorf("read back:\n%s", told(r))
	}
	for _, cell := range []string{",=", ",@", ",+", ",\"=", "\n="} {
		if strings.Contains(file, cell) {
			t.Errorf("a cell starts with %q", cell)
		}
	}
	fresh := intakeService(t)
	mustRead(t, fresh, "houses", "ref,number,street\nH-1,1,Elm Street\n")
	mustRead(t, fresh, "jobs", file)
	if got := export(t, fresh, "jobs"); got != file {
		t.Errorf("from the fresh store:\n%q, not\n%q", got, file)
	}
}

// setRates gives the branch a labour rate and a tax.
func setRates(t testing.TB, s *Service, labour units.Money, tax float64) {
	t.Helper()
	err := s.Store.Write(t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error {
		b, err := store.First[models.Branch](tx.Query, "1 = 1")
		if err != nil {
			return err
		}
		b.LabourRate, b.TaxRate = labour, tax
		return tx.Update(b)
	})
	if err != nil {
		t.Fatal(err)
	}
}

// An empty cell of a new cost line is worked out by the branch's rates, and a
// nought in it is nought. A kept line is left as it is, and comes back out of an
// export to the cent whatever the rates are then.
func TestEmptyCellsOfCosts(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	setRates(t, s, 78*units.Dollar, 0.0625)
	mustRead(t, s, "callbacks", "ref,learned_on,caller\nB-7,2024-01-01,Kim\n")
	const head = "callback_ref,on,kind,hours,amount,tax\n"
	type sums struct{ amount, tax units.Money }
	kept := func(s *Service) (out []sums) {
		c, err := store.First[models.Callback](s.Store.Query(t.Context()), "ref = 'B-7'")
		if err != nil {
			t.Fatal(err)
		}
		lines, err := store.List[models.CostLine](s.Store.Query(t.Context()), "on_day, id", "callback_id = ?", c.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			out = append(out, sums{l.Amount, l.Tax})
		}
		return out
	}
	var want []sums
	for i, c := range []struct {
		row         string
		amount, tax units.Money
	}{
		{"labour,6,,", 468_00, 0}, // 6 × 78
		{"labour,6,0,", 0, 0},
		{"labour,6,0.00,0", 0, 0},
		{"labour,6,100,", 100_00, 0},
		{"material,,100,", 100_00, 6_25},
		{"material,,100,0", 100_00, 0},
		{"material,,100,6.20", 100_00, 6_20},
		{"material,,0,", 0, 0},
		{"recovery,,-50,", -50_00, 0},
		{"credit,,-50,", -50_00, -3_13}, // 3.125
	} {
		mustRead(t, s, "costs", fmt.Sprintf("%sB-7,2024-02-%02d,%s\n", head, i+1, c.row))
		want = append(want, sums{c.amount, c.tax})
		if got := kept(s); len(got) != i+1 || got[i] != want[i] {
			t.Errorf("%q is kept as %v, want %v", c.row, got[i:], want[i])
		}
	}
	// A file without the columns leaves them empty as well.
	mustRead(t, s, "costs", "callback_ref,on,kind,hours\nB-7,2024-03-01,labour,2\n")
	want = append(want, sums{156_00, 0})
	for _, file := range []string{head + "B-7,2024-03-02,material,,,\n", head + "B-7,2024-03-02,labour,,,\n", "callback_ref,on,kind\nB-7,2024-03-02,recovery\n"} {
		r := readIn(t, s, "costs", file)
		if r.Refusals != 1 || r.RefusalList[0].Field != "amount" || !strings.Contains(r.RefusalList[0].Rule, "is needed") || r.Written {
			t.Errorf("%q: %s", file, told(r))
		}
	}
	if got := kept(s); !slices.Equal(got, want) {
		t.Errorf("kept: %v, want %v", got, want)
	}
	out := map[string]string{}
	for _, kind := range []string{"coverings", "terms", "contacts", "houses", "structures", "roofs", "attics", "slopes", "jobs", "warranties", "callbacks", "costs"} {
		out[kind] = export(t, s, kind)
	}
	setRates(t, s, 99*units.Dollar, 0.1)
	if r := mustRead(t, s, "costs", out["costs"]); r.Changed != 0 || r.New != 0 {
		t.Errorf("read again: %s", told(r))
	}
	fresh := intakeService(t)
	setRates(t, fresh, 99*units.Dollar, 0.1)
	for _, kind := range []string{"coverings", "terms", "contacts", "houses", "structures", "roofs", "attics", "slopes", "jobs", "warranties", "callbacks", "costs"} {
		mustRead(t, fresh, kind, out[kind])
	}
	if got := kept(fresh); !slices.Equal(got, want) {
		t.Errorf("in a fresh store: %v, want %v", got, want)
	}
}

// Which slopes were in sight goes out by name and comes back: of any building, all,
// none, and that nobody said.
func TestSlopesInSightGoOutAndComeBack(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	mustRead(t, s, "slopes", "house_ref,structure,name\nH-0001,garage,south\nH-0001,main,none\nH-0001,main,a/b\n")
	written := func(file string) string {
		row, _, _ := strings.Cut(file[strings.Index(file, "V-0001,"):], "\r\n")
		return strings.Trim(row[strings.LastIndex(row, ",")+1:], `"`)
	}
	for _, cell := range []string{"south", "north|south", "garage/south|south", "main/none", "main/a/b", "none", ""} {
		in := cell
		if cell == "" {
			in = "-"
		}
		mustRead(t, s, "visits", "ref,in_sight\nV-0001,"+in+"\n")
		kept, err := store.First[models.Visit](s.Store.Query(t.Context()), "ref = 'V-0001'")
		if err != nil {
			t.Fatal(err)
		}
		if (kept.InSight == nil) != (cell == "") || (cell == "none") != (kept.InSight != nil && len(*kept.InSight) == 0) {
			t.Errorf("%q is kept as %v", cell, kept.InSight)
		}
		file := export(t, s, "visits")
		if got := written(file); got != cell {
			t.Errorf("%q goes out as %q", cell, got)
		}
		if r := mustRead(t, s, "visits", file); r.New+r.Changed != 0 {
			t.Errorf("%q, read back:\n%s", cell, told(r))
		}
	}
	// Two ways to write one slope are one slope; the file of a row that names none leaves it.
	mustRead(t, s, "visits", "ref,in_sight\nV-0001,garage/south|main/south\n")
	mustRead(t, s, "visits", "ref,by_name\nV-0001,Kim\n")
	if got := written(export(t, s, "visits")); got != "garage/south|south" {
		t.Errorf("goes out as %q", got)
	}
	// Nothing new is found on a slope that was out of sight.
	for slope, want := range map[string]string{"south": "", "north": "was not in sight"} {
		r := readIn(t, s, "findings", "visit_ref,structure,slope,defect,look\nV-0001,main,"+slope+",curling,none\n")
		if got := told(r); r.OK() != (want == "") || !strings.Contains(got, want) {
			t.Errorf("a finding on %s: %s", slope, got)
		}
	}
	// The trail has it.
	n, err := store.Count[models.AuditEntry](s.Store.Query(t.Context()), "record = 'visit' AND changes LIKE '%in_sight%'")
	if err != nil || n < 5 {
		t.Errorf("the trail has %d changes of it, %v", n, err)
	}
}
