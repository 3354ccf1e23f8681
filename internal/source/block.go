package source

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"
)

// Bounds of a mapping or list that PutBlock leaves in brackets.
const (
	maxShortItems = 4
	maxShortText  = 60
)

// PutBlock is Put with a mapping or list written over several lines, an entry a line, as the files of parts are written
// by hand. Short mappings within it stay in braces. Where brackets are about it, it is Put.
func (f *File) PutBlock(path, value string) (*File, error) {
	fail := func(err error) (*File, error) {
		return nil, fmt.Errorf("put %s into %s: %w", quote(path), f.name, err)
	}
	sub, err := valueOf(value)
	if err != nil {
		return fail(err)
	}
	if len(f.found) > 0 || sub.kind == scalar {
		return f.Put(path, value)
	}
	if whole, index, ok := lastIndex(path); ok {
		t, err := f.find(whole)
		if err != nil {
			return fail(err)
		}
		switch n := t.node; {
		case index == 0 && (n == nil || n.kind == scalar && n.null || n.kind == list && len(n.items) == 0):
			return f.PutBlock(whole, "["+value+"]")
		case n != nil && n.kind == list && n.flow:
			return f.Put(path, value)
		case n != nil && n.kind == list && !n.flow && index == len(n.items):
			at, err := f.afterLine(n, len(n.items)-1)
			if err != nil {
				return fail(err)
			}
			indent := strings.Repeat(" ", n.col-1)
			text := f.lineBreak() + indent + "- " + strings.TrimLeft(
				blockText(sub, indent+"  ", f.lineBreak(), false),
				"\r\n ",
			)
			return f.checked(path, edit{at, at, text}, placed{at: n, value: sub, item: true, index: index})
		}
	}
	t, err := f.find(path)
	if err != nil {
		return fail(err)
	}
	if t.parent == nil || t.parent.flow || t.parent.kind != mapping || len(t.left) > 1 ||
		t.node != nil && t.key == nil {
		return f.Put(path, value)
	}
	e, want, err := f.blockEdit(t, sub)
	if err != nil {
		return fail(err)
	}
	return f.checked(path, e, want)
}

// AppendBlocks returns the file with items at the end of a list, in one edit: each over several lines, as PutBlock
// writes them, or within the brackets of the list. A list that is missing is begun.
func (f *File) AppendBlocks(path string, values []string) (*File, error) {
	fail := func(err error) (*File, error) {
		return nil, fmt.Errorf("append to %s of %s: %w", quote(path), f.name, err)
	}
	if len(values) == 0 {
		return f, nil
	}
	t, err := f.find(path)
	switch {
	case err != nil:
		return fail(err)
	case len(f.found) > 0:
		return fail(errors.New("the file has problems; put them right first"))
	case t.node == nil || t.node.null || t.node.kind == list && len(t.node.items) == 0:
		g, err := f.PutBlock(path+"[0]", values[0])
		if err != nil {
			return nil, err
		}
		return g.AppendBlocks(path, values[1:])
	case t.node.kind != list:
		return fail(fmt.Errorf("there is %s, not a list", t.node.kind))
	}
	n := t.node
	items := make([]*node, len(values))
	for i, value := range values {
		if items[i], err = valueOf(value); err != nil {
			return fail(err)
		}
	}
	at, err := f.endOfEntry(n, len(n.items)-1)
	if err == nil && !n.flow {
		at, err = f.afterLine(n, len(n.items)-1)
	}
	if err != nil {
		return fail(err)
	}
	var b strings.Builder
	indent := strings.Repeat(" ", n.col-1)
	for i, item := range items {
		if n.flow {
			b.WriteString("," + f.lineBreak() + indent + " " + values[i])
			continue
		}
		text := blockText(item, indent+"  ", f.lineBreak(), false)
		b.WriteString(f.lineBreak() + indent + "- " + strings.TrimLeft(text, "\r\n "))
	}
	want := placed{at: n, value: items[0], more: items[1:], item: true, index: len(n.items)}
	return f.checked(path, edit{at, at, b.String()}, want)
}

// blockEdit returns the edit that puts a mapping or list under a key of a mapping over several lines.
func (f *File) blockEdit(t target, sub *node) (e edit, want placed, err error) {
	if t.node == nil {
		text := blockText(sub, strings.Repeat(" ", t.parent.keys[0].col+1), f.lineBreak(), false)
		e, err = f.insertion(t, t.left[0].key+":"+text, t.parent.placeOf(t.left[0].key))
		return e, placed{at: t.parent, value: sub, left: t.left}, err
	}
	from, err := f.afterColon(t.key)
	if err != nil {
		return e, want, err
	}
	to := from
	if !(t.node.null && t.node.text == "") {
		if to, err = f.end(t.node); err != nil {
			return e, want, err
		}
	}
	text := blockText(sub, strings.Repeat(" ", t.key.col+1), f.lineBreak(), false)
	return edit{from, to, text}, placed{at: t.node, value: sub}, nil
}

// afterLine returns the offset of the end of the last line of an item, behind a comment on it.
func (f *File) afterLine(n *node, i int) (int, error) {
	at, err := f.endOfEntry(n, i)
	if err != nil {
		return 0, err
	}
	for at < len(f.data) && breakAt(f.data, at) == 0 {
		at++
	}
	return at, nil
}

// blockText writes what stands after the colon of a key: a single value after a blank, a mapping or list on lines of
// their own at an indent.
func blockText(n *node, indent, lineBreak string, mayBeShort bool) string {
	if text := flowText(n); n.kind == scalar || mayBeShort && short(n, text) {
		return " " + text
	}
	var b strings.Builder
	for i, item := range n.items {
		b.WriteString(lineBreak + indent)
		if n.kind == mapping {
			b.WriteString(flowText(n.keys[i]) + ":" + blockText(item, indent+"  ", lineBreak, true))
			continue
		}
		b.WriteString("- ")
		b.WriteString(strings.TrimLeft(blockText(item, indent+"  ", lineBreak, len(n.items) > 1), "\r\n "))
	}
	if len(n.items) == 0 {
		return " " + flowText(n)
	}
	return b.String()
}

// short reports whether a mapping or list stays in brackets.
func short(n *node, text string) bool {
	for _, item := range n.items {
		if item.kind != scalar {
			return false
		}
	}
	return len(n.items) <= maxShortItems && utf8.RuneCountInString(text) <= maxShortText
}

// flowText writes a value on one line.
func flowText(n *node) string {
	if n.kind == scalar {
		if n.style != 0 {
			return doubleQuoted(n.text)
		}
		return n.text
	}
	parts := make([]string, len(n.items))
	for i, item := range n.items {
		parts[i] = flowText(item)
		if n.kind == mapping {
			parts[i] = flowText(n.keys[i]) + ": " + parts[i]
		}
	}
	if n.kind == mapping {
		return "{" + strings.Join(parts, ", ") + "}"
	}
	return "[" + strings.Join(parts, ", ") + "]"
}
