package source

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Put returns the file with a whole value at a path: a single value, a list in brackets or a mapping in braces, as YAML
// on one line. Everything else stays byte for byte as it was. What stands at the path is replaced, with the comments
// within it; a key that is missing is put in as Splice does; the index after the last item of a list adds an item, and
// index 0 of a list that is missing begins it. The result has been read again: it says the same as the file does, but
// for that value. It is not decoded: the caller must do that.
func (f *File) Put(path, value string) (*File, error) {
	fail := func(err error) (*File, error) {
		return nil, fmt.Errorf("put %s into %s: %w", quote(path), f.name, err)
	}
	if len(f.found) > 0 {
		return fail(errors.New("the file has problems; put them right first"))
	}
	sub, err := valueOf(value)
	if err != nil {
		return fail(err)
	}
	if whole, index, ok := lastIndex(path); ok {
		t, err := f.find(whole)
		switch {
		case err != nil:
			return fail(err)
		case t.node == nil && index == 0 || t.node != nil && t.node.kind == scalar && t.node.null && index == 0:
			return f.Put(whole, "["+value+"]")
		case t.node != nil && t.node.kind == list && index == len(t.node.items):
			return f.append(path, t, value, sub)
		}
	}
	t, err := f.find(path)
	if err != nil {
		return fail(err)
	}
	var e edit
	want := placed{at: t.node, value: sub}
	if t.node != nil && !(t.node.null && t.node.text == "") {
		from := f.offset(t.node.line, t.node.col)
		to, err := f.end(t.node)
		if err != nil {
			return fail(err)
		}
		e = edit{from, to, value}
	} else if t.node != nil {
		if t.key == nil {
			return fail(errors.New("an empty item cannot be changed; change it by hand"))
		}
		at, err := f.afterColon(t.key)
		if err != nil {
			return fail(err)
		}
		e = edit{at, at, " " + value}
	} else {
		if e, err = f.entryFor(t, value); err != nil {
			return fail(err)
		}
		want = placed{at: t.parent, value: sub, left: t.left}
	}
	return f.checked(path, e, want)
}

// maxValue bounds a value that is put in: it is read as one line with a key before it.
const maxValue = MaxLine - 100

// valueOf reads a value of one line.
func valueOf(value string) (*node, error) {
	switch {
	case len(value) > maxValue:
		return nil, fmt.Errorf("the new text has %d bytes; at most %d are taken", len(value), maxValue)
	case !utf8.ValidString(value) || strings.ContainsFunc(value, func(r rune) bool { return !allowed(r) }):
		return nil, errors.New("the new text contains a character that is not allowed in a file")
	case strings.ContainsAny(value, "\n\r\u0085\u2028\u2029") || value != strings.TrimSpace(value) || value == "":
		return nil, errors.New("the new value must be text on one line")
	}
	g, problems := Read("the new value", []byte("v: "+value+"\n"))
	if g == nil || len(problems) > 0 {
		return nil, fmt.Errorf("the new value cannot be read: %s", problems[0].Msg)
	}
	if len(g.root.items) != 1 || g.root.items[0].kind != scalar && !g.root.items[0].flow {
		return nil, errors.New("the new value must be a single value, a list in brackets or a mapping in braces")
	}
	return g.root.items[0], nil
}

// lastIndex takes the index of an item off a path: supplies[1] is item 1 of supplies.
func lastIndex(path string) (before string, index int, ok bool) {
	at := strings.LastIndexByte(path, '[')
	if at < 0 || !strings.HasSuffix(path, "]") {
		return "", 0, false
	}
	digits := path[at+1 : len(path)-1]
	index, err := strconv.Atoi(digits)
	return path[:at], index, err == nil && index >= 0 && digits == strconv.Itoa(index)
}

// append adds an item to a list.
func (f *File) append(path string, t target, value string, sub *node) (*File, error) {
	return f.insertItem(path, t.node, len(t.node.items), value, sub)
}

// insertItem puts an item into a list, before the one of an index or behind the last. Comments on lines of their own
// belong to the item under them, but at the beginning of a list.
func (f *File) insertItem(path string, n *node, index int, value string, sub *node) (*File, error) {
	var e edit
	start := f.offset(n.line, n.col)
	newLine := f.lineBreak() + strings.Repeat(" ", n.col-1)
	switch {
	case index > 0:
		at, err := f.endOfEntry(n, index-1)
		if err != nil {
			return nil, fmt.Errorf("put %s into %s: %w", quote(path), f.name, err)
		}
		e = edit{at, at, ", " + value}
		if !n.flow {
			for at < len(f.data) && breakAt(f.data, at) == 0 { // keep a comment after the item on its line
				at++
			}
			e = edit{at, at, newLine + "- " + value}
		}
	case !n.flow:
		e = edit{start, start, "- " + value + newLine}
	case len(n.items) == 0:
		e = edit{start + 1, start + 1, value}
	default:
		e = edit{start + 1, start + 1, value + ", "}
	}
	return f.checked(path, e, placed{at: n, value: sub, item: true, index: index})
}

// checked makes an edit, reads the result and compares it with what is wanted.
func (f *File) checked(path string, e edit, want placed) (*File, error) {
	data := f.data[:e.from] + e.text + f.data[e.to:]
	got, problems := Read(f.name, []byte(f.bom+data))
	if len(problems) > 0 || got == nil || outline(got.root, placed{}) != outline(f.root, want) {
		return nil, fmt.Errorf("put %s into %s: the text about it cannot be changed without touching more; change it "+
			"by hand", quote(path), f.name)
	}
	return got, nil
}

// placed is a value in a tree: in the place of the node at, or in it under missing keys or as a further item.
type placed struct {
	at    *node
	value *node
	left  []step
	item  bool
	index int     // of the further item
	more  []*node // items that follow it
}

// outline writes what a tree says, with a value placed in it, so that two trees can be compared.
func outline(n *node, w placed) string {
	var b strings.Builder
	var write func(n *node)
	write = func(n *node) {
		entries, items := slices.Clone(n.keys), slices.Clone(n.items)
		empty := n.kind == scalar
		if w.at != nil && n == w.at {
			switch {
			case w.item:
				items = slices.Insert(items, w.index, append([]*node{w.value}, w.more...)...)
			case len(w.left) == 0:
				w.at = nil // the value may be a part of the tree
				write(w.value)
				w.at = n
				return
			default:
				place := 0
				if empty = false; n.kind == mapping {
					place = n.placeOf(w.left[0].key)
				}
				v := w.value
				for _, s := range slices.Backward(w.left[1:]) {
					v = &node{kind: mapping, keys: []*node{{text: s.key}}, items: []*node{v}}
				}
				entries = slices.Insert(entries, place, &node{text: w.left[0].key})
				items = slices.Insert(items, place, v)
			}
		}
		if empty {
			fmt.Fprintf(&b, "%q %t,", n.text, n.null)
			return
		}
		b.WriteByte('(')
		for i := range items {
			if len(entries) > 0 {
				fmt.Fprintf(&b, "%q:", entries[i].text)
			}
			write(items[i])
		}
		b.WriteByte(')')
	}
	write(n)
	return b.String()
}

// PutAll returns the file with settings put into it in their order, see Put; one without a text is taken away, see
// Removed. The error is that of the first setting that fails.
func (f *File) PutAll(sets []Setting) (*File, error) {
	var err error
	for _, s := range sets {
		if s.Text == "" {
			f, err = f.Removed(s.Path)
		} else {
			f, err = f.Put(s.Path, s.Text)
		}
		if err != nil {
			return nil, err
		}
	}
	return f, nil
}

// Without returns the file without an item of a list, and everything else byte for byte as it was but for the comment
// on the item's own line. The only item of a list cannot be taken away: the list goes with its key, by Removed.
func (f *File) Without(path string) (*File, error) {
	fail := func(err error) (*File, error) {
		return nil, fmt.Errorf("take away %s in %s: %w", quote(path), f.name, err)
	}
	whole, index, ok := lastIndex(path)
	if len(f.found) > 0 || !ok {
		return fail(errors.New("it is not an item of a list in a file without problems"))
	}
	t, err := f.find(whole)
	switch {
	case err != nil:
		return fail(err)
	case t.node == nil || t.node.kind != list || index >= len(t.node.items):
		return fail(errors.New("it does not stand there"))
	case len(t.node.items) == 1:
		return fail(errors.New("it is all that is there; take the whole list away"))
	}
	e, err := f.itemEdit(t.node, index)
	if err != nil {
		return fail(err)
	}
	data := f.data[:e.from] + f.data[e.to:]
	got, problems := Read(f.name, []byte(f.bom+data))
	if len(problems) > 0 || got == nil || !sameBut(f.root, got.root, t.node, index) {
		return fail(errors.New("the text about it cannot be changed without touching more; change it by hand"))
	}
	return got, nil
}

// itemEdit returns the edit that takes an item of a list out.
func (f *File) itemEdit(n *node, i int) (edit, error) {
	to, err := f.endOfEntry(n, i)
	if err != nil {
		return edit{}, err
	}
	if n.flow {
		if i > 0 { // with the comma before it
			from, err := f.endOfEntry(n, i-1)
			return f.wholeLine(from, to), err
		}
		return f.wholeLine(f.offset(n.items[0].line, n.items[0].col), f.offset(n.items[1].line, n.items[1].col)), nil
	}
	dash := strings.LastIndexByte(f.data[:f.offset(n.items[i].line, n.items[i].col)], '-')
	from := dash - n.col + 1
	if dash < 0 || from < 0 || strings.Trim(f.data[from:dash], " ") != "" {
		return edit{}, errExtent // another dash before it
	}
	for to < len(f.data) && breakAt(f.data, to) == 0 {
		to++
	}
	if to < len(f.data) {
		return edit{from, to + breakAt(f.data, to), ""}, nil
	}
	return edit{from - breakBefore(f.data, from), to, ""}, nil // the last line, which has no break
}
