package web

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// fetch makes a request with just these headers and returns the answer as it came over the wire.
func fetch(t *testing.T, ts *httptest.Server, method, path, body string, head map[string]string) (*http.Response,
	[]byte,
) {
	t.Helper()
	r, err := http.NewRequest(method, ts.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	if method == http.MethodPost {
		r.Header.Set("Origin", ts.URL)
		r.Header.Set("Content-Type", "application/json")
	}
	for k, v := range head {
		r.Header.Set(k, v)
	}
	client := &http.Client{Transport: &http.Transport{DisableCompression: true}}
	defer client.CloseIdleConnections()
	resp, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	data, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp, data
}

func unpacked(t *testing.T, data []byte) []byte {
	t.Helper()
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	out, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestCompressed asks for the same things with and without compression.
func TestCompressed(t *testing.T) {
	s, ts := serve(t, demo(t, "long-tank-first"))
	settled(t, s)
	long := `{"text": "` + strings.Repeat("wrong: 1\\n", 400) + `"}` // a long answer that lists problems
	for _, tt := range []struct {
		method, path, body string
		status             int
		gzip               bool
	}{
		{"GET", "/", "", 200, false}, // shorter than a packet
		{"GET", "/assets/page.js", "", 200, true},
		{"GET", "/assets/page.css", "", 200, true},
		{"GET", "/assets/none.css", "", 404, false},
		{"GET", "/api/state", "", 200, true},
		{"GET", "/api/file?name=lamp.yaml", "", 200, true},
		{"GET", "/api/file?name=none.yaml", "", 400, false},
		{"POST", "/api/check", long, 200, true},
		{"POST", "/api/check", `{"text": ""}`, 200, false},
		{"POST", "/api/save", `{"base": "another"}`, 409, false},
	} {
		t.Run(tt.method+tt.path, func(t *testing.T) {
			plain, want := fetch(t, ts, tt.method, tt.path, tt.body, nil)
			zipped, got := fetch(t, ts, tt.method, tt.path, tt.body, map[string]string{"Accept-Encoding": "gzip, br"})
			for _, resp := range []*http.Response{plain, zipped} {
				if resp.StatusCode != tt.status {
					t.Errorf("%s, want %d", resp.Status, tt.status)
				}
				if tt.status != 404 && resp.Header.Get("Vary") != "Accept-Encoding" {
					t.Errorf("Vary is %q", resp.Header.Get("Vary"))
				}
				if plain.Header.Get("Content-Type") != resp.Header.Get("Content-Type") {
					t.Errorf("the type is %q", resp.Header.Get("Content-Type"))
				}
			}
			if e := plain.Header.Get("Content-Encoding"); e != "" {
				t.Errorf("without Accept-Encoding it is encoded as %q", e)
			}
			if is := zipped.Header.Get("Content-Encoding") == "gzip"; is != tt.gzip {
				t.Fatalf("gzip: %v, want %v (%d bytes)", is, tt.gzip, len(want))
			}
			if zipped.Header.Get("Content-Length") != strconv.Itoa(len(got)) ||
				plain.Header.Get("Content-Length") != strconv.Itoa(len(want)) {
				t.Errorf("lengths %q and %q, want %d and %d", zipped.Header.Get("Content-Length"),
					plain.Header.Get("Content-Length"), len(got), len(want))
			}
			if tt.gzip {
				if len(got) >= len(want) {
					t.Errorf("%d bytes are packed into %d", len(want), len(got))
				}
				got = unpacked(t, got)
			}
			if !bytes.Equal(got, want) {
				t.Error("compressed, it is another answer")
			}
		})
	}
	resp, err := http.Get(ts.URL + "/api/events")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.Uncompressed || resp.Header.Get("Content-Encoding") != "" {
		t.Error("the stream of events is compressed: its events would wait for each other")
	}
}

// TestAcceptsGzip reads Accept-Encoding. Source: FieldingEtAl2022, §12.5.3.
func TestAcceptsGzip(t *testing.T) {
	for _, tt := range []struct {
		header string
		want   bool
	}{
		{"", false},
		{"identity", false},
		{"br", false},
		{"gzip", true},
		{"GZIP", true},
		{"x-gzip", true},
		{"deflate, gzip;q=1.0, *;q=0.5", true},
		{"gzip;q=0", false},
		{"gzip; q=0.000", false},
		{"gzip;Q=0.001", true},
		{"*", true},
		{"*;q=0", false},
		{"*, gzip;q=0", false},
		{"gzip;q=0, *", false},
		{"gzip;q=x", false},
		{"agzip", false},
	} {
		if got := acceptsGzip([]string{tt.header}); got != tt.want {
			t.Errorf("acceptsGzip(%q) = %v", tt.header, got)
		}
	}
	if !acceptsGzip([]string{"br", "gzip"}) {
		t.Error("of two headers the second is not read")
	}
}

// TestFixedFiles: a browser asks once for a file whose address names its content, and asks about every other one.
func TestFixedFiles(t *testing.T) {
	_, ts := serve(t, t.TempDir())
	_, index := fetch(t, ts, "GET", "/", "", nil)
	addresses := regexp.MustCompile(`"(/assets/[^"]+)"`).FindAllSubmatch(index, -1)
	if len(addresses) < 4 {
		t.Fatalf("the page names %d files", len(addresses))
	}
	for _, a := range addresses {
		resp, _ := fetch(t, ts, "GET", string(a[1]), "", nil)
		if c := resp.Header.Get("Cache-Control"); resp.StatusCode != 200 || !strings.Contains(c, "immutable") {
			t.Errorf("%s: %s, %q", a[1], resp.Status, c)
		}
	}
	tags := map[string]bool{}
	for _, encoding := range []string{"gzip", "identity"} {
		for _, path := range []string{"/assets/page.js", "/assets/page.js?v=another", "/"} {
			head := map[string]string{"Accept-Encoding": encoding}
			resp, _ := fetch(t, ts, "GET", path, "", head)
			tag := resp.Header.Get("ETag")
			tags[tag] = true
			if c := resp.Header.Get("Cache-Control"); c != "no-cache" {
				t.Errorf("%s: %q", path, c)
			}
			head["If-None-Match"] = tag
			if resp, data := fetch(t, ts, "GET", path, "", head); resp.StatusCode != 304 || len(data) > 0 {
				t.Errorf("%s, unchanged: %s with %d bytes", path, resp.Status, len(data))
			}
			head["If-None-Match"] = `"another"`
			if resp, _ := fetch(t, ts, "GET", path, "", head); resp.StatusCode != 200 {
				t.Errorf("%s, changed: %s", path, resp.Status)
			}
		}
	}
	if len(tags) != 3 { // of page.js in two encodings, and of the page, which is too short to be compressed
		t.Errorf("different bytes share a tag: %v", tags)
	}
}
