package source

import (
	"fmt"
	"reflect"
	"strings"

	"lampwright/internal/quantity"
)

// Reference returns the keys that Decode takes for a struct like v, in Markdown: a table of the keys of each mapping,
// each mapping under its own heading (from ## down), in the order of the struct.
func Reference(v any) string {
	var b strings.Builder
	referTo(&b, structType(v), "", 2)
	return strings.TrimRight(b.String(), "\n") + "\n"
}

func referTo(b *strings.Builder, t reflect.Type, path string, level int) {
	list, _ := fields(t)
	b.WriteString("| key | written as | needed | meaning |\n| --- | --- | --- | --- |\n")
	for i := range list {
		f := &list[i]
		need := ""
		if f.need {
			need = "yes"
		}
		text := f.doc
		if l := f.limits(); l != "" {
			text = strings.TrimPrefix(text+"; "+l, "; ")
		}
		if f.eg != "" {
			text = strings.TrimPrefix(text+"; such as "+code(f.eg), "; ")
		}
		fmt.Fprintf(b, "| %s | %s | %s | %s |\n", code(f.key), cell(f.form(path)), need, cell(text))
	}
	b.WriteByte('\n')
	for i := range list {
		f := &list[i]
		if f.kind != structField {
			continue
		}
		at := f.pathUnder(path)
		fmt.Fprintf(b, "%s %s\n\n", strings.Repeat("#", min(level, 6)), code(at))
		if f.doc != "" {
			fmt.Fprintf(b, "%s.\n\n", capital(f.doc))
		}
		referTo(b, f.elem, at, level+1)
	}
}

// pathUnder is the path of a field under that of its struct; a list is marked by [].
func (f *field) pathUnder(path string) string {
	at := join(path, f.key)
	if f.list {
		at += "[]"
	}
	return at
}

// form says how a field is written.
func (f *field) form(path string) string {
	var s string
	switch f.kind {
	case valueField:
		s = f.dim.Name() + inUnits(f.dim)
		if f.dim == quantity.None {
			s = "number"
		}
	case textField:
		s = "text"
		if len(f.one) > 0 {
			words := make([]string, len(f.one))
			for i, w := range f.one {
				words[i] = code(w)
			}
			s = "one of " + strings.Join(words, ", ")
		}
	case wholeField:
		s = "whole number"
	case flagField:
		s = "true or false"
	case pointField:
		s = "point [x, y], each a " + f.dim.Name()
	case curveField:
		s = "curve: " + f.x.Name() + inUnits(f.x) + " to " + f.y.Name() + inUnits(f.y)
	case structField:
		s = "mapping, see " + code(f.pathUnder(path))
		if f.list {
			return "list of mappings, see " + code(f.pathUnder(path))
		}
	}
	if f.list {
		return "list, each: " + s
	}
	return s
}

func inUnits(d quantity.Dim) string {
	if units := d.Units(); len(units) > 0 {
		return " in " + strings.Join(units[:min(len(units), 5)], ", ")
	}
	return ""
}

func code(s string) string { return "`" + s + "`" }

// cell keeps a text from ending its table cell.
func cell(s string) string { return strings.ReplaceAll(s, "|", `\|`) }

func capital(s string) string {
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}
