package intake

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
	"overhang/models"
)

// readAll reads a file of a kind, and gives its lines and what was refused.
func readAll[T any](s *Sheet[T], file string) ([]*Line[T], []Refusal) {
	var refused []Refusal
	note := func(err error) bool {
		var broken *FileError
		if errors.As(err, &broken) {
			refused = append(refused, broken.Refusals...)
		}
		return err != nil
	}
	rows, err := s.Open(strings.NewReader(file))
	if note(err) {
		return nil, refused
	}
	var lines []*Line[T]
	for {
		l, err := rows.Next()
		if note(err) {
			return lines, refused
		}
		lines = append(lines, l)
		refused = append(refused, l.Refusals...)
	}
}

// rowsOf puts the lines into new rows.
func rowsOf[T any](t testing.TB, s *Sheet[T], file string) []*T {
	t.Helper()
	lines, refused := readAll(s, file)
	if len(refused) > 0 {
		t.Fatalf("%q: refused: %+v", file, refused)
	}
	var out []*T
	for _, l := range lines {
		row := new(T)
		l.Apply(row, true)
		out = append(out, row)
	}
	return out
}

// The form of a file and of a cell: RFC 4180, and our own rules of days, numbers
// and words.
func TestWhatIsRefused(t *testing.T) {
	const head = "ref,number,street\n"
	long := strings.Repeat("x", MaxField+1)
	for _, c := range []struct {
		name, file  string
		line        int
		field, rule string
	}{
		{"nothing", "", 1, "", "the file is empty"},
		{"blank lines", "\n\r\n\n", 1, "", "the file is empty"},
		{"UTF-16", "\xff\xfer\x00e\x00f\x00", 1, "", "UTF-16"},
		{"UTF-16, other order", "\xfe\xff\x00r\x00e\x00f", 1, "", "UTF-16"},
		{"a NUL", head + "H-1,1,Elm\x00\n", 2, "", "byte of nought"},
		{"Latin-1 cell", head + "H-1,1,Elm\nH-2,2,Ch\xeane\n", 3, "street", "not UTF-8"},
		{"Latin-1 header", "ref,rue \xe9\n", 1, "", "not UTF-8"},
		{"tabs", "ref\tnumber\n", 1, "", "tabs"},
		{"both separators", "ref,number;street\n", 1, "", "both commas and semicolons"},
		{"carriage returns alone", "ref,number\rH-1,1\r", 1, "", "carriage return alone"},
		{"unknown column", "ref,colour_of_door\n", 1, "colour_of_door", "not a column of houses"},
		{"column twice", "ref,street,street\n", 1, "street", "columns 2 and 3"},
		{"column without a name", "ref,,street\n", 1, "", "column 2 has no name"},
		{"needed column", "number,street\n", 1, "ref", "is missing"},
		{"too few cells", head + "H-1,1\n", 2, "", "as many cells"},
		{"too many cells", head + "H-1,1,Elm,x\n", 2, "", "as many cells"},
		{"a bare quote", head + "H-1,1,Elm \"St\n", 2, "", "quote within a cell"},
		{"text after a quote", head + "H-1,1,\"Elm\" St\n", 2, "", "after a closing quote"},
		{"an open quote", head + "H-1,1,Elm\nH-2,2,\"Elm\nH-3,3,Elm\n", 3, "", "not closed"},
		{"a row without an end", head + "H-1,1,\"" + strings.Repeat("x\n", maxRecord/2), 2, "", "longer than 1024 KiB"},
		{"an overlong cell", head + "H-1,1," + long + "\n", 2, "street", "longer than 100000 bytes"},
		{"an overlong text", head + "H-1,1," + strings.Repeat("é", 121) + "\n", 2, "street", "at most 120 characters"},
		{"no name", head + " ,1,Elm\n", 2, "ref", "names the row"},
		{"a name emptied", head + "-,1,Elm\n", 2, "ref", "cannot be emptied"},
		{"twice", head + "H-1,1,Elm\nH-2,2,\"El\nm\"\nH-1,3,Elm\n", 5, "ref", "in line 2 too"},
		{"a list emptied", "ref,old_address\nH-1,-\n", 2, "old_address", "only grows"},
		{"an item twice", "ref,old_address\nH-1,1 Elm|1 Elm\n", 2, "old_address", "twice"},
		{"an address", "ref,old_address\nH-1,Elm Street\n", 2, "old_address", "number and street"},
		{"a word", "ref,cladding\nH-1,straw\n", 2, "cladding", "one of stucco, siding"},
		{"yes and no", "ref,trees\nH-1,perhaps\n", 2, "trees", "yes or no"},
		{"a whole number", "ref,storeys\nH-1,1.5\n", 2, "storeys", "whole number"},
		{"not a number", "ref,lat\nH-1,north\n", 2, "lat", "write a number"},
		{"hexadecimal", "ref,lat\nH-1,0x28\n", 2, "lat", "write a number"},
		{"endless", "ref,lat\nH-1,Inf\n", 2, "lat", "write a number"},
		{"too large", "ref,lat\nH-1,1e999\n", 2, "lat", "larger than any"},
		{"a decimal comma among commas", "ref,lat\nH-1,\"40,5\"\n", 2, "lat", "write a number"},
		{"may be thousands", "ref;lat\nH-1;40,125\n", 2, "lat", "may be 40.125 or 40125"},
		{"thousands", "ref;lat\nH-1;1.240,5\n", 2, "lat", "without separators"},
		{"may be May or November", "ref,ended_on\nH-1,11/05/2019\n", 2, "ended_on", "may be 2019-11-05 or 2019-05-11; write year-month-day"},
		{"only one meaning", "ref,ended_on\nH-1,25.12.2019\n", 2, "ended_on", "write year-month-day: 2019-12-25"},
		{"two digits of year", "ref,ended_on\nH-1,11/05/19\n", 2, "ended_on", "such as 2019-05-11"},
		{"no such day", "ref,ended_on\nH-1,2019-02-29\n", 2, "ended_on", "write year-month-day"},
		{"a day long ago", "ref,ended_on\nH-1,0000-12-31\n", 2, "ended_on", "must lie between 1800-01-01"},
		{"a season", "ref,roof_year\nH-1,spring 2004\n", 2, "roof_year", "2014 or about 2014"},
	} {
		_, refused := readAll(Houses, c.file)
		found := slices.ContainsFunc(refused, func(r Refusal) bool {
			return r.Line == c.line && r.Field == c.field && strings.Contains(r.Rule, c.rule)
		})
		if !found || len(refused) > 2 {
			t.Errorf("%s: want line %d, %q: …%s…, have %+v", c.name, c.line, c.field, c.rule, refused)
		}
	}
	for _, c := range []struct{ file, field, rule string }{
		{"ref,area_ft2,area_squares\n", "area_squares", "says the same as area_ft2 in another unit"},
		{"ref,pitch,pitch_deg\n", "pitch_deg", "in another unit"},
		{"ref,pitch\nR-1,steep\n", "pitch", "rise in twelve"},
		{"ref,pitch\nR-1,-2\n", "pitch", "rise in twelve"},
		{"ref,pitch_deg\nR-1,90\n", "pitch_deg", "78 degrees"},
		{"ref,area_ft2\nR-1,2450 sq ft\n", "area_ft2", "without its unit"},
		{"ref,ours\nR-1,-\n", "ours", "cannot be emptied"},
	} {
		if _, refused := readAll(Roofs, c.file); len(refused) != 1 || refused[0].Field != c.field || !strings.Contains(refused[0].Rule, c.rule) {
			t.Errorf("%q: want %s: …%s…, have %+v", c.file, c.field, c.rule, refused)
		}
	}
	for _, c := range []struct{ file, field, rule string }{
		{"ref,price\nJ-1,12.345\n", "price", "two decimals"},
		{"ref;price\nJ-1;1,234\n", "price", "may be 1.234 or 1234"},
		{"ref;price\nJ-1;1.234,50\n", "price", "without separators"},
		{"ref,declined\nJ-1,new flashing\n", "declined", "day of signing"},
	} {
		if _, refused := readAll(Jobs, c.file); len(refused) != 1 || refused[0].Field != c.field || !strings.Contains(refused[0].Rule, c.rule) {
			t.Errorf("%q: want %s: …%s…, have %+v", c.file, c.field, c.rule, refused)
		}
	}
	for _, c := range []struct{ file, field, rule string }{
		{"key,steps\nt,half\n", "steps", "month:share"},
		{"key,conditions\nt,registered:soon\n", "conditions", "condition:days"},
	} {
		if _, refused := readAll(TermsSheet, c.file); len(refused) != 1 || refused[0].Field != c.field || !strings.Contains(refused[0].Rule, c.rule) {
			t.Errorf("%q: want %s: …%s…, have %+v", c.file, c.field, c.rule, refused)
		}
	}
	for _, c := range []struct{ file, field, rule string }{
		{"ref,shape\nS-1,40.1\n", "shape", "latitude and longitude"},
		{"ref,gust_mph,gust_km_h\n", "gust_km_h", "in another unit"},
	} {
		if _, refused := readAll(Storms, c.file); len(refused) != 1 || refused[0].Field != c.field || !strings.Contains(refused[0].Rule, c.rule) {
			t.Errorf("%q: want %s: …%s…, have %+v", c.file, c.field, c.rule, refused)
		}
	}
	if _, refused := readAll(Slopes, "house_ref,name,facing\nH-1,a,up\n"); len(refused) != 1 || !strings.Contains(refused[0].Rule, "or n, ne") {
		t.Errorf("a facing: %+v", refused)
	}
	if _, refused := readAll(Callbacks, "ref,ring_back_by\nB-1,tomorrow\n"); len(refused) != 1 || !strings.Contains(refused[0].Rule, "offset from UTC") {
		t.Errorf("a moment: %+v", refused)
	}
}

func TestTooManyRowsAndTooLargeAFile(t *testing.T) {
	rows := io.MultiReader(strings.NewReader("key,name\n"), strings.NewReader(strings.Repeat("k,n\n", MaxRows+1)))
	tab, err := openTable(rows)
	if err != nil {
		t.Fatal(err)
	}
	for err == nil {
		tab.csv.ReuseRecord = true
		_, _, err = tab.next()
	}
	var f *fault
	if !errors.As(err, &f) || f.line != MaxRows+2 || !strings.Contains(f.rule, "more than 1000000 rows") {
		t.Errorf("too many rows: %v", err)
	}
	g := &guard{r: strings.NewReader("x\n"), total: MaxFile - 1, line: 1}
	if _, err := g.Read(make([]byte, 10)); !errors.As(err, &f) || !strings.Contains(f.rule, "larger than 512 MiB") {
		t.Errorf("too large a file: %v", err)
	}
}

func TestAWrongKindIsNamed(t *testing.T) {
	for _, k := range Kinds() {
		file, err := Template(k.Name)
		if err != nil {
			t.Fatal(err)
		}
		for _, other := range []string{"houses", "roofs"} {
			if other == k.Name {
				continue
			}
			var refused []Refusal
			if other == "houses" {
				_, refused = readAll(Houses, string(file))
			} else {
				_, refused = readAll(Roofs, string(file))
			}
			want := fmt.Sprintf("a file of %s, and it was read as one of %s", k.Name, other)
			if len(refused) == 0 || !strings.Contains(refused[0].Rule, want) || refused[0].Value == "" {
				t.Errorf("want %s, have %+v", want, refused[:min(len(refused), 2)])
			}
		}
	}
	if _, err := Template("barns"); models.CodeOf(err) != models.NotFound {
		t.Errorf("an unknown kind: %v", err)
	}
}

// RFC 4180, section 2: quotes, doubled quotes, separators and line breaks in
// cells; a mark at the start and either line end as spreadsheets write them.
func TestFormsOfAFile(t *testing.T) {
	want := []string{"H-1", "1 \"A\"", "Elm; Oak, Street\nback", "x"}
	for name, file := range map[string]string{
		"commas":     "ref,number,street,site_notes\nH-1,\"1 \"\"A\"\"\",\"Elm; Oak, Street\nback\",x\n",
		"semicolons": "ref;number;street;site_notes\nH-1;\"1 \"\"A\"\"\";\"Elm; Oak, Street\nback\";x\n",
		"CRLF":       "ref,number,street,site_notes\r\nH-1,\"1 \"\"A\"\"\",\"Elm; Oak, Street\r\nback\",x\r\n",
		"mark":       "\ufeffref,number,street,site_notes\nH-1,\"1 \"\"A\"\"\",\"Elm; Oak, Street\nback\",x",
		"quoted":     "\ufeff\"Ref\" ,\"NUMBER\",street,site_notes\n\"H-1\",\"1 \"\"A\"\"\",\"Elm; Oak, Street\nback\",\"x\"",
		"empty rows": "\n\nref,number,street,site_notes\n\n,,,\nH-1,\"1 \"\"A\"\"\",\"Elm; Oak, Street\nback\", x \n,,,\n",
		"order":      "street,site_notes,ref,number\n\"Elm; Oak, Street\nback\",x,H-1,\"1 \"\"A\"\"\"\n",
	} {
		if strings.HasPrefix(name, "quoted") {
			file = strings.Replace(file, "\"Ref\" ,", "\"Ref \",", 1)
		}
		got := rowsOf(t, Houses, file)
		if len(got) != 1 {
			t.Errorf("%s: %d rows", name, len(got))
			continue
		}
		h := got[0]
		if have := []string{h.Ref, h.Address.Number, h.Address.Street, h.SiteNotes}; !slices.Equal(have, want) {
			t.Errorf("%s: %q", name, have)
		}
	}
	// The line of a row is that on which it begins, after breaks within cells.
	lines, _ := readAll(Houses, "ref,street,site_notes\nH-1,Elm,\"a\nb\n\nc\"\n\nH-2,\"x\ny\",z\nH-3,,\n")
	var at []int
	for _, l := range lines {
		at = append(at, l.Number)
	}
	if !slices.Equal(at, []int{2, 7, 9}) {
		t.Errorf("rows begin on the lines %v", at)
	}
	// A refused cell is told by its own line.
	if _, refused := readAll(Houses, "ref,site_notes,storeys\nH-1,\"a\nb\",many\n"); len(refused) != 1 || refused[0].Line != 3 {
		t.Errorf("refused: %+v", refused)
	}
}

// Units: exact definitions of the international foot and inch (NIST SP 811,
// appendix B.8); a square is 100 ft² (common practice, no source).
func TestQuantitiesInTheirUnits(t *testing.T) {
	near := func(name string, have, want float64) {
		t.Helper()
		if d := have - want; d > 1e-9 || d < -1e-9 {
			t.Errorf("%s is %v, not %v", name, have, want)
		}
	}
	for file, want := range map[string]float64{
		"ref,area_ft2\nR,2450\n": 227.612448, "ref,area_squares\nR,24.5\n": 227.612448, "ref;area_m2\nR;227,612448\n": 227.612448,
	} {
		near(file, float64(*rowsOf(t, Roofs, file)[0].Area), want)
	}
	near("pitch", float64(*rowsOf(t, Roofs, "ref,pitch\nR,6:12\n")[0].Pitch), 0.5)
	near("pitch", float64(*rowsOf(t, Roofs, "ref,pitch\nR,6\n")[0].Pitch), 0.5)
	near("pitch", float64(*rowsOf(t, Roofs, "ref;pitch\nR;6,5\n")[0].Pitch), 6.5/12)
	near("pitch", float64(*rowsOf(t, Roofs, "ref,pitch_deg\nR,45\n")[0].Pitch), 1)
	near("overhang", float64(*rowsOf(t, Slopes, "house_ref,name,overhang_in\nH,n,18\n")[0].Overhang), 0.4572)
	near("facing", *rowsOf(t, Slopes, "house_ref,name,facing\nH,n,SW\n")[0].Facing, 225)
	near("free area", float64(*rowsOf(t, Vents, "house_ref,name,kind,free_area_in2\nH,n,box,50\n")[0].FreeArea), 0.032258)
	// 9 in² a foot is 190.5 cm² a metre.
	near("free area", float64(*rowsOf(t, Vents, "house_ref,name,kind,length_ft,free_area_in2_per_ft\nH,n,ridge,40,9\n")[0].FreeArea), 0.01905)
	near("insulation", *rowsOf(t, Attics, "house_ref,insulation_r\nH,38\n")[0].Insulation, 6.6921876)
	near("gust", *rowsOf(t, Storms, "ref,closed,gust_km_h\nS,no,90\n")[0].Gust, 25)
	j := rowsOf(t, Jobs, "ref;price\nA;1234,5\nB;$1234.50\nC;1234\n")
	if j[0].Price != 123450 || j[1].Price != 123450 || j[2].Price != 123400 {
		t.Errorf("prices %v %v %v", j[0].Price, j[1].Price, j[2].Price)
	}
	if j := rowsOf(t, Jobs, "ref,price\nA,\"1,234.50\"\n"); j[0].Price != 123450 {
		t.Errorf("price %v", j[0].Price)
	}
	r := rowsOf(t, Roofs, "ref,laid,ours\nA,about 2004,no\nB,2019-05,no\n")
	if r[0].Laid.String() != "about 2004" || r[1].Laid.String() != "2019-05" {
		t.Errorf("laid %v and %v", r[0].Laid, r[1].Laid)
	}
	a := rowsOf(t, Attics, "house_ref,structure,retarder\nH,,ii\nH,garage,none\n")
	if a[0].Structure != "main" || a[0].Name != "main" || a[0].Retarder != "II" || a[1].Structure != "garage" {
		t.Errorf("attics %+v %+v", a[0], a[1])
	}
}

// Starts after OWASP, "CSV injection": = + - @, tab, carriage return.
func TestNoCellIsRunByASpreadsheet(t *testing.T) {
	for _, c := range []struct{ text, written string }{
		{"=1+1", "'=1+1"}, {"+1 555 0100", "'+1 555 0100"}, {"-2", "'-2"}, {"-", "'-"}, {"@SUM(A1)", "'@SUM(A1)"},
		{"'=1", "''=1"}, {"'\t'", "''\t'"}, {"\"=1\"", "'\"=1\""}, {"“=1”", "'“=1”"}, {"＝1", "'＝1"}, {"\u200b=1", "'\u200b=1"},
		{"'twas", "'twas"}, {"a=1", "a=1"}, {"12-b", "12-b"}, {"", ""}, {"(-1)", "(-1)"},
	} {
		if got := neutral(c.text); got != c.written {
			t.Errorf("%q is written %q, not %q", c.text, got, c.written)
		}
		if got := plain(c.written); got != c.text {
			t.Errorf("%q is read %q, not %q", c.written, got, c.text)
		}
	}
	for _, s := range []string{"\t=1", "\r=1", "\tx", "\rx", "  =1", "\n@x"} {
		if !runs(s) {
			t.Errorf("%q is taken for harmless", s)
		}
	}
	west := -105.25
	h := &House{House: models.House{Ref: "=H", Lat: &west, Lon: &west}}
	record := written(t, Houses, []*House{h})[1]
	if record[0] != "'=H" || !slices.Contains(record, "-105.25") {
		t.Errorf("written %q", record)
	}
}

// written gives the records of a file of the rows.
func written[T any](t testing.TB, s *Sheet[T], rows []*T) [][]string {
	t.Helper()
	records, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(file(t, s, rows, units.US), "\ufeff"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return records
}

func file[T any](t interface{ Fatal(...any) }, s *Sheet[T], rows []*T, system units.System) string {
	var b bytes.Buffer
	w := s.Writer(&b, system, true, true)
	for _, r := range rows {
		if err := w.Write(r); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// nasty draws texts that a file or a spreadsheet could trip over.
func nasty(most int) *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		parts := rapid.SliceOfN(rapid.OneOf(
			rapid.SampledFrom([]string{"=", "+", "-", "@", "\t", "\r", "\n", "\r\n", "'", "\"", "\"\"", ",", ";", "|", `\`, `\|`, " ", "\u00a0", "\ufeff",
				"\u200b", "é", "雪", "＝", "“", "#", "a", "1", "-1", "=1+1", "yes", "2019-05-11", "11/05/2019", "\u2028", "\x1f"}),
			rapid.StringOfN(rapid.Rune(), 0, 4, -1)), 0, 5).Draw(t, "parts")
		s := strings.ReplaceAll(strings.Join(parts, ""), "\x00", "")
		return strings.ToValidUTF8(string([]rune(s)[:min(most, len([]rune(s)))]), "")
	})
}

func pointer[V any](g *rapid.Generator[V]) *rapid.Generator[*V] {
	return rapid.Custom(func(t *rapid.T) *V {
		if rapid.Bool().Draw(t, "unknown") {
			return nil
		}
		v := g.Draw(t, "value")
		return &v
	})
}

func dates() *rapid.Generator[units.Date] {
	return rapid.OneOf(rapid.Just(units.Date(0)), rapid.Custom(func(t *rapid.T) units.Date {
		return units.Date(rapid.IntRange(int(earliestDay), int(latestDay)).Draw(t, "day"))
	}))
}

// unchanged writes a row, reads it back onto itself and wants no change.
func unchanged[T any](t *rapid.T, s *Sheet[T], row *T) {
	for _, system := range []units.System{units.US, units.Metric} {
		text := file(t, s, []*T{row}, system)
		lines, refused := readAll(s, text)
		if len(refused) > 0 || len(lines) != 1 {
			t.Fatalf("%q: refused %+v", text, refused)
		}
		if lines[0].Key() != s.KeyOf(row) {
			t.Fatalf("%q: the key is %q, not %q", text, lines[0].Key(), s.KeyOf(row))
		}
		if changes := lines[0].Apply(row, false); len(changes) > 0 {
			t.Fatalf("%q: changes %+v", text, changes)
		}
		// Onto a new row, and written again, it is the same file.
		fresh := new(T)
		lines[0].Apply(fresh, true)
		if again := file(t, s, []*T{fresh}, system); again != text {
			t.Fatalf("written again:\n%q, not\n%q", again, text)
		}
	}
}

func TestRoundTripOfTexts(t *testing.T) {
	items := rapid.Custom(func(t *rapid.T) []string {
		list := rapid.SliceOfNDistinct(nasty(30), 0, 3, tidy).Draw(t, "items")
		return slices.DeleteFunc(list, func(s string) bool { return tidy(s) == "" })
	})
	rapid.Check(t, func(t *rapid.T) {
		name := nasty(40).Filter(func(s string) bool { return tidy(s) != "" })
		j := &Job{Job: models.Job{Ref: name.Draw(t, "ref"), Part: nasty(200).Draw(t, "part"), Notes: nasty(400).Draw(t, "notes"),
			Price: units.Money(rapid.Int64Range(0, 1e9).Draw(t, "price")), SoldOn: dates().Draw(t, "sold")},
			HouseRef: nasty(40).Draw(t, "house"), Lots: items.Draw(t, "lots"), RoofRefs: items.Draw(t, "roofs")}
		unchanged(t, Jobs, j)
		f := &Finding{VisitRef: name.Draw(t, "visit"), Structure: nasty(20).Draw(t, "structure"), Slope: nasty(20).Draw(t, "slope"), Nth: 1,
			Finding: models.Finding{Defect: name.Draw(t, "defect"), Note: nasty(100).Draw(t, "note"),
				Severity: pointer(rapid.IntRange(1, 3)).Draw(t, "severity"), Extent: pointer(rapid.Float64Range(0, 1)).Draw(t, "extent")}}
		if tidy(f.Structure) == "" {
			f.Structure = MainName
		}
		unchanged(t, Findings, f)
		v := &Visit{Visit: models.Visit{Ref: name.Draw(t, "visit")}, Sight: items.Draw(t, "sight")}
		if slices.Contains(v.Sight, NoSlope) {
			v.Sight = []string{NoSlope}
		}
		unchanged(t, Visits, v)
	})
}

func TestRoundTripOfNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unchanged(t, Houses, &House{House: models.House{Ref: "H", Lat: pointer(rapid.Float64Range(-90, 90)).Draw(t, "lat"),
			Lon: pointer(rapid.Float64Range(-180, 180)).Draw(t, "lon"), Trees: pointer(rapid.Bool()).Draw(t, "trees"),
			Storeys: pointer(rapid.IntRange(-9, 9)).Draw(t, "storeys"), EndedOn: dates().Draw(t, "ended")}})
		area := rapid.Custom(func(t *rapid.T) units.Area { return units.Area(rapid.Float64Range(0, 20000).Draw(t, "m2")) })
		length := rapid.Custom(func(t *rapid.T) units.Length { return units.Length(rapid.Float64Range(0, 500).Draw(t, "m")) })
		pitch := rapid.Custom(func(t *rapid.T) units.Pitch { return units.Pitch(rapid.Float64Range(0, 5).Draw(t, "pitch")) })
		precision := rapid.SampledFrom([]units.Precision{units.ToDay, units.ToMonth, units.ToYear, units.About}).Draw(t, "precision")
		unchanged(t, Roofs, &Roof{Roof: models.Roof{Ref: "R", Area: pointer(area).Draw(t, "area"), Pitch: pointer(pitch).Draw(t, "pitch"),
			Laid: units.Dated{On: dates().Draw(t, "laid"), Precision: precision}, Ours: rapid.Bool().Draw(t, "ours")}})
		unchanged(t, Slopes, &Slope{Place: Place{HouseRef: "H", Structure: "main"}, Slope: models.Slope{Name: "n", Area: pointer(area).Draw(t, "area"),
			Eave: pointer(length).Draw(t, "eave"), Overhang: pointer(length).Draw(t, "overhang"), Pitch: pointer(pitch).Draw(t, "pitch")}})
		unchanged(t, Vents, &Vent{Place: Place{HouseRef: "H", Structure: "main"}, Attic: "main", Vent: models.Vent{Name: "n", Kind: "box", Height: "low",
			Length: pointer(length).Draw(t, "length"), FreeArea: pointer(area).Draw(t, "free"), Blocked: pointer(rapid.Float64Range(0, 1)).Draw(t, "blocked")}})
		unchanged(t, Costs, &Cost{CallbackRef: "B", Nth: rapid.IntRange(1, 9).Draw(t, "nth"), CostLine: models.CostLine{On: earliestDay, LearnedOn: earliestDay, Kind: "labour",
			Amount: units.Money(rapid.Int64Range(-1e9, 1e9).Draw(t, "amount"))}})
		unchanged(t, TermsSheet, &Terms{models.Terms{Key: "t", Cap: pointer(rapid.Map(rapid.Int64Range(0, 1e9), func(v int64) units.Money { return units.Money(v) })).Draw(t, "cap"),
			Steps:      models.JSON[models.Step]{{FromMonth: 3, Share: rapid.Float64Range(0, 1).Draw(t, "share")}, {FromMonth: 9, Share: 0.5}},
			Conditions: models.JSON[models.Condition]{{Kind: "registered", Days: rapid.IntRange(0, 90).Draw(t, "days")}}}})
	})
}

func TestListsOfItems(t *testing.T) {
	for _, c := range []struct {
		cell  string
		items []string
	}{
		{"a|b", []string{"a", "b"}}, {" a | | b ", []string{"a", "b"}}, {`a\|b|c`, []string{"a|b", "c"}}, {`a\\|c`, []string{`a\`, "c"}},
		{`C:\x`, []string{`C:\x`}}, {`end\`, []string{`end\`}}, {"|", nil},
	} {
		if got := splitItems(c.cell); !slices.Equal(got, c.items) {
			t.Errorf("%q holds %q, not %q", c.cell, got, c.items)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		var want []string
		for _, s := range rapid.SliceOf(nasty(20)).Draw(t, "items") {
			if s = tidy(s); s != "" {
				want = append(want, s)
			}
		}
		if got := splitItems(joinItems(want)); !slices.Equal(got, want) {
			t.Fatalf("%q comes back as %q", want, got)
		}
	})
}

// No file, however broken, does more than be refused.
func TestAnyBytesAreReadOrRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		body := rapid.OneOf(rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) }), nasty(200)).Draw(t, "bytes")
		head := rapid.SampledFrom([]string{"", "ref,number,street\n", "\ufeffref;number;street\r\n", "ref\n"}).Draw(t, "header")
		lines, _ := readAll(Houses, head+body)
		n, err := CountRows(strings.NewReader(head + body))
		if err != nil || (head != "" && n < len(lines)) {
			t.Fatalf("%d rows counted, %d read (%v)", n, len(lines), err)
		}
	})
}

func TestAnEmptyCellMakesNoChange(t *testing.T) {
	two := 2
	h := &House{House: models.House{Ref: "H-1", Builder: "Invented Homes", Storeys: &two}}
	lines, _ := readAll(Houses, "ref,builder,storeys,plan\nH-1,,,\n")
	if changes := lines[0].Apply(h, false); len(changes) != 0 || h.Builder == "" || h.Storeys == nil {
		t.Errorf("changes %+v to %+v", changes, h)
	}
	lines, _ = readAll(Houses, "ref,builder,storeys,plan\nH-1,-,-,-\n")
	want := []Change{{"builder", "Invented Homes", ""}, {"storeys", "2", ""}}
	if changes := lines[0].Apply(h, false); !slices.Equal(changes, want) || h.Builder != "" || h.Storeys != nil {
		t.Errorf("changes %+v to %+v", changes, h)
	}
}

func TestTemplatesHaveEveryColumn(t *testing.T) {
	for _, k := range Kinds() {
		text, err := Template(k.Name)
		if err != nil {
			t.Fatal(err)
		}
		records, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(text), "\ufeff"))).ReadAll()
		if err != nil || len(records) != 3 {
			t.Fatalf("%s: %d lines, %v", k.Name, len(records), err)
		}
		for _, c := range k.Columns {
			covered := slices.ContainsFunc(k.Columns, func(other Column) bool {
				return slices.Contains(records[0], other.Name) && (other.Name == c.Name || c.Quantity != "" && other.Quantity == c.Quantity)
			})
			if !covered {
				t.Errorf("the template of %s lacks %s", k.Name, c.Name)
			}
		}
	}
}

func TestReportIsCappedButCountsAll(t *testing.T) {
	var r Report
	for i := range 2 * mostListed {
		r.Row(RowReport{Line: i, State: New, Name: "H"})
		r.Refuse(Refusal{Line: i, Field: "ref", Rule: "is wrong"}, Refusal{Line: i, Rule: "is wrong"})
	}
	r.Row(RowReport{Line: 9999, State: Changed, Name: "H-9", Changes: []Change{{"builder", "a", "b"}, {"plan", "c", ""}}})
	r.Make("crew", 1)
	r.Make("crew", 2)
	if r.New != 2*mostListed || r.Refusals != 4*mostListed || len(r.RefusalList) != mostRefused || len(r.RowList) != mostListed+1 {
		t.Errorf("new %d, refusals %d, listed %d and %d", r.New, r.Refusals, len(r.RowList), len(r.RefusalList))
	}
	var b strings.Builder
	if err := r.WriteText(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"1000 new, 1 changed", "nothing is written", "line 3, ref: is wrong", "crew (3)", "and 1500 refusals more",
		`line 9999: changed H-9: builder "a" → "b", plan "c" → ""`, "and 500 rows more"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the text lacks %q", want)
		}
	}
	text, err := json.Marshal(&r)
	if err != nil || !strings.Contains(string(text), `"refusals":2000`) {
		t.Errorf("as JSON: %v", err)
	}
}

func BenchmarkReadHouses(b *testing.B) {
	var f strings.Builder
	f.WriteString("ref,number,street,town,lat,lon,build_year,contact_ref,contact_name\n")
	for i := range 10_000 {
		fmt.Fprintf(&f, "H-%06d,%d,Elm Street,Snowfield,40.%06d,-105.1,1990,C-%06d,Kim Sample\n", i, i, i, i)
	}
	for b.Loop() {
		if lines, _ := readAll(Houses, f.String()); len(lines) != 10_000 {
			b.Fatal(len(lines))
		}
	}
	b.ReportMetric(float64(10_000*b.N)/b.Elapsed().Seconds(), "rows/s")
}

// How a slope in sight is written: by its own name on the main building, where that
// can be nothing else.
func TestNamesOfSlopesInSight(t *testing.T) {
	for _, c := range []struct{ structure, slope, want string }{
		{"main", "south", "south"}, {"garage", "south", "garage/south"}, {"main", "none", "main/none"}, {"main", "over/under", "main/over/under"},
	} {
		if got := SightName(c.structure, c.slope); got != c.want {
			t.Errorf("%s on %s is %q, want %q", c.slope, c.structure, got, c.want)
		}
	}
}
