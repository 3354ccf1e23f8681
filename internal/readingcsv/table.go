package readingcsv

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// keyOrder is the order in which keys of a reading are written.
var keyOrder = []string{
	"id", "what", "instrument", "state", "channel", "place", "emitter", "spot", "distance", "at", "angle", "meter_mode",
	"emissivity_set", "emissivity", "reflected_temperature", "cold_voltage", "steady_voltage", "value", "uncertainty",
	"series", "doubted", "note",
}

// itemOf writes a reading as YAML on one line; texts are as YAML already.
func itemOf(texts map[string]string) string {
	var parts []string
	for _, key := range keyOrder {
		if texts[key] != "" {
			parts = append(parts, key+": "+texts[key])
		}
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

// table reads a file in which each line is a reading, or one of each column of a quantity.
func (r *reader) table() {
	var values []int
	used := map[string]bool{"value": true}
	for i := range r.columns {
		if r.columns[i].role == valueColumn {
			values = append(values, i)
		}
	}
	if len(values) == 0 {
		values = []int{-1} // readings of cold_voltage and steady_voltage
	}
	for cells := r.record(); cells != nil && !r.full(); cells = r.record() {
		if !r.sameCells(cells) {
			continue
		}
		for _, i := range values {
			if i >= 0 && len(values) > 1 && strings.TrimSpace(cells[i]) == "" {
				continue
			}
			r.reading(cells, i, len(values) > 1, used)
		}
		if len(r.items) > project.MaxReadings {
			r.add(r.cellPlace(0), "import it in parts; a log has a column of time",
				"there are more than %d readings", project.MaxReadings)
			return
		}
	}
	for i := range r.columns {
		c := &r.columns[i]
		switch {
		case c.role == keyColumn && len(r.items) > 0 && len(values) > 1 && !used[c.key]:
			r.add(c.at, "leave it out by --skip", "the column %q does not belong to these readings", c.head)
		case c.role != skipColumn:
			r.notes = append(r.notes, r.describe(c))
		}
	}
}

// describe states how a column was read.
func (r *reader) describe(c *column) string {
	out := fmt.Sprintf("column %q: ", c.head)
	if c.what != "" {
		out += string(c.what)
	} else {
		out += c.name()
	}
	if c.unit != "" {
		out += " in " + c.unit
	}
	return out
}

// reading adds the reading of a value column on a line; keys of other quantities are left out where there are several.
func (r *reader) reading(cells []string, value int, several bool, used map[string]bool) {
	it := item{at: r.cellPlace(max(value, 0)), keys: map[string]place{}}
	texts := map[string]string{}
	what, ok := r.quantityAt(cells, value, &it)
	if !ok {
		return
	}
	take := func(key string) bool { return !several || what.Takes(key) }
	var x, y, unit string
	for i := range r.columns {
		c, cell := &r.columns[i], strings.TrimSpace(cells[i])
		switch {
		case c.role == unitColumn:
			unit = cell
		case c.role == timeColumn, c.role == dateColumn, c.role == valueColumn, cell == "", c.key == "what":
		case c.role == xColumn && take("at"):
			x, it.keys["at"], used["at"] = r.measure(cells, i, c.unit), r.cellPlace(i), true
		case c.role == yColumn && take("at"):
			y, used["at"] = r.measure(cells, i, c.unit), true
		case c.role == keyColumn && take(c.key):
			texts[c.key], it.keys[c.key], used[c.key] = r.keyText(cells, i), r.cellPlace(i), true
		}
	}
	if x != "" || y != "" {
		texts["at"] = "[" + orNone(x) + ", " + orNone(y) + "]"
	}
	if value >= 0 && strings.TrimSpace(cells[value]) != "" {
		if r.columns[value].unit != "" {
			unit = r.columns[value].unit
		}
		texts["value"], it.keys["value"] = r.measure(cells, value, unit), r.cellPlace(value)
	}
	r.complete(texts, what)
	it.text = itemOf(texts)
	r.items = append(r.items, it)
}

// orNone returns 0 mm for a coordinate that is not stated.
func orNone(text string) string {
	if text == "" {
		return "0 mm"
	}
	return text
}

// quantityAt returns the quantity of a reading: that of its column, or that of its line.
func (r *reader) quantityAt(cells []string, value int, it *item) (project.ReadingQuantity, bool) {
	if value >= 0 && r.columns[value].what != "" {
		return r.columns[value].what, true
	}
	i := slices.IndexFunc(r.columns, func(c column) bool { return c.role == keyColumn && c.key == "what" })
	if i < 0 {
		return project.ReadJunctionTemperature, true // its voltages are all that the file has
	}
	it.keys["what"] = r.cellPlace(i)
	text := strings.TrimSpace(cells[i])
	m := meaningOf(text)
	switch {
	case m == nil || len(m.what) == 0:
		hint := "use " + strings.Join(project.ReadingQuantity("").Values(), ", ")
		if near, ok := quantity.Near(plainName(text), project.ReadingQuantity("").Values()); ok {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		r.add(r.cellPlace(i), hint, "%q is not a quantity of readings", text)
		return "", false
	case len(m.what) == 1:
		return m.what[0], true
	}
	c := column{meaning: m}
	if q := r.quantityOf(&c); q != "" {
		return q, true
	}
	r.add(r.cellPlace(i), "write "+list(m.what)+", or state one by --what", "%q may be several quantities", text)
	return "", false
}

// keyText returns a cell of a key column as YAML.
func (r *reader) keyText(cells []string, i int) string {
	c, cell := &r.columns[i], strings.TrimSpace(cells[i])
	switch {
	case c.key == "doubted" && (cell == "yes" || cell == "no"):
		return cell
	case c.dim != quantity.None || c.key == "uncertainty":
		return r.measure(cells, i, c.unit)
	}
	return source.FlowText(cell)
}

// measure returns a cell as a number with a unit, as YAML.
func (r *reader) measure(cells []string, i int, unit string) string {
	number, own, ok := r.number(strings.TrimSpace(cells[i]), i)
	switch {
	case !ok:
		return ""
	case own != "":
		unit = plainUnit(own)
	case unit == "" && r.columns[i].dim != quantity.Ratio:
		r.add(r.cellPlace(i), fmt.Sprintf("write it into the header, such as %q, or behind the number",
			r.columns[i].head+" ("+unitOf(&r.columns[i])+")"), "%s has no unit", number)
		return ""
	}
	return source.FlowText(strings.TrimSpace(number + " " + unit))
}

// unitOf returns a unit that a column may have, for messages.
func unitOf(c *column) string {
	switch d := c.dims(); {
	case c.what != "":
		return quantity.UnitOf(1, c.what.Dim())
	case len(d) == 1:
		return quantity.UnitOf(1, d[0])
	}
	return "lx"
}

// complete adds what the options state of all readings, and the instrument where only one displays the quantity.
func (r *reader) complete(texts map[string]string, what project.ReadingQuantity) {
	texts["what"] = string(what)
	for _, key := range slices.Sorted(maps.Keys(r.o.Set)) {
		if texts[key] == "" && what.Takes(key) {
			texts[key] = source.FlowText(r.o.Set[key])
			if key == "at" || key == "doubted" {
				texts[key] = r.o.Set[key]
			}
		}
	}
	kind := r.kindOf(r.o.Instrument)
	if r.o.Instrument != "" && texts["instrument"] == "" && (kind == "" || slices.Contains(what.Meters(), kind)) {
		texts["instrument"] = source.FlowText(r.o.Instrument)
	}
	if r.was == nil || texts["instrument"] != "" || texts["uncertainty"] != "" {
		return
	}
	var fit []string
	for i := range r.was.Instruments {
		m := &r.was.Instruments[i]
		display := what.Dim()
		if what == project.ReadJunctionTemperature {
			display = quantity.Voltage
		}
		if slices.Contains(what.Meters(), m.Kind.S) && (m.Dim == display || m.Dim == quantity.None) {
			fit = append(fit, m.Name.S)
		}
	}
	if len(fit) != 1 {
		return
	}
	texts["instrument"] = source.FlowText(fit[0])
	note := fmt.Sprintf("%s: instrument %q, the only one that displays it", what, fit[0])
	if !r.assumed[note] {
		r.assumed[note] = true
		r.notes = append(r.notes, note)
	}
}

// Keys returns the keys that options may set of all readings.
func Keys() (out []string) {
	for _, key := range keyOrder {
		if key != "what" && key != "value" && key != "series" && key != "id" && key != "instrument" {
			out = append(out, key)
		}
	}
	return out
}
