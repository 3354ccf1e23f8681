package quantity

import (
	"fmt"
	"strings"
)

// Limit is one bound on a value, such as ">0" or "<=50 A". The zero Limit holds for everything.
type Limit struct {
	Text  string  // as it was written
	Op    string  // one of > >= < <=, or "" for no limit
	Bound float64 // in the unit that the dimension is stored in
	dim   Dim
}

// ParseLimit reads a bound on values of a dimension: one of > >= < <= and a value. A number without a unit is taken in
// the unit that the dimension is stored in, so that ">0" does for every dimension. Empty text is no limit.
func ParseLimit(text string, d Dim) (Limit, error) {
	d.check()
	text = strings.TrimSpace(text)
	if text == "" {
		return Limit{}, nil
	}
	for _, op := range []string{">=", "<=", ">", "<"} {
		rest, ok := strings.CutPrefix(text, op)
		if !ok {
			continue
		}
		x, err := Parse(rest, d)
		if err != nil {
			if x, err = Parse(rest, None); err != nil {
				return Limit{}, fmt.Errorf("read limit %q: %w", text, err)
			}
		}
		return Limit{text, op, x, d}, nil
	}
	return Limit{}, fmt.Errorf("limit %q begins with none of > >= < <=", text)
}

// Holds reports whether a stored value keeps the limit. A hair of rounding is let through for >= and <=.
func (l Limit) Holds(si float64) bool {
	slack := 1e-12 * max(abs(l.Bound), abs(si))
	switch l.Op {
	case ">":
		return si > l.Bound
	case ">=":
		return si >= l.Bound-slack
	case "<":
		return si < l.Bound
	case "<=":
		return si <= l.Bound+slack
	}
	return true
}

// String says the limit in words: "above 0", "at least 1 mm", "below 180 deg", "at most 50 A"; "" for no limit.
func (l Limit) String() string {
	words := map[string]string{">": "above ", ">=": "at least ", "<": "below ", "<=": "at most "}[l.Op]
	if words == "" {
		return ""
	}
	value := strings.TrimSpace(l.Text[len(l.Op):])
	if _, err := Parse(value, l.dim); err != nil && l.Bound != 0 {
		value = Format(l.Bound, l.dim)
	}
	return words + value
}

func abs(x float64) float64 { return max(x, -x) }
