package archtest

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// root is the module's folder, seen from this one.
const root = "../.."

// file is one text file of the tree.
type file struct {
	path string // from the module's folder, with slashes
	data []byte
}

func (f file) lines() []string { return strings.Split(string(f.data), "\n") }

var tree = sync.OnceValues(func() ([]file, error) {
	var out []file
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		switch name := d.Name(); {
		case d.IsDir() && (name == ".git" || name == "node_modules" || name == ".lampwright-cache"):
			return fs.SkipDir
		case d.IsDir() || !d.Type().IsRegular():
			return nil
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if bytes.IndexByte(data, 0) >= 0 {
			return nil // a binary: a test left beside its package, a font, a picture
		}
		rel, err := filepath.Rel(root, path)
		out = append(out, file{filepath.ToSlash(rel), data})
		return err
	})
	return out, err
})

func readTree(t *testing.T) []file {
	t.Helper()
	list, err := tree()
	if err != nil {
		t.Fatalf("read the tree: %v", err)
	}
	if len(list) < 100 {
		t.Fatalf("read %d files; the tree has more", len(list))
	}
	return list
}

// goFile is one parsed file of Go.
type goFile struct {
	file
	fset *token.FileSet
	ast  *ast.File
}

func (f goFile) at(p token.Pos) string {
	pos := f.fset.Position(p)
	return f.path + ":" + itoa(pos.Line)
}

func (f goFile) test() bool { return strings.HasSuffix(f.path, "_test.go") }

func (f goFile) pkg() string {
	return strings.TrimPrefix(strings.TrimPrefix(filepath.ToSlash(filepath.Dir(f.path)), "internal/"), "./")
}

var parsed = sync.OnceValue(func() (out []goFile) {
	list, err := tree()
	if err != nil {
		return nil // readTree says so
	}
	for _, f := range list {
		if !strings.HasSuffix(f.path, ".go") {
			continue
		}
		fset := token.NewFileSet()
		if tree, err := parser.ParseFile(fset, f.path, f.data, parser.ParseComments); err == nil {
			out = append(out, goFile{f, fset, tree})
		}
	}
	return out
})

// goFiles returns every file of Go that parses; one that does not is the compiler's affair.
func goFiles(t *testing.T) []goFile {
	t.Helper()
	readTree(t)
	return parsed()
}
