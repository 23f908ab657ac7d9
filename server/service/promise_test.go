package service

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/portfolio"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

func day(text string) units.Date {
	d, err := units.ParseDate(text)
	if err != nil {
		panic(err)
	}
	return d
}

func ptr[T any](v T) *T { return &v }

// termsOf reads terms by their key.
func termsOf(t testing.TB, s *Service, key string) *models.Terms {
	t.Helper()
	terms, err := store.First[models.Terms](s.Store.Query(t.Context()), "key = ?", key)
	if err != nil {
		t.Fatal(err)
	}
	return terms
}

func warrantyOf(t testing.TB, s *Service, ref string) *models.Warranty {
	t.Helper()
	w, err := store.First[models.Warranty](s.Store.Query(t.Context()), "ref = ?", ref)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// refusedFor says which fields an error refuses, with its rules.
func refusedFor(err error) map[string]string {
	out := map[string]string{}
	if e, is := err.(*models.Error); is && e.Code == models.Invalid {
		for _, f := range e.Fields {
			out[f.Field] = f.Rule
		}
	}
	return out
}

func TestTermsStayWhileWarrantiesRestOnThem(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	mustRead(t, s, "warranties", "ref,roof_ref,terms,start_on\nW-3,R-0001,our-work-10,2020-01-01\n")
	was := *termsOf(t, s, "our-work-10")

	changed := was
	changed.TermMonths, changed.Labour, changed.Wording = 180, false, "Something else."
	err := s.SaveTerms(t.Context(), importer, &changed)
	refused := refusedFor(err)
	if len(refused) != 3 || !strings.Contains(refused["term_months"], "2 warranties rest on these terms") || refused["labour"] == "" || refused["wording"] == "" {
		t.Errorf("refused: %v, %v", refused, err)
	}
	if got := *termsOf(t, s, "our-work-10"); !reflect.DeepEqual(got, was) {
		t.Errorf("kept: %+v, want %+v", got, was)
	}
	// How the catalogue calls and offers them may change.
	changed = was
	changed.Key, changed.Name, changed.EndedOn = "ours-10", "Ours, ten years", day("2026-01-01")
	if err := s.SaveTerms(t.Context(), importer, &changed); err != nil {
		t.Error(err)
	}
	// Terms on which nothing rests are changed freely.
	mustRead(t, s, "terms", "key,name,kind,term_months,full_months,share_method,labour,material,tear_off,disposal,transfer\nfree,Free,workmanship,60,60,none,yes,no,no,no,never\n")
	free := termsOf(t, s, "free")
	free.TermMonths = 72
	if err := s.SaveTerms(t.Context(), importer, free); err != nil {
		t.Error(err)
	}
	// Who read them before somebody else changed them is told that first.
	changed = was
	changed.TermMonths = 180
	if err := s.SaveTerms(t.Context(), importer, &changed); models.CodeOf(err) != models.Conflict {
		t.Errorf("an old version: %v", err)
	}
}

func TestTermsAnew(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	was := *termsOf(t, s, "our-work-10")
	anew := was
	anew.TermMonths, anew.FullMonths = 180, 180
	if refused := refusedFor(s.SaveTermsAnew(t.Context(), importer, was.ID, &anew)); refused["key"] == "" {
		t.Errorf("the same key: %v", refused)
	}
	anew.Key = "our-work-15"
	anew.Version = 7
	if err := s.SaveTermsAnew(t.Context(), importer, was.ID, &anew); models.CodeOf(err) != models.Conflict {
		t.Errorf("another version: %v", err)
	}
	anew.Version = was.Version
	if err := s.SaveTermsAnew(t.Context(), importer, was.ID, &anew); err != nil {
		t.Fatal(err)
	}
	former, latter := termsOf(t, s, "our-work-10"), termsOf(t, s, "our-work-15")
	if former.EndedOn != day("2026-11-25") || former.TermMonths != was.TermMonths || latter.TermMonths != 180 || !latter.EndedOn.IsZero() || latter.ID == former.ID {
		t.Errorf("the former %+v, the new ones %+v", former, latter)
	}
	if w := warrantyOf(t, s, "W-0001"); w.TermsID != former.ID {
		t.Errorf("the warranty went along: %+v", w)
	}
	if err := s.SaveTermsAnew(t.Context(), Actor{Name: "Kim", Roles: models.Roles{models.Bookkeeper}}, was.ID, &anew); models.CodeOf(err) != models.Forbidden {
		t.Errorf("a bookkeeper: %v", err)
	}
}

func TestWhatWasSignedIsOnlyCorrected(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	mustRead(t, s, "terms", "key,name,kind,term_months,full_months,share_method,labour,material,tear_off,disposal,transfer,cap_of_price\n"+
		"priced,Priced,workmanship,60,60,none,yes,no,no,no,never,1\n")
	mustRead(t, s, "warranties", "ref,roof_ref,terms,start_on,owed_by\nW-3,R-0001,priced,2020-01-01,us\nW-4,R-0001,maker-30,2020-01-01,Mill\n")
	job := *warrantyOf(t, s, "W-0001").JobID
	for _, c := range []struct {
		ref, field string
		change     func(w *models.Warranty)
	}{
		{"W-0001", "terms_id", func(w *models.Warranty) { w.TermsID = termsOf(t, s, "maker-30").ID }},
		{"W-0001", "roof_id", func(w *models.Warranty) { w.RoofID++ }},
		{"W-0001", "owed_by", func(w *models.Warranty) { w.OwedBy = "Somebody" }},
		{"W-0001", "start_on", func(w *models.Warranty) { w.StartOn++ }},
		{"W-0001", "wording", func(w *models.Warranty) { w.Wording = "" }},
		{"W-0001", "wording", func(w *models.Warranty) { w.Wording += " Or not." }},
		{"W-0001", "job_id", func(w *models.Warranty) { w.JobID = nil }},
		{"W-0001", "job_id", func(w *models.Warranty) { w.JobID = ptr(job + 1) }},
		{"W-0001", "", func(w *models.Warranty) { w.RegisteredOn, w.RegistrationNo = day("2021-01-01"), "7" }},
		{"W-0001", "", func(w *models.Warranty) { w.AssumedFrom = "The former company" }},
		{"W-0001", "assumed_from", func(w *models.Warranty) { w.AssumedFrom = "Another" }},
		{"W-0001", "", func(w *models.Warranty) { w.EndedOn, w.EndReason = day("2026-01-01"), "bought out" }},
		{"W-0001", "ended_on", func(w *models.Warranty) { w.EndedOn, w.EndReason = 0, "" }},
		{"W-0002", "registration_due_on", func(w *models.Warranty) { w.RegistrationDueOn = day("2021-01-01") }},
		{"W-3", "job_id", func(w *models.Warranty) { w.JobID = &job }}, // its price is the cap
		{"W-3", "", func(w *models.Warranty) { w.Wording = "Found in the file." }},
		{"W-4", "", func(w *models.Warranty) { w.JobID = &job }},
		{"W-4", "", func(w *models.Warranty) { w.RegistrationDueOn = day("2020-01-01").AddDays(60) }}, // as the terms have it
		{"W-4", "registration_due_on", func(w *models.Warranty) { w.RegistrationDueOn++ }},
	} {
		w := warrantyOf(t, s, c.ref)
		c.change(w)
		want := *w
		err := s.SaveWarranty(t.Context(), importer, w)
		refused := refusedFor(err)
		if c.field == "" {
			if err != nil || !reflect.DeepEqual(warrantyOf(t, s, c.ref).EndedOn, want.EndedOn) {
				t.Errorf("%s %+v: %v", c.ref, want, err)
			}
			continue
		}
		if len(refused) != 1 || !strings.Contains(refused[c.field], "what was signed") {
			t.Errorf("%s, %s: refused %v, %v", c.ref, c.field, refused, err)
		}
	}

	w := warrantyOf(t, s, "W-0002")
	w.StartOn, w.Wording = day("2019-06-01"), "As the paper has it."
	if refused := refusedFor(s.CorrectWarranty(t.Context(), importer, w, " ")); refused["why"] == "" {
		t.Error("a correction without a reason is taken")
	}
	if err := s.CorrectWarranty(t.Context(), importer, w, "The paper says June 1."); err != nil {
		t.Fatal(err)
	}
	if got := warrantyOf(t, s, "W-0002"); got.StartOn != w.StartOn || got.Wording != w.Wording {
		t.Errorf("kept: %+v", got)
	}
	trail, err := s.History(t.Context(), importer, "warranty", w.ID, store.Page{Size: 1})
	if err != nil {
		t.Fatal(err)
	}
	fields, err := TrailFields(trail[0])
	if err != nil || len(fields) != 3 || fields[0].Column != "start_on" || fields[1] != (TrailField{Column: "why", To: "The paper says June 1."}) || fields[2].Column != "wording" {
		t.Errorf("the trail has %+v, %v", fields, err)
	}
	if err := s.CorrectWarranty(t.Context(), Actor{Name: "Kim", Roles: models.Roles{models.Bookkeeper}}, w, "It suits me."); models.CodeOf(err) != models.Forbidden {
		t.Errorf("a bookkeeper: %v", err)
	}
}

// world is a company with terms and warranties whose numbers a test draws, so
// that one store serves all draws.
type world struct {
	*testing.T
	s      *Service
	serial int
}

// standing is what a warranty promises on some days, with what a claim would be
// paid and the wording.
type standing struct {
	On      []promise.Result
	Terms   promise.Terms
	Least   units.Money
	Most    units.Money
	Pays    []units.Money
	Wording string
}

var promisedDays = []units.Date{day("2009-12-31"), day("2010-01-01"), day("2015-06-30"), day("2020-01-01"), day("2024-12-31"), day("2029-12-31"), day("2036-02-29")}

func (w world) promised(t *rapid.T, id int64) standing {
	q := w.s.Store.Query(w.Context())
	kept, err := store.Get[models.Warranty](q, id)
	if err != nil {
		t.Fatal(err)
	}
	f, err := store.RoofFile(q, kept.RoofID)
	if err != nil {
		t.Fatal(err)
	}
	out := standing{Wording: kept.Wording}
	for _, on := range promisedDays {
		in := portfolio.Promise(f, kept, "", on)
		r, err := promise.Judge(in)
		if err != nil {
			t.Fatal(err)
		}
		out.On, out.Terms = append(out.On, promise.Result{State: r.State, Share: r.Share, ShareLeast: r.ShareLeast, LastFullDay: r.LastFullDay, LastDay: r.LastDay}), in.Terms
		out.Least, out.Most = in.Terms.Left(in.Facts.PaidSoFarCents, in.Facts.PriceCents)
		cost := promise.Cost{LabourCents: 70_001, MaterialCents: 50_003, TearOffCents: 30_007, DisposalCents: 10_009}
		out.Pays = append(out.Pays, in.Terms.Claim(cost, r.Share, out.Most))
	}
	return out
}

// A correction of terms, one field at a time: in the record and in a file.
var termsChanges = []struct {
	column, text string
	change       func(t *models.Terms)
}{
	{"name", "Called otherwise", func(t *models.Terms) { t.Name = "Called otherwise" }},
	{"ended_on", "2026-01-01", func(t *models.Terms) { t.EndedOn = day("2026-01-01") }},
	{"kind", "assumed", func(t *models.Terms) { t.Kind = "assumed" }},
	{"term_months", "300", func(t *models.Terms) { t.TermMonths = 300 }},
	{"full_months", "12", func(t *models.Terms) { t.FullMonths = 12 }},
	{"share_method", "prorated_span", func(t *models.Terms) { t.ShareMethod = "prorated_span" }},
	{"share_method", "none", func(t *models.Terms) { t.ShareMethod = "none" }},
	{"labour", "no", func(t *models.Terms) { t.Labour = false }},
	{"material", "yes", func(t *models.Terms) { t.Material = true }},
	{"tear_off", "yes", func(t *models.Terms) { t.TearOff = true }},
	{"disposal", "yes", func(t *models.Terms) { t.Disposal = true }},
	{"cap", "500", func(t *models.Terms) { t.Cap = ptr(500 * units.Dollar) }},
	{"cap", "-", func(t *models.Terms) { t.Cap = nil }},
	{"claim_cap", "0.01", func(t *models.Terms) { t.ClaimCap = ptr(units.Money(1)) }},
	{"cap_of_price", "0.05", func(t *models.Terms) { t.CapOfPrice = ptr(0.05) }},
	{"transfer", "never", func(t *models.Terms) { t.Transfer = "never" }},
	{"transfer", "always", func(t *models.Terms) { t.Transfer = "always" }},
	{"notice_days", "3", func(t *models.Terms) { t.NoticeDays = 3 }},
	{"after_transfer", "1", func(t *models.Terms) { t.AfterTransfer = ptr(1) }},
	{"conditions", "paid_in_full", func(t *models.Terms) { t.Conditions = models.JSON[models.Condition]{{Kind: "paid_in_full"}} }},
	{"remedy", "We send a letter.", func(t *models.Terms) { t.Remedy = "We send a letter." }},
	{"wording", "Read anew.", func(t *models.Terms) { t.Wording = "Read anew." }},
}

var warrantyChanges = []struct {
	column, text string
	change       func(w *models.Warranty, other *models.Warranty)
}{
	{"registered_on", "2026-01-02", func(w, _ *models.Warranty) { w.RegisteredOn = day("2026-01-02") }},
	{"registration_no", "7", func(w, _ *models.Warranty) { w.RegistrationNo = "7" }},
	{"terms", "maker-30", func(w, other *models.Warranty) { w.TermsID = other.TermsID }},
	{"roof_ref", "R-0002", func(w, other *models.Warranty) { w.RoofID = other.RoofID + 1 }},
	{"start_on", "2013-01-01", func(w, _ *models.Warranty) { w.StartOn = day("2013-01-01") }},
	{"wording", "Read anew.", func(w, _ *models.Warranty) { w.Wording = "Read anew." }},
	{"wording", "-", func(w, _ *models.Warranty) { w.Wording = "" }},
	{"job_ref", "J-0001", func(w, other *models.Warranty) { w.JobID = other.JobID }},
	{"job_ref", "-", func(w, _ *models.Warranty) { w.JobID = nil }},
	{"owed_by", "Invented Shingle Works", func(w, _ *models.Warranty) { w.OwedBy = "Invented Shingle Works" }},
	{"registration_due_on", "2010-02-01", func(w, _ *models.Warranty) { w.RegistrationDueOn = day("2010-02-01") }},
}

// Whatever is done to terms and warranties, by page or by file, what a warranty
// promised on a day stays as it was, unless that warranty was corrected.
func TestWhatWasPromisedStays(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	other := warrantyOf(t, s, "W-0002")
	w := world{T: t, s: s}
	tries, saved, refused := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		w.serial++
		key := fmt.Sprint("drawn-", w.serial)
		mustRead(w, s, "terms", "key,name,kind,term_months,full_months,share_method,labour,material,tear_off,disposal,transfer,cap,cap_of_price,wording\n"+
			fmt.Sprintf("%s,Drawn,workmanship,240,%d,%s,yes,no,no,no,once,%s,%s,As signed.\n", key, rapid.SampledFrom([]int{0, 60, 240}).Draw(t, "full"),
				rapid.SampledFrom([]string{"whole_term", "none"}).Draw(t, "method"), rapid.SampledFrom([]string{"", "900"}).Draw(t, "cap"), rapid.SampledFrom([]string{"", "0.1"}).Draw(t, "of price")))
		terms := termsOf(w, s, key)
		var ids []int64
		stands := map[int64]standing{}
		give := func() {
			ref := fmt.Sprint("w-", w.serial, "-", len(stands))
			if rapid.Bool().Draw(t, "by a file") {
				mustRead(w, s, "warranties", "ref,roof_ref,terms,start_on\n"+fmt.Sprintf("%s,R-0001,%s,2010-01-01\n", ref, key))
			} else if err := s.SaveWarranty(w.Context(), importer, &models.Warranty{Ref: ref, RoofID: other.RoofID, TermsID: terms.ID, OwedBy: "us", StartOn: day("2010-01-01")}); err != nil {
				t.Fatal(err)
			}
			id := warrantyOf(w, s, ref).ID
			ids = append(ids, id)
			stands[id] = w.promised(t, id)
			if stands[id].Wording != "As signed." {
				t.Fatalf("the new warranty reads %q", stands[id].Wording)
			}
		}
		did := func(err error) {
			tries++
			switch models.CodeOf(err) {
			case models.Invalid, models.Conflict:
				refused++
			default:
				if err != nil {
					t.Fatal(err)
				}
				saved++
			}
		}
		byFile := func(kind, file string) {
			r := readIn(w, s, kind, file)
			if !r.Written {
				did(models.Errorf(models.Invalid, "%s", told(r)))
			} else {
				did(nil)
			}
		}
		give()
		one := func() *models.Warranty {
			kept, err := store.Get[models.Warranty](s.Store.Query(w.Context()), rapid.SampledFrom(ids).Draw(t, "warranty"))
			if err != nil {
				t.Fatal(err)
			}
			return kept
		}
		for range rapid.IntRange(1, 8).Draw(t, "steps") {
			ofTerms := rapid.SampledFrom(termsChanges).Draw(t, "change of terms")
			ofWarranty := rapid.SampledFrom(warrantyChanges).Draw(t, "change of a warranty")
			switch step := rapid.SampledFrom([]string{"give", "terms", "terms file", "anew", "warranty", "warranty file", "correct"}).Draw(t, "step"); step {
			case "give":
				if kept := termsOf(w, s, key); kept.Wording == "As signed." {
					give()
				}
			case "terms":
				changed := termsOf(w, s, key)
				ofTerms.change(changed)
				did(s.SaveTerms(w.Context(), importer, changed))
			case "terms file":
				byFile("terms", "key,"+ofTerms.column+"\n"+key+","+ofTerms.text+"\n")
			case "anew":
				changed := termsOf(w, s, key)
				ofTerms.change(changed)
				changed.Key = fmt.Sprint(key, "-", tries)
				did(s.SaveTermsAnew(w.Context(), importer, terms.ID, changed))
			case "warranty", "correct":
				changed := one()
				ofWarranty.change(changed, other)
				if step == "warranty" {
					did(s.SaveWarranty(w.Context(), importer, changed))
					break
				}
				did(s.CorrectWarranty(w.Context(), importer, changed, "It was written down wrongly."))
				stands[changed.ID] = w.promised(t, changed.ID)
			case "warranty file":
				byFile("warranties", "ref,"+ofWarranty.column+"\n"+one().Ref+","+ofWarranty.text+"\n")
			}
			for _, id := range ids {
				want := stands[id]
				got := w.promised(t, id)
				if want.Wording == "" { // what was not known may be filled in
					want.Wording = got.Wording
				}
				if !reflect.DeepEqual(got, want) {
					t.Fatalf("warranty %d promises\n%+v\nand promised\n%+v", id, got, want)
				}
			}
		}
	})
	if saved == 0 || refused == 0 {
		t.Errorf("of %d changes %d were saved and %d refused", tries, saved, refused)
	}
}

func TestFilesChangeNoPromise(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	before := auditRows(t, s)
	for _, c := range []struct{ kind, file, field, rule string }{
		{"terms", "key,term_months,full_months\nour-work-10,60,60\n", "term_months", "one warranty rests on these terms"},
		{"terms", "key,labour\nour-work-10,no\n", "labour", "one warranty rests"},
		{"terms", "key,steps\nmaker-30,120:0.9|240:0.3\n", "steps", "one warranty rests"},
		{"terms", "key,cap\nmaker-30,-\n", "cap", "one warranty rests"},
		{"terms", "key,conditions\nour-work-10,-\n", "conditions", "one warranty rests"},
		{"terms", "key,wording\nour-work-10,Other words.\n", "wording", "one warranty rests"},
		{"warranties", "ref,terms\nW-0001,maker-30\n", "terms", "what was signed"},
		{"warranties", "ref,roof_ref\nW-0001,R-0002\n", "roof_ref", "what was signed"},
		{"warranties", "ref,start_on\nW-0001,2019-05-21\n", "start_on", "what was signed"},
		{"warranties", "ref,wording\nW-0001,Other words.\n", "wording", "what was signed"},
		{"warranties", "ref,wording\nW-0001,-\n", "wording", "what was signed"},
		{"warranties", "ref,job_ref\nW-0001,-\n", "job_ref", "what was signed"},
	} {
		r := readIn(t, s, c.kind, c.file)
		if len(r.RefusalList) == 0 || r.Written {
			t.Errorf("%q is taken:\n%s", c.file, told(r))
			continue
		}
		if got := r.RefusalList[0]; got.Line != 2 || got.Field != c.field || !strings.Contains(got.Rule, c.rule) {
			t.Errorf("%q: line %d, %s: %s; want line 2, %s: …%s…", c.file, got.Line, got.Field, got.Rule, c.field, c.rule)
		}
	}
	if auditRows(t, s) != before {
		t.Error("a refused file wrote something")
	}
	// How terms are called and whether they are given still, and what came after
	// the signing, change by file.
	mustRead(t, s, "terms", "key,name,ended_on\nour-work-10,Ours,2026-01-01\n")
	mustRead(t, s, "warranties", "ref,registered_on,registration_no,ended_on,end_reason\nW-0001,2020-01-01,5,2026-01-01,bought out\n")
	// A new warranty takes the wording of its terms, unless the file has one or
	// leaves it out on purpose.
	mustRead(t, s, "warranties", "ref,roof_ref,terms,start_on,wording\nW-3,R-0001,our-work-10,2020-01-01,\nW-4,R-0001,our-work-10,2020-01-01,Its own.\nW-5,R-0001,our-work-10,2020-01-01,-\n")
	for ref, want := range map[string]string{"W-3": "We answer for our own work.", "W-4": "Its own.", "W-5": ""} {
		if got := warrantyOf(t, s, ref).Wording; got != want {
			t.Errorf("%s reads %q, want %q", ref, got, want)
		}
	}
	mustRead(t, s, "warranties", "ref,roof_ref,terms,start_on\nW-6,R-0001,our-work-10,2020-01-01\n")
	if got := warrantyOf(t, s, "W-6").Wording; got != "We answer for our own work." {
		t.Errorf("without the column it reads %q", got)
	}
	// Read once more, the file changes nothing.
	if r := mustRead(t, s, "warranties", "ref,roof_ref,terms,start_on,wording\nW-3,R-0001,our-work-10,2020-01-01,\n"); r.Same != 1 {
		t.Errorf("again: %s", told(r))
	}
}
