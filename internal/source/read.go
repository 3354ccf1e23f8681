package source

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
	"go.yaml.in/yaml/v4/plugin/loaderlimits"

	"lampwright/internal/textpos"
)

// The limits on a file. A design has some hundred lines; whatever reaches these is no design.
const (
	MaxBytes    = 1 << 20 // bytes in a file
	MaxLine     = 8192    // bytes in a line
	MaxLines    = 50_000  // lines in a file
	MaxMarks    = 300_000 // brackets, commas, quotes and the like, which cost the YAML library most
	MaxDepth    = 32      // lists and mappings inside one another
	MaxNodes    = 100_000 // keys, values, lists and mappings
	MaxProblems = 1000    // problems that are reported of one file
)

// File is a file that could be read.
type File struct {
	name   string
	bom    string   // the byte order mark that stood in front, or ""
	data   string   // the text after it
	starts []int    // offset of each line in data
	root   *node    // never nil
	found  Problems // what Read found
}

// kind is the kind of a node.
type kind int

const (
	scalar kind = iota
	list
	mapping
)

// String returns the kind as people call it.
func (k kind) String() string {
	return [...]string{"one value", "a list", "a mapping (key: value)"}[k]
}

// node is a scalar, a list or a mapping.
type node struct {
	kind      kind
	line, col int
	text      string     // of a scalar
	null      bool       // a scalar that is empty or says null
	style     yaml.Style // of a scalar: how it is quoted
	refused   bool       // an alias, which Read has complained of
	flow      bool       // a list or mapping in brackets
	keys      []*node    // of a mapping: scalars
	items     []*node    // of a list or mapping
}

// Read takes a file apart. name is how problems call it.
//
// Where the text is no YAML at all, or larger or deeper than the limits, the File is nil. Where it contains what is
// refused (anchors, aliases, merge keys, tags, keys that appear twice, …) the File is there for Decode to find the
// other problems.
func Read(name string, data []byte) (*File, Problems) {
	f := &File{name: name}
	if len(data) > MaxBytes {
		return nil, Problems{{At: Pos{File: name}, Msg: fmt.Sprintf("the file has %d bytes; at most %d (1 MB) are "+
			"read", len(data), MaxBytes), Hint: "part it into several files"}}
	}
	f.data = string(data)
	if rest, ok := strings.CutPrefix(f.data, "\uFEFF"); ok {
		f.bom, f.data = "\uFEFF", rest
	}
	f.starts = lineStarts(f.data)
	if n := len(f.starts); n > MaxLines {
		return nil, Problems{{At: Pos{File: name}, Msg: fmt.Sprintf("the file has %d lines; at most %d are read", n,
			MaxLines), Hint: "part it into several files"}}
	}
	if p, bad := f.badText(); bad {
		return nil, Problems{p}
	}
	if n := f.marks(); n > MaxMarks {
		return nil, Problems{{At: Pos{File: name}, Msg: fmt.Sprintf("the file contains %d brackets, commas, quotes "+
			"and the like; at most %d are read", n, MaxMarks), Hint: "part it into several files"}}
	}
	doc, problem := f.parse()
	if problem != nil {
		return nil, Problems{*problem}
	}
	if doc == nil || len(doc.Content) == 0 {
		return nil, Problems{{
			At: Pos{File: name}, Msg: "the file is empty",
			Hint: "nothing but comments and blanks is in it",
		}}
	}
	b := &builder{f: f}
	f.root = b.node(doc.Content[0], "", 0)
	if b.nodes > MaxNodes {
		return nil, Problems{f.problem(Pos{File: name, Line: 1, Col: 1},
			fmt.Sprintf("the file contains more than %d keys and values", MaxNodes), "part it into several files")}
	}
	if f.root.kind == scalar && f.root.null {
		return nil, Problems{{
			At: Pos{File: name}, Msg: "the file is empty",
			Hint: "nothing but comments and blanks is in it",
		}}
	}
	f.found = b.problems
	f.found.Sort()
	return f, append(Problems(nil), f.found...)
}

// lineStarts returns the offset of each line, by the line breaks that YAML knows.
func lineStarts(s string) []int {
	starts := []int{0}
	for i := 0; i < len(s); {
		n := breakAt(s, i)
		if n == 0 {
			i++
			continue
		}
		i += n
		starts = append(starts, i)
	}
	return starts
}

// breakAt returns the length of the line break at s[i:], or 0.
func breakAt(s string, i int) int {
	switch s[i] {
	case '\n':
		return 1
	case '\r':
		if strings.HasPrefix(s[i:], "\r\n") {
			return 2
		}
		return 1
	case 0xC2:
		if strings.HasPrefix(s[i:], "\u0085") {
			return 2
		}
	case 0xE2:
		if strings.HasPrefix(s[i:], "\u2028") || strings.HasPrefix(s[i:], "\u2029") {
			return 3
		}
	}
	return 0
}

// badText finds the first byte that is no text, and lines without end.
func (f *File) badText() (Problem, bool) {
	for n, start := range f.starts {
		end := len(f.data)
		if n+1 < len(f.starts) {
			end = f.starts[n+1]
		}
		line := f.data[start:end]
		col := 0
		for i := 0; i < len(line); {
			r, size := utf8.DecodeRuneInString(line[i:])
			col++
			at := Pos{File: f.name, Line: n + 1, Col: col}
			switch {
			case r == utf8.RuneError && size <= 1:
				return Problem{At: at, Msg: fmt.Sprintf("byte %d of the file is not text in UTF-8",
					len(f.bom)+start+i+1), Hint: "save the file as UTF-8"}, true
			case r == 0:
				return Problem{At: at, Msg: fmt.Sprintf("byte %d of the file is zero: this is not a text file",
					len(f.bom)+start+i+1), Hint: "save the file as text in UTF-8"}, true
			case !allowed(r):
				return Problem{
					At: at, Msg: fmt.Sprintf("the character U+%04X is not allowed in the file", r),
					Hint: "remove it; it does not show in most editors",
				}, true
			}
			i += size
		}
		if len(line) > MaxLine {
			return f.problem(Pos{File: f.name, Line: n + 1, Col: 1}, fmt.Sprintf("the line has %d bytes; at most %d "+
				"are read", len(line), MaxLine), "break the line after a comma"), true
		}
	}
	return Problem{}, false
}

// marks counts the characters that can begin or part values within a line.
func (f *File) marks() (n int) {
	for i := range len(f.data) {
		switch f.data[i] {
		case '"', '\'', '&', '*', '!', '?', ',', '[', ']', '{', '}':
			n++
		}
	}
	return n
}

// allowed reports the characters that YAML knows.
func allowed(r rune) bool {
	switch {
	case r == '\t' || r == '\n' || r == '\r' || r == 0x85:
		return true
	case r < 0x20 || r >= 0x7F && r < 0xA0 || r == 0xFEFF || r == 0xFFFE || r == 0xFFFF:
		return false
	}
	return true
}

// parse runs the YAML library over the text.
func (f *File) parse() (doc *yaml.Node, problem *Problem) {
	defer func() {
		if r := recover(); r != nil { // a fault of the library must not end the program
			p := Problem{
				At: Pos{File: f.name}, Msg: "the file cannot be read as YAML",
				Hint: "look for an unusual construct in it",
			}
			doc, problem = nil, &p
		}
	}()
	deep := errors.New("too deep")
	limits := loaderlimits.New(loaderlimits.DepthFunc(func(depth int, _ *loaderlimits.DepthContext) error {
		if depth > MaxDepth {
			return deep
		}
		return nil
	}), loaderlimits.AliasValue(0))
	loader, err := yaml.NewLoader(bytes.NewReader([]byte(f.data)), yaml.WithPlugin(limits))
	if err != nil {
		panic("source: " + err.Error())
	}
	doc = new(yaml.Node)
	if err := loader.Load(doc); err != nil {
		if errors.Is(err, io.EOF) {
			return nil, nil
		}
		return nil, f.syntax(err)
	}
	second := new(yaml.Node)
	switch err := loader.Load(second); {
	case errors.Is(err, io.EOF):
		return doc, nil
	case err != nil:
		return nil, f.syntax(err)
	}
	p := f.problem(Pos{File: f.name, Line: second.Line, Col: second.Column}, "a second document begins here",
		"keep one document in a file: remove the line ---")
	return nil, &p
}

// syntax turns an error of the YAML library into a problem that says what to do.
func (f *File) syntax(err error) *Problem {
	p := Problem{At: Pos{File: f.name}, Msg: "the file cannot be read as YAML", Hint: err.Error()}
	var e *yaml.LoadError
	if !errors.As(err, &e) {
		return &p
	}
	at := e.Mark
	if at.Line == 0 {
		at = e.ContextMark
	}
	p.Msg, p.Hint = f.explain(e)
	if e.ContextMark.Line > 0 && (strings.Contains(e.Message, "expected ':'") || strings.Contains(e.ContextMsg,
		"quoted scalar") && !strings.Contains(e.Message, "escape")) {
		at = e.ContextMark // where it began says more than where the reader gave up
	}
	if at.Line > 0 {
		for at.Line > 1 && at.Line >= len(f.starts) && strings.TrimSpace(f.lineText(at.Line)) == "" {
			at.Line-- // the end of the file shows nothing; the last line does
			at.Column = utf8.RuneCountInString(strings.TrimRight(f.lineText(at.Line), " \t")) + 1
		}
		p = f.problem(Pos{File: f.name, Line: at.Line, Col: max(at.Column, 1)}, p.Msg, p.Hint)
	}
	return &p
}

// explain words an error of the YAML library for someone who does not know its grammar.
func (f *File) explain(e *yaml.LoadError) (msg, hint string) {
	open := func() string {
		if e.ContextMark.Line > 0 {
			return fmt.Sprintf(" opened at line %d, column %d", e.ContextMark.Line, e.ContextMark.Column)
		}
		return ""
	}
	rest := ""
	if e.Mark.Line > 0 {
		rest = f.data[f.offset(e.Mark.Line, e.Mark.Column):]
	}
	switch m := e.Message; {
	case strings.Contains(m, "too deep"):
		return fmt.Sprintf("lists and mappings stand more than %d deep inside one another",
			MaxDepth), "nothing here needs such depth"
	case strings.Contains(m, "cannot start any token") && strings.HasPrefix(rest, "\t"):
		return "a tab is where blanks are due", "indent with blanks"
	case strings.Contains(m, "cannot start any token"):
		return "a value cannot begin with " + quote(first(rest)), "put it in quotes: \"…\""
	case strings.Contains(m, "',' or ']'"):
		return "the list" + open() + " is not closed before this", "add , or ]"
	case strings.Contains(m, "',' or '}'"):
		return "the mapping" + open() + " is not closed before this", "add , or }"
	case strings.Contains(m, "mapping values are not allowed"):
		return "a colon and a blank cannot stand inside a value", "begin a new line for another key, or put the value " +
			"in quotes"
	case strings.Contains(m, "did not find expected key"):
		return "this does not belong to the mapping that began at line " +
				fmt.Sprint(e.ContextMark.Line), "keys of one mapping begin in the same column; text after a quoted value " +
				"or a bracket is not taken"
	case strings.Contains(m, "expected '-' indicator"):
		return "this does not belong to the list that began at line " +
			fmt.Sprint(e.ContextMark.Line), "each item begins with \"- \" in the same column"
	case strings.Contains(m, "could not find expected ':'"):
		return "a colon and a blank are missing after this key", "write key: value"
	case strings.Contains(m, "unexpected end of stream"), strings.Contains(m, "unexpected document indicator"):
		return "the quoted text that begins here is not closed", "add the closing quote"
	case strings.Contains(m, "expected node content"):
		return "a value is missing before this", "write it, or remove the comma or bracket that is too much"
	case strings.Contains(m, "escape"):
		return "a backslash in a text in double quotes begins an escape that is not known", "write \\\\ for a " +
			"backslash, or use single quotes"
	case strings.Contains(m, "unknown anchor"), strings.Contains(m, "alias"):
		return "an alias (*name) cannot be used", "write the value out, or put it in quotes if it begins with *"
	case strings.Contains(m, "block sequence entries"):
		return "a list item cannot begin here", "begin it on its own line"
	case strings.Contains(m, "document start"):
		return "this is after the end of the value", "a file is a mapping: key: value"
	case strings.Contains(m, "directive"), strings.Contains(m, "incompatible YAML document"):
		return "a line that begins with % is a directive, which is not taken here", "remove the line"
	}
	return "the file cannot be read as YAML here", e.Message
}

// first returns the first character of s.
func first(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return s[:n]
}

// builder turns the library's tree into nodes and finds what is refused.
type builder struct {
	f        *File
	nodes    int
	problems Problems
}

func (b *builder) add(n *yaml.Node, path, msg, hint string) {
	if len(b.problems) < MaxProblems {
		b.problems = append(b.problems, b.f.problem(Pos{File: b.f.name, Line: n.Line, Col: n.Column, Path: path}, msg,
			hint))
	}
}

func (b *builder) node(n *yaml.Node, path string, depth int) *node {
	out := &node{line: n.Line, col: n.Column}
	if last := len(b.f.starts); out.line > last { // an empty value after a last line without a line break
		out.line, out.col = last, utf8.RuneCountInString(b.f.lineText(last))+1
	}
	if b.nodes++; b.nodes > MaxNodes {
		return out
	}
	if depth > MaxDepth { // the loader has refused such files
		panic("source: a file deeper than the limit")
	}
	if n.Anchor != "" {
		b.add(n, path, "an anchor (&"+n.Anchor+") cannot be used", "write the value out wherever it is due, or put it "+
			"in quotes if it begins with &")
	}
	if n.Style&yaml.TaggedStyle != 0 || n.Tag == "!" {
		b.add(n, path, "a tag ("+n.Tag+") cannot be used", "remove it, or put the value in quotes if it begins with !")
	}
	switch n.Kind {
	case yaml.ScalarNode:
		out.text, out.style = n.Value, n.Style
		out.null = n.Tag == "!!null" && n.Style&^yaml.TaggedStyle == 0
	case yaml.SequenceNode:
		out.kind, out.flow = list, n.Style&yaml.FlowStyle != 0
		for i, c := range n.Content {
			out.items = append(out.items, b.node(c, fmt.Sprintf("%s[%d]", path, i), depth+1))
		}
	case yaml.MappingNode:
		out.kind, out.flow = mapping, n.Style&yaml.FlowStyle != 0
		b.mapping(out, n, path, depth)
	default: // an alias
		b.add(n, path, "an alias (*"+n.Value+") cannot be used", "write the value out, or put it in quotes if it "+
			"begins with *")
		out.refused = true
	}
	return out
}

func (b *builder) mapping(out *node, n *yaml.Node, path string, depth int) {
	seen := map[string]*yaml.Node{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		if k.Kind != yaml.ScalarNode {
			b.nodes++
			b.add(k, path, "a key must be one word or value, not a list or a mapping",
				"write key: value; put braces that belong to a text in quotes")
			continue
		}
		at := join(path, k.Value)
		key := b.node(k, at, depth+1)
		if k.Value == "<<" && k.Style == 0 {
			b.add(k, at, "a merge key (<<) cannot be used", "write the keys out wherever they are due")
			continue
		}
		if was := seen[k.Value]; was != nil {
			b.add(k, at, "the key "+quote(k.Value)+" is given twice in one mapping",
				fmt.Sprintf("it is first given at line %d, column %d", was.Line, was.Column))
			continue
		}
		seen[k.Value] = k
		out.keys = append(out.keys, key)
		out.items = append(out.items, b.node(v, at, depth+1))
	}
}

// join adds a key to a path: channels[1] and current make channels[1].current; a key that is no plain word is put in
// brackets.
func join(path, key string) string {
	if key == "" || strings.ContainsAny(key, ".[] \t\n") {
		return path + "[" + key + "]"
	}
	if path == "" {
		return key
	}
	return path + "." + key
}

// get returns the value of a key, or nil.
func (n *node) get(key string) *node {
	for i, k := range n.keys {
		if k.text == key {
			return n.items[i]
		}
	}
	return nil
}

// Problems returns what Read found wrong with the file.
func (f *File) Problems() Problems { return append(Problems(nil), f.found...) }

// Name returns the name the file was read under.
func (f *File) Name() string { return f.name }

// At returns the place of the value at a path, such as channels[1].current.
func (f *File) At(path string) (Pos, bool) {
	t, err := f.find(path)
	if err != nil || t.node == nil {
		return Pos{}, false
	}
	return f.pos(t.node, path), true
}

func (f *File) pos(n *node, path string) Pos {
	return Pos{File: f.name, Line: n.line, Col: n.col, Path: path}
}

func (f *File) problem(at Pos, msg, hint string) Problem {
	return Problem{At: at, Msg: msg, Hint: hint, Line: f.Excerpt(at)}
}

// Excerpt returns the line of the file at a place. Of a long line it returns the part about the column, with … where it
// was cut; Problem.Error knows how to put its mark under that.
func (f *File) Excerpt(pos Pos) string {
	if pos.Line < 1 || pos.Line > len(f.starts) {
		return ""
	}
	return excerpt(f.lineText(pos.Line), pos.Col)
}

// InFile returns what the reader of a file of another format found, as a problem of that file.
func InFile(file string, p textpos.Problem, hint string) Problem {
	return Problem{
		At: Pos{File: file, Line: p.Line, Col: p.Col}, Msg: p.Text, Hint: hint, Line: excerpt(p.Excerpt, p.Col),
	}
}

// excerpt returns the part of a line about a column.
func excerpt(text string, col int) string {
	if len(text) <= windowBefore+windowAfter {
		return text
	}
	line := []rune(text)
	if len(line) <= windowBefore+windowAfter {
		return text
	}
	caret := min(max(col-1, 0), len(line))
	if end := caret + windowAfter; end < len(line) {
		line = append(line[:end:end], '…')
	}
	if caret > windowBefore {
		line = append([]rune{'…'}, line[caret-windowBefore+1:]...)
	}
	return string(line)
}

// lineText returns a line without its break.
func (f *File) lineText(line int) string {
	if line < 1 || line > len(f.starts) {
		return ""
	}
	end := len(f.data)
	if line < len(f.starts) {
		end = f.starts[line]
	}
	return strings.TrimRight(f.data[f.starts[line-1]:end], "\r\n\u0085\u2028\u2029")
}

// offset returns the byte at a line and column, or the end of the line where it is shorter.
func (f *File) offset(line, col int) int {
	if line < 1 {
		return 0
	}
	if line > len(f.starts) {
		return len(f.data)
	}
	i := f.starts[line-1]
	for n := 1; n < col && i < len(f.data) && breakAt(f.data, i) == 0; n++ {
		_, size := utf8.DecodeRuneInString(f.data[i:])
		i += size
	}
	return i
}
