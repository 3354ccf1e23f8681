package source

import (
	"cmp"
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"unicode"

	"lampwright/internal/quantity"
)

// Node is one key of a format with what a file has under it.
type Node struct {
	Path    string   `json:"path"` // channels[0].current; [0] is the first item of a list
	Key     string   `json:"key"`
	Form    Form     `json:"form"`
	Dim     string   `json:"dim,omitempty"` // of a quantity or a point
	Units   []string `json:"units,omitempty"`
	One     []string `json:"one,omitempty"`    // the words that may stand there
	Part    string   `json:"part,omitempty"`   // kind of parts whose id stands there
	Doc     string   `json:"doc,omitempty"`    // what it means
	Limits  string   `json:"limits,omitempty"` // "at most 100 %"
	Example string   `json:"eg,omitempty"`
	Need    bool     `json:"need,omitempty"`
	Set     bool     `json:"set,omitempty"`
	Text    string   `json:"text,omitempty"` // as written; YAML on one line where Whole
	Whole   bool     `json:"whole,omitempty"`
	New     string   `json:"new,omitempty"`   // what adds the mapping, or an item of the list: its required keys
	Keys    []Node   `json:"keys,omitempty"`  // of a mapping, in the order of the format
	Items   []Node   `json:"items,omitempty"` // of a list of mappings
}

// Form is how a key is written.
type Form string

// The forms.
const (
	FormQuantity Form = "quantity"
	FormText     Form = "text"
	FormChoice   Form = "choice"
	FormWhole    Form = "whole"
	FormFlag     Form = "flag"
	FormPoint    Form = "point"
	FormCurve    Form = "curve"
	FormValues   Form = "values" // a list of any of these
	FormMapping  Form = "mapping"
	FormMappings Form = "mappings" // a list of mappings
)

// Tree returns every key that Decode takes for a struct like v, with what the file has there. example returns what a
// new mapping or item is, or what it has under a required key, by its path without indices, channels[].driver, and by
// the kind of parts that is named there; where it returns "", the example of the format stands there.
func (f *File) Tree(v any, example func(path, part string) string) []Node {
	t := treeWriter{example}
	return t.keys(structType(v), f.root, "", "")
}

type treeWriter struct {
	example func(path, part string) string
}

// keys returns the keys of a struct; at is the path and format the path without indices.
func (t *treeWriter) keys(of reflect.Type, n *node, at, format string) []Node {
	list, _ := fields(of)
	out := make([]Node, 0, len(list))
	for i := range list {
		fl := &list[i]
		var here *node
		if n != nil && n.kind == mapping {
			here = n.get(fl.key)
		}
		out = append(out, t.node(fl, here, join(at, fl.key), fl.pathUnder(format)))
	}
	return out
}

func (t *treeWriter) node(fl *field, n *node, at, format string) Node {
	out := Node{
		Path: at, Key: fl.key, Form: fl.treeForm(), One: fl.one, Part: fl.part, Doc: fl.doc, Limits: fl.limits(),
		Example: fl.eg, Need: fl.need, Set: n != nil && !(n.kind == scalar && n.null),
	}
	if fl.kind == valueField || fl.kind == pointField {
		if out.Dim = fl.dim.Name(); fl.dim != quantity.None {
			units := fl.dim.Units()
			out.Units = units[:min(len(units), 5)]
		}
	}
	if fl.kind != structField {
		if fl.part != "" {
			out.Example = cmp.Or(t.example(format, fl.part), out.Example)
		}
		if out.Example == "" {
			out.Example = fl.example()
		}
		if out.Set {
			out.Text, out.Whole = n.oneLine(), n.kind != scalar
		}
		return out
	}
	out.New = t.template(fl.elem, format)
	if !fl.list {
		out.Keys = t.keys(fl.elem, n, at, format)
		return out
	}
	if out.Set && n.kind == list {
		for i, item := range n.items {
			path := fmt.Sprintf("%s[%d]", at, i)
			out.Items = append(out.Items, Node{
				Path: path, Key: fmt.Sprint(i + 1), Form: FormMapping, Set: true, Text: item.oneLine(), Whole: true,
				Keys: t.keys(fl.elem, item, path, format),
			})
		}
	}
	return out
}

// treeForm returns the form of a field.
func (f *field) treeForm() Form {
	switch {
	case f.kind == structField && f.list:
		return FormMappings
	case f.kind == structField:
		return FormMapping
	case f.list:
		return FormValues
	case len(f.one) > 0:
		return FormChoice
	}
	return map[fieldKind]Form{
		valueField: FormQuantity, textField: FormText, wholeField: FormWhole, flagField: FormFlag,
		pointField: FormPoint, curveField: FormCurve,
	}[f.kind]
}

// template returns a mapping with the required keys of a struct, or with its first key where none is required.
func (t *treeWriter) template(of reflect.Type, format string) string {
	if s := t.example(format, ""); s != "" {
		return s
	}
	list, _ := fields(of)
	var parts []string
	for i := range list {
		if list[i].need {
			parts = append(parts, list[i].key+": "+t.newValue(&list[i], list[i].pathUnder(format)))
		}
	}
	if len(parts) == 0 && len(list) > 0 {
		parts = append(parts, list[0].key+": "+t.newValue(&list[0], list[0].pathUnder(format)))
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

func (t *treeWriter) newValue(f *field, format string) string {
	s := ""
	if f.kind != structField {
		s = t.example(format, f.part)
	}
	switch {
	case s != "":
	case f.kind == structField:
		s = t.template(f.elem, format)
	default:
		if s = f.example(); s == "" {
			s = f.key
		}
		if f.kind == textField {
			s = FlowText(s)
		}
	}
	if f.list {
		s = "[" + s + "]"
	}
	return s
}

// negative matches a text that begins with a number below zero.
var negative = regexp.MustCompile(`^-[0-9]`)

// FlowText writes a text as YAML within brackets or braces.
func FlowText(text string) string {
	if text == "" || strings.TrimSpace(text) != text || strings.Contains(text, "- ") {
		return doubleQuoted(text)
	}
	for i, r := range text {
		plain := unicode.IsLetter(r) || unicode.IsDigit(r)
		if i == 0 {
			plain = plain || strings.ContainsRune("−±(", r) || negative.MatchString(text)
		} else {
			plain = plain || strings.ContainsRune(" ._-+/()°%·²³±×−", r)
		}
		if !plain {
			return doubleQuoted(text)
		}
	}
	switch strings.ToLower(text) {
	case "null", "true", "false", "yes", "no", "on", "off", "y", "n":
		return doubleQuoted(text)
	}
	return text
}

// oneLine writes a node as Put takes it: a scalar by its text, anything else as YAML on one line.
func (n *node) oneLine() string {
	if n.kind == scalar {
		return n.text
	}
	parts := make([]string, len(n.items))
	for i, item := range n.items {
		switch {
		case item.kind != scalar:
			parts[i] = item.oneLine()
		case item.null:
			parts[i] = "null"
		case item.style == 0:
			parts[i] = plainOr(item.text)
		default:
			parts[i] = doubleQuoted(item.text)
		}
		if n.kind == mapping {
			parts[i] = FlowText(n.keys[i].text) + ": " + parts[i]
		}
	}
	if n.kind == mapping {
		return "{" + strings.Join(parts, ", ") + "}"
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

// plainOr writes a text that is plain in its file as it is, where it may stand so within brackets.
func plainOr(text string) string {
	if quoted := FlowText(text); quoted != doubleQuoted(text) {
		return quoted
	}
	if strings.ContainsAny(text, ",[]{}#:\"'\n") {
		return doubleQuoted(text)
	}
	return text // a flag, or a text that YAML takes for one
}

// Cleared returns the file without a key or without an item of a list, as Removed and Without do. Where it is all that
// its mapping or list has, that goes as well; a key that does not stand there is away already.
func (f *File) Cleared(path string) (*File, error) {
	t, err := f.find(path)
	item := strings.HasSuffix(path, "]") // or a point of a curve
	switch {
	case err != nil || t.parent == nil || len(f.found) > 0 || t.node == nil && item:
		return f.Removed(path) // which states what is wrong
	case t.node == nil:
		return f, nil
	}
	if len(t.parent.items) == 1 && t.parent != f.root {
		if whole, _, ok := lastIndex(path); ok {
			return f.Cleared(whole)
		}
		at := strings.LastIndexAny(path, ".[")
		if at > 0 && path[at] == '.' && !strings.HasSuffix(path[:at], "]") {
			return f.Cleared(path[:at])
		}
	}
	if t.key == nil {
		return f.Without(path)
	}
	return f.Removed(path)
}
