package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// listening serves as the command does, on a free port of this machine.
func listening(t *testing.T, dir string, limits ...readLimits) (*Server, string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(Options{Folder: dir, Library: partslib.Files(), Addr: l.Addr()})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range limits {
		s.limits = l
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	return s, l.Addr().String()
}

// raw sends bytes as they are and returns what comes back until the other side ends.
func raw(t *testing.T, addr, text string, wait time.Duration) (string, time.Duration) {
	t.Helper()
	c, err := net.Dial("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if _, err := io.WriteString(c, text); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	if err := c.SetReadDeadline(began.Add(wait)); err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(c)
	if e, ok := err.(net.Error); ok && e.Timeout() {
		t.Errorf("%.60q: the connection is still open after %v", text, wait)
	}
	return string(data), time.Since(began)
}

// TestRaw sends what no browser sends: each is refused, and nothing of the project is told.
func TestRaw(t *testing.T) {
	dir := demo(t, "propagation-bench")
	_, addr := listening(t, dir)
	before := onDisk(t, dir)
	body := `{"base":"` + hashAll([]byte(before), nil) + `","changes":[{"path":"name","text":"taken"}]}`
	post := func(head string) string {
		return "POST /api/save HTTP/1.1\r\n" + head + fmt.Sprintf("Content-Length: %d\r\nConnection: close\r\n\r\n%s",
			len(body), body)
	}
	for _, tt := range []struct{ name, text, want string }{
		{"no host", "GET /api/state HTTP/1.1\r\nConnection: close\r\n\r\n", "400"},
		{
			"two hosts", "GET /api/state HTTP/1.1\r\nHost: " + addr + "\r\nHost: lamp.example\r\nConnection: close\r\n\r\n",
			"400",
		},
		{"an empty host", "GET /api/state HTTP/1.1\r\nHost: \r\nConnection: close\r\n\r\n", "421"},
		{"HTTP/1.0 without a host", "GET /api/state HTTP/1.0\r\n\r\n", "421"},
		{
			"a host in the request line",
			"GET http:" + "//lamp.example/api/state HTTP/1.1\r\nHost: " + addr + "\r\nConnection: close\r\n\r\n", "421",
		},
		{
			"a host with a name before it",
			"GET /api/state HTTP/1.1\r\nHost: lamp.example@" + addr + "\r\nConnection: close\r\n\r\n", "4",
		},
		{
			"a host with a dot after it",
			"GET /api/state HTTP/1.1\r\nHost: localhost.:" + port(addr) + "\r\nConnection: close\r\n\r\n", "421",
		},
		{
			"an address as one number",
			"GET /api/state HTTP/1.1\r\nHost: 2130706433:" + port(addr) + "\r\nConnection: close\r\n\r\n", "421",
		},
		{"another method", "DELETE /api/save HTTP/1.1\r\nHost: " + addr + "\r\nConnection: close\r\n\r\n", "403"},
		{"an options request", "OPTIONS /api/save HTTP/1.1\r\nHost: " + addr + "\r\nOrigin: http:" +
			"//lamp.example\r\nAccess-Control-Request-Method: POST\r\nConnection: close\r\n\r\n", "403"},
		{
			"dots", "GET /assets/..%2f..%2f..%2fetc%2fpasswd HTTP/1.1\r\nHost: " + addr + "\r\nConnection: close\r\n\r\n",
			"404",
		},
		{"a long head", "GET / HTTP/1.1\r\nHost: " + addr + "\r\nX: " + strings.Repeat("x", 64<<10) + "\r\n\r\n", "431"},
		{"a form", post("Host: " + addr + "\r\nOrigin: http:" + "//" + addr +
			"\r\nContent-Type: application/x-www-form-urlencoded\r\n"), "415"},
		{"plain text", post("Host: " + addr + "\r\nOrigin: http:" + "//" + addr + "\r\nContent-Type: text/plain\r\n"), "415"},
		{
			"plain text that names JSON",
			post("Host: " + addr + "\r\nOrigin: http:" + "//" + addr +
				"\r\nContent-Type: text/plain; x=application/json\r\n"), "415",
		},
		{"JSON from elsewhere", post("Host: " + addr + "\r\nOrigin: http:" +
			"//lamp.example\r\nContent-Type: application/json\r\n"), "403"},
		{
			"JSON from a page of another port",
			post("Host: " + addr + "\r\nOrigin: http:" + "//127.0.0.1:1\r\nContent-Type: application/json\r\n"), "403",
		},
		{
			"JSON of a name that was made to point here",
			post("Host: lamp.example:" + port(addr) + "\r\nOrigin: http:" + "//lamp.example:" + port(addr) +
				"\r\nContent-Type: application/json\r\n"), "421",
		},
		{"JSON without an origin", post("Host: " + addr + "\r\nContent-Type: application/json\r\n"), "403"},
	} {
		got, _ := raw(t, addr, tt.text, 30*time.Second)
		status, _, _ := strings.Cut(strings.TrimPrefix(got, "HTTP/1.1 "), "\r\n")
		status = strings.TrimPrefix(status, "HTTP/1.0 ")
		if !strings.HasPrefix(status, tt.want) || strings.Contains(got, "propagation") {
			t.Errorf("%s: %q, want %s", tt.name, status, tt.want)
		}
	}
	if onDisk(t, dir) != before {
		t.Error("something was written")
	}
}

func port(addr string) string {
	_, p, _ := net.SplitHostPort(addr)
	return p
}

// TestSlow sends heads and bodies that never end: such connections are ended after the limits, which are shorter here,
// and others are answered meanwhile.
func TestSlow(t *testing.T) {
	slow(t)
	dir := demo(t, "propagation-bench")
	_, addr := listening(t, dir, readLimits{head: 1500 * time.Millisecond, whole: 3 * time.Second})
	var all sync.WaitGroup
	for range 50 {
		all.Go(func() {
			if _, took := raw(t, addr, "GET / HTTP/1.1\r\nHost: "+addr+"\r\nX-Slow: ", 60*time.Second); took < time.Second {
				t.Errorf("a slow head was ended after %v", took)
			}
		})
	}
	all.Go(func() {
		head := "POST /api/save HTTP/1.1\r\nHost: " + addr + "\r\nOrigin: http:" + "//" + addr +
			"\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n{"
		if got, _ := raw(t, addr, head, 90*time.Second); !strings.Contains(got, "400") && !strings.Contains(got, "408") &&
			got != "" {
			t.Errorf("a slow body: %.200q", got)
		}
	})
	resp, err := http.Get("http:" + "//" + addr + "/")
	if err != nil || resp.StatusCode != 200 {
		t.Errorf("meanwhile: %v, %v", resp, err)
	} else {
		resp.Body.Close()
	}
	all.Wait()
}

// TestManyStreams opens more streams of events than are given.
func TestManyStreams(t *testing.T) {
	s, addr := listening(t, t.TempDir())
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	given, refused := 0, 0
	for range maxListeners + 8 {
		r, err := http.NewRequestWithContext(ctx, "GET", "http:"+"//"+addr+"/api/events", nil)
		if err != nil {
			t.Fatal(err)
		}
		resp, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		switch resp.StatusCode {
		case 200:
			given++
		case 503:
			refused++
		}
	}
	if given != maxListeners || refused != 8 {
		t.Errorf("%d streams are given and %d refused, want %d and 8", given, refused, maxListeners)
	}
	cancel()
	until(t, "the streams are free again", func() bool {
		s.work.hub.mu.Lock()
		defer s.work.hub.mu.Unlock()
		return len(s.work.hub.listeners) == 0
	})
}

// TestHugeJSON sends deep and long JSON to every path that takes some: it is refused, in bounded time.
func TestHugeJSON(t *testing.T) {
	slow(t)
	_, ts := serve(t, demo(t, "propagation-bench"))
	st := state(t, ts)
	for _, path := range []string{
		"try", "why", "mix", "check", "save", "undo", "redo", "begin", "cancel", "compute",
		"compare", "copy", "differs", "day", "sunrise", "warmup", "foldback", "report", "choose",
	} {
		for name, body := range map[string]string{
			"deep lists":    strings.Repeat("[", 1<<20),
			"deep mappings": strings.Repeat(`{"base":`, 100_000),
			"long":          `{"base":"` + strings.Repeat("x", maxBody) + `"}`,
			"nothing":       "",
			"null and more": "null null",
			"bytes":         "\xff\xfe\x00",
		} {
			began := time.Now()
			resp, data := send(t, ts, "POST", "/api/"+path, body, nil)
			if resp.StatusCode < 400 || resp.StatusCode >= 500 {
				t.Errorf("%s, %s: %s: %.100s", path, name, resp.Status, data)
			}
			if took := time.Since(began); took > 20*time.Second {
				t.Errorf("%s, %s took %v", path, name, took)
			}
		}
	}
	// A text that is large, and one that grows in reading.
	for name, text := range map[string]string{
		"large": strings.Repeat("a", maxText),
		"deep":  strings.Repeat("[", 200_000), "long lines": strings.Repeat("a: b # ", 100_000),
	} {
		resp, _ := send(t, ts, "POST", "/api/save", map[string]any{"base": hashOf([]byte(st.Text)), "text": text}, nil)
		if resp.StatusCode < 400 || resp.StatusCode >= 500 {
			t.Errorf("%s: %s", name, resp.Status)
		}
	}
	if now := state(t, ts); now.Text != st.Text {
		t.Error("something was written")
	}
}

// TestSniff wants every answer to state its type and to forbid guessing, framing and other origins.
func TestSniff(t *testing.T) {
	dir := demo(t, "propagation-bench")
	write(t, dir, strings.Replace(onDisk(t, dir), "name:", "name: <script>alert(1)</script> # ", 1))
	_, ts := serve(t, dir)
	for path, kind := range map[string]string{
		"/": "text/html", "/assets/page.js": "text/javascript", "/assets/page.css": "text/css",
		"/assets/draw.css": "text/css", "/assets/NOTICES.txt": "text/plain",
		"/api/state": "application/json", "/api/parts": "application/json", "/api/versions": "application/json",
		"/api/file?name=lamp.yaml": "application/json", "/api/none": "text/plain",
		"/api/file?name=%3Cscript%3E": "application/json",
	} {
		resp, data := send(t, ts, "GET", path, nil, nil)
		h := resp.Header
		if !strings.HasPrefix(h.Get("Content-Type"), kind) || h.Get("X-Content-Type-Options") != "nosniff" ||
			h.Get("X-Frame-Options") != "DENY" ||
			h.Get("Cross-Origin-Resource-Policy") != "same-origin" || h.Get("Referrer-Policy") != "no-referrer" ||
			h.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: %v", path, h)
		}
		if kind == "application/json" && bytes.Contains(data, []byte("<script")) {
			t.Errorf("%s holds markup as it is", path)
		}
		csp := h.Get("Content-Security-Policy")
		for _, want := range []string{
			"default-src 'none'", "script-src 'self'", "style-src 'self'", "connect-src 'self'",
			"base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'",
		} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: the content policy lacks %s", path, want)
			}
		}
	}
}

// TestTwoServers on one host do not take each other's cookie away.
func TestTwoServers(t *testing.T) {
	cookie := func(token string) *http.Cookie {
		_, ts := serve(t, t.TempDir(), func(o *Options) {
			o.Addr, o.Token = &net.TCPAddr{IP: net.IPv4zero, Port: o.Addr.(*net.TCPAddr).Port}, token
		})
		resp, _ := send(t, ts, "GET", "/?token="+token, nil, nil)
		return resp.Cookies()[0]
	}
	if a, b := cookie("one"), cookie("two"); a.Name == b.Name {
		t.Errorf("both cookies are called %s", a.Name)
	}
}

// TestManyWriters saves from many pages at once: each save is whole, is over the text that its page knew, and one that
// is not is told so. Every accepted value stands in the file at one time, none over another unseen.
func TestManyWriters(t *testing.T) {
	dir := demo(t, "propagation-bench")
	_, ts := serve(t, dir)
	var all sync.WaitGroup
	var mu sync.Mutex
	done, conflicts := 0, 0
	for w := range 6 {
		all.Go(func() {
			for i := range 5 {
				st := state(t, ts)
				resp, data := send(t, ts, "POST", "/api/save", map[string]any{
					"base":    st.Hash,
					"changes": []change{{"installation.hanging_height", fmt.Sprintf("%d mm", 200+10*w+i)}},
				}, nil)
				mu.Lock()
				switch resp.StatusCode {
				case 200:
					done++
				case 409:
					conflicts++
				default:
					t.Errorf("%s: %.200s", resp.Status, data)
				}
				mu.Unlock()
			}
		})
	}
	all.Wait()
	if done == 0 || done+conflicts != 30 {
		t.Errorf("%d saves and %d conflicts of 30", done, conflicts)
	}
	st := state(t, ts)
	if st.Text != onDisk(t, dir) || len(st.Problems) > 0 {
		t.Error("the file is not what the page shows")
	}
	left, err := filepath.Glob(filepath.Join(dir, ".lamp.yaml.*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %q, %v", left, err)
	}
	t.Logf("%d saves, %d conflicts", done, conflicts)
}

// TestKilledServer is the server that TestKilled kills; alone it does nothing.
func TestKilledServer(t *testing.T) {
	dir := os.Getenv("LAMPWRIGHT_TEST_KILLED")
	if dir == "" {
		t.Skip("it is run by TestKilled")
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(Options{Folder: dir, Library: partslib.Files(), Addr: l.Addr()})
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println("at " + l.Addr().String())
	t.Fatal(s.Serve(context.Background(), l))
}

// TestKilled kills the server in the middle of a burst of saves: the file is whole, holds the last save that was
// acknowledged or the one that was under way, and a new server goes on from it.
func TestKilled(t *testing.T) {
	slow(t)
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := withParts(t)
	original := onDisk(t, dir)
	value := 0
	for round := range 4 {
		cmd := exec.Command(exe, "-test.run=^TestKilledServer$")
		cmd.Env = append(os.Environ(), "LAMPWRIGHT_TEST_KILLED="+dir)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		var addr string
		if _, err := fmt.Fscanf(out, "at %s\n", &addr); err != nil {
			t.Fatal(err)
		}
		get := func() (st stateSeen, err error) {
			resp, err := http.Get("http:" + "//" + addr + "/api/state")
			if err != nil {
				return st, err
			}
			defer resp.Body.Close()
			return st, json.NewDecoder(resp.Body).Decode(&st)
		}
		st, err := get()
		if err != nil {
			t.Fatal(err)
		}
		if len(st.Problems) > 0 || st.Text != onDisk(t, dir) {
			t.Fatalf("round %d begins with problems: %v", round, st.Problems)
		}
		last := st.Text
		var under string
		killed := time.AfterFunc(time.Duration(300+137*round)*time.Millisecond, func() { _ = cmd.Process.Kill() })
		hash, saves := st.Hash, 0
		for {
			value++
			height := fmt.Sprintf("%d mm", 200+value%200)
			under = strings.Replace(original, "hanging_height: 200 mm", "hanging_height: "+height, 1)
			body, err := json.Marshal(map[string]any{
				"base":    hash,
				"changes": []change{{"installation.hanging_height", height}, {"parts/own.yaml#lenses[0].diameter", height}},
			})
			if err != nil {
				t.Fatal(err)
			}
			r, err := http.NewRequest("POST", "http:"+"//"+addr+"/api/save", bytes.NewReader(body))
			if err != nil {
				t.Fatal(err)
			}
			r.Header.Set("Origin", "http:"+"//"+addr)
			r.Header.Set("Content-Type", "application/json")
			resp, err := http.DefaultClient.Do(r)
			if err != nil {
				break // it is dead
			}
			var now stateSeen
			err = json.NewDecoder(resp.Body).Decode(&now)
			resp.Body.Close()
			if err != nil {
				break // it died while it answered
			}
			if resp.StatusCode != 200 {
				t.Fatalf("a save: %s", resp.Status)
			}
			hash, last, saves = now.Hash, now.Text, saves+1
		}
		killed.Stop()
		_ = cmd.Process.Kill()
		_ = cmd.Wait() // it was killed
		got := onDisk(t, dir)
		if got != last && got != under {
			t.Errorf("round %d, after %d saves: the file is neither the last save nor the one under way:\n%s", round, saves, got)
		}
		if f, problems := source.Read("own.yaml", []byte(partsOnDisk(t, dir, "own.yaml"))); f == nil || len(problems) > 0 {
			t.Errorf("round %d: the parts are broken: %v", round, problems)
		}
		if _, problems := project.Load(os.DirFS(dir), "lamp.yaml", partslib.Files()); len(problems) > 0 {
			t.Errorf("round %d: %v", round, problems)
		}
		t.Logf("round %d: %d saves before the end", round, saves)
	}
}
