package browser_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"overhang/views/browser"
)

// A page that does everything wrong must be found out, or the checks of the
// other tests would mean nothing.
func TestBadPageIsFoundOut(t *testing.T) {
	b := browser.Start(t)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'")
		if r.URL.Path == "/bad.js" {
			w.Header().Set("Content-Type", "text/javascript")
			_, _ = w.Write([]byte(`console.error("said aloud"); throw new Error("thrown")`))
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte(`<!doctype html><meta name="viewport" content="width=device-width"><title>Bad</title>
<p style="color:red">x</p><script>1</script><script src="/bad.js"></script>
<input name="mute"><button>x</button><svg width="900" height="9"></svg>`))
	}))
	defer server.Close()
	tab := b.Open(t, server.URL, browser.Phone)
	all := strings.Join(tab.Problems(t), "\n")
	for _, want := range []string{"style-src-attr refused", "script-src-elem refused", "said aloud", "thrown"} {
		if !strings.Contains(all, want) {
			t.Errorf("the browser did not report %q, only:\n%s", want, all)
		}
	}
	for name, check := range map[string]func(testing.TB){
		"NoProblems": tab.NoProblems, "Fits": tab.Fits, "Labelled": tab.Labelled, "Reachable": tab.Reachable,
	} {
		seen := &recorder{TB: t}
		check(seen)
		if !seen.failed {
			t.Errorf("%s passed a page that breaks it", name)
		}
	}
}

// recorder notes a failure instead of failing.
type recorder struct {
	testing.TB
	failed bool
}

func (r *recorder) Helper()               {}
func (r *recorder) Errorf(string, ...any) { r.failed = true }
