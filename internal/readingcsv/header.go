package readingcsv

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// column is a column of the file.
type column struct {
	*meaning
	role role
	head string // as in the file
	at   place  // of the header
	what project.ReadingQuantity
	unit string // of cells without a unit of their own
}

// header reads the header.
func (r *reader) header(cells []string) {
	if len(cells) > maxColumns {
		r.add(r.cellPlace(maxColumns), "", "the header has %d columns; at most %d are read", len(cells), maxColumns)
		return
	}
	if len(cells) == 1 {
		r.add(r.cellPlace(0), "separate columns by tabs, semicolons or commas; the first line is the header",
			"the header has one column")
		return
	}
	for len(cells) > 2 && strings.TrimSpace(cells[len(cells)-1]) == "" {
		cells = cells[:len(cells)-1]
	}
	for i, text := range cells {
		r.columns = append(r.columns, r.columnOf(strings.TrimSpace(text), r.cellPlace(i)))
	}
	for _, name := range r.o.Skip {
		if !slices.ContainsFunc(r.columns, func(c column) bool { return c.head == name }) {
			r.whole(fmt.Sprintf("there is no column %q to skip", name), "write its header as in the file")
		}
	}
	if len(r.problems) == 0 {
		r.onceEach()
	}
}

// columnOf reads one header.
func (r *reader) columnOf(head string, at place) column {
	c := column{meaning: &meaning{}, head: head, at: at, role: skipColumn}
	if slices.Contains(r.o.Skip, head) {
		r.notes = append(r.notes, fmt.Sprintf("column %q is skipped", head))
		return c
	}
	m, unit := recognise(head)
	switch {
	case m == nil && head == "":
		r.add(at, "name the column", "this column has no header")
		return c
	case m == nil:
		hint := `use the name of a quantity with its unit, such as "illuminance (lx)"; or leave it out by --skip`
		if near, ok := quantity.Near(plainName(head), words()); ok {
			hint = fmt.Sprintf("did you mean %q? Or leave it out by --skip", near)
		}
		r.add(at, hint, "the column %q is not known", head)
		return c
	case unit != "" && !hasUnit(unit, m.dims()):
		r.add(at, "", "%q in the column %q is not a unit of %s", unit, head, m.name())
		return c
	}
	c.meaning, c.role, c.unit = m, m.role, unit
	if unit == "" {
		c.unit = m.unit
	}
	if c.role == valueColumn {
		c.what = r.quantityOf(&c)
	}
	return c
}

// name is what a column is called in messages.
func (m *meaning) name() string {
	switch {
	case m.key != "":
		return m.key
	case len(m.what) > 0:
		return m.what[0].Dim().Name()
	case m.role == timeColumn:
		return "time"
	}
	return m.words[0]
}

// quantityOf returns the quantity of a value column: the one of its header; where there are several, the one that
// --what or the instrument states. It is empty where each line states its own.
func (r *reader) quantityOf(c *column) project.ReadingQuantity {
	if len(c.meaning.what) == 1 {
		return c.meaning.what[0]
	}
	fits := func(q project.ReadingQuantity) bool {
		return c.meaning.what == nil || slices.Contains(c.meaning.what, q)
	}
	var stated []project.ReadingQuantity
	for _, q := range r.o.What {
		if fits(q) && hasUnit(c.unit, []quantity.Dim{q.Dim()}) {
			stated = append(stated, q)
		}
	}
	if kind := r.kindOf(r.o.Instrument); len(stated) == 0 && kind != "" {
		for _, q := range c.meaning.what {
			if slices.Contains(q.Meters(), kind) {
				stated = append(stated, q)
			}
		}
	}
	if len(stated) == 1 {
		return stated[0]
	}
	return ""
}

// kindOf returns the kind of an instrument by its name; empty where it is not known.
func (r *reader) kindOf(name string) project.InstrumentKind {
	if r.was != nil {
		for i := range r.was.Instruments {
			if m := &r.was.Instruments[i]; name != "" && m.Name.S == name {
				return m.Kind.S
			}
		}
	}
	return project.InstrumentKind(r.o.Kind)
}

// onceEach complains of a key or a quantity that two columns have, and of columns whose quantity is not stated.
func (r *reader) onceEach() {
	byLine := slices.ContainsFunc(r.columns, func(c column) bool { return c.key == "what" && c.role == keyColumn })
	seen := map[string]string{}
	for i := range r.columns {
		c := &r.columns[i]
		id := fmt.Sprintf("%d %s %s", c.role, c.key, c.what)
		switch {
		case c.role == skipColumn:
			continue
		case c.role == valueColumn && c.what == "" && !byLine:
			hint := "write the quantity into the header, or state it by --what"
			if len(c.meaning.what) > 0 {
				hint = "write " + list(c.meaning.what) + " into the header, or state one by --what"
			}
			r.add(c.at, hint, "the column %q does not state its quantity", c.head)
		case seen[id] != "":
			r.add(c.at, "leave one out by --skip, and import it by itself", "the columns %q and %q mean the same",
				seen[id], c.head)
		}
		seen[id] = c.head
	}
	if !slices.ContainsFunc(r.columns, isValue) {
		r.add(r.columns[0].at, `such as "illuminance (lx)", or the columns "what" and "value"`,
			"no column contains readings")
	}
}

// isValue reports whether a column contains readings; the voltages of a junction temperature are readings too.
func isValue(c column) bool {
	return c.role == valueColumn || c.role == keyColumn && c.key == "steady_voltage"
}

// list joins quantities with commas and "or".
func list(all []project.ReadingQuantity) string {
	var b strings.Builder
	for i, q := range all {
		switch {
		case i > 0 && i == len(all)-1:
			b.WriteString(" or ")
		case i > 0:
			b.WriteString(", ")
		}
		b.WriteString(string(q))
	}
	return b.String()
}

var (
	bracketed = regexp.MustCompile(`^(.+?)\s*[(\[]\s*([^()\[\]]*(?:\([^()]*\)[^()\[\]]*)?)\s*[)\]]$`)
	within    = regexp.MustCompile(`^(.+?)(?:\s+in\s+|\s*,\s*)(\S.*)$`)
	slashed   = regexp.MustCompile(`^([^/]+?)\s*/\s*(\S.*)$`)
	lastWord  = regexp.MustCompile(`^(.+)[\s_](\S+)$`)
)

// recognise takes a header apart: "E (lx)", "E [lx]", "E in lx", "E, lx", "E / lx", "E_lx", or a unit alone. It returns
// nil where the name is not known.
func recognise(head string) (m *meaning, unit string) {
	if head == "" {
		return nil, ""
	}
	if m = meaningOf(head); m != nil {
		if m.unit == "" && m.role == valueColumn && m.what != nil && head != "R" && hasUnit(head, m.dims()) {
			unit = head // V, W, A, ohm: the name is a unit
		}
		return m, unit
	}
	if g := bracketed.FindStringSubmatch(head); g != nil {
		return meaningOf(g[1]), plainUnit(g[2])
	}
	for _, form := range []*regexp.Regexp{within, slashed, lastWord} {
		if g := form.FindStringSubmatch(head); g != nil {
			if m = meaningOf(g[1]); m != nil && hasUnit(plainUnit(g[2]), m.dims()) {
				return m, plainUnit(g[2])
			}
		}
	}
	for i := range meanings {
		if m = &meanings[i]; m.role == valueColumn && m.what != nil && hasUnit(head, m.dims()) {
			return m, head
		}
	}
	return nil, ""
}

// plainUnit writes a unit as this program reads it.
func plainUnit(text string) string {
	switch text = strings.TrimSpace(text); text {
	case "C", "oC", "deg C":
		return "°C"
	case "sec", "seconds":
		return "s"
	case "hr", "hrs":
		return "h"
	case "°", "degrees":
		return "deg"
	case "hh:mm:ss", "h:mm:ss", "h:m:s":
		return "" // the form of clock times
	}
	return text
}

// hasUnit reports whether a unit is one of the dimensions. No unit is one of any.
func hasUnit(unit string, dims []quantity.Dim) bool {
	return unit == "" || slices.ContainsFunc(dims, func(d quantity.Dim) bool {
		_, err := quantity.Parse("1 "+unit, d)
		return err == nil
	})
}
