package archtest

import (
	"go/ast"
	"go/token"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func itoa(n int) string { return strconv.Itoa(n) }

// TestPackageDocs wants every package to say what goes in, what comes out, what it assumes and what it leaves.
func TestPackageDocs(t *testing.T) {
	docs, seen := map[string]string{}, map[string]bool{}
	for _, f := range goFiles(t) {
		if !strings.HasPrefix(f.path, "internal/") || f.test() {
			continue
		}
		seen[f.pkg()] = true
		if f.ast.Doc != nil {
			if docs[f.pkg()] != "" {
				t.Errorf("%s: a second package doc; one file has it", f.at(f.ast.Doc.Pos()))
			}
			docs[f.pkg()] = f.ast.Doc.Text()
		}
	}
	for pkg := range seen {
		doc := docs[pkg]
		if doc == "" {
			t.Errorf("package %s has no package doc", pkg)
			continue
		}
		for _, part := range []string{"In: ", "Out: ", "Assumes: ", "Leaves to others: "} {
			if !strings.Contains(doc, part) {
				t.Errorf("the package doc of %s does not say %q", pkg, strings.TrimSpace(part))
			}
		}
	}
}

// headers are the lines that stand before the rows of every table.
var headers = []string{"quantity", "unit", "source", "edition", "licence", "retrieved"}

// TestDataHeaders wants every table of numbers to say what it is and where it came from.
func TestDataHeaders(t *testing.T) {
	keys := sourceKeys(t)
	found := 0
	for _, f := range readTree(t) {
		published := strings.HasPrefix(f.path, "testdata/published/")
		if !strings.HasSuffix(f.path, ".csv") || !published && !regexp.MustCompile(`^internal/[^/]+/data/`).MatchString(f.path) {
			continue
		}
		found++
		said := map[string]string{}
		for _, line := range f.lines() {
			if !strings.HasPrefix(line, "#") {
				break
			}
			name, value, _ := strings.Cut(strings.TrimSpace(strings.TrimPrefix(line, "#")), ":")
			said[name] = strings.TrimSpace(value)
		}
		for _, h := range headers {
			if said[h] == "" {
				t.Errorf("%s: its header has no line \"# %s: …\"", f.path, h)
			}
		}
		ofTheTrade := strings.HasPrefix(said["source"], "rule of thumb (no source)")
		if s := said["source"]; s != "" && !strings.HasPrefix(s, "per row") && !ofTheTrade && !namesKey(s, keys) {
			t.Errorf("%s: its source %q names no work of docs/sources.md", f.path, s)
		}
		if d := said["retrieved"]; d != "" && !regexp.MustCompile(`^\d{4}-\d\d-\d\d$`).MatchString(d) {
			t.Errorf("%s: retrieved %q is no date such as 2026-11-25", f.path, d)
		}
	}
	if found < 20 {
		t.Errorf("found %d tables; there are more", found)
	}
}

// namesKey tells whether a text holds a key, however the text spaces it: "IEC 60664-1" is IEC60664-1.
func namesKey(text string, keys map[string]int) bool {
	plain := squeeze(text)
	for k := range keys {
		if strings.Contains(plain, squeeze(k)) {
			return true
		}
	}
	return false
}

func squeeze(s string) string {
	return strings.ToLower(regexp.MustCompile(`[^A-Za-z0-9]`).ReplaceAllString(s, ""))
}

// Hosts that may stand in a file: names of schemas, which nobody calls, and this machine.
var allowedHosts = regexp.MustCompile(`^(json-schema\.org|www\.w3\.org|127\.0\.0\.1|localhost|\[::1\]|www\.ies\.org)\b`)

// TestForbidden looks for what no file may hold.
func TestForbidden(t *testing.T) {
	later := regexp.MustCompile(`\b(TO` + `DO|FIX` + `ME|HA` + `CK|XX` + `X)\b`)
	withIssue := regexp.MustCompile(`(issue |#)\d+`)
	host := regexp.MustCompile(`\bhttps?:` + `//([^\s"'<>)\x60]+)`)
	for _, f := range readTree(t) {
		if strings.HasPrefix(f.path, "LICENSE") || strings.HasPrefix(f.path, "internal/archtest/") || strings.Contains(f.path, "/dist/") {
			continue // dist holds what a bundler made; its sources are looked at
		}
		for i, line := range f.lines() {
			if m := later.FindString(line); m != "" && !withIssue.MatchString(line) {
				t.Errorf("%s:%d: %s without an issue: do it, or file it and name the issue", f.path, i+1, m)
			}
			for _, m := range host.FindAllStringSubmatch(line, -1) {
				if !allowedHosts.MatchString(m[1]) {
					t.Errorf("%s:%d: %s: the program speaks to no host and cites works by name, not by address", f.path, i+1, m[0])
				}
			}
		}
	}
}

// TestSeededRandomness allows of math/rand/v2 only generators with a seed of their own.
func TestSeededRandomness(t *testing.T) {
	seeded := map[string]bool{"New": true, "NewPCG": true, "Rand": true, "PCG": true, "Source": true}
	for _, f := range goFiles(t) {
		name := ""
		for _, imp := range f.ast.Imports {
			if imp.Path.Value == `"math/rand/v2"` {
				name = "rand"
				if imp.Name != nil {
					name = imp.Name.Name
				}
			}
		}
		if name == "" {
			continue
		}
		ast.Inspect(f.ast, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := sel.X.(*ast.Ident); ok && x.Name == name && !seeded[sel.Sel.Name] {
					t.Errorf("%s: rand.%s draws from a global stream; take rand.New(rand.NewPCG(seed, tile))", f.at(sel.Pos()), sel.Sel.Name)
				}
			}
			return true
		})
	}
}

// TestNoPackageState forbids variables of a package that code changes: a package is a function of its input.
func TestNoPackageState(t *testing.T) {
	for _, p := range listPackages(t) {
		vars := map[string]bool{}
		files := packageFiles(t, p.name())
		for _, f := range files {
			for _, d := range f.ast.Decls {
				g, ok := d.(*ast.GenDecl)
				if !ok {
					continue
				}
				for _, s := range g.Specs {
					if v, ok := s.(*ast.ValueSpec); ok && g.Tok == token.VAR {
						for _, n := range v.Names {
							vars[n.Name] = true
						}
					}
				}
			}
		}
		for _, f := range files {
			for _, d := range f.ast.Decls {
				fn, ok := d.(*ast.FuncDecl)
				if !ok {
					continue
				}
				local := declaredIn(fn)
				ast.Inspect(fn, func(n ast.Node) bool {
					var targets []ast.Expr
					switch s := n.(type) {
					case *ast.AssignStmt:
						if s.Tok != token.DEFINE {
							targets = s.Lhs
						}
					case *ast.IncDecStmt:
						targets = []ast.Expr{s.X}
					}
					for _, x := range targets {
						if id := baseOf(x); id != nil && vars[id.Name] && !local[id.Name] {
							t.Errorf("%s: the package's variable %s is changed: a package keeps no state", f.at(x.Pos()), id.Name)
						}
					}
					return true
				})
			}
		}
	}
}

// declaredIn returns the names that a function declares anywhere within it.
func declaredIn(fn *ast.FuncDecl) map[string]bool {
	out := map[string]bool{}
	ast.Inspect(fn, func(n ast.Node) bool {
		var names []ast.Expr
		switch s := n.(type) {
		case *ast.Field:
			for _, id := range s.Names {
				out[id.Name] = true
			}
		case *ast.ValueSpec:
			for _, id := range s.Names {
				out[id.Name] = true
			}
		case *ast.AssignStmt:
			if s.Tok == token.DEFINE {
				names = s.Lhs
			}
		case *ast.RangeStmt:
			if s.Tok == token.DEFINE {
				names = []ast.Expr{s.Key, s.Value}
			}
		}
		for _, x := range names {
			if id, ok := x.(*ast.Ident); ok {
				out[id.Name] = true
			}
		}
		return true
	})
	return out
}

func packageFiles(t *testing.T, pkg string) (out []goFile) {
	for _, f := range goFiles(t) {
		if f.pkg() == pkg && !f.test() {
			out = append(out, f)
		}
	}
	return out
}

// baseOf returns the variable behind a[i], a.b and a.
func baseOf(x ast.Expr) *ast.Ident {
	switch v := x.(type) {
	case *ast.Ident:
		return v
	case *ast.IndexExpr:
		return baseOf(v.X)
	case *ast.SelectorExpr:
		return baseOf(v.X)
	}
	return nil
}
