package archtest

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// listedChecks returns the check ids in the table of checks of the handbook.
func listedChecks(t *testing.T) (ids []string) {
	t.Helper()
	page, err := os.ReadFile("../../docs/handbook/03-reading-a-review.md")
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(page), "| check | compared value |")
	for _, m := range regexp.MustCompile(`(?m)^\| ([a-z][a-z0-9, -]+) \|`).FindAllStringSubmatch(table, -1) {
		ids = append(ids, strings.Split(m[1], ", ")...)
	}
	slices.Sort(ids)
	return ids
}

// TestHandbookListsEveryCheck compares the table of checks in the handbook with the table of rules: the same ids, each once.
func TestHandbookListsEveryCheck(t *testing.T) {
	code, err := os.ReadFile("../review/rules.go")
	if err != nil {
		t.Fatal(err)
	}
	rules := regexp.MustCompile(`(?m)^\t\{"([a-z0-9-]+)", "`).FindAllStringSubmatch(string(code), -1)
	if len(rules) < 50 {
		t.Fatalf("found %d rules; there are more", len(rules))
	}
	var ids []string
	for _, m := range rules {
		ids = append(ids, m[1])
	}
	slices.Sort(ids)
	if ids = slices.Compact(ids); !slices.Equal(ids, listedChecks(t)) { // one check may have several rules
		t.Errorf("the rules have the checks %v; chapter 3 lists %v", ids, listedChecks(t))
	}
}

// TestGlossary compares the glossary's index of check ids with the handbook's table of checks, and wants its terms sorted.
func TestGlossary(t *testing.T) {
	glossary, err := os.ReadFile("../../docs/handbook/glossary.md")
	if err != nil {
		t.Fatal(err)
	}
	var indexed []string
	_, index, _ := strings.Cut(string(glossary), "## Check ids")
	index, _, _ = strings.Cut(index, "## Troubleshooting")
	for _, m := range regexp.MustCompile(`([a-z][a-z0-9-]*) \| \[\d+\]\(\d\d-`).FindAllStringSubmatch(index, -1) {
		indexed = append(indexed, m[1])
	}
	slices.Sort(indexed)
	listed := listedChecks(t)
	if len(listed) < 60 || !slices.Equal(listed, indexed) {
		t.Errorf("chapter 3 lists the checks %v; the glossary has %v", listed, indexed)
	}
	_, terms, _ := strings.Cut(string(glossary), "## Terms")
	terms, _, _ = strings.Cut(terms, "## Symbols")
	var rows []string
	for _, m := range regexp.MustCompile(`(?m)^(\| [^|]+ \|) .* \|$`).FindAllStringSubmatch(terms, -1) {
		rows = append(rows, strings.ToLower(m[1]))
	}
	if len(rows) < 90 || !slices.IsSorted(rows[1:]) { // the first is the head
		t.Errorf("the %d terms of the glossary are not in the order of the alphabet", len(rows))
	}
}

// TestLinks wants every link of a page to lead to a file of the tree.
func TestLinks(t *testing.T) {
	link := regexp.MustCompile(`\]\(([^)\s]+)\)`)
	found := 0
	for _, f := range readTree(t) {
		if !strings.HasSuffix(f.path, ".md") {
			continue
		}
		for i, line := range f.lines() {
			for _, m := range link.FindAllStringSubmatch(line, -1) {
				found++
				target, _, _ := strings.Cut(m[1], "#")
				if _, err := os.Stat(filepath.Join(root, filepath.Dir(f.path), target)); err != nil {
					t.Errorf("%s:%d: %s leads nowhere", f.path, i+1, m[1])
				}
			}
		}
	}
	if found < 30 {
		t.Errorf("found %d links; there are more", found)
	}
}

// TestMapNamesEveryPackage compares the table of packages in docs/architecture.md with layers: every package is in it, and where
// it lists imports, they are the real ones.
func TestMapNamesEveryPackage(t *testing.T) {
	page, err := os.ReadFile(filepath.Join(root, "docs/architecture.md"))
	if err != nil {
		t.Fatal(err)
	}
	row := regexp.MustCompile("(?m)^\\| ((?:`[a-z]+`(?:, )?)+) \\| .* \\| ([^|]*) \\|$")
	word := regexp.MustCompile(`[a-z]+`)
	knows := map[string]string{}
	for _, m := range row.FindAllStringSubmatch(string(page), -1) {
		for _, pkg := range word.FindAllString(m[1], -1) {
			knows[pkg] = m[2]
		}
	}
	real := map[string]bool{}
	for _, layer := range layers {
		for _, r := range layer {
			real[r.name] = true
			said, ok := knows[r.name]
			if !ok {
				if !strings.Contains(string(page), "`"+r.name+"`") && !strings.Contains(r.name, "/") {
					t.Errorf("docs/architecture.md does not name package %s", r.name)
				}
				continue
			}
			if !regexp.MustCompile(`^(–|[a-z]+(, [a-z]+)*)$`).MatchString(said) {
				continue // in words
			}
			var list, uses []string
			if said != "–" {
				list = strings.Split(said, ", ")
			}
			for _, u := range r.uses {
				uses = append(uses, u.name)
			}
			slices.Sort(list)
			slices.Sort(uses)
			if !slices.Equal(list, uses) {
				t.Errorf("docs/architecture.md: %s imports %s by the page, and %s in the code", r.name, said, strings.Join(uses, ", "))
			}
		}
	}
	for pkg := range knows {
		if !real[pkg] {
			t.Errorf("docs/architecture.md names package %s, which does not exist", pkg)
		}
	}
}

// TestHandbookWorkspaceWords wants every name that the chapter on the workspace sets in italics to stand on the page.
func TestHandbookWorkspaceWords(t *testing.T) {
	chapter, page := "", ""
	for _, f := range readTree(t) {
		switch {
		case f.path == "docs/handbook/21-workspace.md":
			chapter = string(f.data)
		case strings.HasPrefix(f.path, "internal/web/ui/src/"):
			page += strings.ToLower(string(f.data))
		}
	}
	names := regexp.MustCompile(`(?s)(?:^|[\s(])\*([A-Za-z][^*]*)\*`).FindAllStringSubmatch(chapter, -1)
	names = append(names, regexp.MustCompile(`(?m)^\| ([A-Z][^|]*) \|`).FindAllStringSubmatch(chapter, -1)...)
	for _, m := range names {
		if name := strings.Join(strings.Fields(strings.ToLower(m[1])), " "); !strings.Contains(page, name) {
			t.Errorf("the chapter on the workspace speaks of %q, which the page does not show", m[1])
		}
	}
	if len(names) < 25 {
		t.Errorf("found %d names; there are more", len(names))
	}
}

// TestCasePages wants every key of a case and of its answer to stand on the page that describes it.
func TestCasePages(t *testing.T) {
	tag := regexp.MustCompile("`json:\"([A-Za-z0-9_]+)")
	for page, files := range map[string][]string{
		"docs/cases-heat.md":  {"internal/casefile/heat.go"},
		"docs/cases-light.md": {"internal/casefile/light.go", "internal/raytrace/case.go"},
		"docs/cases-controller.md": {
			"internal/casefile/controller.go", "internal/controller/controller.go", "internal/controller/trace.go",
		},
		"docs/cases-bench.md": {"internal/casefile/bench.go"},
		"docs/cases-topics.md": {
			"internal/casefile/blue.go", "internal/casefile/colour.go", "internal/casefile/low.go",
			"internal/casefile/meters.go", "internal/casefile/panes.go", "internal/casefile/ranges.go",
			"internal/casefile/rth.go", "internal/casefile/topic.go",
		},
	} {
		var source []byte
		for _, f := range files {
			text, err := os.ReadFile(filepath.Join(root, f))
			if err != nil {
				t.Fatal(err)
			}
			source = append(source, text...)
		}
		text, err := os.ReadFile(filepath.Join(root, page))
		if err != nil {
			t.Fatal(err)
		}
		keys := tag.FindAllStringSubmatch(string(source), -1)
		if len(keys) < 15 {
			t.Errorf("%v have %d keys; they have more", files, len(keys))
		}
		for _, m := range keys {
			if !regexp.MustCompile(`\b` + regexp.QuoteMeta(m[1]) + `\b`).Match(text) {
				t.Errorf("%s does not tell of %s, which is read or written by %v", page, m[1], files)
			}
		}
	}
}
