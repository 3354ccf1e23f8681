package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"unicode/utf8"
)

// Limits of the code style.
const (
	maxColumns = 120
	maxLines   = 60
	tabColumns = 4
)

// shape is the number of lines over 120 columns in all Go files, and of functions over 60 lines outside tests.
type shape struct{ lines, functions int }

// checkShape compares the shape of the source tree with the record: it may not get worse.
func checkShape(root string, update bool) error {
	now, long, err := shapeOf(root)
	if err != nil {
		return err
	}
	file := filepath.Join(root, "tools", "shape.txt")
	if update {
		text := fmt.Sprintf("lines over %d columns: %d\nfunctions over %d lines: %d\n", maxColumns, now.lines, maxLines, now.functions)
		return os.WriteFile(file, []byte(text), 0o644)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	var record shape
	form := fmt.Sprintf("lines over %d columns: %%d\nfunctions over %d lines: %%d\n", maxColumns, maxLines)
	if _, err := fmt.Sscanf(string(text), form, &record.lines, &record.functions); err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	fmt.Printf("lines over %d columns: %d (record %d); functions over %d lines: %d (record %d)\n",
		maxColumns, now.lines, record.lines, maxLines, now.functions, record.functions)
	if now.lines > record.lines || now.functions > record.functions {
		return fmt.Errorf("more long lines or long functions than %s allows; the long functions are:\n  %s", file, strings.Join(long, "\n  "))
	}
	return nil
}

// shapeOf counts long lines and functions, and names the functions.
func shapeOf(root string) (s shape, long []string, err error) {
	fset := token.NewFileSet()
	err = filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || d.Name() == "testdata" || d.Name() == ".git" || d.Name() == "dist") {
			return fs.SkipDir
		}
		if d.IsDir() || filepath.Ext(path) != ".go" {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		s.lines += longLines(string(text))
		if strings.HasSuffix(path, "_test.go") {
			return nil
		}
		file, err := parser.ParseFile(fset, path, text, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, name := range longFunctions(fset, file) {
			long = append(long, filepath.ToSlash(path)+": "+name)
		}
		return nil
	})
	s.functions = len(long)
	return s, long, err
}

// fieldTag is a field of a struct with its tag.
var fieldTag = regexp.MustCompile("^\t.* `[a-z]+:\".*`$")

// longLines counts the lines over 120 columns; a tab has four. A field with a tag is one line by the syntax of Go: the
// declarations of the file format and of the command line are not counted.
func longLines(text string) (n int) {
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\r\n")
		if fieldTag.MatchString(line) {
			continue
		}
		if utf8.RuneCountInString(line)+(tabColumns-1)*strings.Count(line, "\t") > maxColumns {
			n++
		}
	}
	return n
}

// longFunctions returns the functions over 60 lines, with their lengths.
func longFunctions(fset *token.FileSet, file *ast.File) (names []string) {
	for _, d := range file.Decls {
		f, ok := d.(*ast.FuncDecl)
		if !ok || f.Body == nil {
			continue
		}
		if n := fset.Position(f.End()).Line - fset.Position(f.Pos()).Line + 1; n > maxLines {
			names = append(names, fmt.Sprintf("%s (%d lines)", f.Name.Name, n))
		}
	}
	return names
}
