package views

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// Every vendored file is the byte for byte copy that was taken, with a licence
// beside it, and none has been added without a sum.
func TestVendoredFilesAreAsTaken(t *testing.T) {
	sums, err := fs.ReadFile(Static(), "vendor/SHA256SUMS")
	if err != nil {
		t.Fatal(err)
	}
	listed, met := map[string]string{}, map[string]bool{}
	for _, line := range strings.Split(strings.TrimSpace(string(sums)), "\n") {
		sum, name, ok := strings.Cut(line, "  ")
		if !ok {
			t.Fatalf("line %q of SHA256SUMS", line)
		}
		listed[name] = sum
	}
	err = fs.WalkDir(Static(), "vendor", func(p string, d fs.DirEntry, err error) error {
		name := strings.TrimPrefix(p, "vendor/")
		if err != nil || d.IsDir() || !strings.Contains(name, "/") {
			return err
		}
		data, err := fs.ReadFile(Static(), p)
		sum := sha256.Sum256(data)
		if listed[name] != hex.EncodeToString(sum[:]) {
			t.Errorf("%s is not the file that was taken", name)
		}
		if listed[path.Dir(name)+"/LICENSE"] == "" {
			t.Errorf("%s has no licence beside it", name)
		}
		met[name] = true
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for name := range listed {
		if !met[name] {
			t.Errorf("%s is listed and missing", name)
		}
	}
}

func TestStaticAddresses(t *testing.T) {
	address, err := StaticPath("app.css")
	if err != nil || !regexp.MustCompile(`^/static/[0-9a-f]{12}/app\.css$`).MatchString(address) {
		t.Fatalf("got %q, %v", address, err)
	}
	a, ok := OpenStatic(address)
	if !ok || a.Type != "text/css; charset=utf-8" || len(a.Content) == 0 {
		t.Fatalf("%s was not found whole", address)
	}
	z, err := gzip.NewReader(bytes.NewReader(a.Gzip))
	if err != nil {
		t.Fatal(err)
	}
	if plain, err := io.ReadAll(z); err != nil || !bytes.Equal(plain, a.Content) {
		t.Errorf("the compressed file is another: %v", err)
	}
	for _, bad := range []string{"/static/000000000000/app.css", "/static/app.css", "/static/../views.go", "app.css", "",
		strings.Replace(address, "app.css", "app.js", 1), strings.Replace(address, "app.css", "vendor/SHA256SUMS", 1)} {
		if _, ok := OpenStatic(bad); ok {
			t.Errorf("%q was served", bad)
		}
	}
	if _, err := StaticPath("gone.css"); err == nil {
		t.Error("a file that is not there has an address")
	}
}

// What the policy refuses, and what would leave the building, is not written in
// the first place.
func TestNothingInlineAndNothingFromOutside(t *testing.T) {
	inline := regexp.MustCompile(`(?i)\sstyle\s*=|<style|\son[a-z]+\s*=|javascript:|hx-on|<script(?:[^>]*)>[^<{]`)
	outside := regexp.MustCompile(`(?i)(?:src|href|action)="(?:https?:)?//|url\((?:['"]?)(?:https?:)?//|@import|innerHTML|insertAdjacentHTML|eval\(|new Function`)
	read := func(files fs.FS, check func(name, body string)) {
		err := fs.WalkDir(files, ".", func(p string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || strings.Contains(p, "vendor/") {
				return err
			}
			data, err := fs.ReadFile(files, p)
			check(p, string(data))
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	read(templateFiles, func(name, body string) {
		if found := inline.FindString(body); found != "" {
			t.Errorf("%s has %q", name, found)
		}
		if found := outside.FindString(body); found != "" {
			t.Errorf("%s has %q", name, found)
		}
	})
	read(Static(), func(name, body string) {
		if found := outside.FindString(body); found != "" {
			t.Errorf("%s has %q", name, found)
		}
	})
	for _, bad := range []string{`<p style="x">`, `<a onclick="x">`, `<script>alert`} {
		if !inline.MatchString(bad) {
			t.Errorf("%q would pass", bad)
		}
	}
	if strings.Contains(ContentSecurityPolicy, "unsafe") {
		t.Error("the policy allows what is inline")
	}
}

// colours reads the custom properties of the light and the dark page.
func colours(t *testing.T) (light, dark map[string]string) {
	css, err := fs.ReadFile(Static(), "app.css")
	if err != nil {
		t.Fatal(err)
	}
	day, night, found := strings.Cut(string(css), "@media screen and (prefers-color-scheme: dark)")
	if !found {
		t.Fatal("app.css has no dark page")
	}
	night, _, _ = strings.Cut(night, "\n}")
	read := func(s string) map[string]string {
		all := map[string]string{}
		for _, m := range regexp.MustCompile(`--([a-z0-9-]+):\s*(#[0-9a-f]{6})`).FindAllStringSubmatch(s, -1) {
			all[m[1]] = m[2]
		}
		return all
	}
	return read(day), read(night)
}

// luminance is the relative luminance of WCAG 2.2, https://www.w3.org/TR/WCAG22/#dfn-relative-luminance.
func luminance(hex string) float64 {
	n, err := strconv.ParseUint(hex[1:], 16, 32)
	if err != nil {
		return math.NaN()
	}
	channel := func(v uint64) float64 {
		c := float64(v&0xff) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*channel(n>>16) + 0.7152*channel(n>>8) + 0.0722*channel(n)
}

// contrast is the contrast ratio of WCAG 2.2, https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio.
func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// Text needs 4.5:1 (success criterion 1.4.3), what can be used or read from a
// drawing 3:1 (1.4.11). Lines that only order the page (rule) carry nothing.
func TestContrast(t *testing.T) {
	if got := contrast("#000000", "#ffffff"); math.Abs(got-21) > 1e-9 { // the largest there is, WCAG 2.2
		t.Fatalf("black on white is %g:1", got)
	}
	pairs := map[string]float64{
		"ink paper": 4.5, "ink-soft paper": 4.5, "accent paper": 4.5, "wrong paper": 4.5, "on-accent accent": 4.5,
		"ink sheet": 4.5, "ink-soft sheet": 4.5, "accent sheet": 4.5,
		"rule-strong paper": 3, "ink wash": 3, "accent wash": 3,
		"step-1 paper": 3, "step-2 paper": 3, "step-3 paper": 3, "step-4 paper": 3,
	}
	light, dark := colours(t)
	for name, page := range map[string]map[string]string{"light": light, "dark": dark} {
		for pair, least := range pairs {
			a, b, _ := strings.Cut(pair, " ")
			if page[a] == "" || page[b] == "" {
				t.Errorf("%s: %s is not set", name, pair)
			} else if got := contrast(page[a], page[b]); got < least {
				t.Errorf("%s: %s on %s is %.2f:1, needs %g", name, a, b, got, least)
			}
		}
		// Lightness alone tells the steps apart, so no kind of colour blindness
		// hides them: fewer years stand out more from the paper, each by a third.
		for step := 1; step < 4; step++ {
			near, far := page[fmt.Sprint("step-", step)], page[fmt.Sprint("step-", step+1)]
			if ratio := contrast(near, page["paper"]) / contrast(far, page["paper"]); ratio < 4.0/3 {
				t.Errorf("%s: step %d stands out only %.2f times as much as step %d", name, step, ratio, step+1)
			}
		}
	}
	for name := range light {
		if dark[name] == "" {
			t.Errorf("--%s has no dark colour", name)
		}
	}
}
