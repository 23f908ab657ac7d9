package server

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"overhang/models"
	"overhang/views"
)

// listen answers on a port of this machine until the test ends, or stop is
// called, which gives what Run returned.
func (s *site) listen() (address string, stop func() error) {
	s.t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		s.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx, listener) }()
	stopped := false
	stop = func() error {
		if stopped {
			return nil
		}
		stopped = true
		cancel()
		return <-done
	}
	s.t.Cleanup(func() { _ = stop() })
	return listener.Addr().String(), stop
}

func TestHeaders(t *testing.T) {
	s := newSite(t)
	for _, got := range []answer{s.stranger().get("/sign-in").want(200), s.stranger().get("/nowhere").want(404), s.as(models.Owner).get("/account").want(200)} {
		for name, want := range map[string]string{
			"Content-Security-Policy": views.ContentSecurityPolicy, "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
			"Cache-Control": "no-store", "Server": "", "X-Powered-By": "", "Content-Type": "text/html; charset=utf-8",
		} {
			if v := got.Header.Get(name); v != want {
				t.Errorf("%s is %q, want %q", name, v, want)
			}
		}
	}
}

func TestHealth(t *testing.T) {
	s := emptySite(t, Options{}) // without a company
	if got := s.stranger().get("/healthz").want(200); got.Body != "ok\n" || len(got.Header.Values("Set-Cookie")) > 0 {
		t.Errorf("the answer is %q with %v", got.Body, got.Header)
	}
	s.service.Store.Close()
	if got := s.stranger().get("/healthz").want(500); strings.Contains(got.Body, "sql") || strings.Contains(got.Body, ".db") {
		t.Errorf("a dead database is told with %s", got.Body)
	}
}

func TestUnknownAndOtherMethods(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	for _, path := range []string{"/nowhere", "/account/nowhere", "/Account", "/..", "/account/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/sign-in%00"} {
		b.get(path).want(404)
	}
	for _, method := range []string{"PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"} {
		got := b.send(method, "/account", nil).want(405)
		if allow := got.Header.Get("Allow"); !strings.Contains(allow, "GET") {
			t.Errorf("%s is told to use %q", method, allow)
		}
	}
	b.post("/account", nil).want(405)
	head := b.send("HEAD", "/account", nil).want(200)
	if head.Body != "" || head.Header.Get("Content-Length") == "0" {
		t.Errorf("HEAD answers %q and %v", head.Body, head.Header)
	}
	s.stranger().send("HEAD", "/account", nil).leads("/sign-in?next=%2Faccount")
}

func TestStatic(t *testing.T) {
	s := newSite(t)
	css, err := views.StaticPath("app.css")
	if err != nil {
		t.Fatal(err)
	}
	b := s.stranger()
	got := b.get(css).want(200)
	if got.Header.Get("Cache-Control") != views.StaticCaching || !strings.HasPrefix(got.Header.Get("Content-Type"), "text/css") || len(got.Header.Values("Set-Cookie")) > 0 {
		t.Errorf("the headers are %v", got.Header)
	}
	b.header.Set("Accept-Encoding", "gzip")
	if zipped := b.get(css).want(200); zipped.Header.Get("Content-Encoding") != "gzip" || len(zipped.Body) >= len(got.Body) {
		t.Errorf("compressed it is %d bytes, plain %d", len(zipped.Body), len(got.Body))
	}
	for _, path := range []string{"/static/", "/static/app.css", "/static/000000000000/app.css", css + "/", css + "x", "/static/../doc.go",
		"/static/..%2f..%2fgo.mod", "/static/%2e%2e/%2e%2e/go.mod", `/static/..\..\go.mod`, "/static/" + strings.Repeat("../", 8) + "etc/passwd"} {
		if got := b.get(path); got.Status != 404 || strings.Contains(got.Body, "module overhang") || strings.Contains(got.Body, "root:") {
			t.Errorf("%s answers %d", path, got.Status)
		}
	}
}

// A failure of ours is told with a reference, under which the log has its cause.
func TestFailures(t *testing.T) {
	secret := "opening /srv/records.db: disk I/O error"
	fails := map[string]Handler{
		"error":   func(*Request) error { return errors.New(secret) },
		"wrapped": func(*Request) error { return fmt.Errorf("reading roofs: %w", errors.New(secret)) },
		"panic":   func(*Request) error { panic(secret) },
		"nil":     func(r *Request) error { var p *models.Person; _ = p.Name; return nil },
		"page": func(r *Request) error {
			return r.Render(views.SignInPage{Frame: views.Frame{Title: views.Say("no.such." + "word")}})
		},
	}
	var routes []Route
	for name, handle := range fails {
		routes = append(routes, Route{Method: "GET", Path: "/fails/" + name, Need: Public, Handle: handle})
	}
	s := newSite(t, routes...)
	for name := range fails {
		got := s.as(models.Owner).get("/fails/" + name).want(500)
		reference := got.text("main .figure")
		if len(reference) != 8 || strings.Contains(got.Body, "records.db") || strings.Contains(got.Body, "goroutine") || strings.Contains(got.Body, "nil pointer") {
			t.Errorf("%s: reference %q on %s", name, reference, got.text("body"))
		}
		line := logLine(t, s.log, reference)
		if line["msg"] != "a request failed" || line["route"] != "/fails/"+name || line["error"] == "" {
			t.Errorf("%s: the log says %v", name, line)
		}
		if stack, there := line["stack"].(string); there != (name == "panic" || name == "nil") || (there && !strings.Contains(stack, "server_test.go")) {
			t.Errorf("%s: the stack in the log is %q", name, stack)
		}
	}
	b := s.stranger()
	b.header.Set("Accept", "application/json")
	got := b.get("/fails/error").want(500)
	var told struct {
		Error struct{ Code, Message, Reference string }
	}
	if err := json.Unmarshal([]byte(got.Body), &told); err != nil || told.Error.Code != "failed" || len(told.Error.Reference) != 8 || strings.Contains(got.Body, "disk") {
		t.Errorf("as JSON it is %s (%v)", got.Body, err)
	}
}

func logLine(t *testing.T, log *lines, holds string) map[string]any {
	t.Helper()
	for scan := bufio.NewScanner(strings.NewReader(log.String())); scan.Scan(); {
		if strings.Contains(scan.Text(), holds) {
			var line map[string]any
			if err := json.Unmarshal(scan.Bytes(), &line); err != nil {
				t.Fatal(err)
			}
			return line
		}
	}
	t.Fatalf("no line of the log holds %q", holds)
	return nil
}

// Every code has its status, as a page, as JSON and for a script.
func TestErrorsThatAreTold(t *testing.T) {
	var failing error
	s := newSite(t,
		Route{Method: "GET", Path: "/fails", Need: Public, Handle: func(*Request) error { return failing }},
		Route{Method: "GET", Path: "/feeds/fails", Need: Public, Handle: func(*Request) error { return failing }})
	for code, status := range statuses {
		if code == models.NoSession {
			continue // leads to the sign-in
		}
		failing = fmt.Errorf("doing it: %w", &models.Error{Code: code, Message: "A plain <b>sentence</b>.",
			Fields: []models.FieldError{{Field: "laid_on", Value: "x", Rule: "is needed"}}})
		page := s.stranger().get("/fails").want(status)
		if got := page.text("main"); !strings.Contains(got, "A plain <b>sentence</b>. laid on: is needed.") || strings.Contains(got, "doing it") {
			t.Errorf("%s: the page says %q", code, got)
		}
		if page.page().Find("h1").Text() == "" || page.page().Find("main b").Length() > 0 {
			t.Errorf("%s: the page is %s", code, page.Body)
		}
		b := s.stranger()
		b.header.Set("Accept", "application/json")
		for _, got := range []answer{b.get("/fails").want(status), s.stranger().get("/feeds/fails").want(status)} {
			var told struct {
				Error struct {
					Code, Message string
					Fields        []models.FieldError
				}
			}
			if err := json.Unmarshal([]byte(got.Body), &told); err != nil || told.Error.Code != string(code) || len(told.Error.Fields) != 1 {
				t.Errorf("%s: as JSON it is %s (%v)", code, got.Body, err)
			}
		}
		h := s.stranger()
		h.header.Set("HX-Request", "true")
		if got := h.get("/fails").want(status); got.Header.Get("HX-Retarget") != "#main" || got.Header.Get("HX-Reselect") != "#main" {
			t.Errorf("%s: a script is told %v", code, got.Header)
		}
	}
}

// A script whose session has ended goes to the sign-in and comes back to the page
// that it was on, not to the part that it asked for.
func TestScriptWithoutSession(t *testing.T) {
	s := newSite(t)
	b := s.stranger()
	b.header.Set("HX-Request", "true")
	b.header.Set("HX-Current-URL", "https://roofs.example/account?sort=name")
	if got := b.get("/account?part=1").want(401).Header.Get("HX-Redirect"); got != "/sign-in?next=%2Faccount%3Fsort%3Dname" {
		t.Errorf("the script is sent to %q", got)
	}
	j := s.stranger()
	j.header.Set("Accept", "application/json")
	if got := j.get("/account").want(401); !strings.Contains(got.Body, `"no_session"`) {
		t.Errorf("a program is told %s", got.Body)
	}
}

func TestSlowHandlerIsGivenUp(t *testing.T) {
	s := newSite(t, Route{Method: "GET", Path: "/slow", Need: SignedIn, Deadline: 20 * time.Millisecond, Handle: func(r *Request) error {
		<-r.Context().Done()
		return fmt.Errorf("reading roofs: %w", r.Context().Err())
	}}, Route{Method: "GET", Path: "/slow-query", Need: SignedIn, Deadline: 50 * time.Millisecond, Handle: func(r *Request) error {
		<-r.Context().Done()
		_, err := r.server.service.People(r.Context(), r.Actor)
		return err
	}})
	for _, path := range []string{"/slow", "/slow-query"} {
		if got := s.as(models.Owner).get(path).want(http.StatusServiceUnavailable); !strings.Contains(got.text("main"), "took too long") {
			t.Errorf("%s: the page says %q", path, got.text("main"))
		}
	}
}

// The log has a line for each request, with its route and without what was asked
// for by name.
func TestRequestLog(t *testing.T) {
	s := newSite(t, Route{Method: "GET", Path: "/x/:name", Need: SignedIn, Example: "/x/a", Handle: func(r *Request) error { return r.JSON("seen") }})
	s.as(models.Owner).get("/x/Marchetti?q=Odile").want(200)
	line := logLine(t, s.log, "/x/:name")
	if line["method"] != "GET" || line["status"] != 200.0 || line["bytes"] != 6.0 || line["person"] != float64(s.people[models.Owner].ID) {
		t.Errorf("the line is %v", line)
	}
	s.stranger().get("/Marchetti").want(404)
	if text := s.log.String(); strings.Contains(text, "Marchetti") || strings.Contains(text, "Odile") {
		t.Errorf("the log holds a name: %s", text)
	}
	if line := logLine(t, s.log, `"status":404`); line["route"] != "none" {
		t.Errorf("an unknown address is logged as %v", line)
	}
}

// Texts of a request stay as they are when other requests come.
func TestTextsOutliveTheirRequest(t *testing.T) {
	var kept []string
	s := newSite(t, Route{Method: "GET", Path: "/x/:name", Need: Public, Example: "/x/a", Handle: func(r *Request) error {
		kept = append(kept, r.Param("name"), r.Query("q"))
		return r.JSON("ok")
	}})
	for _, name := range []string{"aaaa", "bbbb", "cccc"} {
		s.stranger().get("/x/" + name + "?q=" + name)
	}
	if got := strings.Join(kept, " "); got != "aaaa aaaa bbbb bbbb cccc cccc" {
		t.Errorf("kept %s", got)
	}
}

// Bodies are refused by what their route allows, before a handler sees them, with
// a page of ours.
func TestBodyLimits(t *testing.T) {
	size := func(r *Request) error {
		f := r.Form().File("file")
		if f.Name == "" {
			return r.JSON(len(r.Form().Raw("text")))
		}
		file, err := f.Open()
		if err != nil {
			return err
		}
		defer file.Close()
		n, err := io.Copy(io.Discard, file)
		if err != nil {
			return err
		}
		return r.JSON(n)
	}
	s := newSite(t,
		Route{Method: "POST", Path: "/small", Need: Public, Handle: size},
		Route{Method: "POST", Path: "/large/:kind", Example: "/large/a", Need: Public, BodyLimit: 4 << 20, Handle: size})
	address, _ := s.listen()
	b := s.stranger()
	token := b.visit()
	post := func(path string, length int) (int, string) {
		t.Helper()
		body := "csrf=" + token + "&text=" + strings.Repeat("x", length)
		req, err := http.NewRequest("POST", "http://"+address+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Accept", "text/html")
		req.AddCookie(&http.Cookie{Name: "overhang_visitor", Value: b.cookies["overhang_visitor"]})
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatalf("%s with %d bytes: %v", path, length, err)
		}
		defer res.Body.Close()
		content, _ := io.ReadAll(res.Body)
		return res.StatusCode, string(content)
	}
	for _, row := range []struct {
		path   string
		length int
		status int
	}{
		{"/small", 200 << 10, 200}, {"/small", 300 << 10, 413}, {"/large/a", 3 << 20, 200}, {"/large/b?x=1", 3 << 20, 200},
		{"/large/a", 5 << 20, 413}, {"/large/a/b", 300 << 10, 413}, {"/nowhere", 300 << 10, 413},
	} {
		status, body := post(row.path, row.length)
		if status != row.status {
			t.Errorf("%d bytes to %s are answered %d, want %d", row.length, row.path, status, row.status)
		}
		if status == 413 && (!strings.Contains(body, "too large") || !strings.Contains(body, "<main")) {
			t.Errorf("the page for %s is %s", row.path, body)
		}
		if want := fmt.Sprint(row.length); status == 200 && body != want {
			t.Errorf("%s read %s bytes, want %s", row.path, body, want)
		}
	}
}

// What is being answered when the server stops is finished.
func TestStopLetsRequestsFinish(t *testing.T) {
	entered, leave := make(chan struct{}), make(chan struct{})
	s := newSite(t, Route{Method: "GET", Path: "/slow", Need: Public, Handle: func(r *Request) error {
		close(entered)
		<-leave
		return r.JSON("finished")
	}})
	address, stop := s.listen()
	got := make(chan string, 1)
	go func() {
		res, err := http.Get("http://" + address + "/slow")
		if err != nil {
			got <- err.Error()
			return
		}
		defer res.Body.Close()
		body, _ := io.ReadAll(res.Body)
		got <- string(body)
	}()
	<-entered
	stopped := make(chan error, 1)
	go func() { stopped <- stop() }()
	// The listener is closed before the request is done.
	for {
		conn, err := net.Dial("tcp", address)
		if err != nil {
			break
		}
		conn.Close()
		time.Sleep(5 * time.Millisecond)
	}
	close(leave)
	if body := <-got; body != `"finished"` {
		t.Errorf("the request got %s", body)
	}
	if err := <-stopped; err != nil {
		t.Errorf("stopping: %v", err)
	}
}

// A request that does not end holds the server no longer than its grace.
func TestStopHasAnEnd(t *testing.T) {
	entered, leave := make(chan struct{}), make(chan struct{})
	defer close(leave)
	s := emptySite(t, Options{Grace: 50 * time.Millisecond}, Route{Method: "GET", Path: "/stuck", Need: Bare, Handle: func(r *Request) error {
		close(entered)
		<-leave
		return nil
	}})
	address, stop := s.listen()
	go func() {
		if res, err := http.Get("http://" + address + "/stuck"); err == nil {
			res.Body.Close()
		}
	}()
	<-entered
	if err := stop(); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("stopping gives %v, want that the grace ran out", err)
	}
}

func TestBadRequestLine(t *testing.T) {
	s := newSite(t)
	address, _ := s.listen()
	for _, raw := range []string{"nonsense\r\n\r\n", "GET / HTTP/1.1\r\nHost: x\r\nX-Long: " + strings.Repeat("x", 20<<10) + "\r\n\r\n"} {
		conn, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(conn, raw); err != nil {
			t.Fatal(err)
		}
		_ = conn.SetReadDeadline(time.Now().Add(5 * time.Second))
		res, err := http.ReadResponse(bufio.NewReader(conn), nil)
		if err != nil {
			t.Fatalf("%.20q: %v", raw, err)
		}
		body, _ := io.ReadAll(res.Body)
		if res.StatusCode < 400 || res.StatusCode > 499 || bytes.Contains(body, []byte("fasthttp")) || res.Header.Get("Content-Security-Policy") == "" {
			t.Errorf("%.20q is answered %d: %s", raw, res.StatusCode, body)
		}
		conn.Close()
	}
}

func TestRedirectForScript(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	b.header.Set("HX-Request", "true")
	if got := b.post("/sign-out", nil).want(200).Header.Get("HX-Redirect"); got != "/sign-in" {
		t.Errorf("a script is sent to %q", got)
	}
}

// What was done is told as text, whatever a cookie holds.
func TestForgedFlash(t *testing.T) {
	s := newSite(t)
	for _, forged := range []string{"PHNjcmlwdD5hbGVydCgxKTwvc2NyaXB0Pg", "not base64!", "_w"} {
		b := s.as(models.Owner)
		b.cookies["overhang_done"] = forged
		if got := b.get("/account").want(200); got.page().Find(".flash script").Length() > 0 {
			t.Errorf("the page holds %s", got.text(".flash"))
		}
	}
}

func TestDownload(t *testing.T) {
	s := newSite(t,
		Route{Method: "GET", Path: "/file", Need: Public, Handle: func(r *Request) error {
			return r.Download("roofs \"2026\".csv", "text/csv; charset=utf-8", func(w io.Writer) error {
				_, err := io.WriteString(w, "ref\nR-1\n")
				return err
			})
		}},
		Route{Method: "GET", Path: "/no-file", Need: Public, Handle: func(r *Request) error {
			return r.Download("roofs.csv", "text/csv", func(w io.Writer) error {
				_, _ = io.WriteString(w, "half")
				return errors.New("the disk is full")
			})
		}})
	got := s.stranger().get("/file").want(200)
	if got.Body != "ref\nR-1\n" || got.Header.Get("Content-Disposition") != `attachment; filename="roofs \"2026\".csv"` {
		t.Errorf("the file is %q with %q", got.Body, got.Header.Get("Content-Disposition"))
	}
	half := s.stranger().get("/no-file").want(500)
	if half.Header.Get("Content-Disposition") != "" || strings.Contains(half.Body, "half") {
		t.Errorf("half a file was sent: %v", half.Header)
	}
}

func TestPager(t *testing.T) {
	var got *views.Pager
	s := newSite(t, Route{Method: "GET", Path: "/list", Need: Public, Handle: func(r *Request) error {
		got = r.Pager(r.Page(20), 45)
		return r.JSON("ok")
	}})
	for path, want := range map[string]views.Pager{
		"/list?sort=name":        {From: 1, To: 20, Total: 45, Next: "/list?page=2&sort=name"},
		"/list?page=2&sort=name": {From: 21, To: 40, Total: 45, Previous: "/list?page=1&sort=name", Next: "/list?page=3&sort=name"},
		"/list?page=3":           {From: 41, To: 45, Total: 45, Previous: "/list?page=2"},
		"/list?page=-1":          {From: 1, To: 20, Total: 45, Next: "/list?page=2"},
		"/list?page=x":           {From: 1, To: 20, Total: 45, Next: "/list?page=2"},
	} {
		s.stranger().get(path).want(200)
		if *got != want {
			t.Errorf("%s: %+v, want %+v", path, *got, want)
		}
	}
}

// Forms that cannot be read are refused with a page of ours.
func TestBrokenForms(t *testing.T) {
	s := newSite(t)
	address, _ := s.listen()
	var many strings.Builder
	for i := range 3000 {
		fmt.Fprintf(&many, "--b\r\nContent-Disposition: form-data; name=\"f%d\"\r\n\r\nx\r\n", i)
	}
	for name, body := range map[string]string{"many fields": many.String() + "--b--\r\n", "no end": "--b\r\nbroken", "empty": ""} {
		res, err := http.Post("http://"+address+"/sign-in", "multipart/form-data; boundary=b", strings.NewReader(body))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		page, _ := io.ReadAll(res.Body)
		res.Body.Close()
		if res.StatusCode < 400 || res.StatusCode > 499 || !bytes.Contains(page, []byte("<main")) || bytes.Contains(page, []byte("multipart")) {
			t.Errorf("%s: answered %d with %s", name, res.StatusCode, page)
		}
	}
}
