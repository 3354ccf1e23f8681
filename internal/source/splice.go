package source

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"lampwright/internal/quantity"
)

// maxSplice bounds a new text, so that an edit cannot make a file that Read refuses for its size alone.
const maxSplice = 4096

// Setting is a value of a file by its path, as Splice puts it in.
type Setting struct {
	Path string `json:"path"` // channels[0].current
	Text string `json:"text"`
}

// Splice returns the file with the value at a path replaced by newText, and everything else (comments, spacing, order,
// quoting) byte for byte as it was.
//
// A value that is a mapping {value: …} has its value changed. A key that its mapping lacks is put in as a new line at
// the end of the mapping, or before its closing brace; a point of a curve where the curve's keys go on growing. Where
// whole mappings are missing on the way, they are put in as well, in braces. Quotes are kept, and put in where the text
// needs them. The result has been read again: it says the same as the file does, but for the new value. It is not
// decoded: the caller must do that.
func (f *File) Splice(path, newText string) ([]byte, error) {
	g, err := f.Spliced(path, newText)
	if err != nil {
		return nil, err
	}
	return g.Text(), nil
}

// Text returns the file as it was read.
func (f *File) Text() []byte { return []byte(f.bom + f.data) }

// Spliced is Splice with the result taken apart, as Read would.
func (f *File) Spliced(path, newText string) (*File, error) {
	fail := func(err error) (*File, error) {
		return nil, fmt.Errorf("change %s in %s: %w", quote(path), f.name, err)
	}
	switch {
	case len(f.found) > 0:
		return fail(errors.New("the file has problems; put them right first"))
	case len(newText) > maxSplice:
		return fail(fmt.Errorf("the new text has %d bytes; at most %d are taken", len(newText), maxSplice))
	case !utf8.ValidString(newText) || strings.ContainsFunc(newText, func(r rune) bool { return !allowed(r) }):
		return fail(errors.New("the new text contains characters that is not allowed in a file"))
	case path == "":
		return fail(errors.New("a path is due, such as channels[0].current"))
	}
	t, err := f.find(path)
	if err != nil {
		return fail(err)
	}
	if t.node != nil && t.node.kind == mapping {
		if v := t.node.get("value"); v != nil {
			return f.Spliced(join(path, "value"), newText)
		}
	}
	var edits []edit
	switch {
	case t.node == nil:
		edits, err = f.insertions(t, newText)
	case t.node.kind != scalar:
		return fail(fmt.Errorf("%s is there at %s; only a single value can be changed", t.node.kind, f.pos(t.node, "")))
	default:
		edits, err = f.replacements(t, newText)
	}
	if err != nil {
		return fail(err)
	}
	want := change{at: t.node, text: newText, left: t.left}
	if t.node == nil {
		want.at, want.place = t.parent, t.parent.placeOf(t.left[0].key)
	}
	for _, e := range edits {
		if got := f.exchanged(t.node, e); got != nil {
			return got, nil
		}
		data := f.data[:e.from] + e.text + f.data[e.to:]
		if got, problems := Read(f.name, []byte(f.bom+data)); len(problems) == 0 && want.same(f.root, got.root) {
			return got, nil
		}
	}
	return fail(errors.New("the text about it cannot be changed without touching more; change it by hand"))
}

// exchanged returns the file with one plain number in the place of another, without a run of the YAML library, which
// takes ten times as long as all else that is done with a slider's value; nil where it is not sure that Read would find
// just that.
//
// Where a plain text of one line is, a number with its unit can stand: whatever ends the one ends the other. What comes
// after it on its line moves, all else stays.
func (f *File) exchanged(n *node, e edit) *File {
	if n == nil || n.kind != scalar || n.style != 0 || n.refused || n.null || n.text != f.data[e.from:e.to] ||
		!plainNumber(e.text) {
		return nil
	}
	out := &File{name: f.name, bom: f.bom, data: f.data[:e.from] + e.text + f.data[e.to:]}
	out.starts = lineStarts(out.data)
	if len(out.bom)+len(out.data) > MaxBytes || len(out.data)-len(f.data)+len(f.lineText(n.line)) > MaxLine-4 {
		return nil
	}
	out.root = f.root.with(n, e.text, utf8.RuneCountInString(e.text)-utf8.RuneCountInString(n.text))
	return out
}

// plainNumber reports whether a text begins with a digit and holds nothing that means anything to YAML.
func plainNumber(text string) bool {
	for i, r := range text {
		switch {
		case i == 0 && (r < '0' || r > '9'):
			return false
		case r == ' ' || unicode.IsLetter(r) || r >= '0' && r <= '9' || strings.ContainsRune(".%°/·²³±−-", r):
		default:
			return false
		}
	}
	return text != "" && text == strings.TrimSpace(text)
}

// with returns a tree with another text in one of its scalars, and what follows on that line moved by so many columns.
// What stays as it is belongs to both trees: nobody writes to a tree.
func (n *node) with(at *node, text string, by int) *node {
	out := n
	change := func() *node {
		if out == n {
			c := *n
			c.keys, c.items = slices.Clone(n.keys), slices.Clone(n.items)
			out = &c
		}
		return out
	}
	switch {
	case n == at:
		change().text = text
	case by != 0 && n.line == at.line && n.col > at.col:
		change().col += by
	}
	for _, list := range []func(*node) []*node{
		func(n *node) []*node { return n.keys },
		func(n *node) []*node { return n.items },
	} {
		for i, c := range list(n) {
			if moved := c.with(at, text, by); moved != c {
				list(change())[i] = moved
			}
		}
	}
	return out
}

// edit puts text in place of data[from:to].
type edit struct {
	from, to int
	text     string
}

// written returns the ways to write a text as a scalar, the one that suits the style first. Not all of them are right
// everywhere: the caller reads the result again.
func written(text string, style yaml.Style) (ways []string) {
	single := "'" + strings.ReplaceAll(text, "'", "''") + "'"
	double := doubleQuoted(text)
	oneLine := !strings.ContainsAny(text, "\n\r\t\u0085\u2028\u2029")
	if style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) == 0 && oneLine && text != "" &&
		text == strings.TrimSpace(text) {
		ways = append(ways, text)
	}
	if style&yaml.DoubleQuotedStyle == 0 && oneLine {
		ways = append(ways, single)
	}
	return append(ways, double)
}

func doubleQuoted(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch r {
		case '"', '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case '\n':
			b.WriteString(`\n`)
		case '\r':
			b.WriteString(`\r`)
		case '\t':
			b.WriteString(`\t`)
		case 0x85, 0x2028, 0x2029:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// replacements returns the edits that put a text in place of a scalar.
func (f *File) replacements(t target, text string) (edits []edit, err error) {
	if t.node.text == "" && t.node.null {
		if t.key == nil {
			return nil, errors.New("an empty item cannot be changed; change it by hand")
		}
		at, err := f.afterColon(t.key)
		if err != nil {
			return nil, err
		}
		for _, w := range written(text, 0) {
			edits = append(edits, edit{at, at, " " + w})
		}
		return edits, nil
	}
	from := f.offset(t.node.line, t.node.col)
	to, err := f.end(t.node)
	if err != nil {
		return nil, err
	}
	for _, w := range written(text, t.node.style) {
		edits = append(edits, edit{from, to, w})
	}
	return edits, nil
}

// insertions returns the edits that put missing keys into the innermost mapping that is there.
func (f *File) insertions(t target, text string) (edits []edit, err error) {
	for _, w := range written(text, 0) {
		e, err := f.entryFor(t, w)
		if err != nil {
			return nil, err
		}
		edits = append(edits, e)
	}
	return edits, nil
}

// entryFor returns the edit that puts missing keys with a value, as it is written, into the innermost mapping that is
// there.
func (f *File) entryFor(t target, value string) (edit, error) {
	for _, s := range t.left {
		if s.bracket && strings.Trim(s.key, "0123456789") == "" {
			return edit{}, fmt.Errorf("there is no list to hold item [%s]", s.key)
		}
	}
	for i := len(t.left) - 1; i > 0; i-- {
		value = "{" + t.left[i].key + ": " + value + "}"
	}
	return f.insertion(t, t.left[0].key+": "+value, t.parent.placeOf(t.left[0].key))
}

func (f *File) insertion(t target, entry string, place int) (edit, error) {
	n := t.parent
	if n.kind == scalar { // an empty value, as in "day:"
		if t.above == nil || n.text != "" {
			return edit{}, errors.New("there is no mapping to hold it")
		}
		at, err := f.afterColon(t.above)
		return edit{at, at, " {" + entry + "}"}, err
	}
	if n.flow {
		start := f.offset(n.line, n.col)
		if !strings.HasPrefix(f.data[start:], "{") {
			return edit{}, errors.New("its mapping has no braces to put it in")
		}
		if len(n.items) == 0 {
			return edit{start + 1, start + 1, entry}, nil
		}
		if place == 0 {
			at := f.offset(n.keys[0].line, n.keys[0].col)
			return edit{at, at, entry + ", "}, nil
		}
		at, err := f.endOfEntry(n, place-1)
		return edit{at, at, ", " + entry}, err
	}
	brk := f.lineBreak()
	indent := strings.Repeat(" ", n.keys[0].col-1)
	if place == 0 {
		at := f.offset(n.keys[0].line, n.keys[0].col)
		return edit{at, at, entry + brk + indent}, nil
	}
	at, err := f.endOfEntry(n, place-1)
	if err != nil {
		return edit{}, err
	}
	for at < len(f.data) && breakAt(f.data, at) == 0 { // keep a comment after the value on its line
		at++
	}
	return edit{at, at, brk + indent + entry}, nil
}

// lineBreak returns how the file ends its lines.
func (f *File) lineBreak() string {
	if len(f.starts) > 1 && strings.HasSuffix(f.data[:f.starts[1]], "\r\n") {
		return "\r\n"
	}
	return "\n"
}

// placeOf returns where a new key belongs in a mapping: among the keys of a curve, which are quantities of one
// dimension that grow, before the first that is greater; else at the end.
func (n *node) placeOf(key string) int {
	for _, dim := range quantity.Dims() {
		x, err := quantity.Parse(key, dim)
		if err != nil {
			continue
		}
		last, place := math.Inf(-1), len(n.keys)
		for i, k := range n.keys {
			v, err := quantity.Parse(k.text, dim)
			if err != nil || !(v > last) {
				place = -1 // no curve over this dimension
				break
			}
			if v > x && place == len(n.keys) {
				place = i
			}
			last = v
		}
		if place >= 0 {
			return place
		}
	}
	return len(n.keys)
}

// Removed returns the file without a key and its value, and everything else byte for byte as it was but for the comment
// on the value's own line. Items of lists, and what a mapping holds alone, are left to be changed by hand. The result
// has been read again: it says the same as the file does, but for that key.
func (f *File) Removed(path string) (*File, error) {
	fail := func(err error) (*File, error) {
		return nil, fmt.Errorf("take away %s in %s: %w", quote(path), f.name, err)
	}
	if len(f.found) > 0 {
		return fail(errors.New("the file has problems; put them right first"))
	}
	t, err := f.find(path)
	switch {
	case err != nil:
		return fail(err)
	case t.node == nil || t.parent == nil:
		return fail(errors.New("it does not stand there"))
	case t.key == nil:
		return fail(errors.New("an item of a list cannot be taken away; change it by hand"))
	case len(t.parent.items) == 1:
		return fail(errors.New("it is all that is there; change it by hand"))
	}
	i := slices.Index(t.parent.keys, t.key)
	e, err := f.removal(t.parent, i)
	if err != nil {
		return fail(err)
	}
	data := f.data[:e.from] + f.data[e.to:]
	if got, problems := Read(f.name, []byte(f.bom+data)); len(problems) == 0 && sameBut(f.root, got.root, t.parent, i) {
		return got, nil
	}
	return fail(errors.New("the text about it cannot be changed without touching more; change it by hand"))
}

// removal returns the edit that takes an entry of a mapping out.
func (f *File) removal(n *node, i int) (edit, error) {
	from := f.offset(n.keys[i].line, n.keys[i].col)
	to, err := f.endOfEntry(n, i)
	if err != nil {
		return edit{}, err
	}
	if n.flow {
		if i == len(n.items)-1 { // with the comma before it, where nothing is between
			before, err := f.endOfEntry(n, i-1)
			if strings.Trim(f.data[before:from], " \t,") == "" {
				return edit{before, to, ""}, err
			}
			return f.wholeLine(from, to), err
		}
		for to < len(f.data) && f.data[to] != ',' && strings.ContainsRune(" \t\r\n", rune(f.data[to])) {
			to++
		}
		if to >= len(f.data) || f.data[to] != ',' {
			return edit{}, errExtent
		}
		for to++; to < len(f.data) && (f.data[to] == ' ' || f.data[to] == '\t'); {
			to++
		}
		return f.wholeLine(from, to), nil
	}
	start := f.starts[n.keys[i].line-1]
	first := strings.TrimLeft(f.data[start:from], " ") != "" // after the dash of an item
	for to < len(f.data) && breakAt(f.data, to) == 0 {
		to++
	}
	size := 0
	if to < len(f.data) {
		size = breakAt(f.data, to)
	}
	switch {
	case first && i+1 < len(n.keys): // the next key takes its place
		next := f.offset(n.keys[i+1].line, n.keys[i+1].col)
		if strings.TrimSpace(f.data[to:next]) != "" { // a comment that is of another value
			return edit{}, errExtent
		}
		return edit{from, next, ""}, nil
	case size > 0:
		return edit{start, to + size, ""}, nil
	case start > 0: // the last line, which has no break
		return edit{start - breakBefore(f.data, start), to, ""}, nil
	}
	return edit{start, to, ""}, nil
}

// wholeLine widens a cut that would leave a line blank to that line.
func (f *File) wholeLine(from, to int) edit {
	before := strings.TrimRight(f.data[:from], " \t")
	size := 0
	if to < len(f.data) {
		size = breakAt(f.data, to)
	}
	if size > 0 && (before == "" || breakBefore(f.data, len(before)) > 0) {
		return edit{len(before), to + size, ""}
	}
	return edit{from, to, ""}
}

// breakBefore returns the length of the line break that ends at an offset, or 0.
func breakBefore(data string, at int) int {
	switch {
	case strings.HasSuffix(data[:at], "\r\n"):
		return 2
	case strings.HasSuffix(data[:at], "\n"), strings.HasSuffix(data[:at], "\r"):
		return 1
	}
	return 0
}

// sameBut reports whether b is the tree a without one entry of the mapping at.
func sameBut(a, b, at *node, gone int) bool {
	n := len(a.items)
	if a == at {
		n--
	}
	if a.kind != b.kind || len(b.items) != n || a.text != b.text || a.null != b.null {
		return false
	}
	j := 0
	for i := range a.items {
		if a == at && i == gone {
			continue
		}
		if len(a.keys) > 0 && a.keys[i].text != b.keys[j].text || !sameBut(a.items[i], b.items[j], at, gone) {
			return false
		}
		j++
	}
	return true
}

var errExtent = errors.New("its end cannot be found; change it by hand")

// afterColon returns the offset after the colon that follows a key.
func (f *File) afterColon(key *node) (int, error) {
	at, err := f.end(key)
	if err != nil {
		return 0, err
	}
	for at < len(f.data) && (f.data[at] == ' ' || f.data[at] == '\t') {
		at++
	}
	if at >= len(f.data) || f.data[at] != ':' {
		return 0, errExtent
	}
	return at + 1, nil
}

// endOfEntry returns the offset after an item of a list, or after a key and its value.
func (f *File) endOfEntry(n *node, i int) (int, error) {
	item := n.items[i]
	if item.kind == scalar && item.null && item.text == "" {
		if n.kind == mapping {
			at, err := f.afterColon(n.keys[i])
			if err != nil {
				return f.end(n.keys[i]) // a key alone, as in {a, b}
			}
			return at, nil
		}
		return len(strings.TrimRight(f.data[:f.offset(item.line, item.col)], " \t\r\n")), nil
	}
	return f.end(item)
}

// end returns the offset after a node's text.
func (f *File) end(n *node) (int, error) {
	at := f.offset(n.line, n.col)
	if n.kind != scalar {
		if n.flow && (at >= len(f.data) || f.data[at] != '[' && f.data[at] != '{') || !n.flow && len(n.items) == 0 {
			if len(n.items) == 0 {
				return 0, errExtent
			}
			return f.endOfEntry(n, len(n.items)-1) // a pair in a list in brackets: [a: b]
		}
		if !n.flow {
			return f.endOfEntry(n, len(n.items)-1)
		}
		after := at + 1
		if len(n.items) > 0 {
			var err error
			if after, err = f.endOfEntry(n, len(n.items)-1); err != nil {
				return 0, err
			}
		}
		return f.closing(after)
	}
	switch {
	case n.style&yaml.DoubleQuotedStyle != 0:
		return f.closingQuote(at, '"')
	case n.style&yaml.SingleQuotedStyle != 0:
		return f.closingQuote(at, '\'')
	case n.style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		return f.endOfBlock(at)
	}
	// Plain text: lines may have been folded in it, so follow everything but the blanks.
	for _, r := range n.text {
		if r == ' ' || r == '\n' || r == '\t' {
			continue
		}
		for at < len(f.data) && strings.ContainsRune(" \t\r\n", rune(f.data[at])) {
			at++
		}
		if !strings.HasPrefix(f.data[at:], string(r)) {
			return 0, errExtent
		}
		at += utf8.RuneLen(r)
	}
	return at, nil
}

// closing returns the offset after the bracket that closes a list or mapping, from the end of its last item.
func (f *File) closing(at int) (int, error) {
	for at < len(f.data) {
		switch c := f.data[at]; c {
		case ' ', '\t', '\r', '\n', ',', ':':
			at++
		case '#':
			for at < len(f.data) && breakAt(f.data, at) == 0 {
				at++
			}
		case ']', '}':
			return at + 1, nil
		default:
			return 0, errExtent
		}
	}
	return 0, errExtent
}

func (f *File) closingQuote(at int, quote byte) (int, error) {
	if at >= len(f.data) || f.data[at] != quote {
		return 0, errExtent
	}
	for at++; at < len(f.data); at++ {
		switch {
		case quote == '"' && f.data[at] == '\\':
			at++
		case f.data[at] == quote && quote == '\'' && strings.HasPrefix(f.data[at+1:], "'"):
			at++
		case f.data[at] == quote:
			return at + 1, nil
		}
	}
	return 0, errExtent
}

// endOfBlock returns the offset after the last line of a text that begins with | or >, without its line break.
func (f *File) endOfBlock(at int) (int, error) {
	if at >= len(f.data) || f.data[at] != '|' && f.data[at] != '>' {
		return 0, errExtent
	}
	line := 1
	for line < len(f.starts) && f.starts[line] <= at {
		line++
	}
	end := f.starts[line-1] + len(f.lineText(line))
	indent := -1
	for line++; line <= len(f.starts); line++ {
		text := f.lineText(line)
		rest := strings.TrimLeft(text, " ")
		if rest == "" {
			continue
		}
		if indent < 0 {
			indent = len(text) - len(rest)
		}
		if len(text)-len(rest) < indent || indent == 0 {
			break
		}
		end = f.starts[line-1] + len(text)
	}
	return end, nil
}

// change is what an edit should have done to the tree.
type change struct {
	at    *node // the scalar with the new text, or the mapping with the new key
	text  string
	left  []step // the new keys
	place int    // of the new key in its mapping
}

// same reports whether b is the tree a with the change made and nothing else.
func (c *change) same(a, b *node) bool {
	if a == c.at && len(c.left) == 0 {
		return b.is(c.text)
	}
	n := len(a.items)
	put := n // nothing is put in before this one
	if a == c.at {
		put = c.place
		if b.kind != mapping || len(b.items) != n+1 || b.keys[put].text != c.left[0].key {
			return false
		}
		v := b.items[put]
		for _, s := range c.left[1:] {
			if v.kind != mapping || len(v.items) != 1 || v.keys[0].text != s.key {
				return false
			}
			v = v.items[0]
		}
		if !v.is(c.text) {
			return false
		}
		if a.kind == scalar {
			return true
		}
	} else if a.kind != b.kind || len(b.items) != n || a.text != b.text || a.null != b.null {
		return false
	}
	for i := range a.items {
		j := i
		if i >= put {
			j++
		}
		if len(a.keys) > 0 && a.keys[i].text != b.keys[j].text || !c.same(a.items[i], b.items[j]) {
			return false
		}
	}
	return true
}

func (n *node) is(text string) bool { return n.kind == scalar && n.text == text && !n.null }
