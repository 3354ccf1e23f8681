package house

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestHandbookListsEveryCheck holds the table of checks in the handbook against the checks that review knows.
func TestHandbookListsEveryCheck(t *testing.T) {
	page, err := os.ReadFile("../../docs/handbook/03-reading-a-review.md")
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob("../review/*.go")
	if err != nil {
		t.Fatal(err)
	}
	named := regexp.MustCompile(`[Cc]heck: +"([a-z-]+)"|v\.within\("([a-z-]+)"`)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		code, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range named.FindAllStringSubmatch(string(code), -1) {
			check := m[1] + m[2]
			if !regexp.MustCompile(`(?m)^\|[^|]*\b` + regexp.QuoteMeta(check) + `\b[^|]*\|`).Match(page) {
				t.Errorf("%s: check %q is not in the handbook's table", name, check)
			}
		}
	}
}
