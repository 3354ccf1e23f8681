package source

import (
	"fmt"
	"reflect"
)

// Leaf is one scalar of a file.
type Leaf struct {
	Path string // as Splice takes it
	Text string // as it is, without quotes
	At   Pos
}

// Leaves returns every scalar at or beneath a path, in the order of the file.
func (f *File) Leaves(path string) []Leaf {
	t, err := f.find(path)
	if err != nil || t.node == nil {
		return nil
	}
	var out []Leaf
	var walk func(n *node, path string)
	walk = func(n *node, path string) {
		switch n.kind {
		case mapping:
			for i, k := range n.keys {
				walk(n.items[i], join(path, k.text))
			}
		case list:
			for i, item := range n.items {
				walk(item, fmt.Sprintf("%s[%d]", path, i))
			}
		default:
			out = append(out, Leaf{path, n.text, f.pos(n, path)})
		}
	}
	walk(t.node, path)
	return out
}

// Key is what a reader of a mapping may find under one of its keys.
type Key struct {
	Key     string   `json:"key"`
	Doc     string   `json:"doc"`
	Example string   `json:"eg,omitempty"`
	One     []string `json:"one,omitempty"` // the words that may stand there
	Need    bool     `json:"need,omitempty"`
	Curve   bool     `json:"curve,omitempty"`
	X       string   `json:"x,omitempty"` // of a curve: what is against what
	Y       string   `json:"y,omitempty"`
	XUnits  []string `json:"x_units,omitempty"`
	Trend   string   `json:"trend,omitempty"` // of a curve: rises or falls, where it can do nothing else
	Test    string   `json:"test,omitempty"`  // of a curve: the key of the test point that it must agree with
	Units   []string `json:"units,omitempty"` // of a value, or of y of a curve
	Limits  string   `json:"limits,omitempty"`
	List    bool     `json:"list,omitempty"`
	Keys    []Key    `json:"keys,omitempty"` // where a mapping is there
}

// Keys returns the keys of a struct as Decode reads them, in the order of the format.
func Keys(v any) []Key { return keysOf(reflect.TypeOf(v)) }

func keysOf(t reflect.Type) []Key {
	list, _ := fields(t)
	out := make([]Key, 0, len(list))
	for i := range list {
		fl := &list[i]
		k := Key{
			Key: fl.key, Doc: fl.doc, Example: fl.example(), One: fl.one, Need: fl.need, Curve: fl.kind == curveField,
			List: fl.list, Limits: fl.limits(),
		}
		switch fl.kind {
		case curveField:
			k.X, k.Y, k.XUnits, k.Units = fl.x.Name(), fl.y.Name(), fl.x.Units(), fl.y.Units()
			k.Trend, k.Test = fl.trend, fl.test
		case valueField, pointField:
			k.Units = fl.dim.Units()
		}
		if fl.kind == structField && fl.elem != t {
			k.Keys, k.Example = keysOf(fl.elem), ""
		}
		out = append(out, k)
	}
	return out
}
