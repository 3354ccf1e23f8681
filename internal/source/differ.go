package source

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/quantity"
)

// Difference is one value that two files do not hold alike. A list of plain values, such as a place on a board, is one value.
type Difference struct {
	Steps    []Step // the way to it
	A, B     string // as they stand, without quotes; empty where there is none
	InA, InB bool   // whether it is there
	AtA, AtB Pos
}

// Step is a key on the way to a value, with the item of the list that is beneath it, where one does.
type Step struct {
	Key  string
	Item string // its name, id, what or part where it has one, else its number from 1 on
}

// Differ returns the values beneath a path of a that do not say the same as those beneath a path of b, in the order of b;
// what only a has comes after its neighbours. Either may be nil, or lack the path: all of the other is then a difference.
//
// Items of lists are matched by their names, so that a channel that moved differs in nothing. One that was given another
// name is matched by its place. 0.35 A says the same as 350 mA, and a value alone the same as {value: …}.
func Differ(a *File, pathA string, b *File, pathB string) []Difference {
	d := differ{a: a, b: b}
	root := func(f *File, path string) *node {
		if f == nil {
			return nil
		}
		t, err := f.find(path)
		if err != nil {
			return nil
		}
		return t.node
	}
	d.walk(nil, root(a, pathA), root(b, pathB))
	return d.out
}

type differ struct {
	a, b *File
	out  []Difference
}

func (d *differ) walk(steps []Step, a, b *node) {
	switch {
	case a == nil && b == nil:
		return
	case branches(a, b, mapping):
		d.mappings(steps, a, b)
	case branches(a, b, list) && (holdsMappings(a) || holdsMappings(b)):
		d.lists(steps, a, b)
	case a != nil && b != nil && valued(a) != valued(b) && (a.kind == scalar || b.kind == scalar):
		// One has a value alone, the other one with its source or tolerance.
		if valued(a) {
			d.walk(steps, a.get("value"), b)
			d.besides(steps, a, nil)
		} else {
			d.walk(steps, a, b.get("value"))
			d.besides(steps, nil, b)
		}
	default:
		one := Difference{Steps: slices.Clone(steps), InA: a != nil, InB: b != nil}
		if a != nil {
			one.A, one.AtA = inline(a), d.a.pos(a, "")
		}
		if b != nil {
			one.B, one.AtB = inline(b), d.b.pos(b, "")
		}
		if !one.InA || !one.InB || !saysSame(one.A, one.B) {
			d.out = append(d.out, one)
		}
	}
}

// branches reports whether what is there of two nodes is of a kind, with something in it.
func branches(a, b *node, k kind) bool {
	return (a == nil || a.kind == k) && (b == nil || b.kind == k) && (a != nil && len(a.items) > 0 || b != nil && len(b.items) > 0)
}

func valued(n *node) bool { return n.kind == mapping && n.get("value") != nil }

func holdsMappings(n *node) bool {
	return n != nil && slices.ContainsFunc(n.items, func(i *node) bool { return i.kind == mapping })
}

// besides walks what is beside the value of a mapping.
func (d *differ) besides(steps []Step, a, b *node) {
	for _, n := range []*node{a, b} {
		for i := range keysOfNode(n) {
			switch {
			case n.keys[i].text == "value":
			case n == a:
				d.walk(append(slices.Clip(steps), Step{Key: n.keys[i].text}), n.items[i], nil)
			default:
				d.walk(append(slices.Clip(steps), Step{Key: n.keys[i].text}), nil, n.items[i])
			}
		}
	}
}

func keysOfNode(n *node) []*node {
	if n == nil {
		return nil
	}
	return n.keys
}

func (d *differ) mappings(steps []Step, a, b *node) {
	under := func(n *node, key string) *node {
		if n == nil {
			return nil
		}
		return n.get(key)
	}
	step := func(key string) []Step {
		if key == "value" && len(steps) > 0 && (a == nil || valued(a)) && (b == nil || valued(b)) {
			return steps
		}
		return append(slices.Clip(steps), Step{Key: key})
	}
	for _, k := range keysOfNode(b) {
		d.walk(step(k.text), under(a, k.text), under(b, k.text))
	}
	for _, k := range keysOfNode(a) {
		if under(b, k.text) == nil {
			d.walk(step(k.text), under(a, k.text), nil)
		}
	}
}

func (d *differ) lists(steps []Step, a, b *node) {
	namesA, namesB := called(a), called(b)
	partner := make([]int, len(namesB)) // of each item of b, in a
	taken := make([]bool, len(namesA))
	for i, name := range namesB {
		if partner[i] = slices.Index(namesA, name); partner[i] >= 0 {
			taken[partner[i]] = true
		}
	}
	step := func(name string) []Step {
		out := slices.Clone(steps)
		if len(out) == 0 {
			return []Step{{Item: name}}
		}
		last := &out[len(out)-1]
		last.Item = strings.TrimSpace(last.Item + " " + name)
		return out
	}
	for i, name := range namesB {
		at := partner[i]
		if at < 0 && i < len(namesA) && !taken[i] {
			at, taken[i] = i, true
			name = namesA[i] // by which both know it
		}
		if at < 0 {
			d.walk(step(name), nil, b.items[i])
			continue
		}
		d.walk(step(name), a.items[at], b.items[i])
	}
	for i, name := range namesA {
		if !taken[i] {
			d.walk(step(name), a.items[i], nil)
		}
	}
}

// called returns a name for each item of a list, no two alike.
func called(n *node) (names []string) {
	if n == nil {
		return nil
	}
	taken, last := map[string]bool{}, map[string]int{}
	for i, item := range n.items {
		name := fmt.Sprint(i + 1)
		if item.kind == mapping {
			for _, key := range []string{"name", "id", "what", "part"} {
				if v := item.get(key); v != nil && v.kind == scalar && v.text != "" {
					name = v.text
					break
				}
			}
		}
		own := name
		for again := max(2, last[name]+1); taken[own]; again++ {
			own, last[name] = fmt.Sprintf("%s (%d)", name, again), again
		}
		taken[own] = true
		names = append(names, own)
	}
	return names
}

// inline returns the text of a node in one line.
func inline(n *node) string {
	if n.kind == scalar {
		return strings.Join(strings.Fields(n.text), " ")
	}
	var b strings.Builder
	open, end := "[", "]"
	if n.kind == mapping {
		open, end = "{", "}"
	}
	b.WriteString(open)
	for i, item := range n.items {
		if i > 0 {
			b.WriteString(", ")
		}
		if n.kind == mapping {
			b.WriteString(n.keys[i].text + ": ")
		}
		b.WriteString(inline(item))
	}
	b.WriteString(end)
	return b.String()
}

// saysSame reports whether two texts are the same, or the same quantity in other units.
func saysSame(a, b string) bool {
	if a == b {
		return true
	}
	near := func(x, y float64) bool { return math.Abs(x-y) <= 1e-9*math.Max(math.Abs(x), math.Abs(y)) }
	for _, dim := range quantity.Dims() {
		va, loA, hiA, errA := quantity.ParseTolerance(a, dim)
		if errA != nil {
			continue
		}
		vb, loB, hiB, errB := quantity.ParseTolerance(b, dim)
		if errB == nil && near(va, vb) && near(loA, loB) && near(hiA, hiB) {
			return true
		}
	}
	return false
}
