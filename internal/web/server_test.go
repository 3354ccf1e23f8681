package web

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"lampwright/examples"
	"lampwright/internal/partslib"
)

// project copies a demo into a folder of its own.
func demo(t testing.TB, name string) string {
	t.Helper()
	dir := t.TempDir()
	files, err := fs.Sub(examples.Files, name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(dir, files); err != nil {
		t.Fatal(err)
	}
	return dir
}

func write(t testing.TB, dir, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, "lamp.yaml"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func onDisk(t testing.TB, dir string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, "lamp.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// foreign is the origin of another site; example is a name that no one owns.
const foreign = "http:" + "//lamp.example"

// begun is what an empty folder can be filled with in tests.
var templates = []Template{{
	Key: "demo", Title: "A demo",
	Files: map[string][]byte{"lamp.yaml": []byte("lampwright: 2\n"), "parts/own.yaml": []byte("{}\n")},
}}

// kept keeps unit responses between tests: most of them open the same demos.
var kept keptResponses

type keptResponses struct{ m sync.Map }

func (k *keptResponses) Get(key string) ([]byte, bool) {
	v, ok := k.m.Load(key)
	if !ok {
		return nil, false
	}
	return v.([]byte), true
}

func (k *keptResponses) Put(key string, data []byte) { k.m.Store(key, data) }

// slow skips a test with -short.
func slow(t testing.TB) {
	t.Helper()
	if testing.Short() {
		t.Skip("skipped with -short")
	}
}

// serve starts a workspace over a folder on a free port.
func serve(t testing.TB, dir string, set ...func(*Options)) (*Server, *httptest.Server) {
	t.Helper()
	ts := httptest.NewUnstartedServer(nil)
	o := Options{
		Folder: dir, Library: partslib.Files(), Addr: ts.Listener.Addr(), Templates: templates,
		Watch: 20 * time.Millisecond, Store: &kept,
	}
	for _, f := range set {
		f(&o)
	}
	s, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	ts.Config.Handler = s
	ts.Start()
	t.Cleanup(func() { s.Close(); ts.Close() })
	return s, ts
}

// send makes a request as the page does; head changes its headers, an empty value removes one.
func send(t testing.TB, ts *httptest.Server, method, path string, body any, head map[string]string) (*http.Response,
	[]byte,
) {
	t.Helper()
	var in io.Reader
	if text, ok := body.(string); ok {
		in = strings.NewReader(text)
	} else if body != nil {
		data, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		in = bytes.NewReader(data)
	}
	r, err := http.NewRequest(method, ts.URL+path, in)
	if err != nil {
		t.Fatal(err)
	}
	if method != http.MethodGet {
		r.Header.Set("Origin", ts.URL)
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	for k, v := range head {
		switch {
		case k == "Host":
			r.Host = v
		case v == "":
			r.Header.Del(k)
		default:
			r.Header.Set(k, v)
		}
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	data, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	if of, ok := answerTypes[path]; ok && resp.StatusCode == http.StatusOK {
		if list := nulls(of, read[any](t, data), false, path); len(list) > 0 {
			t.Errorf("null in place of a list or a value: %q; fill it, or allow it in generated.ts", list)
		}
	}
	return resp, data
}

type stateSeen struct {
	Version  int
	Folder   string
	Empty    bool
	Hash     string
	Text     string
	Failed   string
	Current  bool
	Outside  bool
	CanUndo  bool `json:"can_undo"`
	CanRedo  bool `json:"can_redo"`
	Problems []struct {
		Msg string
		At  struct {
			Line int
			Path string
		}
	}
	Job  *job
	Lamp *lampSeen
}

type lampSeen struct {
	Figures []struct {
		Key, Text, Range string
		Value            float64
	}
	Findings []struct{ Severity, Check, Subject string }
	Knobs    []knob
	Pictures map[string]string
}

func (l *lampSeen) value(t testing.TB, key string) float64 {
	t.Helper()
	for _, f := range l.Figures {
		if f.Key == key {
			return f.Value
		}
	}
	t.Fatalf("no figure %s", key)
	return 0
}

func state(t testing.TB, ts *httptest.Server) stateSeen {
	t.Helper()
	resp, data := send(t, ts, "GET", "/api/state", nil, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("state: %s: %s", resp.Status, data)
	}
	return read[stateSeen](t, data)
}

func read[T any](t testing.TB, data []byte) (v T) {
	t.Helper()
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatalf("%v in %.200s", err, data)
	}
	return v
}

// settled waits until the file is computed.
func settled(t testing.TB, s *Server) {
	t.Helper()
	until(t, "the file is computed", func() bool {
		s.work.mu.Lock()
		defer s.work.mu.Unlock()
		return s.work.job == nil
	})
}

func until(t testing.TB, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(3 * time.Minute); time.Now().Before(end); {
		if ok() {
			return
		}
		time.Sleep(5 * time.Millisecond) // what is waited for is on the disk or in another goroutine's hands
	}
	t.Fatal("waited in vain until " + what)
}

// TestGuard sends what other pages, other names and other programs send.
func TestGuard(t *testing.T) {
	_, ts := serve(t, t.TempDir())
	port := ts.Listener.Addr().(*net.TCPAddr).Port
	for _, tt := range []struct {
		name, method, path string
		head               map[string]string
		want               int
	}{
		{"the page", "GET", "/", nil, 200},
		{"by name", "GET", "/", map[string]string{"Host": fmt.Sprintf("localhost:%d", port)}, 200},
		{"by IPv6 address", "GET", "/", map[string]string{"Host": fmt.Sprintf("[::1]:%d", port)}, 200},
		{"another name that points here", "GET", "/", map[string]string{"Host": fmt.Sprintf("lamp.example:%d", port)}, 421},
		{"another name, state", "GET", "/api/state", map[string]string{"Host": fmt.Sprintf("lamp.example:%d", port)}, 421},
		{
			"a name that begins like ours", "GET", "/",
			map[string]string{"Host": fmt.Sprintf("localhost.example:%d", port)},
			421,
		},
		{"another port", "GET", "/", map[string]string{"Host": "127.0.0.1:1"}, 421},
		{"no port", "GET", "/", map[string]string{"Host": "127.0.0.1"}, 421},
		{"an address that is no loopback one", "GET", "/", map[string]string{"Host": fmt.Sprintf("192.0.2.1:%d", port)}, 421},
		{"a link from elsewhere", "GET", "/", map[string]string{
			"Sec-Fetch-Site": "cross-site",
			"Sec-Fetch-Mode": "navigate",
		}, 200},
		{
			"state, asked by another page", "GET", "/api/state",
			map[string]string{"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"},
			403,
		},
		{"state, asked from another port", "GET", "/api/state", map[string]string{"Sec-Fetch-Site": "same-site"}, 403},
		{"state, from another origin", "GET", "/api/state", map[string]string{"Origin": "http://127.0.0.1:1"}, 403},
		{"events for another page", "GET", "/api/events", map[string]string{"Origin": foreign}, 403},
		{"post", "POST", "/api/check", nil, 200},
		{"post from another origin", "POST", "/api/check", map[string]string{"Origin": foreign}, 403},
		{"post from an opaque origin", "POST", "/api/check", map[string]string{"Origin": "null"}, 403},
		{
			"post from our name by https", "POST", "/api/check",
			map[string]string{"Origin": fmt.Sprintf("https://127.0.0.1:%d", port)},
			403,
		},
		{"post without an origin", "POST", "/api/check", map[string]string{"Origin": ""}, 403},
		{"post across sites", "POST", "/api/check", map[string]string{"Sec-Fetch-Site": "cross-site"}, 403},
		{"post as a form sends it", "POST", "/api/check", map[string]string{"Content-Type": "text/plain"}, 415},
		{"post without a type", "POST", "/api/check", map[string]string{"Content-Type": ""}, 415},
		{"no such method", "PUT", "/api/save", nil, 405},
		{"no such path", "GET", "/api/none", nil, 404},
		{"out of the folder", "GET", "/assets/..%2f..%2flamp.yaml", nil, 404},
		{
			"out of the folder, by dots", "GET", "/assets/../../etc/passwd", nil,
			307,
		}, // to /etc/passwd of this server, which has none
		{"beyond the page", "GET", "/etc/passwd", nil, 404},
		{"the design file by name", "GET", "/lamp.yaml", nil, 404},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var body any
			if tt.method == "POST" {
				body = map[string]string{"text": ""}
			}
			resp, data := send(t, ts, tt.method, tt.path, body, tt.head)
			if resp.StatusCode != tt.want {
				t.Errorf("status %d, want %d: %.200s", resp.StatusCode, tt.want, data)
			}
			if csp := resp.Header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'none'") ||
				strings.Contains(csp, "unsafe") {
				t.Errorf("content policy %q", csp)
			}
			if resp.Header.Get("X-Content-Type-Options") != "nosniff" || resp.Header.Get("Access-Control-Allow-Origin") != "" {
				t.Errorf("headers %v", resp.Header)
			}
		})
	}
}

// TestToken wants a token on an address that others reach, and nothing without it.
func TestToken(t *testing.T) {
	open := &net.TCPAddr{IP: net.IPv4zero, Port: 8080}
	if _, err := New(Options{Folder: t.TempDir(), Library: partslib.Files(), Addr: open}); err == nil {
		t.Fatal("an open address without a token was accepted")
	}
	_, ts := serve(t, demo(t, "propagation-bench"), func(o *Options) {
		o.Addr, o.Token = &net.TCPAddr{IP: net.IPv4zero, Port: o.Addr.(*net.TCPAddr).Port}, "secret"
	})
	for _, path := range []string{"/", "/api/state", "/assets/page.css", "/?token=wrong", "/api/state?token=secret"} {
		if resp, _ := send(t, ts, "GET", path, nil, nil); resp.StatusCode != http.StatusUnauthorized {
			t.Errorf("%s without a token: %s", path, resp.Status)
		}
	}
	resp, _ := send(t, ts, "GET", "/?token=secret", nil, nil)
	if resp.StatusCode != http.StatusSeeOther || resp.Header.Get("Location") != "/" {
		t.Fatalf("with the token: %s to %q", resp.Status, resp.Header.Get("Location"))
	}
	c := resp.Cookies()[0]
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode {
		t.Errorf("the cookie %v can be read by scripts, or goes along from other sites", c)
	}
	if resp, _ := send(t, ts, "GET", "/api/state", nil,
		map[string]string{"Cookie": c.Name + "=" + c.Value}); resp.StatusCode != http.StatusOK {
		t.Errorf("with the cookie: %s", resp.Status)
	}
	port := ts.Listener.Addr().(*net.TCPAddr).Port
	head := map[string]string{"Host": fmt.Sprintf("lamp.example:%d", port), "X-Lampwright-Token": "secret"}
	if resp, _ := send(t, ts, "GET", "/api/state", nil, head); resp.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("another name, with the token: %s", resp.Status)
	}
	if a, b := NewToken(), NewToken(); a == b || len(a) != 32 {
		t.Errorf("tokens %s and %s", a, b)
	}
}

// TestBounds sends bodies that are too large or no JSON.
func TestBounds(t *testing.T) {
	_, ts := serve(t, demo(t, "propagation-bench"))
	for _, tt := range []struct {
		name string
		body any
		want int
	}{
		{"too large", map[string]string{"text": strings.Repeat("a", maxBody)}, 413},
		{"no JSON", "{", 400},
		{"two values", `{"text":""} {}`, 400},
		{"unknown member", `{"txet":""}`, 400},
		{"another type", `{"text":3}`, 400},
	} {
		if resp, data := send(t, ts, "POST", "/api/check", tt.body, nil); resp.StatusCode != tt.want {
			t.Errorf("%s: status %d, want %d: %s", tt.name, resp.StatusCode, tt.want, data)
		}
	}
	many := make([]change, maxChanges+1)
	for i := range many {
		many[i] = change{"name", "x"}
	}
	if resp, _ := send(t, ts, "POST", "/api/preview", map[string]any{"base": state(t, ts).Hash, "changes": many},
		nil); resp.StatusCode != 400 {
		t.Errorf("%d changes: %s", len(many), resp.Status)
	}
}

// TestSave changes one value and wants the file changed by just that, with a snapshot, undo and redo.
func TestSave(t *testing.T) {
	dir := demo(t, "long-tank-first")
	s, ts := serve(t, dir)
	before := onDisk(t, dir)
	st := state(t, ts)
	resp, data := send(t, ts, "POST", "/api/save", map[string]any{
		"base":    st.Hash,
		"changes": []change{{"channels[1].current", "350 mA"}},
	}, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", resp.Status, data)
	}
	want := strings.Replace(before, "current: 780 mA  ", "current: 350 mA  ", 1)
	if d := cmp.Diff(want, onDisk(t, dir)); d != "" || want == before {
		t.Errorf("the file differs from the one changed value:\n%s", d)
	}
	st = read[stateSeen](t, data)
	if !st.CanUndo || st.CanRedo || st.Text != want || st.Outside {
		t.Errorf("after the save: %+v", st)
	}
	names := s.work.snapshotNames()
	if len(names) != 1 {
		t.Fatalf("%d snapshots, want 1", len(names))
	}
	if text, err := s.work.snapshot(names[0]); err != nil || string(text) != before {
		t.Errorf("the snapshot is not what stood there: %v", err)
	}
	// A second save of the same burst takes no snapshot.
	if resp, data = send(t, ts, "POST", "/api/save", map[string]any{
		"base":    st.Hash,
		"changes": []change{{"channels[1].current", "300 mA"}},
	}, nil); resp.StatusCode != 200 {
		t.Fatalf("%s: %s", resp.Status, data)
	}
	if n := len(s.work.snapshotNames()); n != 1 {
		t.Errorf("%d snapshots after two saves of one burst", n)
	}
	hash := read[stateSeen](t, data).Hash
	step := func(path string, status int) stateSeen {
		t.Helper()
		resp, data := send(t, ts, "POST", path, map[string]string{"base": hash}, nil)
		if resp.StatusCode != status {
			t.Fatalf("%s: %s: %s", path, resp.Status, data)
		}
		st := read[stateSeen](t, data)
		if status == 200 {
			hash = st.Hash
		}
		return st
	}
	step("/api/undo", 200)
	if got := onDisk(t, dir); got != want {
		t.Error("undo did not bring back the first change")
	}
	if st := step("/api/undo", 200); onDisk(t, dir) != before || st.CanUndo || !st.CanRedo {
		t.Errorf("undo twice did not bring back the file: %+v", st)
	}
	step("/api/undo", 400)
	step("/api/redo", 200)
	if got := onDisk(t, dir); got != want {
		t.Error("redo did not bring back the change")
	}
	settled(t, s)
}

// TestConflict changes the file behind the page's back.
func TestConflict(t *testing.T) {
	dir := demo(t, "propagation-bench")
	s, ts := serve(t, dir)
	st := state(t, ts)
	other := st.Text + "# written by an editor\n"
	write(t, dir, other)
	for path, body := range map[string]any{
		"/api/save": map[string]any{"base": st.Hash, "changes": []change{{"installation.hanging_height", "200 mm"}}},
		"/api/undo": map[string]string{"base": st.Hash},
	} {
		resp, data := send(t, ts, "POST", path, body, nil)
		if resp.StatusCode != http.StatusConflict {
			t.Errorf("%s: %s: %s", path, resp.Status, data)
		}
		if f := read[failure](t, data); f.Hash != hashAll([]byte(other), nil) {
			t.Errorf("%s: the answer tells of %s, not of the file as it is", path, f.Hash)
		}
	}
	text := "nothing"
	if resp, _ := send(t, ts, "POST", "/api/save", map[string]any{"base": st.Hash, "text": text, "anyway": true},
		nil); resp.StatusCode != http.StatusConflict {
		t.Errorf("a whole text over the other's: %s", resp.Status)
	}
	if resp, _ := send(t, ts, "POST", "/api/preview", map[string]any{"base": st.Hash},
		nil); resp.StatusCode != http.StatusConflict {
		t.Errorf("try over the old text: %s", resp.Status)
	}
	if got := onDisk(t, dir); got != other {
		t.Error("what the editor wrote was overwritten")
	}
	now := state(t, ts)
	if !now.Outside || now.CanUndo || now.Text != other {
		t.Errorf("after a change from outside: outside %v, undo %v", now.Outside, now.CanUndo)
	}
	if names := s.work.snapshotNames(); len(names) != 1 {
		t.Errorf("%d snapshots of what the editor overwrote, want 1", len(names))
	}
	if resp, data := send(t, ts, "POST", "/api/save", map[string]any{
		"base":    now.Hash,
		"changes": []change{{"installation.hanging_height", "200 mm"}},
	}, nil); resp.StatusCode != 200 {
		t.Errorf("save over what the page has seen: %s: %s", resp.Status, data)
	}
	if got := onDisk(t, dir); !strings.Contains(got, "# written by an editor") || !strings.Contains(got, "200 mm") {
		t.Error("the file lacks the editor's line or the page's value")
	}
}

// TestRefused wants problems answered with their line and path, and nothing written.
func TestRefused(t *testing.T) {
	dir := demo(t, "propagation-bench")
	_, ts := serve(t, dir)
	st := state(t, ts)
	for _, path := range []string{"/api/save", "/api/preview"} {
		resp, data := send(t, ts, "POST", path, map[string]any{
			"base":    st.Hash,
			"changes": []change{{"channels[0].current", "2.4 V"}},
		}, nil)
		if resp.StatusCode != http.StatusUnprocessableEntity {
			t.Fatalf("%s: %s: %s", path, resp.Status, data)
		}
		f := read[failure](t, data)
		if len(f.Problems) != 1 || f.Problems[0].At.Path != "channels[0].current" ||
			!strings.Contains(f.Problems[0].Msg, "is a voltage") {
			t.Errorf("%s: problems %+v", path, f.Problems)
		}
		resp, data = send(t, ts, "POST", path, map[string]any{
			"base":    st.Hash,
			"changes": []change{{"channels[9].current", "1 A"}},
		}, nil)
		if f := read[failure](t, data); resp.StatusCode != http.StatusUnprocessableEntity || f.Path != "channels[9].current" {
			t.Errorf("%s: %s: %+v", path, resp.Status, f)
		}
	}
	broken := strings.Replace(st.Text, "name:", "nmae:", 1)
	if resp, _ := send(t, ts, "POST", "/api/save", map[string]any{"base": hashOf([]byte(st.Text)), "text": broken},
		nil); resp.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a broken text: %s", resp.Status)
	}
	if got := onDisk(t, dir); got != st.Text {
		t.Error("something was written")
	}
	resp, data := send(t, ts, "POST", "/api/save", map[string]any{
		"base": hashOf([]byte(st.Text)), "text": broken,
		"anyway": true,
	}, nil)
	if now := read[stateSeen](t, data); resp.StatusCode != 200 || len(now.Problems) == 0 || now.Problems[0].At.Line == 0 {
		t.Errorf("a broken text, anyway: %s, %+v", resp.Status, now.Problems)
	}
	if onDisk(t, dir) != broken {
		t.Error("the text was not written")
	}
}

// TestTry computes values that are not in the file and leaves it alone.
func TestTry(t *testing.T) {
	dir := demo(t, "long-tank-first")
	s, ts := serve(t, dir)
	settled(t, s)
	st := state(t, ts)
	if st.Lamp == nil || !st.Current {
		t.Fatalf("the file was not computed: %+v", st)
	}
	try := func(full bool, c ...change) lampSeen {
		resp, data := send(t, ts, "POST", "/api/preview", map[string]any{"base": st.Hash, "changes": c, "full": full}, nil)
		if resp.StatusCode != 200 {
			t.Fatalf("%s: %s", resp.Status, data)
		}
		return read[lampSeen](t, data)
	}
	same := try(true)
	if got, want := same.value(t, "target.ppfd"), st.Lamp.value(t, "target.ppfd"); got != want {
		t.Errorf("without a change the target has %g, not %g", got, want)
	}
	if len(same.Pictures) == 0 || same.Figures[0].Range == "" {
		t.Error("a full answer lacks pictures or ranges")
	}
	less := try(false, change{"channels[1].current", "350 mA"})
	if got, was := less.value(t, "neutral.current"), st.Lamp.value(t, "neutral.current"); got >= was {
		t.Errorf("half the current gives %g A, the file %g A", got, was)
	}
	higher := try(false, change{"installation.hanging_height", "500 mm"})
	if got, was := higher.value(t, "light.spill"), st.Lamp.value(t, "light.spill"); got <= was {
		t.Errorf("a higher lamp spills %g, the file's %g: it must spill more", got, was)
	}
	if onDisk(t, dir) != st.Text {
		t.Error("trying wrote the file")
	}
	if again := state(t, ts); again.Version != st.Version || again.CanUndo {
		t.Error("trying changed the state")
	}
}

// TestFolder wants nothing read or written beyond the folder.
func TestFolder(t *testing.T) {
	secret := filepath.Join(t.TempDir(), "secret.yaml")
	if err := os.WriteFile(secret, []byte("lampwright: 2 # secret\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.Symlink(secret, filepath.Join(dir, "lamp.yaml")); err != nil {
		t.Skip("no links here:", err)
	}
	s, ts := serve(t, dir)
	st := state(t, ts)
	if strings.Contains(st.Text, "secret") || st.Failed == "" {
		t.Errorf("a link out of the folder was followed: %+v", st)
	}
	if _, err := s.work.write(texts{"lamp.yaml": []byte("changed")}); err == nil {
		t.Error("a link out of the folder was written through")
	}
	if data, _ := os.ReadFile(secret); !bytes.Contains(data, []byte("secret")) {
		t.Error("the file beyond the folder was changed")
	}
	for _, name := range []string{"../../lamp.yaml", "/etc/passwd", "", ".", "x.yaml"} {
		if resp, _ := send(t, ts, "POST", "/api/compare", map[string]string{"id": "snapshot/" + name},
			nil); resp.StatusCode != 400 {
			t.Errorf("compare with %q: %s", name, resp.Status)
		}
	}
	for _, name := range []string{"../lamp.yaml", "a/lamp.yaml", "/etc/passwd", ".."} {
		if _, err := New(Options{Folder: dir, File: name, Library: partslib.Files(), Addr: ts.Listener.Addr()}); err == nil {
			t.Errorf("the design file %q was accepted", name)
		}
	}
}

// TestBegin fills an empty folder once.
func TestTemplate(t *testing.T) {
	dir := t.TempDir()
	_, ts := serve(t, dir)
	if st := state(t, ts); !st.Empty {
		t.Fatal("an empty folder is not said to be empty")
	}
	if resp, _ := send(t, ts, "POST", "/api/begin", map[string]string{"key": "other"}, nil); resp.StatusCode != 400 {
		t.Errorf("an unknown project: %s", resp.Status)
	}
	if resp, data := send(t, ts, "POST", "/api/begin", map[string]string{"key": "demo"},
		nil); resp.StatusCode != 200 || read[stateSeen](t, data).Empty {
		t.Errorf("%s: %s", resp.Status, data)
	}
	if _, err := os.Stat(filepath.Join(dir, "parts", "own.yaml")); err != nil {
		t.Error(err)
	}
	if resp, _ := send(t, ts, "POST", "/api/begin", map[string]string{"key": "demo"}, nil); resp.StatusCode != 400 {
		t.Errorf("over a project: %s", resp.Status)
	}
}

// TestEvents wants a page told of a change from outside, and no watching while nobody listens.
func TestEvents(t *testing.T) {
	dir := demo(t, "propagation-bench")
	s, ts := serve(t, dir)
	settled(t, s)
	before := s.work.now()
	write(t, dir, onDisk(t, dir)+"# unseen\n")
	time.Sleep(100 * time.Millisecond) // five times the interval of watching
	if s.work.now() != before {
		t.Error("the file was watched while no page was open")
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, "GET", ts.URL+"/api/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	resp, err := ts.Client().Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	lines := bufio.NewScanner(resp.Body)
	next := func(event string) string {
		for lines.Scan() {
			if lines.Text() == "event: "+event && lines.Scan() {
				return strings.TrimPrefix(lines.Text(), "data: ")
			}
		}
		t.Fatalf("the stream ended before %s: %v", event, lines.Err())
		return ""
	}
	next("version") // the first tells where things stand
	write(t, dir, onDisk(t, dir)+"# seen\n")
	next("version")
	if st := state(t, ts); !strings.Contains(st.Text, "# seen") {
		t.Error("the event came before the change")
	}
	write(t, dir, "lampwright: 2\n")
	until(t, "problems are told", func() bool { next("version"); return len(state(t, ts).Problems) > 0 })
	cancel()
	until(t, "the listener has gone", func() bool {
		s.work.hub.mu.Lock()
		defer s.work.hub.mu.Unlock()
		return len(s.work.hub.listeners) == 0
	})
}

// TestManyEvents sends more events than a page reads: it gets the last of each kind.
func TestManyEvents(t *testing.T) {
	h := hub{listeners: map[*listener]bool{}, onFirst: func(stop <-chan struct{}) { <-stop }}
	l, ok := h.join()
	if !ok {
		t.Fatal("the first listener was refused")
	}
	h.send("version", 1)
	for i := range 1000 {
		h.send("progress", i)
	}
	h.send("version", 2)
	for i := range 1000 {
		h.send("progress", i)
	}
	<-l.wake
	if got, want := string(h.take(l)), "event: progress\ndata: 999\n\nevent: version\ndata: 2\n\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	h.close()
	if _, open := <-l.wake; open {
		t.Error("the stream goes on after the end")
	}
	h.leave(l)
}

// TestCancel stops a computation: what was shown stays, and is said to be of an earlier text.
func TestCancel(t *testing.T) {
	dir := demo(t, "propagation-bench")
	s, ts := serve(t, dir)
	settled(t, s)
	for range cap(s.work.busy) {
		s.work.busy <- struct{}{} // nothing is computed until these are taken out
	}
	write(t, dir, strings.Replace(onDisk(t, dir), "hanging_height:", "hanging_height: ", 1))
	st := state(t, ts)
	if st.Job == nil || st.Current || st.Lamp == nil {
		t.Fatalf("while it is computed: %+v", st)
	}
	if _, data := send(t, ts, "POST", "/api/cancel", map[string]int{"id": st.Job.ID + 1}, nil); read[stateSeen](t,
		data).Job == nil {
		t.Error("another job's number stopped this one")
	}
	_, data := send(t, ts, "POST", "/api/cancel", map[string]int{"id": st.Job.ID}, nil)
	if st := read[stateSeen](t, data); st.Job != nil || st.Current || st.Lamp == nil {
		t.Errorf("after the stop: %+v", st)
	}
	for range cap(s.work.busy) {
		<-s.work.busy
	}
	send(t, ts, "POST", "/api/compute", map[string]int{}, nil)
	settled(t, s)
	if st := state(t, ts); !st.Current {
		t.Error("it was not computed after being asked again")
	}
}

// TestServe ends with its context.
func TestServe(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(Options{Folder: t.TempDir(), Library: partslib.Files(), Addr: l.Addr()})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	resp, err := http.Get("http://" + l.Addr().String() + "/api/events")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	cancel()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(10 * time.Second):
		t.Error("it does not end while a page is open")
	}
}

// TestCrash looks that a save that fails leaves the file as it was.
func TestCrash(t *testing.T) {
	if os.Getuid() == 0 {
		t.Log("as root no folder is closed to us; a name that is a folder stands in for it")
	}
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "lamp.yaml"), 0o755); err != nil {
		t.Fatal(err)
	}
	_, ts := serve(t, dir)
	st := state(t, ts)
	if st.Failed == "" {
		t.Error("a folder in the place of the file is not told")
	}
	if resp, _ := send(t, ts, "POST", "/api/save", map[string]any{
		"base": st.Hash, "text": "lampwright: 2\n",
		"anyway": true,
	}, nil); resp.StatusCode == 200 {
		t.Error("saved over a folder")
	}
	if info, err := os.Stat(filepath.Join(dir, "lamp.yaml")); err != nil || info.Mode()&fs.ModeDir == 0 {
		t.Error("what stood there is gone")
	}
}

// BenchmarkTry asks: how long does a page wait for the figures of another value? It asks for the whole lamp, and, as a
// page does while a slider moves, for what a view shows and the lamp of the file has not.
func BenchmarkTry(b *testing.B) {
	for _, bb := range []struct {
		name, view, path string
		text             func(i int) string
	}{
		{"whole", "", "channels[1].current", func(i int) string { return fmt.Sprintf("%d mA", 300+i%300) }},
		{"current", "review", "channels[0].current", func(i int) string { return fmt.Sprintf("%d mA", 600+10*(i%200)) }},
		{
			"current-on-board", "board", "channels[0].current",
			func(i int) string { return fmt.Sprintf("%d mA", 600+10*(i%200)) },
		},
		{"fan", "review", "fan.speed", func(i int) string { return fmt.Sprintf("%d %%", 20+i%80) }},
		{
			"room", "review", "installation.ambient.typical",
			func(i int) string { return fmt.Sprintf("%g °C", 16+0.5*float64(i%32)) },
		},
		{
			"height", "installation", "installation.hanging_height",
			func(i int) string { return fmt.Sprintf("%d mm", 100+5*(i%180)) },
		},
	} {
		b.Run(bb.name, func(b *testing.B) {
			s, ts := serve(b, demo(b, "long-tank-first"))
			settled(b, s)
			st := state(b, ts)
			body := map[string]any{"base": st.Hash}
			if bb.view != "" {
				s.work.mu.Lock()
				body["view"], body["against"] = bb.view, s.work.shown.number
				s.work.mu.Unlock()
			}
			i := 0
			for b.Loop() {
				i++
				body["changes"] = []change{{bb.path, bb.text(i)}}
				if resp, data := send(b, ts, "POST", "/api/preview", body, nil); resp.StatusCode != 200 {
					b.Fatalf("%s: %s", resp.Status, data)
				}
			}
		})
	}
}
