package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// module is a module whose code is in the binary.
type module struct {
	Path, Version, Dir string
	Main               bool
}

func sortEntries(list []entry) {
	slices.SortFunc(list, func(a, b entry) int { return strings.Compare(a.name, b.name) })
}

// modules returns the modules that the binary of a target is built from, sorted, without our own.
func (r *release) modules(t target) ([]module, error) {
	out, err := r.goCommand(t, "list", "-deps", "-json=Module", "./cmd/lampwright")
	if err != nil {
		return nil, err
	}
	seen := map[string]module{}
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p struct{ Module *module }
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, err
		}
		if p.Module != nil && !p.Module.Main {
			seen[p.Module.Path] = *p.Module
		}
	}
	var list []module
	for _, m := range seen {
		list = append(list, m)
	}
	slices.SortFunc(list, func(a, b module) int { return strings.Compare(a.Path, b.Path) })
	return list, nil
}

// notices returns the licences of everything in the binary that is not ours: the Go standard library, Go modules, the scripts of the
// workspace, and data tables.
func (r *release) notices(t target) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("Licences of third-party code and data in this program.\n")
	root, err := r.goCommand(t, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	list, err := r.modules(t)
	if err != nil {
		return nil, err
	}
	list = append([]module{{Path: "Go standard library", Dir: strings.TrimSpace(string(root))}}, list...)
	for _, m := range list {
		texts, err := licences(m.Dir)
		if err != nil {
			return nil, fmt.Errorf("licence of %s: %w", m.Path, err)
		}
		section(&b, strings.TrimSpace(m.Path+" "+m.Version), texts)
	}
	page, err := os.ReadFile(filepath.Join(r.root, "internal", "web", "dist", "NOTICES.txt"))
	if err != nil {
		return nil, err
	}
	section(&b, "Scripts of the workspace", page)
	tables, err := r.tables()
	if err != nil {
		return nil, err
	}
	section(&b, "Data tables", tables)
	return b.Bytes(), nil
}

func section(b *bytes.Buffer, title string, text []byte) {
	fmt.Fprintf(b, "\n%s\n%s\n\n%s\n", strings.Repeat("=", 100), title, bytes.TrimSpace(text))
}

var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([-.].*)?$`)

// licences returns the licence files of a folder, one after the other.
func licences(dir string) ([]byte, error) {
	files, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var texts [][]byte
	for _, f := range files {
		if f.Type().IsRegular() && licenceFile.MatchString(f.Name()) {
			text, err := os.ReadFile(filepath.Join(dir, f.Name()))
			if err != nil {
				return nil, err
			}
			texts = append(texts, bytes.TrimSpace(text))
		}
	}
	if len(texts) == 0 {
		return nil, fmt.Errorf("no licence file in %s", dir)
	}
	return bytes.Join(texts, []byte("\n\n")), nil
}

// tables returns source and licence of each embedded data table, as its head states them.
func (r *release) tables() ([]byte, error) {
	names, err := filepath.Glob(filepath.Join(r.root, "internal", "*", "data", "*.csv"))
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(&b, "%s\n", filepath.Base(name))
		for line := range strings.Lines(string(text)) {
			head, ok := strings.CutPrefix(line, "# ")
			if !ok {
				break
			}
			if strings.HasPrefix(head, "source:") || strings.HasPrefix(head, "licence:") {
				b.WriteString("  " + head)
			}
		}
	}
	return b.Bytes(), nil
}
