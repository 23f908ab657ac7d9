package views

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"golang.org/x/text/language"
	"pgregory.net/rapid"

	"overhang/models/intake"
)

func testWords(t testing.TB) map[string]*words {
	t.Helper()
	sub, err := fs.Sub(wordFiles, "words")
	if err != nil {
		t.Fatal(err)
	}
	all, err := readWords(sub)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// wordsUsed lists the keys and the families of keys that the templates and the
// Go files name: those here, and those of the server, which says what was done.
func wordsUsed(t *testing.T) (keys, families []string) {
	r, err := New()
	if err != nil {
		t.Fatal(err)
	}
	for _, set := range r.masters {
		for _, tmpl := range set.Templates() {
			if tmpl.Tree != nil {
				keys = append(keys, keysIn(tmpl.Tree.Root, "word")...)
				for _, f := range keysIn(tmpl.Tree.Root, "term") {
					families = append(families, f+".")
				}
			}
		}
	}
	here, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	server, err := filepath.Glob("../server/*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range append(here, server...) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				f, ok := n.Fun.(*ast.Ident)
				if of, from := n.Fun.(*ast.SelectorExpr); from {
					if x, is := of.X.(*ast.Ident); is && x.Name == "views" {
						f, ok = of.Sel, true
					}
				}
				if ok && (f.Name == "Say" || f.Name == "Term") && len(n.Args) > 0 {
					s, ok := literal(n.Args[0])
					switch {
					case !ok && name != "format.go":
						t.Errorf("%s: the key of %s must be written out, or no test can look for it", name, f.Name)
					case ok && f.Name == "Say":
						keys = append(keys, s)
					case ok:
						families = append(families, s+".")
					}
				}
			case *ast.BasicLit:
				// format.go names months, weekdays and forms of a date by their keys.
				if s, ok := literal(n); ok && (name == "format.go" || name == "words.go") && strings.Contains(s, ".") && !strings.ContainsAny(s, " /:") {
					if family, _, cut := strings.Cut(s, "%"); cut {
						s = family
					}
					if strings.HasSuffix(s, ".") && s != "." {
						families = append(families, s)
					} else if strings.HasPrefix(s, "date.") || strings.HasPrefix(s, "clock.") {
						keys = append(keys, s)
					}
				}
			}
			return true
		})
	}
	return keys, families
}

func literal(e ast.Expr) (string, bool) {
	l, ok := e.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(l.Value)
	return s, err == nil
}

func TestEveryWordIsThereAndUsed(t *testing.T) {
	en := testWords(t)[DefaultLanguage]
	keys, families := wordsUsed(t)
	if len(keys) < 40 || len(families) < 5 {
		t.Fatalf("only %d keys and %d families were found: the search is broken", len(keys), len(families))
	}
	for _, key := range keys {
		if _, ok := en.texts[key]; !ok {
			t.Errorf("%q is asked for and is not in the words", key)
		}
	}
	inFamily := func(key string) bool {
		return slices.ContainsFunc(families, func(f string) bool { return strings.HasPrefix(key, f) })
	}
	for _, family := range families {
		if !slices.ContainsFunc(sortedKeys(en.texts), func(key string) bool { return strings.HasPrefix(key, family) }) {
			t.Errorf("no word begins with %q", family)
		}
	}
	for key := range en.texts {
		if !slices.Contains(keys, key) && !inFamily(key) {
			t.Errorf("%q is in the words and nothing uses it", key)
		}
	}
}

func TestEveryKindOfFileHasAName(t *testing.T) {
	en := testWords(t)[DefaultLanguage]
	for _, k := range intake.Kinds() {
		if _, ok := en.texts["file_kind."+k.Name]; !ok {
			t.Errorf("files of %s have no name", k.Name)
		}
	}
}

// A count before a word in the plural has another form for one.
func TestCountsHaveAFormForOne(t *testing.T) {
	plural := regexp.MustCompile(`\{count(:spelled)?\}(\]\([a-z_]+\))? [a-z]+s\b`)
	files, err := fs.Glob(wordFiles, "words/en.*.json")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, name := range files {
		file, err := wordFiles.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		texts := map[string]any{}
		if err := json.Unmarshal(file, &texts); err != nil {
			t.Fatal(err)
		}
		for key, text := range texts {
			if of, only := text.(string); only && plural.MatchString(of) {
				t.Errorf("%s of one: %s", key, of)
			}
		}
	}
}

// differences lists what one language lacks or has otherwise than another.
func differences(a, b *words) []string {
	var wrong []string
	shape := func(t text) string {
		var names []string
		for _, parts := range t.forms {
			walkParts(parts, func(p part) {
				if p.value != "" {
					names = append(names, "{"+p.value+"}")
				}
				if p.link != "" {
					names = append(names, "("+p.link+")")
				}
			})
		}
		slices.Sort(names)
		return strings.Join(slices.Compact(names), " ")
	}
	for _, key := range sortedKeys(a.texts) {
		other, ok := b.texts[key]
		switch {
		case !ok:
			wrong = append(wrong, fmt.Sprintf("%s lacks %q", b.tag, key))
		case shape(a.texts[key]) != shape(other):
			wrong = append(wrong, fmt.Sprintf("%q has %s in %s and %s in %s", key, shape(a.texts[key]), a.tag, shape(other), b.tag))
		}
	}
	for _, key := range sortedKeys(b.texts) {
		if _, ok := a.texts[key]; !ok {
			wrong = append(wrong, fmt.Sprintf("%s has %q, which %s lacks", b.tag, key, a.tag))
		}
	}
	return wrong
}

func TestLanguagesAgree(t *testing.T) {
	all := testWords(t)
	for code, w := range all {
		for _, wrong := range differences(all[DefaultLanguage], w) {
			t.Errorf("%s: %s", code, wrong)
		}
	}
	two, err := readWords(fstest.MapFS{
		"en.json": {Data: []byte(`{"a": "[{n} roofs](due)", "b": "x", "c": "y"}`)},
		"fr.json": {Data: []byte(`{"a": "{n} toits", "b": "x", "d": "z"}`)},
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := differences(two["en"], two["fr"]); len(got) != 3 {
		t.Errorf("a lost link, a lost key and a stray key gave %q", got)
	}
}

// Plural categories by language: Unicode CLDR, Language Plural Rules,
// https://www.unicode.org/cldr/charts/latest/supplemental/language_plural_rules.html
func TestPlurals(t *testing.T) {
	entry := `{"one": "one {n}", "few": "few {n}", "many": "many {n}", "other": "other {n}"}`
	for _, c := range []struct {
		tag  string
		n    int
		want string
	}{
		{"en", 0, "other 0"}, {"en", 1, "one 1"}, {"en", 2, "other 2"}, {"en", 21, "other 21"},
		{"fr", 0, "one 0"}, {"fr", 1, "one 1"}, {"fr", 2, "other 2"},
		{"pl", 1, "one 1"}, {"pl", 2, "few 2"}, {"pl", 5, "many 5"}, {"pl", 22, "few 22"}, {"pl", 112, "many 112"},
	} {
		parsed, err := parseEntry(json.RawMessage(entry))
		if err != nil {
			t.Fatal(err)
		}
		w := &writer{words: &words{tag: language.MustParse(c.tag), texts: map[string]text{"k": parsed}}}
		if got, err := w.say(Say("k", "n", c.n)); err != nil || got != c.want {
			t.Errorf("%s %d: got %q, %v; want %q", c.tag, c.n, got, err, c.want)
		}
	}
}

func TestSentences(t *testing.T) {
	parse := func(s string) text {
		parsed, err := parseEntry(json.RawMessage(s))
		if err != nil {
			t.Fatal(err)
		}
		return parsed
	}
	w := &writer{currency: "$", words: &words{tag: language.English, texts: map[string]text{
		"due":      parse(`{"by": "n", "none": "Nothing is due.", "one": "[{n:spelled} roof](due) is due at {where}.", "other": "[{n:spelled} roofs](due) are due at {where}."}`),
		"number.1": parse(`"one"`), "number.11": parse(`"eleven"`),
	}}}
	// The placeholder that counts must be named when there are two.
	if _, err := parseEntry(json.RawMessage(`{"one": "{a} {b}", "other": "{a} {b}"}`)); err == nil {
		t.Error("two placeholders without by were taken")
	}
	for _, c := range []struct {
		phrase Phrase
		want   string
	}{
		{Say("due", "n", 0, "where", ""), `[{Nothing is due. }]`},
		{Say("due", "n", 1, "where", "<b>").Link("due", "/v"), `[{One roof /v} { is due at <b>. }]`},
		{Say("due", "n", 11, "where", Plain("x")).Link("due", "/v"), `[{Eleven roofs /v} { are due at x. }]`},
		{Say("due", "n", 1240, "where", "x"), `[{1,240 roofs are due at x. }]`},
	} {
		got, err := w.pieces(c.phrase)
		if err != nil || fmt.Sprint(got) != c.want {
			t.Errorf("got %v, %v; want %s", got, err, c.want)
		}
	}
	for name, p := range map[string]Phrase{
		"an unknown key": Say("gone"), "a value left out": Say("due", "n", 2), "no number": Say("due", "n", "two", "where", ""),
		"half a pair": Say("due", "n"), "a bare fraction": Say("due", "n", 2, "where", 7.25),
	} {
		if s, err := w.say(p); err == nil {
			t.Errorf("%s was written as %q", name, s)
		}
	}
	if s, err := w.say(Term("covering", "three_tab")); err != nil || s != "three tab" {
		t.Errorf("a term that is not in the words: %q, %v", s, err)
	}
}

func TestWordsAreRefused(t *testing.T) {
	for _, s := range []string{`{"en.json": "{"}`, `{"en.json": "{\"a\": \"{x\"}"}`, `{"en.json": "{\"a\": \"[x](\"}"}`,
		`{"en.json": "{\"a\": \"x]\"}"}`, `{"en.json": "{\"a\": \"{n:loud}\"}"}`, `{"en.json": "{\"a\": {\"one\": \"{n}\"}}"}`,
		`{"en.json": "{\"a\": {\"other\": \"{n}\", \"some\": \"{n}\"}}"}`, `{"fr.json": "{}"}`, `{"??.json": "{}"}`,
		`{"en.json": "{\"a\": \"x\"}", "en.roof.json": "{\"a\": \"y\"}"}`} {
		var given map[string]string
		if err := json.Unmarshal([]byte(s), &given); err != nil {
			t.Fatal(err)
		}
		files := fstest.MapFS{}
		for name, data := range given {
			files[name] = &fstest.MapFile{Data: []byte(data)}
		}
		if _, err := readWords(files); err == nil {
			t.Errorf("%s was read", s)
		}
	}
	rapid.Check(t, func(t *rapid.T) { // any text is read or refused, and never a crash
		_, _ = parseText(rapid.StringOf(rapid.RuneFrom([]rune("ab{}[]():"))).Draw(t, "text"))
	})
}
