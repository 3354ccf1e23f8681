package project

import (
	"reflect"
	"strings"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// TypedValue is a value that the file of a part states.
type TypedValue struct {
	Key   string // "thermal_pad.length"
	Value source.Value
	Dim   quantity.Dim
}

// TypedValues returns the values that are stated of a part, in the order of the format. part is the Part of an Entry.
func TypedValues(part any) []TypedValue { return typedValues(reflect.ValueOf(part), "") }

func typedValues(v reflect.Value, prefix string) (out []TypedValue) {
	for i := range v.NumField() {
		field, f := v.Type().Field(i), v.Field(i)
		key, _, _ := strings.Cut(field.Tag.Get("yaml"), ",")
		if key == "-" || !field.IsExported() {
			continue
		}
		if f.Kind() == reflect.Pointer && !f.IsNil() {
			f = f.Elem()
		}
		name := strings.Trim(prefix+"."+key, ".")
		switch x := f.Interface().(type) {
		case source.Value:
			if dim, ok := quantity.ByName(field.Tag.Get("dim")); ok && x.Set {
				out = append(out, TypedValue{name, x, dim})
			}
		case Common, MainsSide, Size, Fins, Pins:
			out = append(out, typedValues(f, name)...)
		}
	}
	return out
}
