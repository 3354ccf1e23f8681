package source

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"lampwright/internal/quantity"
)

// object is a JSON object; encoding/json writes its keys in order.
type object map[string]any

// Schema returns a JSON Schema (draft 2020-12) of the files that Decode takes for a struct like v, so that an editor can
// complete and check them. It says less than Decode does: limits, tolerances and curves are checked there.
// The same struct gives the same bytes.
func Schema(title string, v any) ([]byte, error) {
	root := structSchema(structType(v))
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = title
	defs := object{
		"text":  object{"type": []string{"string", "number", "boolean"}},
		"whole": object{"type": "integer"},
		"flag":  object{"enum": []any{true, false, "yes", "no"}},
	}
	used := map[quantity.Dim]bool{}
	usedDims(structType(v), used)
	for d := range used {
		defs[dimKey(d)] = quantitySchema(d, false)
		defs[dimKey(d)+"-toleranced"] = quantitySchema(d, true)
		defs[dimKey(d)+"-value"] = valueSchema(d)
	}
	root["$defs"] = defs
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(root); err != nil {
		return nil, fmt.Errorf("write schema %s: %w", quote(title), err)
	}
	return b.Bytes(), nil
}

func structType(v any) reflect.Type {
	t := reflect.TypeOf(v)
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == nil || t.Kind() != reflect.Struct {
		panic("source: a struct is due")
	}
	endless(t, nil)
	return t
}

// endless panics where a struct contains itself, which has no finite description.
func endless(t reflect.Type, within []reflect.Type) {
	if slices.Contains(within, t) {
		panic(fmt.Sprintf("source: type %s contains itself", t))
	}
	list, _ := fields(t)
	for _, f := range list {
		if f.kind == structField {
			endless(f.elem, append(within, t))
		}
	}
}

// usedDims finds the dimensions of a struct and those inside it.
func usedDims(t reflect.Type, used map[quantity.Dim]bool) {
	list, _ := fields(t)
	for _, f := range list {
		switch f.kind {
		case valueField, pointField:
			used[f.dim] = true
		case curveField:
			used[f.x], used[f.y] = true, true
		case structField:
			usedDims(f.elem, used)
		}
	}
}

func dimKey(d quantity.Dim) string { return strings.ReplaceAll(d.Name(), " ", "-") }

func ref(name string) object { return object{"$ref": "#/$defs/" + name} }

func quantitySchema(d quantity.Dim, tolerance bool) object {
	pattern := d.Pattern()
	if tolerance {
		pattern = d.TolerancePattern()
	}
	s := object{"type": "string", "pattern": "^" + pattern + "$"}
	if d == quantity.None {
		s["type"] = []string{"number", "string"}
	}
	return s
}

// valueSchema is a value as one text, or as a mapping.
func valueSchema(d quantity.Dim) object {
	return object{"anyOf": []any{
		ref(dimKey(d) + "-toleranced"),
		object{
			"type": "object", "additionalProperties": false, "required": []string{"value"},
			"properties": object{
				"value": ref(dimKey(d) + "-toleranced"), "min": ref(dimKey(d)), "max": ref(dimKey(d)), "source": ref("text"),
			},
		},
	}}
}

func structSchema(t reflect.Type) object {
	list, _ := fields(t)
	props, need := object{}, []string{}
	for i := range list {
		f := &list[i]
		props[f.key] = f.schema()
		if f.need {
			need = append(need, f.key)
		}
	}
	s := object{"type": "object", "additionalProperties": false, "properties": props}
	if len(need) > 0 {
		s["required"] = need
	}
	return s
}

func (f *field) schema() object {
	var s object
	switch f.kind {
	case valueField:
		s = ref(dimKey(f.dim) + "-value")
	case textField:
		s = ref("text")
		if len(f.one) > 0 {
			s = object{"enum": f.one}
		}
	case wholeField:
		s = ref("whole")
		for _, l := range []quantity.Limit{f.min, f.max} {
			if word := map[string]string{">": "exclusiveMinimum", ">=": "minimum", "<": "exclusiveMaximum", "<=": "maximum"}[l.Op]; word != "" {
				s[word] = l.Bound
			}
		}
	case flagField:
		s = ref("flag")
	case pointField:
		v := ref(dimKey(f.dim) + "-value")
		s = object{"anyOf": []any{
			object{"type": "array", "items": v, "minItems": 2, "maxItems": 2},
			object{"type": "object", "additionalProperties": false, "required": []string{"x", "y"}, "properties": object{"x": v, "y": v}},
		}}
	case curveField:
		points := object{"type": "object", "minProperties": f.minPoints, "additionalProperties": ref(dimKey(f.y)), "propertyNames": object{"pattern": "^" + f.x.Pattern() + "$"}}
		s = object{"anyOf": []any{
			points,
			object{"type": "object", "additionalProperties": false, "required": []string{"points"}, "properties": object{"points": points, "source": ref("text")}},
		}}
	case structField:
		s = structSchema(f.elem)
	}
	if f.list {
		s = object{"type": "array", "items": s}
		if f.need {
			s["minItems"] = 1
		}
	}
	if text := f.describe(); text != "" {
		s["description"] = text
	}
	return s
}

// describe joins what the tags say in words.
func (f *field) describe() string {
	var parts []string
	if f.doc != "" {
		parts = append(parts, f.doc)
	}
	if l := f.limits(); l != "" {
		parts = append(parts, l)
	}
	if f.eg != "" {
		parts = append(parts, "such as "+f.eg)
	}
	return strings.Join(parts, "; ")
}

// limits says the limits of a field: "above 0 A, at most 50 A".
func (f *field) limits() string {
	var parts []string
	for _, l := range []quantity.Limit{f.min, f.max} {
		if s := l.String(); s != "" {
			parts = append(parts, s)
		}
	}
	if f.kind == curveField && f.minPoints != 2 {
		parts = append(parts, "at least "+count(f.minPoints, "point"))
	}
	return strings.Join(parts, ", ")
}
