package server

import (
	"bytes"
	"errors"
	"io"
	"math"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"reflect"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/views"
)

func TestFormReadsEachKind(t *testing.T) {
	f := &Form{system: units.US, values: url.Values{
		"name": {"  Odile\r\nMarchetti "}, "password": {" spaces stay "}, "layers": {"2"}, "house_id": {"17"}, "version": {"3"},
		"rate": {"12.5"}, "width": {"1,200"}, "area": {"24.5"}, "pitch": {"6:12"}, "price": {"$1,234.50"}, "laid_on": {"2014-06"},
		"on": {"2026-06-10"}, "trees": {"no"}, "ours": {"yes"}, "roles": {"owner", "office"},
	}}
	if f.Text("name") != "Odile\nMarchetti" || f.Raw("password") != " spaces stay " || f.Version() != 3 || !f.Ticked("ours") || f.Ticked("trees") {
		t.Errorf("texts: %q %q %d", f.Text("name"), f.Raw("password"), f.Version())
	}
	if *f.Int("layers") != 2 || *f.ID("house_id") != 17 || *f.Number("rate") != 12.5 || *f.YesNo("trees") || !*f.YesNo("ours") {
		t.Error("numbers and answers")
	}
	// 1,200 feet are 365.76 m, 24.5 squares are 2,450 ft², which are 227.612 m² (1 ft = 0.3048 m, NIST SP 811).
	if l := *f.Length("width", units.Foot, units.Metre); math.Abs(float64(l)-365.76) > 1e-9 {
		t.Errorf("a length of %v", l)
	}
	if a := *f.Area("area", units.Square, units.SquareMetre); math.Abs(float64(a)-227.6124) > 1e-3 {
		t.Errorf("an area of %v", a)
	}
	if *f.Pitch("pitch") != 0.5 || *f.Money("price") != 123450 {
		t.Error("pitch and money")
	}
	if d := f.Dated("laid_on"); d.Precision != units.ToMonth || f.Day("on") != units.NewDate(2026, time.June, 10) {
		t.Errorf("days: %v", d)
	}
	if got := f.Texts("roles"); !reflect.DeepEqual(got, []string{"owner", "office"}) {
		t.Errorf("roles: %v", got)
	}
	if err := f.Err(); err != nil {
		t.Error(err)
	}
	f.system = units.Metric
	if *f.Length("width", units.Foot, units.Metre) != 1200 || *f.Area("area", units.Square, units.SquareMetre) != 24.5 {
		t.Error("metric lengths and areas")
	}
}

// What is empty or not there is unknown, and no fault.
func TestFormUnknownIsNotZero(t *testing.T) {
	for _, f := range []*Form{{values: url.Values{}}, {values: url.Values{"x": {" "}}}} {
		if f.Int("x") != nil || f.ID("x") != nil || f.Number("x") != nil || f.Length("x", 1, 1) != nil || f.Area("x", 1, 1) != nil ||
			f.Pitch("x") != nil || f.Money("x") != nil || f.YesNo("x") != nil || !f.Day("x").IsZero() || !f.Dated("x").IsZero() || f.Version() != 0 {
			t.Errorf("%v is read as something", f.values)
		}
		if err := f.Err(); err != nil {
			t.Error(err)
		}
	}
}

// Every field that cannot be read is told, with what was typed.
func TestFormGathersFaults(t *testing.T) {
	reads := map[string]func(*Form, string){
		"two and a half": func(f *Form, n string) { f.Int(n) }, "2.5": func(f *Form, n string) { f.Int(n) }, "-3": func(f *Form, n string) { f.ID(n) },
		"NaN": func(f *Form, n string) { f.Number(n) }, "1e999": func(f *Form, n string) { f.Number(n) }, "1,2": func(f *Form, n string) { f.Number(n) },
		"steep": func(f *Form, n string) { f.Pitch(n) }, "12.345": func(f *Form, n string) { f.Money(n) }, "06/10/2026": func(f *Form, n string) { f.Day(n) },
		"10.6.14": func(f *Form, n string) { f.Dated(n) }, "perhaps": func(f *Form, n string) { f.YesNo(n) },
		"3 ft": func(f *Form, n string) { f.Length(n, units.Foot, units.Metre) }, "wide": func(f *Form, n string) { f.Area(n, 1, 1) },
	}
	all := &Form{values: url.Values{}}
	for typed, read := range reads {
		f := &Form{values: url.Values{"x": {typed}}}
		read(f, "x")
		var e *models.Error
		if !errors.As(f.Err(), &e) || e.Code != models.Invalid || len(e.Fields) != 1 || e.Fields[0].Field != "x" || e.Fields[0].Value != typed || e.Fields[0].Rule == "" {
			t.Errorf("%q: %v", typed, f.Err())
		}
		all.values.Set(typed, typed)
		read(all, typed)
	}
	var e *models.Error
	if !errors.As(all.Err(), &e) || len(e.Fields) != len(reads) {
		t.Errorf("together: %v", all.Err())
	}
}

func TestUpload(t *testing.T) {
	var name, content string
	s := newSite(t, Route{Method: "POST", Path: "/up", Need: SignedIn, Handle: func(r *Request) error {
		f := r.Form()
		up := f.File("file")
		name = up.Name + "|" + f.Text("kind") + "|" + f.File("other").Name
		if up.Name == "" {
			return r.JSON("none")
		}
		file, err := up.Open()
		if err != nil {
			return err
		}
		defer file.Close()
		b, err := io.ReadAll(file)
		content = string(b)
		return r.JSON(err == nil)
	}})
	b := s.as(models.Owner)
	for given, want := range map[string]string{"roofs.csv": "roofs.csv|roofs|", "../../etc/passwd": "passwd|roofs|", `C:\files\roofs.csv`: "roofs.csv|roofs|"} {
		var body bytes.Buffer
		w := multipart.NewWriter(&body)
		_ = w.WriteField("csrf", b.csrf)
		_ = w.WriteField("kind", "roofs")
		part, err := w.CreateFormFile("file", given)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = io.WriteString(part, "ref\nR-1\n")
		w.Close()
		req := httptest.NewRequest("POST", "/up", &body)
		req.Header.Set("Content-Type", w.FormDataContentType())
		b.do(req).want(200)
		if name != want || content != "ref\nR-1\n" {
			t.Errorf("%q is read as %q with %q", given, name, content)
		}
	}
}

// A refused form comes back with what was typed, the rules beside their fields,
// and a rule about a field that it does not have in its message.
func TestRefused(t *testing.T) {
	var failing error
	s := newSite(t, Route{Method: "POST", Path: "/x", Need: SignedIn, Handle: func(r *Request) error {
		page := views.NewSignInPage(r.Frame(""), "")
		return r.Refused(page, page.Form, failing)
	}})
	b := s.as(models.Owner)
	typed := url.Values{"email": {`o'dile"@example`}, "password": {"secret words"}}
	failing = &models.Error{Code: models.Invalid, Message: "Something needs another look.", Fields: []models.FieldError{
		{Field: "email", Rule: "must be an email address"}, {Field: "email", Rule: "is needed"}, {Field: "elsewhere", Rule: "is wrong"}}}
	got := b.post("/x", typed).want(422)
	if rule := got.text("#signin-email-error"); rule != "must be an email address; is needed" {
		t.Errorf("beside the field: %q", rule)
	}
	if v, _ := got.page().Find("input[name=email]").Attr("value"); v != `o'dile"@example` {
		t.Errorf("the field holds %q", v)
	}
	if whole := got.text(".wrong"); got.page().Find("[aria-invalid=true]").Length() != 1 || !bytes.Contains([]byte(whole), []byte("elsewhere: is wrong")) {
		t.Errorf("the message is %q", whole)
	}
	failing = models.Errorf(models.Conflict, "Somebody else changed it.")
	b.post("/x", typed).want(409)
	// A failure that typing again does not mend is an error page.
	failing = models.Errorf(models.NotFound, "There is no such roof.")
	if got := b.post("/x", typed).want(404); got.page().Find("#signin").Length() > 0 {
		t.Error("the form is shown for a record that is not there")
	}
	failing = errors.New("the disk is full")
	b.post("/x", typed).want(500)
	failing = models.Errorf(models.Invalid, "No.")
	b.header.Set("Accept", "application/json")
	if got := b.post("/x", typed).want(422); got.Header.Get("Content-Type") != "application/json" {
		t.Errorf("a program is answered with %s", got.Header.Get("Content-Type"))
	}
}
