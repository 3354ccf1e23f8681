package source

import (
	"fmt"
	"strconv"
	"strings"
)

// step is one part of a path: a key, or what stood in brackets, which is an index in a list and a key in a mapping.
type step struct {
	key     string
	bracket bool
}

// parsePath takes a path apart: channels[1].current, forward_voltage[0.35 A].
func parsePath(path string) ([]step, error) {
	var out []step
	for rest := path; rest != ""; {
		if inner, ok := strings.CutPrefix(rest, "["); ok {
			before, after, ok0 := strings.Cut(inner, "]")
			if !ok0 {
				return nil, fmt.Errorf("path %s has a [ without ]", quote(path))
			}
			out = append(out, step{before, true})
			rest = after
		} else {
			end := strings.IndexAny(rest, ".[")
			if end < 0 {
				end = len(rest)
			}
			if end == 0 {
				return nil, fmt.Errorf("path %s has an empty part", quote(path))
			}
			out = append(out, step{rest[:end], false})
			rest = rest[end:]
		}
		if after, ok := strings.CutPrefix(rest, "."); ok {
			if rest = after; rest == "" || rest[0] == '.' || rest[0] == '[' {
				return nil, fmt.Errorf("path %s has an empty part", quote(path))
			}
		}
	}
	return out, nil
}

// target is where a path leads.
type target struct {
	node   *node  // nil where keys are missing
	key    *node  // the key in front of the node, where it is a value of a mapping
	parent *node  // the innermost node that is there above missing keys
	above  *node  // the key in front of the parent, if any
	left   []step // the missing keys
}

// find follows a path. It is an error if the path is malformed or leads through something of the wrong kind.
func (f *File) find(path string) (target, error) {
	steps, err := parsePath(path)
	if err != nil {
		return target{}, err
	}
	t := target{node: f.root}
	for i, s := range steps {
		t.parent, t.above, t.key = t.node, t.key, nil
		switch n := t.node; {
		case n.kind == list && s.bracket:
			index, err := strconv.Atoi(s.key)
			if err != nil || index < 0 || index >= len(n.items) {
				return target{}, fmt.Errorf("%s has no item %s in %s", quote(path), s.key, f.name)
			}
			t.node = n.items[index]
		case n.kind == mapping || n.kind == scalar && n.null:
			t.node = nil
			for j, k := range n.keys {
				if k.text == s.key {
					t.node, t.key = n.items[j], k
				}
			}
			if t.node == nil {
				t.left = steps[i:]
				return t, nil
			}
		default:
			return target{}, fmt.Errorf("%s leads through %s at %s", quote(path), n.kind, f.pos(n, ""))
		}
	}
	return t, nil
}
