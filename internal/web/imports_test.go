package web

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// importOf finds what a source of the page imports from beside it, statically or when it is needed.
var importOf = regexp.MustCompile(`(?:from |import |import\()'\./([^']+)'`)

// pageImports returns the imports of each source of the page.
func pageImports(t *testing.T) map[string][]string {
	t.Helper()
	names, err := filepath.Glob("ui/src/*.ts*")
	if err != nil || len(names) < 20 {
		t.Fatalf("%d sources of the page: %v", len(names), err)
	}
	out := map[string][]string{}
	for _, n := range names {
		text, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		module := strings.TrimSuffix(strings.TrimSuffix(filepath.Base(n), ".tsx"), ".ts")
		for _, m := range importOf.FindAllStringSubmatch(string(text), -1) {
			out[module] = append(out[module], m[1])
		}
	}
	return out
}

// cycle returns a cycle of imports that begins at the end of the path, or nil.
func cycle(imports map[string][]string, path []string, done map[string]bool) []string {
	at := path[len(path)-1]
	if i := slices.Index(path, at); i < len(path)-1 {
		return path[i:]
	}
	if done[at] {
		return nil
	}
	for _, next := range imports[at] {
		if c := cycle(imports, append(path[:len(path):len(path)], next), done); c != nil {
			return c
		}
	}
	done[at] = true
	return nil
}

// TestNoImportCycle finds cycles among the sources of the page.
func TestNoImportCycle(t *testing.T) {
	imports, done := pageImports(t), map[string]bool{}
	for module := range imports {
		if c := cycle(imports, []string{module}, done); c != nil {
			t.Errorf("the page's sources import in a cycle: %s", strings.Join(c, " → "))
		}
	}
	if !slices.Contains(imports["app"], "review") || !slices.Contains(imports["light"], "scene") {
		t.Errorf("imports are not found: app has %q, light has %q", imports["app"], imports["light"])
	}
	if c := cycle(map[string][]string{"a": {"b"}, "b": {"c"}, "c": {"b"}}, []string{"a"},
		map[string]bool{}); !slices.Equal(c, []string{"b", "c", "b"}) {
		t.Errorf("of a cycle is found %q", c)
	}
}
