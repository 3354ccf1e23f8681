package casefile

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// remarks are keys that describe a part of a case and change nothing.
var remarks = []string{"title", "note", "notes", "comment", "convention", "description"}

// decoder fills Go values from nodes, strictly: every key must be a field of its struct or a remark.
type decoder struct {
	document
	guide    string // page that lists the keys
	problems []error
	found    int // problems
}

// custom is a value with more than one form of its own.
type custom interface {
	decode(d *decoder, n *node, path string)
}

// renamer is a struct with other names for some of its keys.
type renamer interface{ rename() map[string]string }

// maxProblems is the number of problems of a case that are reported; the others are counted.
const maxProblems = 20

func (d *decoder) problem(at int, format string, a ...any) {
	if d.found++; d.found <= maxProblems {
		d.problems = append(d.problems, d.errorAt(at, fmt.Errorf(format, a...)))
	}
}

// err returns the first problems together, and the number of all.
func (d *decoder) err() error {
	all := errors.Join(d.problems...)
	if d.found > maxProblems {
		return fmt.Errorf("%w\n%d problems; the first %d are shown", all, d.found, maxProblems)
	}
	return all
}

// fill sets to, which points at the value of a path, from a node; null leaves it as it is.
func (d *decoder) fill(n *node, to any, path string) {
	d.set(n, reflect.ValueOf(to).Elem(), path)
}

var words = map[reflect.Kind]kind{
	reflect.Struct: object, reflect.Slice: list, reflect.Array: list, reflect.Float64: number, reflect.Int: number,
	reflect.Int64: number, reflect.Uint64: number, reflect.String: text, reflect.Map: object, reflect.Bool: flag,
}

func (d *decoder) set(n *node, v reflect.Value, path string) {
	if c, ok := v.Addr().Interface().(custom); ok {
		c.decode(d, n, path)
		return
	}
	if n.kind == null {
		return
	}
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		d.set(n, v.Elem(), path)
		return
	}
	if n.kind == number && v.Kind() == reflect.Bool && (string(n.raw) == "0" || string(n.raw) == "1") {
		v.SetBool(string(n.raw) == "1")
		return
	}
	if due := words[v.Kind()]; n.kind != due {
		d.problem(n.at, "%s is a JSON %s; it takes a %s", path, n.kind, due)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		d.object(n, v, path)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
		d.items(n, v, path)
	case reflect.Array:
		if len(n.items) != v.Len() {
			d.problem(n.at, "%s lists %d values; it takes %d", path, len(n.items), v.Len())
			return
		}
		d.items(n, v, path)
	case reflect.String:
		v.SetString(n.scalar.(string))
	case reflect.Bool:
		v.SetBool(n.scalar.(bool))
	default:
		d.number(n, v, path)
	}
}

func (d *decoder) items(n *node, v reflect.Value, path string) {
	for i, item := range n.items {
		d.set(item, v.Index(i), fmt.Sprintf("%s[%d]", path, i))
	}
}

func (d *decoder) object(n *node, v reflect.Value, path string) {
	fields := map[string]reflect.Value{}
	fieldsOf(v, fields)
	other := map[string]string{}
	if r, ok := v.Addr().Interface().(renamer); ok {
		other = r.rename()
	}
	for _, m := range n.members {
		key := m.key
		if to, ok := other[key]; ok && n.get(to) == nil {
			key = to
		}
		field, known := fields[key]
		switch {
		case known:
			d.set(m.value, field, strings.TrimPrefix(path+"."+key, "."))
		case !slices.Contains(remarks, m.key):
			d.problem(m.at, "unknown key %q; use %s (%s)", m.key, keysOf(fields), d.guide)
		}
	}
}

// keysOf lists keys by name.
func keysOf[T any](keys map[string]T) string {
	return strings.Join(slices.Sorted(maps.Keys(keys)), ", ")
}

// fieldsOf collects the fields of a struct by key, with those of embedded structs.
func fieldsOf(v reflect.Value, out map[string]reflect.Value) {
	for i := range v.NumField() {
		switch tag := v.Type().Field(i).Tag.Get("json"); {
		case v.Type().Field(i).Anonymous:
			fieldsOf(v.Field(i), out)
		case tag != "":
			out[tag] = v.Field(i)
		}
	}
}

func (d *decoder) number(n *node, v reflect.Value, path string) {
	digits := n.scalar.(json.Number).String()
	var err error
	switch v.Kind() {
	case reflect.Float64:
		var f float64
		if f, err = strconv.ParseFloat(digits, 64); err == nil && !math.IsInf(f, 0) {
			v.SetFloat(f)
			return
		}
	case reflect.Int, reflect.Int64:
		var i int64
		if i, err = strconv.ParseInt(digits, 10, v.Type().Bits()); err == nil {
			v.SetInt(i)
			return
		}
		d.problem(n.at, "%s is %s; it takes a whole number", path, digits)
		return
	default:
		var u uint64
		if u, err = strconv.ParseUint(digits, 10, 64); err == nil {
			v.SetUint(u)
			return
		}
		d.problem(n.at, "%s is %s; it takes a whole number from 0 to 2^64 − 1", path, digits)
		return
	}
	d.problem(n.at, "%s is %s, too large to be a number", path, digits)
}

// locate returns the offset of the value at a path such as layers[2].t, or of the nearest value around it.
func locate(n *node, path string) int {
	for path != "" && n != nil {
		head, rest := path, ""
		if i := strings.IndexAny(path[1:], ".["); i >= 0 {
			head, rest = path[:i+1], strings.TrimPrefix(path[i+1:], ".")
		}
		next := n.get(head)
		if index, ok := strings.CutPrefix(head, "["); ok {
			if i, err := strconv.Atoi(strings.TrimSuffix(index, "]")); err == nil && i < len(n.items) {
				next = n.items[i]
			}
		}
		if next == nil {
			break
		}
		n, path = next, rest
	}
	return n.at
}

// pathError is what is wrong with the value at a path of a case.
type pathError struct {
	path string
	err  error
}

func (e *pathError) Error() string { return e.err.Error() }
func (e *pathError) Unwrap() error { return e.err }

// at ties an error to a path; one that is tied already keeps its own.
func at(path string, err error) error {
	if err == nil || errors.As(err, new(*pathError)) {
		return err
	}
	return &pathError{path, err}
}

// placed returns an error with the position of the path it is tied to.
func (d document) placed(n *node, err error) error {
	if tied := (*pathError)(nil); errors.As(err, &tied) {
		return d.errorAt(locate(n, tied.path), err)
	}
	return d.errorAt(n.at, err)
}
