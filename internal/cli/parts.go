package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"lampwright/internal/finding"
	"lampwright/internal/inputfile"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/review"
	"lampwright/internal/source"
)

type partsCmd struct {
	Kind  string `arg:"" optional:"" help:"Part kind (emitter, lens, board …) or part id; default: all parts."`
	Dir   string `short:"d" default:"." help:"Project folder whose own parts are listed, too."`
	Check bool   `help:"Compare the typed values of all parts with usual ranges; exit status 1 where one stops."`
	JSON  bool   `name:"json" help:"Print as JSON."`
}

// Run lists the parts library or shows one part.
func (c *partsCmd) Run(r *run) error {
	if err := projectFolder(&c.Dir); err != nil {
		return err
	}
	s, problems := project.LoadLibrary(inputfile.Folder(c.Dir), partslib.Files())
	if len(problems) > 0 {
		return r.problems(problems, c.Dir)
	}
	if c.Check {
		return c.check(r, s)
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
		return fmt.Errorf("no part kind and no part %q; %s", c.Kind, hint)
	}
	if c.JSON {
		return writeJSON(r, chosen)
	}
	own := slices.ContainsFunc(chosen, func(e project.Entry) bool { return e.From != chosen[0].From })
	t := r.table("kind", "id", "name", "data", "from")
	for _, e := range chosen {
		if !own {
			e.From = ""
		}
		t.row(e.Kind, e.ID, e.Name, e.Info, e.From)
	}
	t.print()
	r.prose("", "Parts of the built-in library are fictitious, except wire gauges and alloys. `lampwright parts ID` shows one part.")
	return nil
}

// projectFolder replaces a design file by its folder, and refuses what is no project folder: own parts would be left
// out without a message.
func projectFolder(dir *string) error {
	info, err := os.Stat(*dir)
	if err != nil {
		return fmt.Errorf("open %s: %s; give a project folder", *dir, inputfile.Reason(err))
	}
	above := filepath.Dir(filepath.Clean(*dir))
	whole, err := filepath.Abs(*dir)
	switch {
	case err != nil:
		return err
	case !info.IsDir() && filepath.Base(filepath.Dir(whole)) == "parts":
		return fmt.Errorf("%s is a file of parts; give the project folder, %s: all files in its folder parts are read",
			*dir, filepath.Join(above, ".."))
	case !info.IsDir() && info.Mode().IsRegular():
		*dir = above
	case !info.IsDir():
		return fmt.Errorf("%s is not a folder; give a project folder", *dir)
	case exists(filepath.Join(*dir, "..", project.DesignFile)) && filepath.Base(whole) == "parts":
		return fmt.Errorf("%s is the folder of own parts; give the project folder, %s", *dir, filepath.Join(*dir, ".."))
	}
	return nil
}

// exists reports whether there is a file or a folder.
func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// check prints what is doubtful in the typed values of all parts.
func (c *partsCmd) check(r *run, s *project.Library) error {
	found := review.CheckParts(s)
	switch {
	case c.JSON:
		if err := writeJSON(r, found); err != nil {
			return err
		}
	case len(found) == 0:
		r.prose("", fmt.Sprintf("Typed values of %d parts are within their usual ranges (rules of thumb, no source).",
			len(s.List())))
	default:
		findingTable(r, found)
		findingDetails(r, found, c.Dir, true)
		r.println("")
		r.prose("", findingCounts(found))
	}
	if finding.Any(found, finding.Stop) {
		return errFound
	}
	return nil
}

// showPart prints every value that the file of a part states.
func showPart(r *run, e project.Entry, asJSON bool) error {
	rows := partRows(reflect.ValueOf(e.Part), "")
	if asJSON {
		m := map[string]string{}
		for _, row := range rows {
			m[row[0]] = row[1]
		}
		return writeJSON(r, m)
	}
	t := r.table("key", "value", "source")
	for _, row := range rows {
		t.row(row[0], row[1], row[2])
	}
	r.println(fmt.Sprintf("%s %s (%s)", e.Kind, e.ID, e.From))
	t.print()
	return nil
}

// partRows returns key, text and source of each field of a part, in the order of the format.
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
				text += " (with a stated range)"
			}
			return [][3]string{{name, text, x.Source}}
		}
	case source.Text:
		if x.Set {
			return [][3]string{{name, x.S, ""}}
		}
	case source.Word:
		if t := x.Text(); t.Set {
			return [][3]string{{name, t.S, ""}}
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

// curveText formats the points of a curve in the syntax of a parts file, four per line; for a long curve only the number of points
// and the two ends.
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
