package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lampwright/internal/review"
)

// TestHelp: contents, a search, a section with the words marked, the section on each check, a picture; what is not
// there is refused in words.
func TestHelp(t *testing.T) {
	_, ts := serve(t, demo(t, "moss-jar"))
	get := func(query string, want int) []byte {
		t.Helper()
		resp, data := send(t, ts, "GET", "/api/help"+query, nil, nil)
		if resp.StatusCode != want {
			t.Fatalf("%s: %s: %.200s", query, resp.Status, data)
		}
		return data
	}
	contents := read[helpContents](t, get("", http.StatusOK))
	if len(contents.Sections) < 150 {
		t.Errorf("%d sections", len(contents.Sections))
	}
	hits := read[helpHits](t, get("?q=thermal+runaway", http.StatusOK)).Hits
	if len(hits) == 0 {
		t.Fatal("nothing is found")
	}
	section := read[helpSection](t, get("?q=thermal+runaway&id="+url.QueryEscape(hits[0].ID), http.StatusOK))
	if section.ID != hits[0].ID || !strings.Contains(strings.ToLower(section.HTML), "<mark>runaway</mark>") {
		t.Errorf("%+v", section)
	}
	for _, check := range review.Checks() {
		if s := read[helpSection](t, get("?check="+check, http.StatusOK)); s.HTML == "" {
			t.Errorf("the section on %s is empty: %+v", check, s.Entry)
		}
	}
	if got := string(get("/pictures/convergence.svg", http.StatusOK)); !strings.Contains(got, "<svg") {
		t.Errorf("the picture is %.100s", got)
	}
	for query, want := range map[string]int{
		"?id=none": 404, "?check=none": 404, "/pictures/none.svg": 404, "?q=" + strings.Repeat("x", 300): 400,
	} {
		if got := string(get(query, want)); !strings.Contains(got, "error") {
			t.Errorf("%s: %s", query, got)
		}
	}
}
