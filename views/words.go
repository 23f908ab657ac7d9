package views

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

// DefaultLanguage is the language that every text exists in.
const DefaultLanguage = "en"

// Phrase is a text of the pages before it is put into a language: a key of the
// words catalogue with the values for its placeholders and the addresses of its
// links. The zero Phrase is no text.
type Phrase struct {
	key    string
	values map[string]any
	links  map[string]string
	plain  string
	err    error
}

// Say names a text of the catalogue and gives its placeholders in pairs:
//
//	Say("visits.due", "roofs", 11, "before", frost)
//
// A value may be a whole number, a text, a units value, a time, a YearsLeft or
// another Phrase; it is written in the reader's language and units. A float64 is
// refused: say how it should be rounded by giving a units value or a text.
func Say(key string, pairs ...any) Phrase {
	values, err := paired(pairs)
	return Phrase{key: key, values: values, err: err}
}

// Term names the word for one value of a fixed list, such as Term("role",
// "owner"), which is the catalogue's "role.owner". A value that the catalogue
// does not know is written as it is kept, with spaces for underscores; an empty
// value is no text.
func Term[S ~string](family string, value S) Phrase {
	if value == "" {
		return Phrase{}
	}
	return Phrase{key: family + "." + string(value), plain: strings.ReplaceAll(string(value), "_", " ")}
}

// Plain is a text that needs no translation: a name, an address, a number of a
// record, or a message that is already a sentence.
func Plain(text string) Phrase { return Phrase{plain: text} }

// Link gives the address of one link in the text: in "[{roofs} roofs](due) are
// due" the link is named due. A link that gets no address (or an empty one) is
// written as plain text, as for a reader who may not open that page.
func (p Phrase) Link(name, url string) Phrase {
	links := map[string]string{name: url}
	for k, v := range p.links {
		if k != name {
			links[k] = v
		}
	}
	p.links = links
	return p
}

// IsZero says whether there is no text.
func (p Phrase) IsZero() bool { return p.key == "" && p.plain == "" }

// Piece is a run of a text: plain when URL is empty, else a link.
type Piece struct{ Text, URL string }

func paired(pairs []any) (map[string]any, error) {
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("placeholders come in pairs of name and value, got %d", len(pairs))
	}
	values := make(map[string]any, len(pairs)/2)
	for i := 0; i < len(pairs); i += 2 {
		name, ok := pairs[i].(string)
		if !ok {
			return nil, fmt.Errorf("placeholder name %v is not a text", pairs[i])
		}
		values[name] = pairs[i+1]
	}
	return values, nil
}

// words is one language's texts.
type words struct {
	tag   language.Tag
	texts map[string]text
}

// text is one entry: its forms, and the placeholder whose number chooses among
// them.
type text struct {
	by    string
	forms map[string][]part
}

// part is a run of a form: fixed text, a placeholder, or a link around parts.
type part struct {
	fixed   string
	value   string
	spelled bool
	link    string
	inside  []part
}

// pluralForms are the categories of CLDR, and "none" for exactly nought.
var pluralForms = map[string]plural.Form{
	"other": plural.Other, "zero": plural.Zero, "one": plural.One,
	"two": plural.Two, "few": plural.Few, "many": plural.Many,
}

// readWords reads every file of a folder. A file is named LANGUAGE.json or
// LANGUAGE.noun.json; the files of a language are one catalogue, and a key that
// two of them give is an error.
func readWords(files fs.FS) (map[string]*words, error) {
	names, err := fs.Glob(files, "*.json")
	if err != nil {
		return nil, fmt.Errorf("listing the words: %w", err)
	}
	all := map[string]*words{}
	for _, name := range names {
		code, _, _ := strings.Cut(path.Base(name), ".")
		tag, err := language.Parse(code)
		if err != nil {
			return nil, fmt.Errorf("words %s: the name must begin with a language such as en: %w", name, err)
		}
		w := all[code]
		if w == nil {
			w = &words{tag: tag, texts: map[string]text{}}
			all[code] = w
		}
		data, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, fmt.Errorf("reading the words %s: %w", name, err)
		}
		var entries map[string]json.RawMessage
		if err := json.Unmarshal(data, &entries); err != nil {
			return nil, fmt.Errorf("reading the words %s: %w", name, err)
		}
		for key, raw := range entries {
			if _, twice := w.texts[key]; twice {
				return nil, fmt.Errorf("words %s: %q is already given in another file of the language", name, key)
			}
			t, err := parseEntry(raw)
			if err != nil {
				return nil, fmt.Errorf("words %s: %q: %w", name, key, err)
			}
			w.texts[key] = t
		}
	}
	if all[DefaultLanguage] == nil {
		return nil, fmt.Errorf("words: there is no %s.json", DefaultLanguage)
	}
	return all, nil
}

func parseEntry(raw json.RawMessage) (text, error) {
	var single string
	if json.Unmarshal(raw, &single) == nil {
		parts, err := parseText(single)
		return text{forms: map[string][]part{"other": parts}}, err
	}
	var given map[string]string
	if err := json.Unmarshal(raw, &given); err != nil {
		return text{}, fmt.Errorf("must be a text or an object of plural forms: %w", err)
	}
	t := text{by: given["by"], forms: map[string][]part{}}
	delete(given, "by")
	for form, s := range given {
		if _, known := pluralForms[form]; !known && form != "none" {
			return text{}, fmt.Errorf("%q is no plural form", form)
		}
		parts, err := parseText(s)
		if err != nil {
			return text{}, fmt.Errorf("%s: %w", form, err)
		}
		t.forms[form] = parts
	}
	if t.forms["other"] == nil {
		return text{}, fmt.Errorf("the form other is missing")
	}
	if t.by == "" {
		names := placeholders(t.forms["other"])
		if len(names) != 1 {
			return text{}, fmt.Errorf(`name the placeholder that counts with "by"`)
		}
		t.by = names[0]
	}
	return t, nil
}

// parseText reads fixed text, {name}, {name:spelled} and [text](link).
func parseText(s string) ([]part, error) {
	var parts []part
	for s != "" {
		i := strings.IndexAny(s, "{}[]")
		if i < 0 {
			return append(parts, part{fixed: s}), nil
		}
		if i > 0 {
			parts = append(parts, part{fixed: s[:i]})
		}
		open := s[i]
		s = s[i+1:]
		switch open {
		case '{':
			name, rest, closed := strings.Cut(s, "}")
			name, how, styled := strings.Cut(name, ":")
			if !closed || name == "" || (styled && how != "spelled") {
				return nil, fmt.Errorf("a placeholder is {name} or {name:spelled}, near %q", s)
			}
			parts, s = append(parts, part{value: name, spelled: styled}), rest
		case '[':
			inner, rest, closed := strings.Cut(s, "](")
			name, after, ended := strings.Cut(rest, ")")
			if !closed || !ended || name == "" || strings.ContainsAny(inner, "[]") {
				return nil, fmt.Errorf("a link is [text](name), near %q", s)
			}
			inside, err := parseText(inner)
			if err != nil {
				return nil, err
			}
			parts, s = append(parts, part{link: name, inside: inside}), after
		default:
			return nil, fmt.Errorf("%q without its opening", open)
		}
	}
	return parts, nil
}

func walkParts(parts []part, see func(part)) {
	for _, p := range parts {
		see(p)
		walkParts(p.inside, see)
	}
}

// placeholders lists the names of values in the parts, sorted, each once.
func placeholders(parts []part) []string {
	var names []string
	walkParts(parts, func(p part) {
		if p.value != "" {
			names = append(names, p.value)
		}
	})
	slices.Sort(names)
	return slices.Compact(names)
}

// form chooses among the plural forms by the number that counts.
func (w *words) form(t text, values map[string]any) ([]part, error) {
	if t.by == "" {
		return t.forms["other"], nil
	}
	n, ok := whole(values[t.by])
	if !ok {
		return nil, fmt.Errorf("the placeholder %q chooses the plural and must be a whole number, got %v", t.by, values[t.by])
	}
	if parts, given := t.forms["none"]; given && n == 0 {
		return parts, nil
	}
	i := int(max(n, -n) % 10_000_000)
	want := plural.Cardinal.MatchPlural(w.tag, i, 0, 0, 0, 0)
	for name, form := range pluralForms {
		if parts, given := t.forms[name]; given && form == want {
			return parts, nil
		}
	}
	return t.forms["other"], nil
}

func whole(v any) (int64, bool) {
	switch n := v.(type) {
	case int:
		return int64(n), true
	case int64:
		return n, true
	case int32:
		return int64(n), true
	}
	return 0, false
}

// pieces puts a phrase into the writer's language as runs of text and links.
func (w *writer) pieces(p Phrase) ([]Piece, error) {
	if p.err != nil {
		return nil, fmt.Errorf("text %q: %w", p.key, p.err)
	}
	if p.key == "" {
		if p.plain == "" {
			return nil, nil
		}
		return []Piece{{Text: p.plain}}, nil
	}
	t, known := w.words.texts[p.key]
	switch {
	case known:
	case p.plain != "":
		return []Piece{{Text: p.plain}}, nil
	default:
		return nil, fmt.Errorf("there is no text %q in the words", p.key)
	}
	parts, err := w.words.form(t, p.values)
	if err != nil {
		return nil, fmt.Errorf("text %q: %w", p.key, err)
	}
	var out []Piece
	var fill func(parts []part, url string) error
	fill = func(parts []part, url string) error {
		for _, part := range parts {
			s := part.fixed
			switch {
			case part.link != "":
				if err := fill(part.inside, p.links[part.link]); err != nil {
					return err
				}
				continue
			case part.value != "":
				v, given := p.values[part.value]
				if !given {
					return fmt.Errorf("no value for {%s}", part.value)
				}
				var err error
				if s, err = w.show(v); err != nil {
					return fmt.Errorf("{%s}: %w", part.value, err)
				}
				if part.spelled {
					s = w.spelled(v, s)
					if len(out) == 0 {
						s = capital(s)
					}
				}
			}
			if n := len(out); n > 0 && out[n-1].URL == url {
				out[n-1].Text += s
			} else if s != "" {
				out = append(out, Piece{Text: s, URL: url})
			}
		}
		return nil
	}
	if err := fill(parts, ""); err != nil {
		return nil, fmt.Errorf("text %q: %w", p.key, err)
	}
	return out, nil
}

// say puts a phrase into the writer's language as plain text.
func (w *writer) say(p Phrase) (string, error) {
	pieces, err := w.pieces(p)
	if err != nil || len(pieces) == 0 {
		return "", err
	}
	if len(pieces) == 1 {
		return pieces[0].Text, nil
	}
	var b strings.Builder
	for _, piece := range pieces {
		b.WriteString(piece.Text)
	}
	return b.String(), nil
}

// spelled writes a small whole number in letters where the language gives them
// (number.1 and so on), and else leaves the figures.
func (w *writer) spelled(v any, figures string) string {
	n, ok := whole(v)
	if !ok {
		return figures
	}
	t, known := w.words.texts[fmt.Sprintf("number.%d", n)]
	if !known {
		return figures
	}
	return t.forms["other"][0].fixed
}

func capital(s string) string {
	r, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[size:]
}
