package source

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"sync"

	"lampwright/internal/quantity"
)

// sort of a field: what is under its key.
type fieldKind int

const (
	valueField fieldKind = iota
	textField
	wholeField
	flagField
	pointField
	curveField
	structField
)

var (
	valueType = reflect.TypeFor[Value]()
	textType  = reflect.TypeFor[Text]()
	wholeType = reflect.TypeFor[Whole]()
	flagType  = reflect.TypeFor[Flag]()
	pointType = reflect.TypeFor[Point]()
	curveType = reflect.TypeFor[Curve]()
	posType   = reflect.TypeFor[Pos]()
)

// field is one key of a struct, read off its tags.
type field struct {
	key       string
	owner     reflect.Type // the struct whose key it is
	index     []int        // for reflect.Value.FieldByIndex
	kind      fieldKind
	list      bool
	pointer   bool         // of a struct
	elem      reflect.Type // the struct, where kind is structField
	dim, x, y quantity.Dim
	need      bool
	min, max  quantity.Limit
	one       []string
	minPoints int
	doc, eg   string
	part      string // kind of parts whose id stands there

	trend, test string // of a curve
}

// plan is what the tags of a struct type say.
type plan struct {
	fields []field
	known  map[string]*field // by key
	names  []string          // their keys, in order
	place  []int             // index of the field that receives the position of the mapping, or nil
	types  []reflect.Type    // the struct, and those that are inline in it
}

// plans keeps the plan of each struct type of the program that was decoded: to read tags takes longer than to fill
// fields, and a library contains hundreds of parts of a dozen types.
var plans sync.Map // reflect.Type → *plan

// planOf returns the plan of a struct type; a mistake in its tags panics.
func planOf(t reflect.Type) *plan {
	if p, ok := plans.Load(t); ok {
		return p.(*plan)
	}
	p := &plan{known: map[string]*field{}}
	p.fields, p.place = fields(t)
	for i := range p.fields {
		f := &p.fields[i]
		p.known[f.key], p.names = f, append(p.names, f.key)
	}
	p.types = inlined(t)
	plans.Store(t, p)
	return p
}

// inlined returns a struct type and all that are inline in it.
func inlined(t reflect.Type) []reflect.Type {
	out := []reflect.Type{t}
	for sf := range t.Fields() {
		if _, option, _ := strings.Cut(sf.Tag.Get("yaml"), ","); option == "inline" {
			out = append(out, inlined(sf.Type)...)
		}
	}
	return out
}

// fields reads the tags of a struct type. place is the index of the field that receives the place of the mapping, or
// nil.
func fields(t reflect.Type) (out []field, place []int) {
	for sf := range t.Fields() {
		sf := sf
		key, option, _ := strings.Cut(sf.Tag.Get("yaml"), ",")
		_, tagged := sf.Tag.Lookup("yaml")
		switch {
		case !tagged && sf.Type == posType && sf.IsExported():
			place = sf.Index
		case !tagged || key == "-":
		case option == "inline":
			if sf.Type.Kind() != reflect.Struct {
				panic(fmt.Sprintf("source: field %s.%s is inline and no struct", t, sf.Name))
			}
			inner, _ := fields(sf.Type)
			for _, f := range inner {
				f.index = append(append([]int(nil), sf.Index...), f.index...)
				out = append(out, f)
			}
		case !sf.IsExported() || key == "":
			panic(fmt.Sprintf("source: field %s.%s needs a key and a capital letter", t, sf.Name))
		default:
			out = append(out, newField(t, sf, key))
		}
	}
	seen := map[string]bool{}
	for _, f := range out {
		if seen[f.key] {
			panic(fmt.Sprintf("source: type %s has the key %q twice", t, f.key))
		}
		seen[f.key] = true
	}
	return out, place
}

func newField(owner reflect.Type, sf reflect.StructField, key string) field {
	wrong := func(format string, args ...any) {
		panic(fmt.Sprintf("source: field %s.%s: %s", owner, sf.Name, fmt.Sprintf(format, args...)))
	}
	tag := sf.Tag.Get
	dim := func(name string) quantity.Dim {
		d, ok := quantity.ByName(tag(name))
		if !ok {
			wrong("the tag %s:%q names no dimension", name, tag(name))
		}
		return d
	}
	f := field{
		key: key, owner: owner, index: sf.Index, need: tag("need") == "yes", doc: tag("doc"), eg: tag("eg"),
		part: tag("part"), minPoints: 2,
	}
	t := sf.Type
	if t.Kind() == reflect.Slice {
		f.list, t = true, t.Elem()
	}
	limits := quantity.None
	switch t {
	case valueType:
		f.kind, f.dim = valueField, dim("dim")
		limits = f.dim
	case textType:
		f.kind = textField
		if one := tag("one"); one != "" {
			f.one = strings.Split(one, "|")
		}
	case wholeType:
		f.kind = wholeField
	case flagType:
		f.kind = flagField
	case pointType:
		f.kind, f.dim = pointField, quantity.Length
		if tag("dim") != "" {
			f.dim = dim("dim")
		}
		limits = f.dim
	case curveType:
		f.kind, f.x, f.y, f.trend, f.test = curveField, dim("x"), dim("y"), tag("trend"), tag("test")
		if f.trend != "" && f.trend != "rises" && f.trend != "falls" {
			wrong("the tag trend:%q says neither rises nor falls", f.trend)
		}
		if n := tag("minpoints"); n != "" {
			var err error
			if f.minPoints, err = strconv.Atoi(n); err != nil || f.minPoints < 1 {
				wrong("the tag minpoints:%q is no number above zero", n)
			}
		}
	default:
		if c, ok := asChoice(t); ok {
			f.kind, f.one = textField, c.values()
			break
		}
		f.kind = structField
		if t.Kind() == reflect.Pointer {
			f.pointer, t = true, t.Elem()
		}
		if t.Kind() != reflect.Struct {
			wrong("the type %s is not one that can be read", sf.Type)
		}
		f.elem = t
	}
	for name, limit := range map[string]*quantity.Limit{"min": &f.min, "max": &f.max} {
		l, err := quantity.ParseLimit(tag(name), limits)
		if err != nil {
			wrong("%v", err)
		}
		if l.Op != "" && (name == "min") != (l.Op[0] == '>') {
			wrong("the tag %s:%q points the wrong way", name, l.Text)
		}
		*limit = l
	}
	return f
}

// example returns what could stand after the key, or "".
func (f *field) example() string {
	switch {
	case f.eg != "":
		return f.eg
	case len(f.one) > 0:
		return f.one[0]
	}
	switch f.kind {
	case valueField:
		return f.dim.Example()
	case wholeField:
		if f.min.Op != "" {
			return strconv.Itoa(int(f.min.Bound))
		}
		return "1"
	case flagField:
		return "true"
	case pointField:
		return "[" + f.dim.Example() + ", " + f.dim.Example() + "]"
	}
	return ""
}
