package casefile

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
)

// tolerance is the allowed difference of a figure: |got − want| ≤ max(abs, rel·|want|).
type tolerance struct {
	Rel float64 `json:"rel"`
	Abs float64 `json:"abs"`
}

// allows returns the allowed difference from a value.
func (t tolerance) allows(want float64) float64 { return max(t.Abs, t.Rel*math.Abs(want)) }

// tolerances are those of a case: one for all figures, or by key.
type tolerances struct {
	all   tolerance
	byKey map[string]tolerance
}

// of returns the tolerance of a path: the longest key that is the path or an object or list around it.
func (t tolerances) of(path string) tolerance {
	out, longest := t.all, -1
	for key, one := range t.byKey {
		rest, ok := strings.CutPrefix(path, key)
		if ok && (rest == "" || rest[0] == '.' || rest[0] == '[') && len(key) > longest {
			out, longest = one, len(key)
		}
	}
	return out
}

// readTolerances reads the tolerance of a case: "0.2 %" or "exact" for all figures, or an object with such a text or
// {"rel": …, "abs": …} for each key.
func readTolerances(d document, n *node) (out tolerances, err error) {
	switch {
	case n == nil || n.kind == null:
		return out, nil
	case n.kind == text:
		out.all, err = toleranceOf(d, n)
		return out, err
	case n.kind != object:
		return out, d.errorAt(n.at, fmt.Errorf("tolerance is a JSON %s; it takes a text such as \"0.2 %%\" "+
			"or an object", n.kind))
	}
	out.byKey = map[string]tolerance{}
	for _, m := range n.members {
		if out.byKey[m.key], err = toleranceOf(d, m.value); err != nil {
			return out, err
		}
	}
	return out, nil
}

// toleranceOf reads one tolerance.
func toleranceOf(d document, n *node) (t tolerance, err error) {
	if n.kind != text {
		return t, unmarshal(d, n, "tolerance", &t)
	}
	word := strings.TrimSpace(n.scalar.(string))
	t, ok := readWord(word)
	if !ok {
		return t, d.errorAt(n.at, fmt.Errorf("tolerance %q is neither a percentage such as \"0.2 %%\", a number such "+
			"as \"1 s\", nor \"exact\"", word))
	}
	return t, nil
}

// tolerancesOf reads the tolerance of a case; those of the sky may be a sentence.
func tolerancesOf(d document, n *node) (tolerances, error) {
	t := n.get("tolerance")
	if t != nil && t.kind == text && n.get("topic").scalar == "sky" {
		if out, ok := skyTolerances(t.scalar.(string), n.get("inputs")); ok {
			return out, nil
		}
	}
	out, err := readTolerances(d, t)
	if err == nil && n.get("topic").scalar == "programme" {
		out = programmeTolerances(out, n.get("expected"))
	}
	return out, err
}

// comparison collects the figures outside their tolerance.
type comparison struct {
	document
	tolerances tolerances
	open       bool // an expected figure that is no result is missed, and no error
	missed     []TopicMiss
}

// missed compares the results with the expected figures of a case; a figure without a tolerance is compared exactly.
// why is not empty where the tolerance cannot be read as words, so that nothing is compared.
func missed(d document, n *node, results map[string]any) (list []TopicMiss, why string, err error) {
	expected := n.get("expected")
	if expected == nil || expected.kind == null {
		return nil, "", nil
	}
	allowed, err := tolerancesOf(d, n)
	if err != nil {
		if inWords(n) {
			return nil, "the tolerance cannot be read", nil
		}
		return nil, "", err
	}
	plain, err := plainJSON(results)
	if err != nil {
		return nil, "", d.errorAt(n.at, err)
	}
	if expected.kind != object {
		return nil, "", d.errorAt(expected.at, fmt.Errorf("expected is a JSON %s; it takes an object", expected.kind))
	}
	c := comparison{document: d, tolerances: allowed, open: inWords(n)}
	if err := c.compare("", expected, plain); err != nil {
		return nil, "", err
	}
	return c.missed, "", nil
}

// inWords reports whether the tolerances of a case are in words of its own.
func inWords(n *node) bool {
	topic := n.get("topic").scalar
	return topic == "sky" || topic == "programme"
}

// plainJSON returns results as the maps, lists, numbers, texts and flags of their JSON form.
func plainJSON(results map[string]any) (out any, err error) {
	data, err := json.Marshal(results)
	if err != nil {
		return nil, fmt.Errorf("a result is no finite number: %w", err)
	}
	return out, json.Unmarshal(data, &out)
}

// compare compares an expected value at a path with the result there.
func (c *comparison) compare(path string, want *node, got any) error {
	switch want.kind {
	case object:
		of, ok := got.(map[string]any)
		if !ok {
			c.miss(path, "an object", got, 0)
			return nil
		}
		for _, m := range want.members {
			inner, ok := of[m.key]
			if !ok && c.open {
				c.miss(strings.TrimPrefix(path+"."+m.key, "."), "a figure that is not computed", nil, 0)
				continue
			}
			if !ok {
				return c.errorAt(m.at, fmt.Errorf("expected figure %q is not a result of this case; use %s",
					m.key, keysOf(of)))
			}
			if err := c.compare(strings.TrimPrefix(path+"."+m.key, "."), m.value, inner); err != nil {
				return err
			}
		}
	case list:
		of, ok := got.([]any)
		if !ok || len(of) != len(want.items) {
			c.miss(path, fmt.Sprintf("a list of %d", len(want.items)), got, 0)
			return nil
		}
		for i, item := range want.items {
			if err := c.compare(fmt.Sprintf("%s[%d]", path, i), item, of[i]); err != nil {
				return err
			}
		}
	case number:
		w, err := want.scalar.(json.Number).Float64()
		if err != nil {
			return c.errorAt(want.at, fmt.Errorf("expected %s is %s, too large to be a number", path, want.scalar))
		}
		allowed := c.tolerances.of(path).allows(w)
		if g, ok := got.(float64); !ok || !(math.Abs(g-w) <= allowed) {
			c.miss(path, w, got, allowed)
		}
	default:
		allowed := c.tolerances.of(path).Abs
		if want.scalar != got && !sameInstant(want.scalar, got, allowed) {
			c.miss(path, want.scalar, got, allowed)
		}
	}
	return nil
}

func (c *comparison) miss(path string, want, got any, allowed float64) {
	c.missed = append(c.missed, TopicMiss{Key: path, Want: want, Got: got, Tolerance: allowed})
}
