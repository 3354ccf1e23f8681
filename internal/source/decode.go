package source

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/quantity"
)

// Decode fills the struct that dst points to and returns everything that is wrong with the file's values, sorted by
// position. What is right is filled in all the same; a value that could not be read is left with Set false.
// A name in renamed is an error that states the new name; the value of a renamed key is checked as that of the new one.
func (f *File) Decode(dst any, renamed ...Rename) Problems {
	problems, _ := f.DecodeDoubting(dst, renamed...)
	return problems
}

// DecodeDoubting is Decode that also returns the values that can be read in two ways, see quantity.Thousands: they are
// no errors.
func (f *File) DecodeDoubting(dst any, renamed ...Rename) (problems, doubts Problems) {
	v := reflect.ValueOf(dst)
	if v.Kind() != reflect.Pointer || v.IsNil() || v.Elem().Kind() != reflect.Struct {
		panic("source: Decode needs a pointer to a struct")
	}
	d := &decoder{f: f, renamed: newRenames(renamed)}
	d.structure(v.Elem(), f.root, "", nil)
	d.problems.Sort()
	if len(d.problems) > MaxProblems {
		more := len(d.problems) - MaxProblems
		d.problems = append(
			d.problems[:MaxProblems:MaxProblems],
			Problem{At: Pos{File: f.name}, Msg: fmt.Sprintf("there are %d more problems", more)},
		)
	}
	d.doubts.Sort()
	for _, list := range []Problems{d.problems, d.doubts} {
		for i := range list {
			list[i].Line = f.Excerpt(list[i].At)
		}
	}
	return d.problems, d.doubts
}

// ValueOf reads a text of the file as a value whose dimension another key decides, with the problems and doubts that
// Decode has of a Value; a text that is not set has none.
func (f *File) ValueOf(t Text, dim quantity.Dim) (v Value, problems, doubts Problems) {
	if !t.Set {
		return Value{At: t.At}, nil, nil
	}
	d := &decoder{f: f}
	v = d.value(&field{dim: dim}, &node{line: t.At.Line, col: t.At.Col, text: t.S}, t.At.Path)
	for _, list := range []Problems{d.problems, d.doubts} {
		for i := range list {
			list[i].Line = f.Excerpt(list[i].At)
		}
	}
	return v, d.problems, d.doubts
}

type decoder struct {
	f        *File
	renamed  renames
	problems Problems
	doubts   Problems
}

// doubt records a value whose point may part thousands. limits are those of its field.
func (d *decoder) doubt(text string, dim quantity.Dim, n *node, path string, limits ...quantity.Limit) {
	read, meant, ok := quantity.Thousands(text, dim)
	if !ok || len(d.doubts) >= MaxProblems {
		return
	}
	si, _, _, err := quantity.ParseTolerance(meant, dim)
	for _, l := range limits {
		if err != nil || !l.Holds(si) {
			return // it cannot be meant
		}
	}
	d.doubts = append(d.doubts, Problem{
		At: d.f.pos(n, path), Msg: label(path) + " " + quote(text) + " is read as " + read,
		Hint: "write " + meant + " if its point parts thousands, else " + read,
	})
}

func (d *decoder) add(n *node, path, msg, hint string) {
	d.problems = append(d.problems, Problem{At: d.f.pos(n, path), Msg: msg, Hint: hint})
}

// label is how a message calls the value at a path: its last key, with an index.
func label(path string) string {
	if path == "" {
		return "the file"
	}
	found := strings.Contains(path, "[")
	if dot := strings.LastIndexByte(path, '.'); dot >= 0 &&
		(!found || !strings.Contains(path[dot:], "]") || strings.Contains(path[dot:], "[")) {
		return path[dot+1:]
	}
	return path
}

// structure fills a struct from a mapping and reports whether it could. key is the node before it, or nil.
func (d *decoder) structure(v reflect.Value, n *node, path string, key *node) bool {
	if n.kind != mapping {
		if n.kind == scalar && n.null {
			d.null(n, path, key, "")
			return false
		}
		hint := ""
		if path == "" {
			hint = "begin with a key, a colon and a blank, such as " + firstKey(v.Type()) + ": …"
		}
		d.add(n, path, label(path)+": a mapping (key: value) is expected here, not "+n.kind.String(), hint)
		return false
	}
	plan := planOf(v.Type())
	if plan.place != nil {
		v.FieldByIndex(plan.place).Set(reflect.ValueOf(d.f.pos(n, path)))
	}
	given := map[string]bool{}
	moved := false // a key went to another mapping, so that this one may be there under an old name alone
	for i, k := range n.keys {
		name := k.text
		if r, ok := d.renamed.find(plan.types, name, ""); ok && plan.known[name] == nil {
			d.add(k, join(path, name), name+": use "+r.New, r.Hint)
			if name = r.New; plan.known[name] == nil {
				moved = true
				continue
			}
		}
		if fl := plan.known[name]; fl != nil {
			given[name] = true
			d.field(v.FieldByIndex(fl.index), fl, n.items[i], k, join(path, k.text))
			continue
		}
		d.unknownKey(k, path, plan.names)
	}
	for i := range plan.fields {
		if fl := &plan.fields[i]; fl.need && !given[fl.key] && !moved {
			d.missing(fl, n, path, key)
		}
	}
	return true
}

// unknownKey reports a key that a mapping does not have.
func (d *decoder) unknownKey(k *node, path string, names []string) {
	hint := ""
	if near, ok := Near(k.text, names); ok {
		hint = "did you mean " + quote(near) + "?"
	} else if len(names) <= 16 {
		hint = "its keys are " + strings.Join(names, ", ")
	}
	d.add(k, join(path, k.text), quote(k.text)+" is not a key of "+label(path), hint)
}

// firstKey returns the first key of a struct.
func firstKey(t reflect.Type) string {
	if list := planOf(t).fields; len(list) > 0 {
		return list[0].key
	}
	return "key"
}

// missing says that a key is not there, at the key of the mapping that should hold it.
func (d *decoder) missing(fl *field, n *node, path string, key *node) {
	at := n
	if key != nil {
		at = key
	}
	hint := "add " + fl.key + ":"
	if eg := fl.example(); eg != "" {
		if fl.list {
			eg = "[" + eg + "]"
		}
		hint += " " + eg
	}
	if fl.doc != "" {
		hint += " (" + fl.doc + ")"
	}
	d.add(at, join(path, fl.key), label(path)+" needs the key "+quote(fl.key), hint)
}

func (d *decoder) null(n *node, path string, key *node, eg string) {
	at, hint := n, ""
	if key != nil {
		at = key
	}
	if eg != "" {
		hint = "write " + label(path) + ": " + eg
	}
	d.add(at, path, label(path)+" has no value", hint)
}

// field fills one field, or all items of a list.
func (d *decoder) field(v reflect.Value, fl *field, n *node, key *node, path string) {
	if n.refused {
		return
	}
	if n.kind == scalar && n.null {
		eg := fl.example()
		if fl.list && eg != "" {
			eg = "[" + eg + "]"
		}
		d.null(n, path, key, eg)
		return
	}
	if !fl.list {
		d.one(v, fl, n, key, path)
		return
	}
	if n.kind != list {
		hint := "begin each item with \"- \" on its own line"
		if n.kind == scalar {
			hint = "write [" + n.text + "]"
			if len(n.text) > 40 || strings.ContainsAny(n.text, ",[]{}\n\"") {
				hint = "write it in brackets: [ ]"
			}
		}
		d.add(n, path, label(path)+": a list is expected here, not "+n.kind.String(), hint)
		return
	}
	if len(n.items) == 0 && fl.need {
		d.add(n, path, label(path)+" is an empty list; at least one item is expected", "")
	}
	out := reflect.MakeSlice(v.Type(), len(n.items), len(n.items))
	for i, item := range n.items {
		at := path + "[" + strconv.Itoa(i) + "]"
		if item.refused {
			continue
		}
		if item.kind == scalar && item.null {
			d.null(item, at, nil, "")
			continue
		}
		d.one(out.Index(i), fl, item, nil, at)
	}
	v.Set(out)
}

// one fills a field that is no list, or one item of a list.
func (d *decoder) one(v reflect.Value, fl *field, n *node, key *node, path string) {
	switch fl.kind {
	case structField:
		if fl.pointer {
			p := reflect.New(fl.elem)
			if d.structure(p.Elem(), n, path, key) {
				v.Set(p)
			}
			return
		}
		d.structure(v, n, path, key)
	case valueField:
		v.Set(reflect.ValueOf(d.value(fl, n, path)))
	case textField:
		text := d.text(fl, n, path)
		if c, ok := v.Addr().Interface().(choice); ok {
			c.assign(text)
			return
		}
		v.Set(reflect.ValueOf(text))
	case wholeField:
		v.Set(reflect.ValueOf(d.whole(fl, n, path)))
	case flagField:
		v.Set(reflect.ValueOf(d.flag(n, path)))
	case pointField:
		v.Set(reflect.ValueOf(d.point(fl, n, path)))
	case curveField:
		v.Set(reflect.ValueOf(d.curve(fl, n, path, key)))
	}
}

// word returns the text of a scalar, or says what is due in place of a list or mapping.
func (d *decoder) word(n *node, path, due string) (string, bool) {
	switch {
	case n.refused:
	case n.kind != scalar:
		d.add(n, path, label(path)+": "+due+" is expected here, not "+n.kind.String(), "")
	case n.null:
		d.add(n, path, label(path)+" has no value", "")
	default:
		return Visible(strings.TrimRight(n.text, "\n")), true
	}
	return "", false
}

// quantity reports an error of package quantity.
func (d *decoder) quantity(err error, n *node, path string) {
	var e *quantity.Error
	if !errors.As(err, &e) {
		d.add(n, path, label(path)+": "+err.Error(), "")
		return
	}
	if e.Text == "" {
		d.add(n, path, label(path)+" has no value", e.Hint)
		return
	}
	d.add(n, path, label(path)+" "+e.Msg, e.Hint)
}

func (d *decoder) value(fl *field, n *node, path string) Value {
	v := Value{At: d.f.pos(n, path)}
	if n.kind == mapping {
		return d.valueMapping(fl, n, path)
	}
	text, ok := d.word(n, path, fl.dim.Article()+", such as "+quote(fl.example())+",")
	if !ok {
		return v
	}
	var err error
	if v.SI, v.Lo, v.Hi, err = quantity.ParseTolerance(text, fl.dim); err != nil {
		d.quantity(err, n, path)
		return Value{At: v.At}
	}
	v.Text = text
	v.Set = d.within(fl, v, n, path)
	d.doubt(text, fl.dim, n, path, fl.min, fl.max)
	return v
}

// valueMapping reads {value, min, max, source}.
func (d *decoder) valueMapping(fl *field, n *node, path string) Value {
	v := Value{At: d.f.pos(n, path)}
	keys := []string{"value", "min", "max", "source"}
	for _, k := range n.keys {
		if !slices.Contains(keys, k.text) {
			d.unknown(k, join(path, k.text), label(path), keys)
		}
	}
	value := n.get("value")
	if value == nil {
		d.add(
			n, path, label(path)+" is a mapping without the key \"value\"",
			"write {value: "+fl.dim.Example()+", source: …}, or the value alone",
		)
		return v
	}
	if s := n.get("source"); s != nil {
		v.Source, _ = d.word(s, join(path, "source"), "a text")
	}
	text, ok := d.word(value, join(path, "value"), fl.dim.Article())
	if !ok {
		return v
	}
	si, lo, hi, err := quantity.ParseTolerance(text, fl.dim)
	if err != nil {
		d.quantity(err, value, join(path, "value"))
		return v
	}
	good := true
	for _, end := range []struct {
		key string
		to  *float64
	}{{"min", &lo}, {"max", &hi}} {
		e := n.get(end.key)
		if e == nil {
			continue
		}
		at := join(path, end.key)
		text, ok := d.word(e, at, fl.dim.Article())
		if !ok {
			good = false
			continue
		}
		x, err := quantity.Parse(text, fl.dim)
		if err != nil {
			d.quantity(err, e, at)
			good = false
			continue
		}
		d.doubt(text, fl.dim, e, at)
		if (end.key == "min" && x > si) || (end.key == "max" && x < si) {
			side := map[string]string{"min": "above", "max": "below"}[end.key]
			d.add(
				e, at,
				fmt.Sprintf("%s: %s %s lies %s value %s", label(path), end.key, quote(e.text), side, quote(value.text)),
				"min ≤ value ≤ max",
			)
			good = false
			continue
		}
		*end.to = x
	}
	if !good {
		return v
	}
	v.SI, v.Lo, v.Hi, v.Text = si, lo, hi, text
	v.Set = d.within(fl, v, value, path)
	d.doubt(text, fl.dim, value, join(path, "value"), fl.min, fl.max)
	return v
}

// within checks a value and its tolerance against the limits of its field.
func (d *decoder) within(fl *field, v Value, n *node, path string) bool {
	for _, l := range []quantity.Limit{fl.min, fl.max} {
		end := v.Lo
		if l.Op != "" && l.Op[0] == '<' {
			end = v.Hi
		}
		switch {
		case !l.Holds(v.SI):
			d.add(n, path, fmt.Sprintf("%s %s is out of range; it must be %s", label(path), quote(v.Text), l), "")
			return false
		case !l.Holds(end):
			d.add(n, path, fmt.Sprintf("%s %s reaches %s with its tolerance; it must be %s", label(path), quote(v.Text), quantity.Format(end, fl.dim), l), "")
			return false
		}
	}
	return true
}

func (d *decoder) unknown(k *node, path, of string, names []string) {
	hint := "its keys are " + strings.Join(names, ", ")
	if near, ok := Near(k.text, names); ok {
		hint = "did you mean " + quote(near) + "?"
	}
	d.add(k, path, quote(k.text)+" is not a key of "+of, hint)
}

func (d *decoder) text(fl *field, n *node, path string) Text {
	t := Text{At: d.f.pos(n, path)}
	s, ok := d.word(n, path, "a text")
	if !ok {
		return t
	}
	switch {
	case strings.TrimSpace(s) == "" && (fl.need || len(fl.one) > 0):
		d.add(n, path, label(path)+" is empty", "")
		return t
	case len(fl.one) > 0 && !slices.Contains(fl.one, s):
		if r, ok := d.renamed.find([]reflect.Type{fl.owner}, fl.key, s); ok {
			d.add(n, path, s+": use "+r.New, r.Hint)
			return t
		}
		hint := ""
		if near, ok := Near(s, fl.one); ok {
			hint = "did you mean " + quote(near) + "?"
		}
		d.add(n, path, label(path)+" "+quote(s)+" is not one of "+strings.Join(fl.one, ", "), hint)
		return t
	}
	t.S, t.Set = s, true
	return t
}

func (d *decoder) whole(fl *field, n *node, path string) Whole {
	w := Whole{At: d.f.pos(n, path)}
	s, ok := d.word(n, path, "a whole number")
	if !ok {
		return w
	}
	x, err := strconv.Atoi(s)
	if err != nil || len(s) > 10 || strings.HasPrefix(s, "+") {
		d.add(n, path, label(path)+" "+quote(s)+" is not a whole number", "such as "+fl.example())
		return w
	}
	if r, ok := d.renamed.find([]reflect.Type{fl.owner}, fl.key, s); ok {
		d.add(n, path, label(path)+" "+s+": use "+r.New, r.Hint)
		return w
	}
	for _, l := range []quantity.Limit{fl.min, fl.max} {
		if !l.Holds(float64(x)) {
			d.add(n, path, fmt.Sprintf("%s %s is out of range; it must be %s", label(path), quote(s), l), "")
			return w
		}
	}
	w.N, w.Set = x, true
	return w
}

func (d *decoder) flag(n *node, path string) Flag {
	fl := Flag{At: d.f.pos(n, path)}
	s, ok := d.word(n, path, "true or false")
	if !ok {
		return fl
	}
	switch s {
	case "true", "yes":
		fl.On, fl.Set = true, true
	case "false", "no":
		fl.Set = true
	default:
		d.add(n, path, label(path)+" "+quote(s)+" is neither true nor false", "write true or false")
	}
	return fl
}

func (d *decoder) point(fl *field, n *node, path string) Point {
	p := Point{At: d.f.pos(n, path)}
	form := "write " + fl.example()
	switch n.kind {
	case list:
		if len(n.items) != 2 {
			d.add(n, path, fmt.Sprintf("%s: a point has two values, x and y, not %d", label(path), len(n.items)), form)
			return p
		}
		p.X = d.coordinate(fl, n.items[0], path+"[0]")
		p.Y = d.coordinate(fl, n.items[1], path+"[1]")
	case mapping:
		for _, k := range n.keys {
			if k.text != "x" && k.text != "y" {
				d.unknown(k, join(path, k.text), label(path), []string{"x", "y"})
			}
		}
		for _, c := range []struct {
			key string
			to  *Value
		}{{"x", &p.X}, {"y", &p.Y}} {
			if v := n.get(c.key); v != nil {
				*c.to = d.coordinate(fl, v, join(path, c.key))
			} else {
				d.add(n, path, label(path)+" needs the key "+quote(c.key), form)
			}
		}
	default:
		d.add(n, path, label(path)+": a point is expected here, not "+n.kind.String(), form)
	}
	return p
}

func (d *decoder) coordinate(fl *field, n *node, path string) Value {
	inner := *fl
	inner.eg = ""
	return d.value(&inner, n, path)
}

func (d *decoder) curve(fl *field, n *node, path string, key *node) Curve {
	c := Curve{At: d.f.pos(n, path)}
	if key != nil {
		c.At = d.f.pos(key, path)
	}
	form := "write each point as " + fl.x.Example() + ": " + fl.y.Example()
	if n.kind != mapping {
		d.add(
			n, path,
			label(path)+": a curve is due here, a mapping of "+fl.x.Name()+" to "+fl.y.Name()+", not "+n.kind.String(),
			form,
		)
		return c
	}
	points, at := n, path
	if p := n.get("points"); p != nil {
		for _, k := range n.keys {
			if k.text != "points" && k.text != "source" {
				d.unknown(k, join(path, k.text), label(path), []string{"points", "source"})
			}
		}
		if s := n.get("source"); s != nil {
			c.Source, _ = d.word(s, join(path, "source"), "a text")
		}
		points, at = p, join(path, "points")
		if p.kind != mapping {
			d.add(
				p, at,
				label(path)+": a mapping of "+fl.x.Name()+" to "+fl.y.Name()+" is expected here, not "+p.kind.String(),
				form,
			)
			return c
		}
	} else if s := n.get("source"); s != nil {
		d.add(
			s, path, label(path)+" has a source and no points",
			"write {source: …, points: {"+fl.x.Example()+": "+fl.y.Example()+", …}}",
		)
		return c
	}
	before := len(d.problems)
	last, lastText := math.Inf(-1), ""
	for i, k := range points.keys {
		here := join(at, k.text)
		x, err := quantity.Parse(k.text, fl.x)
		if err != nil {
			d.quantity(err, k, path)
			d.problems[len(d.problems)-1].At.Path = here
		} else {
			switch {
			case x == last:
				d.add(k, here, fmt.Sprintf("%s has two points at %s", label(path), quote(k.text)), "")
			case x < last:
				d.add(
					k, here, fmt.Sprintf("%s: %s comes after %s", label(path), quote(k.text), quote(lastText)),
					"put the points in the order of growing "+fl.x.Name(),
				)
			}
			last, lastText = x, k.text
			d.doubt(k.text, fl.x, k, here)
		}
		text, ok := d.word(points.items[i], here, fl.y.Article())
		if !ok {
			continue
		}
		y, err := quantity.Parse(text, fl.y)
		if err != nil {
			d.quantity(err, points.items[i], path)
			d.problems[len(d.problems)-1].At.Path = here
			continue
		}
		d.doubt(text, fl.y, points.items[i], here)
		c.X, c.Y = append(c.X, x), append(c.Y, y)
	}
	if n := len(points.keys); n < fl.minPoints {
		d.add(
			points, at, fmt.Sprintf("%s has %s and needs at least %d", label(path), count(n, "point"), fl.minPoints),
			form,
		)
	}
	if len(d.problems) > before {
		c.X, c.Y = nil, nil
		return c
	}
	c.Set = true
	return c
}

// count says a number of things.
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return strconv.Itoa(n) + " " + thing + "s"
}
