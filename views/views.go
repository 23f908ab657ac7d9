package views

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"path"
	"strings"
	"sync"
	"text/template/parse"
	"time"

	"overhang/analytics/units"
)

var (
	//go:embed templates
	templateFiles embed.FS
	//go:embed words
	wordFiles embed.FS
)

// Page is a filled page. Every page is a struct that embeds Frame and names its
// template, the file templates/NAME.html.
type Page interface {
	Template() string
	frame() Frame
}

// Frame is what every page has around its own content.
type Frame struct {
	Title   Phrase
	Opening []Phrase // one or two sentences made from the data, every number a link

	Company string     // whose records these are
	Person  string     // who is signed in; empty before signing in
	Nav     []NavEntry // the pages this person may open
	CSRF    string     // token of the session, for every form that posts
	Flash   Phrase     // what has just been done
	Query   string     // what was searched for, kept in the search box

	Language string         // of the words; English when empty or not at hand
	Units    units.System   // US when empty
	Currency string         // sign before an amount; "$" when empty
	Zone     *time.Location // of moments; UTC when nil
	Today    units.Date
}

func (f Frame) frame() Frame { return f }

// Section is a part of the program that the navigation leads to.
type Section string

// The sections in the order they are shown.
const (
	Today      Section = "today"
	Roofs      Section = "roofs"
	Promises   Section = "promises"
	Callbacks  Section = "callbacks"
	Neighbours Section = "neighbours"
	Visits     Section = "visits"
	Records    Section = "records"
)

// AllSections lists the sections in the order they are shown.
var AllSections = []Section{Today, Roofs, Promises, Callbacks, Neighbours, Visits, Records}

// URL is where a section begins.
func (s Section) URL() string {
	if s == Today {
		return "/"
	}
	return "/" + string(s)
}

// NavEntry is one link of the navigation.
type NavEntry struct {
	Label   Phrase
	URL     string
	Current bool
}

// Nav makes the navigation of the sections that a person may open, in the order
// they are given, and marks the current one. A page outside all sections (the
// account page) gives an empty current section.
func Nav(current Section, allowed ...Section) []NavEntry {
	entries := make([]NavEntry, len(allowed))
	for i, s := range allowed {
		entries[i] = NavEntry{Label: Term("section", s), URL: s.URL(), Current: s == current}
	}
	return entries
}

// Renderer renders pages. It is safe for concurrent use.
type Renderer struct {
	languages map[string]*words
	masters   map[string]*template.Template // parsed and never executed, to be cloned

	mu   sync.RWMutex
	sets map[setKey]*template.Template
}

// setKey names a page's templates bound to one kind of reader. There are as many
// as pages times the languages, units, currencies and zones of the branches.
type setKey struct {
	page, language string
	units          units.System
	currency       string
	zone           string
}

// New parses the templates and words. It fails when a page's template is
// missing, when a template belongs to no page, when a template asks for a text
// that the words do not have or cannot be escaped safely.
func New() (*Renderer, error) {
	templates, err := fs.Sub(templateFiles, "templates")
	if err != nil {
		return nil, fmt.Errorf("opening the templates: %w", err)
	}
	languages, err := fs.Sub(wordFiles, "words")
	if err != nil {
		return nil, fmt.Errorf("opening the words: %w", err)
	}
	return newRenderer(templates, languages, pages)
}

func newRenderer(templates, languages fs.FS, pages []Page) (*Renderer, error) {
	r := &Renderer{masters: map[string]*template.Template{}, sets: map[setKey]*template.Template{}}
	var err error
	if r.languages, err = readWords(languages); err != nil {
		return nil, err
	}
	base, err := template.New("").Funcs(r.writer(Frame{}).functions()).
		Option("missingkey=error").ParseFS(templates, "layout.html", "parts/*.html")
	if err != nil {
		return nil, fmt.Errorf("parsing the layout: %w", err)
	}
	for _, page := range pages {
		name := page.Template()
		if r.masters[name] != nil {
			return nil, fmt.Errorf("page %q is declared twice", name)
		}
		set, err := base.Clone()
		if err != nil {
			return nil, fmt.Errorf("page %q: %w", name, err)
		}
		if _, err := set.ParseFS(templates, name+".html"); err != nil {
			return nil, fmt.Errorf("page %q has no template that can be read: %w", name, err)
		}
		if set.Lookup("main") == nil {
			return nil, fmt.Errorf(`page %q: templates/%s.html must {{define "main"}}`, name, name)
		}
		if err := r.checkWords(set); err != nil {
			return nil, fmt.Errorf("page %q: %w", name, err)
		}
		r.masters[name] = set
		// Executing is what escapes a template; an empty page shows whether it can be.
		var unsafe *template.Error
		if err := r.execute(io.Discard, page); errors.As(err, &unsafe) {
			return nil, fmt.Errorf("page %q: %w", name, err)
		}
	}
	files, err := fs.Glob(templates, "*.html")
	if err != nil {
		return nil, fmt.Errorf("listing the templates: %w", err)
	}
	for _, file := range files {
		if name := strings.TrimSuffix(path.Base(file), ".html"); name != "layout" && r.masters[name] == nil {
			return nil, fmt.Errorf("template %q belongs to no page: name its struct in pages.go", name)
		}
	}
	return r, nil
}

// Render writes a page. It writes nothing when the page cannot be rendered, so a
// reader never gets half of one.
func (r *Renderer) Render(w io.Writer, page Page) error {
	var b bytes.Buffer
	if err := r.execute(&b, page); err != nil {
		return fmt.Errorf("rendering the page %q: %w", page.Template(), err)
	}
	_, err := b.WriteTo(w)
	return err
}

// Text puts a phrase into the language and units of a frame, for what is not a
// page: the subject of a letter, the name of a file, a calendar's entry.
func (r *Renderer) Text(f Frame, p Phrase) (string, error) { return r.writer(f).say(p) }

// Languages lists the languages that there are words for.
func (r *Renderer) Languages() []string { return sortedKeys(r.languages) }

func (r *Renderer) execute(w io.Writer, page Page) error {
	f := page.frame()
	writer := r.writer(f)
	key := setKey{page.Template(), writer.words.tag.String(), writer.units, writer.currency, writer.zone.String()}
	r.mu.RLock()
	set := r.sets[key]
	r.mu.RUnlock()
	if set == nil {
		master := r.masters[key.page]
		if master == nil {
			return errors.New("there is no such page: name its struct in pages.go")
		}
		r.mu.Lock()
		if set = r.sets[key]; set == nil {
			clone, err := master.Clone()
			if err != nil {
				r.mu.Unlock()
				return fmt.Errorf("copying its templates: %w", err)
			}
			set = clone.Funcs(writer.functions())
			r.sets[key] = set
		}
		r.mu.Unlock()
	}
	return set.ExecuteTemplate(w, "layout", page)
}

func (r *Renderer) writer(f Frame) *writer {
	w := &writer{words: r.languages[f.Language], units: f.Units, currency: f.Currency, zone: f.Zone}
	if w.words == nil {
		w.words = r.languages[DefaultLanguage]
	}
	if w.units == "" {
		w.units = units.US
	}
	if w.currency == "" {
		w.currency = "$"
	}
	if w.zone == nil {
		w.zone = time.UTC
	}
	return w
}

// checkWords finds a text that a template asks for by name and that a language
// does not have.
func (r *Renderer) checkWords(set *template.Template) error {
	for _, t := range set.Templates() {
		if t.Tree == nil {
			continue
		}
		for _, key := range keysIn(t.Tree.Root, "word") {
			for code, w := range r.languages {
				if _, ok := w.texts[key]; !ok {
					return fmt.Errorf("template %q asks for the text %q, which the words of %q do not have", t.Name(), key, code)
				}
			}
		}
	}
	return nil
}

// keysIn lists the first arguments of the calls of a function in a template.
func keysIn(node parse.Node, function string) []string {
	var keys []string
	var list func(nodes *parse.ListNode)
	var pipe func(p *parse.PipeNode)
	pipe = func(p *parse.PipeNode) {
		if p == nil {
			return
		}
		for _, command := range p.Cmds {
			for i, arg := range command.Args {
				switch arg := arg.(type) {
				case *parse.PipeNode:
					pipe(arg)
				case *parse.IdentifierNode:
					if arg.Ident == function && i+1 < len(command.Args) {
						if s, ok := command.Args[i+1].(*parse.StringNode); ok {
							keys = append(keys, s.Text)
						}
					}
				}
			}
		}
	}
	branch := func(b *parse.BranchNode) {
		pipe(b.Pipe)
		list(b.List)
		list(b.ElseList)
	}
	list = func(nodes *parse.ListNode) {
		if nodes == nil {
			return
		}
		for _, n := range nodes.Nodes {
			switch n := n.(type) {
			case *parse.ActionNode:
				pipe(n.Pipe)
			case *parse.TemplateNode:
				pipe(n.Pipe)
			case *parse.IfNode:
				branch(&n.BranchNode)
			case *parse.RangeNode:
				branch(&n.BranchNode)
			case *parse.WithNode:
				branch(&n.BranchNode)
			}
		}
	}
	if l, ok := node.(*parse.ListNode); ok {
		list(l)
	}
	return keys
}
