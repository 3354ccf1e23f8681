package archtest

import (
	"encoding/csv"
	"go/ast"
	"go/token"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// sourceKeys returns the keys of docs/sources.md with the line on which each stands.
func sourceKeys(t *testing.T) map[string]int {
	t.Helper()
	keys := map[string]int{}
	line := regexp.MustCompile(`^\*\*(.+?)\*\*(.*)$`)
	for _, f := range readTree(t) {
		if f.path != "docs/sources.md" {
			continue
		}
		for i, l := range f.lines() {
			m := line.FindStringSubmatch(l)
			switch {
			case m == nil:
			case !strings.HasPrefix(m[2], " — ") || len(m[2]) < 20:
				t.Errorf("docs/sources.md:%d: %s has no citation after a dash", i+1, m[1])
			case keys[m[1]] > 0:
				t.Errorf("docs/sources.md:%d: %s is given twice", i+1, m[1])
			default:
				keys[m[1]] = i + 1
			}
		}
	}
	if len(keys) < 50 {
		t.Fatalf("docs/sources.md has %d keys; it has more", len(keys))
	}
	return keys
}

var (
	// dated is a key that ends in a year: nothing else in this tree looks like it.
	dated = regexp.MustCompile(`\b\p{Lu}\p{L}*[\p{Ll}G](?:18|19|20)\d\d\b`)
	// numbered is the key of a standard: letters, then a number, with parts.
	numbered = regexp.MustCompile(`\b(?:ANSI-[A-Z]+-[A-Z]\d+|(?:ANSI|ASTM|CIE|CIES|CIETN|CODATA|DOE|EU|IEC|IECTR|IEEE|IES|IESLM|IPC|ISO|ISOCIE|JCGM|JESD|JISZ|JSTD|LRC|NIST|SI|TM|UL|VDE|VDI|WMO)[A-Z]*\d[0-9A-Z]*(?:[.-]\d+)*)\b`)
	// named is a key that is a word: two capitals and more in one.
	named = regexp.MustCompile(`\b\p{Lu}+\p{Ll}+\p{Lu}\p{L}*\b|\b\p{Lu}{2,}\p{Lu}\p{Ll}{2,}\b`)
	// sourceOf is where a comment, or a string, names its sources; what follows in the paragraph counts.
	sourceOf = regexp.MustCompile(`(?s)\bSources?: (.*)`)
)

// notSources look like keys and are none.
var notSources = map[string]string{
	"CIECAM02":  "name of the model in CIE159-2004",
	"IESNA91":   "first line of a file of far fields",
	"IESTM2714": "root element of a file of spectra",
}

// TestSourcesResolve wants every key to stand in docs/sources.md: those of comments, of derivations, and of check rows.
func TestSourcesResolve(t *testing.T) {
	keys := sourceKeys(t)
	used, told := map[string]bool{}, map[string]bool{}
	names := identifiers(t)
	missing := func(where, key, text string) {
		if at := where + " " + key; !told[at] {
			told[at] = true
			t.Errorf("%s: source %s %s", where, key, text)
		}
	}
	check := func(where, text string, strict bool) {
		for _, pattern := range []*regexp.Regexp{dated, numbered} {
			for _, k := range pattern.FindAllString(text, -1) {
				used[k] = true
				if keys[k] == 0 && !names[k] && notSources[k] == "" {
					missing(where, k, "is not in docs/sources.md")
				}
			}
		}
		if !strict {
			return
		}
		// Where sources are named, a word such as IESHandbook is a key too, unless it is a name of the code.
		for _, k := range named.FindAllString(text, -1) {
			used[k] = true
			if keys[k] == 0 && !names[k] {
				missing(where, k, "is neither in docs/sources.md nor a name of the code")
			}
		}
	}
	for _, f := range goFiles(t) {
		if f.pkg() == "archtest" {
			continue
		}
		for _, c := range f.ast.Comments {
			check(f.at(c.Pos()), c.Text(), false)
			for _, paragraph := range strings.Split(c.Text(), "\n\n") {
				if m := sourceOf.FindStringSubmatch(paragraph); m != nil {
					if strings.TrimSpace(m[1]) == "" {
						t.Errorf("%s: a source without a text", f.at(c.Pos()))
					}
					check(f.at(c.Pos()), m[1], true)
				}
			}
		}
		ast.Inspect(f.ast, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
				if s, err := strconv.Unquote(lit.Value); err == nil {
					check(f.at(lit.Pos()), s, false)
				}
			}
			return true
		})
	}
	for _, f := range readTree(t) {
		if strings.HasPrefix(f.path, "docs/") && strings.HasSuffix(f.path, ".md") && f.path != "docs/sources.md" {
			for i, l := range f.lines() {
				for _, pattern := range []*regexp.Regexp{dated, numbered} {
					for _, k := range pattern.FindAllString(l, -1) {
						used[k] = used[k] || strings.HasPrefix(f.path, "docs/handbook/") // a chapter may cite what no formula needs
						if keys[k] == 0 && notSources[k] == "" {
							missing(f.path+":"+strconv.Itoa(i+1), k, "is not in docs/sources.md")
						}
					}
				}
			}
		}
		if !strings.HasSuffix(f.path, ".csv") {
			continue
		}
		for _, line := range f.lines() {
			if text, ok := strings.CutPrefix(line, "# source:"); ok {
				for k := range keys {
					if strings.Contains(squeeze(text), squeeze(k)) {
						used[k] = true
					}
				}
			}
		}
		if !strings.HasPrefix(f.path, "internal/verify/data/") {
			continue
		}
		r := csv.NewReader(strings.NewReader(string(f.data)))
		r.Comment, r.FieldsPerRecord = '#', -1
		rows, err := r.ReadAll()
		if err != nil {
			t.Errorf("%s: %v", f.path, err)
		}
		column := -1
		for i, row := range rows {
			for c, cell := range row {
				if i == 0 && cell == "source" {
					column = c
				}
			}
			if i > 0 && column >= 0 && column < len(row) {
				if row[column] == "" {
					t.Errorf("%s: row %s names no source", f.path, row[0])
				}
				check(f.path+", row "+row[0], row[column], true)
			}
		}
	}
	for k, line := range keys {
		if !used[k] {
			t.Errorf("docs/sources.md:%d: %s is named by no code and no data: take it out, or name it where it is used", line, k)
		}
	}
}

// identifiers returns every name that the code declares, so that "as PadDraw" is no work of print.
func identifiers(t *testing.T) map[string]bool {
	out := map[string]bool{}
	for _, f := range goFiles(t) {
		ast.Inspect(f.ast, func(n ast.Node) bool {
			if id, ok := n.(*ast.Ident); ok {
				out[id.Name] = true
			}
			return true
		})
	}
	return out
}
