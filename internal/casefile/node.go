package casefile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
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

// errorAt returns an error that states file, line and column.
func (d document) errorAt(offset int, err error) error {
	before := d.data[:min(max(offset, 0), len(d.data))]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return fmt.Errorf("%s:%d:%d: %w", d.file, line, column, err)
}

// parse reads the whole document: one JSON value, no key twice in an object, nested no deeper than maxDepth.
func (d document) parse() (*node, error) {
	dec := json.NewDecoder(bytes.NewReader(d.data))
	dec.UseNumber()
	n, err := d.value(dec, 0)
	if err != nil {
		return nil, err
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, d.errorAt(int(dec.InputOffset()), errors.New("text follows the end of the case"))
	}
	return n, nil
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

// token reads a token; its errors state where the text is not JSON.
func (d document) token(dec *json.Decoder) (json.Token, error) {
	tok, err := dec.Token()
	if err == nil {
		return tok, nil
	}
	at := int(dec.InputOffset())
	if syntax := (*json.SyntaxError)(nil); errors.As(err, &syntax) {
		at = int(syntax.Offset) - 1
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, d.errorAt(len(d.data), errors.New("the text ends before the case does"))
	}
	return nil, d.errorAt(at, fmt.Errorf("not JSON: %w", err))
}
