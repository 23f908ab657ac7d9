package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const (
	module = "overhang"
	root   = "../.."
)

// sources parses every Go file of the project outside tests, by its package's
// path below the module.
func sources(t *testing.T) map[string][]*ast.File {
	t.Helper()
	out := map[string][]*ast.File{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && path != root {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		folder, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		out[filepath.ToSlash(folder)] = append(out[filepath.ToSlash(folder)], f)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 15 {
		t.Fatalf("only %d packages were found", len(out))
	}
	return out
}

func imports(f *ast.File) []string {
	var out []string
	for _, spec := range f.Imports {
		path, _ := strconv.Unquote(spec.Path.Value)
		out = append(out, path)
	}
	return out
}

// Each calculation can be lifted out and used alone, in a program without our
// records, a database or a server. database/sql/driver is let through: it only
// names the types by which a value such as a day says how a column holds it.
func TestCalculationsStandAlone(t *testing.T) {
	list := exec.CommandContext(t.Context(), "go", "list", "-deps", "-f", "{{.ImportPath}}")
	for folder := range sources(t) {
		if strings.HasPrefix(folder, "analytics/") && folder != "analytics/portfolio" {
			list.Args = append(list.Args, module+"/"+folder)
		}
	}
	list.Dir = root
	out, err := list.Output()
	if err != nil {
		t.Fatalf("listing what the calculations need: %v", err)
	}
	deps := strings.Fields(string(out))
	if !slices.Contains(deps, module+"/analytics/units") {
		t.Fatalf("the list of what they need is odd: %v", deps)
	}
	for _, dep := range deps {
		own, isOwn := strings.CutPrefix(dep, module+"/")
		if (isOwn && !strings.HasPrefix(own, "analytics/")) || own == "analytics/portfolio" ||
			dep == "database/sql" || dep == "net/http" || strings.HasPrefix(dep, "gorm.io/") || strings.HasPrefix(dep, "github.com/mattn/go-sqlite3") {
			t.Errorf("a calculation needs %s", dep)
		}
	}
}

// Today is an argument: a calculation that looked at the clock could not be
// asked about another day, nor give the same answer twice.
func TestCalculationsDoNotLookAtTheClock(t *testing.T) {
	for folder, files := range sources(t) {
		if !strings.HasPrefix(folder, "analytics/") {
			continue
		}
		for _, f := range files {
			ast.Inspect(f, func(n ast.Node) bool {
				sel, is := n.(*ast.SelectorExpr)
				if !is {
					return true
				}
				if pkg, is := sel.X.(*ast.Ident); is && pkg.Name == "time" && slices.Contains([]string{"Now", "Since", "Until"}, sel.Sel.Name) {
					t.Errorf("%s calls time.%s", folder, sel.Sel.Name)
				}
				return true
			})
		}
	}
}

// What each package under analytics may use of the others; what is not named
// may use units alone. A calculation that quietly used another could no longer
// be read, tested or lifted out without it.
var mayUse = map[string][]string{
	"units":       {},
	"lifespan":    {"units", "wear"},
	"hindsight":   {"units", "wear"},
	"owed":        {"units", "promise", "survival"},
	"attic":       {"units", "climate"},
	"neighbours":  {"units", "geo"},
	"visits":      {"units", "geo"},
	"storms":      {"units", "geo"},
	"workmanship": {"units", "owed", "survival"},
}

// One library has one door, so that it can be changed in one place and its sharp
// edges are known in one place.
var doors = []struct {
	library string
	only    func(folder string) bool
	reason  string
}{
	{"gorm.io/", func(f string) bool { return f == "models/store" }, "the store is the one door to the database"},
	{"github.com/mattn/go-sqlite3", func(f string) bool { return f == "models/store" }, "the store is the one door to the database"},
	{"github.com/pressly/goose", func(f string) bool { return f == "models/store" }, "the store opens and upgrades the database"},
	{"github.com/go-echarts/", func(f string) bool { return f == "views/charts" }, "its own pages run scripts inline; charts takes only its options"},
	{"github.com/robfig/cron", func(f string) bool { return f == "server/jobs" }, "the clock of the jobs is in one place"},
	{"github.com/gofiber/", func(f string) bool { return f == "server" }, "handlers are the only ones who speak HTTP"},
	{"html/template", func(f string) bool { return strings.HasPrefix(f, "views") }, "only views knows HTML; server hands it filled structs"},
	{module + "/models/store", func(f string) bool { return strings.HasPrefix(f, "server") || f == "cmd/overhang" },
		"records are read and written by use cases, which check who asks"},
	{module + "/server/service", func(f string) bool { return strings.HasPrefix(f, "server") || f == "cmd/overhang" },
		"data goes one way: in through intake, out through pages"},
}

func TestDoors(t *testing.T) {
	used := map[string]bool{}
	for folder, files := range sources(t) {
		for _, f := range files {
			for _, path := range imports(f) {
				for _, door := range doors {
					if strings.HasPrefix(path, door.library) {
						used[door.library] = true
						if !door.only(folder) {
							t.Errorf("%s imports %s: %s", folder, path, door.reason)
						}
					}
				}
				own, isOwn := strings.CutPrefix(path, module+"/analytics/")
				from, isAnalytics := strings.CutPrefix(folder, "analytics/")
				if !isOwn || !isAnalytics || from == "portfolio" {
					continue
				}
				allowed, named := mayUse[from]
				if !named {
					allowed = []string{"units"}
				}
				if !slices.Contains(allowed, own) {
					t.Errorf("analytics/%s imports analytics/%s", from, own)
				}
			}
		}
	}
	for _, door := range doors {
		if !used[door.library] {
			t.Errorf("nothing imports %s; the rule can go", door.library)
		}
	}
}

// models/demo and models/intake are given records and give records; neither
// opens a database.
func TestRecordsKnowNoStore(t *testing.T) {
	for folder, files := range sources(t) {
		if folder != "models" && folder != "models/intake" && folder != "models/demo" {
			continue
		}
		for _, f := range files {
			for _, path := range imports(f) {
				if path == "database/sql" || path == module+"/models/store" || strings.HasPrefix(path, module+"/server") || strings.HasPrefix(path, module+"/views") {
					t.Errorf("%s imports %s", folder, path)
				}
			}
		}
	}
}
