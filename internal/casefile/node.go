package casefile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"lampwright/internal/source"
	"lampwright/internal/textpos"
)

// maxDepth is the largest depth of nesting that is read: a corner of a via of a layer is seven deep.
const maxDepth = 20

// node is one value of a JSON document with its position.
type node struct {
	at      int // offset of the value's first byte
	raw     []byte
	kind    kind
	members []member // of an object, in the order of the text
	items   []*node  // of a list
	scalar  any      // string, json.Number, bool, nil
}

type member struct {
	key   string
	at    int
	value *node
}

type kind string

// The kinds of JSON values.
const (
	object kind = "object"
	list   kind = "list"
	number kind = "number"
	text   kind = "text"
	flag   kind = "true or false"
	null   kind = "null"
)

// get returns the value of a key, or nil.
func (n *node) get(key string) *node {
	for _, m := range n.members {
		if m.key == key {
			return m.value
		}
	}
	return nil
}

// document is a text with the file it came from.
type document struct {
	file string
	data []byte
}

// placedError is an error with its position in a case; of several joined errors each has it.
type placedError struct {
	problems source.Problems
	err      error
}

func (e *placedError) Error() string { return e.problems.Error() }
func (e *placedError) Unwrap() error { return e.err }

// errorAt returns an error that states file, line and column, with the line and a mark below the column.
func (d document) errorAt(offset int, err error) error {
	e := &placedError{err: err}
	at := textpos.At(string(d.data), offset, "")
	for at.Text = range strings.SplitSeq(err.Error(), "\n") {
		e.problems = append(e.problems, source.InFile(d.file, at, ""))
	}
	return e
}

// parse reads the whole document: one JSON value, no key twice in an object, nested no deeper than maxDepth.
func (d document) parse() (*node, error) {
	if err := d.syntax(); err != nil {
		return nil, err
	}
	dec := json.NewDecoder(bytes.NewReader(d.data))
	dec.UseNumber()
	return d.value(dec, 0)
}

// start returns the offset of the next value: past space, commas and colons.
func (d document) start(from int64) int {
	i := int(from)
	for i < len(d.data) && bytes.IndexByte([]byte(" \t\r\n,:"), d.data[i]) >= 0 {
		i++
	}
	return i
}

func (d document) value(dec *json.Decoder, depth int) (*node, error) {
	n := &node{at: d.start(dec.InputOffset())}
	tok, err := d.token(dec)
	if err != nil {
		return nil, err
	}
	if depth > maxDepth {
		return nil, d.errorAt(n.at, fmt.Errorf("nested more than %d deep", maxDepth))
	}
	switch v := tok.(type) {
	case json.Delim:
		if v == '{' {
			err = d.object(dec, n, depth)
		} else {
			err = d.list(dec, n, depth)
		}
		if err == nil {
			_, err = d.token(dec) // the closing bracket
		}
	case string:
		n.kind, n.scalar = text, v
	case json.Number:
		n.kind, n.scalar = number, v
	case bool:
		n.kind, n.scalar = flag, v
	default:
		n.kind = null
	}
	n.raw = d.data[n.at:dec.InputOffset()]
	return n, err
}

func (d document) object(dec *json.Decoder, n *node, depth int) error {
	n.kind = object
	seen := map[string]bool{}
	for dec.More() {
		at := d.start(dec.InputOffset())
		key, err := d.token(dec)
		if err != nil {
			return err
		}
		name, _ := key.(string) // the decoder takes nothing else for a key
		if seen[name] {
			return d.errorAt(at, fmt.Errorf("the key %q is given twice", name))
		}
		seen[name] = true
		v, err := d.value(dec, depth+1)
		if err != nil {
			return err
		}
		n.members = append(n.members, member{name, at, v})
	}
	return nil
}

func (d document) list(dec *json.Decoder, n *node, depth int) error {
	n.kind = list
	for dec.More() {
		v, err := d.value(dec, depth+1)
		if err != nil {
			return err
		}
		n.items = append(n.items, v)
	}
	return nil
}

// token reads a token of a text whose syntax was checked.
func (d document) token(dec *json.Decoder) (json.Token, error) {
	tok, err := dec.Token()
	if err != nil {
		return nil, d.errorAt(int(dec.InputOffset()), errors.New("not JSON"))
	}
	return tok, nil
}

// syntax returns an error where the text is not one JSON value.
func (d document) syntax() error {
	var raw json.RawMessage
	wrong := (*json.SyntaxError)(nil)
	if err := json.Unmarshal(d.data, &raw); !errors.As(err, &wrong) || strings.Contains(wrong.Error(), "max depth") {
		return nil // parse reports the depth
	}
	at, why := int(wrong.Offset)-1, notJSON(wrong)
	if strings.Contains(wrong.Error(), "unexpected end") {
		at, why = len(d.data), "the text ends before the case does"
	}
	return d.errorAt(at, errors.New(why))
}

// expected says in our words what the JSON library expected, by the words of its errors.
var expected = []struct{ theirs, ours string }{
	{"after object key:value pair", "a comma or } is expected here"},
	{"after array element", "a comma or ] is expected here"},
	{"after object key", "a colon is expected here, after the key"},
	{"looking for beginning of object key string", "a key in double quotes is expected here"},
	{"looking for beginning of value", "a value is expected here"},
	{"in string literal", "a text ends with a double quote on its own line, without control characters"},
	{"in string escape code", "this is not an escape code of a text, such as \\n or \\\""},
	{"in \\u hexadecimal character escape", "four hexadecimal digits are expected after \\u"},
	{"after decimal point in numeric literal", "a digit is expected here, after the decimal point"},
	{"in exponent of numeric literal", "a digit is expected here, in the exponent"},
	{"in numeric literal", "a digit is expected here"},
	{"in literal", "the words without quotes are true, false and null"},
}

// notJSON returns in our words why a text is not JSON.
func notJSON(err error) string {
	if strings.Contains(err.Error(), "after top-level value") {
		return "text follows the end of the case"
	}
	for _, e := range expected {
		if strings.Contains(err.Error(), e.theirs) {
			return "not JSON: " + e.ours
		}
	}
	return "not JSON"
}
