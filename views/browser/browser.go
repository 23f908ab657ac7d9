// Package browser opens pages in a headless Chromium for tests: at a width, in
// light or dark, with everything the browser complains about gathered.
//
// A test is skipped where there is no Chromium, unless the environment has
// OVERHANG_BROWSER=required: then it fails. With OVERHANG_SHOTS naming a folder,
// Tab.Shot writes pictures of the pages there.
//
//	b := browser.Start(t)
//	tab := b.Open(t, server.URL+"/", browser.Phone)
//	tab.NoProblems(t)
package browser

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// Screen is what a page is looked at on.
type Screen struct {
	Name          string // for the file name of a picture
	Width, Height int
	Dark, Touch   bool
}

// The screens that pages are tested on: an office screen and a phone, each by
// day and by night.
var (
	Office      = Screen{Name: "office", Width: 1280, Height: 900}
	OfficeNight = Screen{Name: "office-night", Width: 1280, Height: 900, Dark: true}
	Phone       = Screen{Name: "phone", Width: 390, Height: 844, Touch: true}
	PhoneNight  = Screen{Name: "phone-night", Width: 390, Height: 844, Touch: true, Dark: true}
)

// Browser is a running Chromium.
type Browser struct{ ctx context.Context }

// Start starts Chromium for the test and ends it with the test. The test is
// skipped or fails where there is none.
func Start(t testing.TB) *Browser {
	t.Helper()
	path := find()
	if path == "" {
		if os.Getenv("OVERHANG_BROWSER") == "required" {
			t.Fatal("there is no Chromium on the PATH, and OVERHANG_BROWSER=required asks for one")
		}
		t.Skip("there is no Chromium on the PATH")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-quic", true))
	allocator, endAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, end := chromedp.NewContext(allocator)
	t.Cleanup(func() {
		_ = chromedp.Cancel(ctx) // waits for the browser to end; it may have ended already
		end()
		endAllocator()
	})
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("starting %s: %v", path, err)
	}
	return &Browser{ctx: ctx}
}

func find() string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// Tab is one page in its own window, with its own cookies.
type Tab struct {
	Context context.Context // for chromedp.Do and chromedp.Run
	Screen  Screen

	mu       sync.Mutex
	problems []string
}

// watch gathers what breaks the content security policy, before any script of
// the page runs.
const watch = `window.refused = [];
document.addEventListener("securitypolicyviolation", (e) =>
  window.refused.push(e.violatedDirective + " refused " + (e.blockedURI || "inline") + " " + e.sourceFile + ":" + e.lineNumber));`

// Open opens an address and waits until it has loaded.
func (b *Browser) Open(t testing.TB, url string, screen Screen) *Tab {
	t.Helper()
	ctx, end := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext())
	limited, stop := context.WithTimeout(ctx, 5*time.Minute)
	t.Cleanup(func() { stop(); end() })
	tab := &Tab{Context: limited, Screen: screen}
	if err := chromedp.Listen(limited, tab.hear); err != nil {
		t.Fatalf("opening a tab: %v", err)
	}
	scheme := "light"
	if screen.Dark {
		scheme = "dark"
	}
	var size []chromedp.EmulateViewportOption
	if screen.Touch {
		size = append(size, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	if err := chromedp.Do(limited, chromedp.EmulateViewport(int64(screen.Width), int64(screen.Height), size...)); err != nil {
		t.Fatalf("sizing the window: %v", err)
	}
	_, err := chromedp.Call(limited, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	if err != nil {
		t.Fatalf("setting the %s scheme: %v", scheme, err)
	}
	_, err = chromedp.Call(limited, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watch})
	if err != nil {
		t.Fatalf("watching the policy: %v", err)
	}
	tab.Go(t, url)
	return tab
}

// Go goes on to another address in the same tab.
func (tab *Tab) Go(t testing.TB, url string) {
	t.Helper()
	if err := chromedp.Do(tab.Context, chromedp.Navigate(url)); err != nil {
		t.Fatalf("opening %s: %v", url, err)
	}
}

func (tab *Tab) hear(event any) {
	said := ""
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		said = "exception: " + e.ExceptionDetails.Text
		if e.ExceptionDetails.Exception != nil {
			said += " " + e.ExceptionDetails.Exception.Description
		}
	case *runtime.EventConsoleAPICalled:
		if kind := fmt.Sprint(e.Type); kind == "error" || kind == "warning" || kind == "assert" {
			said = "console " + kind
			for _, arg := range e.Args {
				said += " " + string(arg.Value) + arg.Description
			}
		}
	case *log.EventEntryAdded:
		if level := fmt.Sprint(e.Entry.Level); level == "error" || level == "warning" {
			said = "browser " + level + ": " + e.Entry.Text + " " + e.Entry.URL
		}
	}
	if said != "" {
		tab.mu.Lock()
		tab.problems = append(tab.problems, said)
		tab.mu.Unlock()
	}
}

// Problems lists what the browser has complained about so far: errors and
// warnings of the console, exceptions, files that were not found, and what the
// content security policy refused.
func (tab *Tab) Problems(t testing.TB) []string {
	t.Helper()
	refused := Eval[[]string](t, tab, "window.refused || []")
	tab.mu.Lock()
	defer tab.mu.Unlock()
	return append(refused, tab.problems...)
}

// NoProblems fails the test when the browser has complained.
func (tab *Tab) NoProblems(t testing.TB) {
	t.Helper()
	if problems := tab.Problems(t); len(problems) > 0 {
		t.Errorf("the browser complains on %s:\n%s", tab.Screen.Name, strings.Join(problems, "\n"))
	}
}

// Fits fails the test when the page, or anything on it that does not scroll in a
// box of its own, is wider than the window. A table that is stacked on a telephone
// has no need to scroll there.
func (tab *Tab) Fits(t testing.TB) {
	t.Helper()
	scrolls := ".scroll table"
	if tab.Screen.Touch {
		scrolls += ":not(.stacks)"
	}
	wide := Eval[[]string](t, tab, `(() => {
  const root = document.documentElement, room = `+fmt.Sprint(tab.Screen.Width)+`;
  const page = root.scrollWidth > room ? ["the page is " + root.scrollWidth + " wide"] : [];
  return page.concat([...document.body.querySelectorAll("*")]
    .filter((e) => e.getBoundingClientRect().right > room + 1 && !e.closest("`+scrolls+`, .leaflet-pane, .skip, .stacks thead"))
    .slice(0, 5).map((e) => e.tagName + "." + e.getAttribute("class") + " ends at " + Math.round(e.getBoundingClientRect().right)));
})()`)
	if len(wide) > 0 {
		t.Errorf("the page does not fit the %s, %d wide: %s", tab.Screen.Name, tab.Screen.Width, strings.Join(wide, "; "))
	}
}

// Labelled fails the test when a control that is filled in has no label, or a
// link, button or drawing has no words.
func (tab *Tab) Labelled(t testing.TB) {
	t.Helper()
	mute := Eval[[]string](t, tab, `(() => {
  const words = (e) => (e.getAttribute("aria-label") || e.textContent || "").trim();
  const by = (e) => (e.getAttribute("aria-labelledby") || "").split(" ").some((id) => id && document.getElementById(id) && words(document.getElementById(id)));
  const fields = [...document.querySelectorAll("input:not([type=hidden]), select, textarea")]
    .filter((e) => !e.getAttribute("aria-label") && !by(e) && ![...(e.labels || [])].some(words));
  const others = [...document.querySelectorAll("a, button, [role=img], [role=button], [role=region], [role=group]")].filter((e) => !words(e) && !by(e));
  return fields.concat(others).map((e) => e.outerHTML.slice(0, 120));
})()`)
	if len(mute) > 0 {
		t.Errorf("without a label on %s:\n%s", tab.Screen.Name, strings.Join(mute, "\n"))
	}
}

// Reachable fails the test on a touch screen when a button or field is smaller
// than 44 by 44 px, which a thumb can hit (WCAG 2.2, success criterion 2.5.5).
// Links inside sentences and tables follow their line.
func (tab *Tab) Reachable(t testing.TB) {
	t.Helper()
	if !tab.Screen.Touch {
		return
	}
	small := Eval[[]string](t, tab, `[...document.querySelectorAll("button, input:not([type=hidden]):not([type=checkbox]):not([type=radio]), select, textarea, .tick, summary, .pager a, footer a, .leaflet-control-zoom a")]
  .map((e) => [e, e.getBoundingClientRect()]).filter(([e, r]) => r.height > 0 && (r.height < 43.5 || r.width < 43.5))
  .map(([e, r]) => e.outerHTML.slice(0, 100) + " is " + Math.round(r.width) + " by " + Math.round(r.height))`)
	if len(small) > 0 {
		t.Errorf("too small for a thumb:\n%s", strings.Join(small, "\n"))
	}
}

// Shot writes a picture of the whole page, when OVERHANG_SHOTS names a folder.
func (tab *Tab) Shot(t testing.TB, name string) {
	t.Helper()
	folder := os.Getenv("OVERHANG_SHOTS")
	if folder == "" {
		return
	}
	picture, err := chromedp.Run(tab.Context, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.MkdirAll(folder, 0o755)
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, name+"-"+tab.Screen.Name+".png"), picture, 0o644)
	}
	if err != nil {
		t.Errorf("picture of %s: %v", name, err)
	}
}

// Eval evaluates an expression in the page.
func Eval[T any](t testing.TB, tab *Tab, expression string) T {
	t.Helper()
	v, err := chromedp.Run(tab.Context, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatalf("evaluating %.80s: %v", expression, err)
	}
	return v
}
