package cli

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"

	"lampwright/docs"
	"lampwright/internal/design"
	"lampwright/internal/report"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/review"
	"lampwright/internal/shelf"
	"lampwright/internal/source"
)

// starter is the project that `new` writes.
//
//go:embed starter/lamp.yaml
var starter []byte

// starterParts is the file of own parts that `new` writes.
//
//go:embed starter/own.yaml
var starterParts []byte

type newCmd struct {
	Dir string `arg:"" help:"Folder to make."`
}

// Run writes a starter project into a new or empty folder.
func (c *newCmd) Run(r *run) error {
	files := []struct {
		name string
		data []byte
	}{
		{project.DesignFile, starter},
		{filepath.Join("parts", "own.yaml"), starterParts},
		{"lampwright.schema.json", nil},
	}
	schema, err := designSchema()
	if err != nil {
		return err
	}
	files[2].data = schema
	for _, f := range files {
		if _, err := os.Stat(filepath.Join(c.Dir, f.name)); err == nil {
			return fmt.Errorf("%s stands there already; nothing was written", filepath.Join(c.Dir, f.name))
		} else if !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	if err := os.MkdirAll(filepath.Join(c.Dir, "parts"), 0o755); err != nil {
		return err
	}
	for _, f := range files {
		if err := source.Save(filepath.Join(c.Dir, f.name), f.data); err != nil {
			return err
		}
	}
	r.println(fmt.Sprintf("wrote %s; now edit it, and run `lampwright review %s`", filepath.Join(c.Dir, project.DesignFile), c.Dir))
	return nil
}

type formatCmd struct {
	What string `arg:"" optional:"" enum:"schema,parts-schema,reference" default:"reference" help:"schema (of a design), parts-schema, or reference, which is taken if not given."`
}

// Run prints the file format, made from the code that reads it.
func (c *formatCmd) Run(r *run) error {
	var out []byte
	var err error
	switch c.What {
	case "schema":
		out, err = designSchema()
	case "parts-schema":
		out, err = source.Schema("Lampwright parts", project.PartsFile{})
	default:
		out = []byte(Reference())
	}
	if err != nil {
		return err
	}
	_, err = r.out.Write(out)
	return err
}

func designSchema() ([]byte, error) { return source.Schema("Lampwright design", project.Design{}) }

// Reference returns the reference of the file format in Markdown, made from the code that reads it.
func Reference() string {
	return "# Reference of the file format\n\n" +
		"This page is made from the code by `lampwright format`; do not edit it.\n\n" +
		"A project is a folder with `lamp.yaml`, and with own parts in `parts/*.yaml` where it has any. " +
		"Every physical value is written with its unit: `2.1 A`, `320 mm`, `85 °C`. A value may carry a tolerance " +
		"(`24 V ± 2 %`) or be written in full: `{value: 24 V, min: 23.5 V, max: 24.5 V, source: \"sheet S1, p. 2\"}`. " +
		"A curve is a mapping of quantity to quantity with growing keys: `{0.35 A: 2.90 V, 0.7 A: 3.10 V}`, or in full with " +
		"`points` and `source`. A file holds at most 1 MB; anchors, aliases and tags are refused.\n\n" +
		"## The design, lamp.yaml\n\n" + source.Reference(project.Design{}) +
		"\n## Parts, parts/*.yaml\n\n" + source.Reference(project.PartsFile{})
}

type dossierCmd struct {
	Path   string `arg:"" optional:"" default:"." help:"Project folder or design file; the folder you are in if not given."`
	Output string `short:"o" help:"File to write; dossier.html in the project folder if not given, - for standard output."`
	As     string `enum:"html,json,csv" default:"html" help:"html, json or csv."`
	Trace  bool   `help:"Add the light against depth and the ledger of the traced light; some seconds more."`
	Full   bool   `help:"Add the warm-up, the foldback and the boards one could take instead; some seconds more."`
}

// Run writes the record of a lamp.
func (c *dossierCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	findings := review.Review(result)
	var b bytes.Buffer
	switch c.As {
	case "json":
		err = report.JSON(&b, result, findings)
	case "csv":
		err = report.CSV(&b, result)
	default:
		var more []report.Table
		if c.Full {
			if more, err = r.more(result, design.Options{Store: r.store(c.Path)}); err != nil {
				return err
			}
		}
		if c.Trace {
			tables, err := r.tracedTables(result)
			if err != nil {
				return err
			}
			more = append(more, tables...)
		}
		err = report.HTML(&b, result, findings, report.Options{More: more, Sources: docs.Sources()})
	}
	if err != nil {
		return fmt.Errorf("write dossier: %w", err)
	}
	if c.Output == "-" {
		_, err := io.Copy(r.out, &b)
		return err
	}
	out := c.Output
	if out == "" {
		dir := c.Path
		if info, err := os.Stat(dir); err == nil && !info.IsDir() {
			dir = filepath.Dir(dir)
		}
		out = filepath.Join(dir, "dossier."+c.As)
	}
	if err := source.Save(out, b.Bytes()); err != nil {
		return err
	}
	r.println("wrote " + out)
	return nil
}

type shelfCmd struct {
	Kind string `arg:"" optional:"" help:"A kind of part (emitter, lens, board …) or the id of one part; every kind if not given."`
	Dir  string `short:"d" default:"." help:"Project folder whose own parts are listed, too."`
	JSON bool   `name:"json" help:"Print as JSON."`
}

// Run lists the shelf or shows one part.
func (c *shelfCmd) Run(r *run) error {
	s, problems := project.LoadShelf(os.DirFS(c.Dir), shelf.Files())
	if len(problems) > 0 {
		problems.Sort()
		fmt.Fprintln(r.err, problems.Error())
		return errShown
	}
	all := s.List()
	var kinds, names []string
	var chosen []project.Entry
	for _, e := range all {
		if e.ID == c.Kind {
			return showPart(r, e, c.JSON)
		}
		if c.Kind == "" || e.Kind == c.Kind || e.Kind+"s" == c.Kind {
			chosen = append(chosen, e)
		}
		names = append(names, e.ID)
		if len(kinds) == 0 || kinds[len(kinds)-1] != e.Kind {
			kinds = append(kinds, e.Kind)
		}
	}
	if len(chosen) == 0 {
		hint := "the kinds are " + strings.Join(kinds, ", ")
		if near, ok := quantity.Near(c.Kind, append(kinds, names...)); ok {
			hint = fmt.Sprintf("did you mean %s?", near)
		}
		return fmt.Errorf("there is no kind and no part %q; %s", c.Kind, hint)
	}
	if c.JSON {
		return writeJSON(r, chosen)
	}
	t := newTable("kind", "id", "what it is", "figures", "from")
	for _, e := range chosen {
		t.Row(e.Kind, e.ID, e.Name, e.Info, e.From)
	}
	r.println(t.String())
	r.println("Parts of the built-in shelf are invented: nobody sells them. `lampwright shelf ID` shows one.")
	return nil
}

// showPart prints every value of a part that its file states.
func showPart(r *run, e project.Entry, asJSON bool) error {
	rows := partRows(reflect.ValueOf(e.Part), "")
	if asJSON {
		m := map[string]string{}
		for _, row := range rows {
			m[row[0]] = row[1]
		}
		return writeJSON(r, m)
	}
	t := newTable("value", "stated", "source")
	for _, row := range rows {
		t.Row(row[0], row[1], row[2])
	}
	r.println(fmt.Sprintf("%s %s (%s)", e.Kind, e.ID, e.From))
	r.println(t.String())
	return nil
}

// partRows walks the fields of a part, in the order of the format: key, text, source.
func partRows(v reflect.Value, prefix string) (rows [][3]string) {
	for i := range v.NumField() {
		field := v.Type().Field(i)
		key, _, _ := strings.Cut(field.Tag.Get("yaml"), ",")
		if key == "-" || !field.IsExported() {
			continue
		}
		name := strings.TrimPrefix(prefix+"."+key, ".")
		f := v.Field(i)
		if f.Kind() == reflect.Pointer {
			if f.IsNil() {
				continue
			}
			f = f.Elem()
		}
		if f.Kind() == reflect.Slice {
			for j := range f.Len() {
				rows = append(rows, oneRow(f.Index(j), fmt.Sprintf("%s[%d]", name, j), field.Tag)...)
			}
			continue
		}
		if field.Anonymous {
			name = prefix
		}
		rows = append(rows, oneRow(f, name, field.Tag)...)
	}
	return rows
}

func oneRow(f reflect.Value, name string, tag reflect.StructTag) [][3]string {
	switch x := f.Interface().(type) {
	case source.Value:
		if x.Set {
			text := x.Text
			if x.Lo != x.Hi && !strings.Contains(text, "±") {
				text += " (a range is stated)"
			}
			return [][3]string{{name, text, x.Source}}
		}
	case source.Text:
		if x.Set {
			return [][3]string{{name, x.S, ""}}
		}
	case source.Whole:
		if x.Set {
			return [][3]string{{name, fmt.Sprint(x.N), ""}}
		}
	case source.Flag:
		if x.Set {
			return [][3]string{{name, fmt.Sprint(x.On), ""}}
		}
	case source.Curve:
		if x.Set {
			return [][3]string{{name, curveText(x, tag), x.Source}}
		}
	case bool:
	default:
		return partRows(f, name)
	}
	return nil
}

// curveText prints the points of a curve as its file may hold them, four in a line; of a long one how many there are and its
// ends.
func curveText(c source.Curve, tag reflect.StructTag) string {
	const short, inLine = 16, 4
	x, okX := quantity.ByName(tag.Get("x"))
	y, okY := quantity.ByName(tag.Get("y"))
	if !okX || !okY {
		panic("cli: a curve without dimensions")
	}
	point := func(i int) string {
		return quantity.Format(c.X[i], x) + ": " + quantity.Format(c.Y[i], y)
	}
	if n := len(c.X); n > short {
		return fmt.Sprintf("%d points, %s … %s", n, point(0), point(n-1))
	}
	var b strings.Builder
	for i := range c.X {
		switch {
		case i > 0 && i%inLine == 0:
			b.WriteString(",\n")
		case i > 0:
			b.WriteString(", ")
		}
		b.WriteString(point(i))
	}
	return b.String()
}
