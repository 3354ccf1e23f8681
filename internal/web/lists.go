package web

import "reflect"

// fillLists gives a struct of this package, to which it gets a pointer, an empty list wherever it has none, so that
// the page never meets a null in place of a list. Lists in structs of other packages are shared with others, and stay
// as they are.
func fillLists(v any) { fillValue(reflect.ValueOf(v).Elem()) }

func fillValue(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			fillValue(v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			fillValue(v.Index(i))
		}
	case reflect.Struct:
		t := v.Type()
		if t.PkgPath() != reflect.TypeFor[stateView]().PkgPath() {
			return
		}
		for i := range t.NumField() {
			f := v.Field(i)
			if !t.Field(i).IsExported() {
				continue
			}
			if f.Kind() == reflect.Slice && f.IsNil() {
				f.Set(reflect.MakeSlice(f.Type(), 0, 0))
			}
			fillValue(f)
		}
	}
}
