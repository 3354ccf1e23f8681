package source

import (
	"fmt"
	"slices"
)

// PutItems is Put with a list of mappings in the place of another one, item by item: an item that says the same keeps
// its text, of one that does not only the values that differ are changed, and comments stay with their items. Where
// the text permits no such changes, and for any other value, it is Put.
func (f *File) PutItems(path, value string) (*File, error) {
	t, err := f.find(path)
	sub, wrong := valueOf(value)
	if err != nil || wrong != nil || len(f.found) > 0 || !mappings(t.node) || !mappings(sub) {
		return f.Put(path, value)
	}
	if g, err := f.itemByItem(path, t.node.items, sub.items); err == nil {
		return g, nil
	}
	return f.Put(path, value)
}

// mappings reports whether a node is a list of mappings alone, and of at least one.
func mappings(n *node) bool {
	return n != nil && n.kind == list && len(n.items) > 0 &&
		!slices.ContainsFunc(n.items, func(item *node) bool { return item.kind != mapping })
}

// itemPair is an item of a list and the one that takes its place; one of them is -1 where there is none.
type itemPair struct{ was, now int }

// itemByItem changes the items of a list one by one, the last ones first, so that the others keep their paths.
func (f *File) itemByItem(path string, was, now []*node) (*File, error) {
	before := len(was)
	for _, p := range slices.Backward(paired(was, now)) {
		var err error
		switch {
		case p.now < 0:
			before = p.was
			f, err = f.Without(fmt.Sprintf("%s[%d]", path, p.was))
		case p.was < 0:
			var t target
			if t, err = f.find(path); err == nil {
				item := now[p.now]
				f, err = f.insertItem(path, t.node, before, flowText(item), item)
			}
		default:
			before = p.was
			f, err = f.entryByEntry(fmt.Sprintf("%s[%d]", path, p.was), was[p.was], now[p.now])
		}
		if err != nil {
			return nil, err
		}
	}
	return f, nil
}

// entryByEntry makes a mapping say what another one does.
func (f *File) entryByEntry(path string, was, now *node) (*File, error) {
	var err error
	for i, key := range now.keys {
		at, value := path+"."+key.text, now.items[i]
		switch old := entryOf(was, key.text); {
		case old != nil && same(old, value):
		case old != nil && old.kind == scalar && value.kind == scalar:
			f, err = f.Spliced(at, value.text)
		default:
			f, err = f.Put(at, flowText(value))
		}
		if err != nil {
			return nil, err
		}
	}
	for _, key := range was.keys {
		if entryOf(now, key.text) != nil {
			continue
		}
		if f, err = f.Removed(path + "." + key.text); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// entryOf returns the value of a key of a mapping; nil where it has none.
func entryOf(n *node, key string) *node {
	if i := slices.IndexFunc(n.keys, func(k *node) bool { return k.text == key }); i >= 0 {
		return n.items[i]
	}
	return nil
}

// same reports whether two nodes say the same.
func same(a, b *node) bool { return outline(a, placed{}) == outline(b, placed{}) }

// paired pairs the items of two lists in their order, so that as many values as possible are the same.
func paired(was, now []*node) (out []itemPair) {
	// best[i][j] is the greatest sum of likeness of the items from i and from j on.
	best := make([][]int, len(was)+1)
	for i := range best {
		best[i] = make([]int, len(now)+1)
	}
	for i := len(was) - 1; i >= 0; i-- {
		for j := len(now) - 1; j >= 0; j-- {
			best[i][j] = max(best[i+1][j], best[i][j+1], likeness(was[i], now[j])+best[i+1][j+1])
		}
	}
	i, j := 0, 0
	for i < len(was) && j < len(now) {
		switch best[i][j] {
		case likeness(was[i], now[j]) + best[i+1][j+1]:
			out = append(out, itemPair{i, j})
			i, j = i+1, j+1
		case best[i+1][j]:
			out = append(out, itemPair{i, -1})
			i++
		default:
			out = append(out, itemPair{-1, j})
			j++
		}
	}
	for ; i < len(was); i++ {
		out = append(out, itemPair{i, -1})
	}
	for ; j < len(now); j++ {
		out = append(out, itemPair{-1, j})
	}
	return out
}

// likeness counts what two mappings have in common; two that have nothing in common are still better one for the
// other than one taken away and one put in.
func likeness(a, b *node) int {
	n := 1
	for i, key := range a.keys {
		if v := entryOf(b, key.text); v != nil && same(a.items[i], v) {
			n += 2
		}
	}
	return n
}
