package quantity

import (
	"sort"
	"strconv"
	"strings"
	"unicode"
)

// entry is one meaning of a canonical unit.
type entry struct {
	dim  Dim
	unit *unit
}

// units maps the canonical form of a unit to its meanings, in the order of the dimensions. It never changes.
var units = indexUnits()

func indexUnits() map[string][]entry {
	out := map[string][]entry{}
	for d := range dims {
		for i := range dims[d].units {
			u := &dims[d].units[i]
			for _, s := range append([]string{u.symbol}, u.aliases...) {
				c, ok := canonical(s)
				if !ok {
					panic("quantity: cannot read the unit " + s)
				}
				if n := len(out[c]); n > 0 && out[c][n-1] == (entry{Dim(d), u}) {
					continue
				}
				out[c] = append(out[c], entry{Dim(d), u})
			}
		}
	}
	return out
}

// lookUp returns what a unit means: in the wanted dimension where it has a meaning there, else in the first that knows
// it.
func lookUp(name string, want Dim) (u *unit, got Dim, ok bool) {
	c, ok := canonical(name)
	if !ok {
		return nil, None, false
	}
	list := units[c]
	for _, e := range list {
		if e.dim == want {
			return e.unit, want, true
		}
	}
	if len(list) == 0 {
		return nil, None, false
	}
	return list[0].unit, list[0].dim, true
}

// canonical converts the spellings of one unit to one form: its atoms with their exponents, sorted.
//
// A unit is atoms joined by "·", "*", "/" or a blank, with exponents as superscripts, after "^", or plain, and with
// brackets. A "/" holds for the next factor; atoms that touch, as in W/m²K, are one factor.
func canonical(text string) (string, bool) {
	p := &unitParser{rest: []rune(plainRunes.Replace(text))}
	out := map[string]int{}
	if !p.product(out, 1, 0) || len(p.rest) > 0 {
		return "", false
	}
	names := make([]string, 0, len(out))
	for name, exp := range out {
		if exp != 0 {
			names = append(names, name+"^"+strconv.Itoa(exp))
		}
	}
	if len(names) == 0 {
		return "", false
	}
	sort.Strings(names)
	return strings.Join(names, " "), true
}

// plainRunes writes the signs that look alike in one way.
var plainRunes = strings.NewReplacer(
	"µ", "u", "μ", "u", "Ω", "ohm", "Ω", "ohm", "℃", "°C", "º", "°", "K", "K", "⋅", "·", "∙", "·", "•", "·", "*", "·", "∕", "/", "⁄", "/",
	"−", "-", "⁻", "-", "⁺", "", "⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4",
)

type unitParser struct{ rest []rune }

func (p *unitParser) peek() rune {
	if len(p.rest) == 0 {
		return 0
	}
	return p.rest[0]
}

func (p *unitParser) blanks() (any bool) {
	for len(p.rest) > 0 && isBlank(p.rest[0]) {
		p.rest, any = p.rest[1:], true
	}
	return any
}

// product reads factors joined by "·", "/" or a blank up to a closing bracket or the end.
func (p *unitParser) product(out map[string]int, sign, depth int) bool {
	if depth > 3 || !p.factors(out, sign, depth) {
		return false
	}
	for {
		blank := p.blanks()
		switch r := p.peek(); {
		case r == 0 || r == ')':
			return true
		case r == '·' || r == '/':
			p.rest = p.rest[1:]
			p.blanks()
			s := sign
			if r == '/' {
				s = -sign
			}
			if !p.factors(out, s, depth) {
				return false
			}
		case blank:
			if !p.factors(out, sign, depth) {
				return false
			}
		default:
			return false
		}
	}
}

// factors reads one or more atoms or brackets that touch.
func (p *unitParser) factors(out map[string]int, sign, depth int) bool {
	n := 0
	for ; ; n++ {
		switch r := p.peek(); {
		case r == '(':
			p.rest = p.rest[1:]
			p.blanks()
			if !p.product(out, sign, depth+1) || p.peek() != ')' {
				return false
			}
			p.rest = p.rest[1:]
		case r == '1' && n == 0:
			p.rest = p.rest[1:] // as in 1/K
		case isAtom(r):
			name := p.atom()
			exp, ok := p.exponent()
			if !ok {
				return false
			}
			out[name] += sign * exp
		default:
			return n > 0
		}
	}
}

func isAtom(r rune) bool {
	return unicode.IsLetter(r) || strings.ContainsRune("°%‰€$£¥", r) && r != 0
}

func (p *unitParser) atom() string {
	i := 1
	for i < len(p.rest) && isAtom(p.rest[i]) && p.rest[0] != '%' && p.rest[0] != '‰' {
		i++
	}
	name := string(p.rest[:i])
	p.rest = p.rest[i:]
	return name
}

// exponent reads a small whole exponent; 1 where there is none.
func (p *unitParser) exponent() (int, bool) {
	marked := p.peek() == '^'
	if marked {
		p.rest = p.rest[1:]
	}
	sign := 1
	if p.peek() == '-' {
		sign, marked, p.rest = -1, true, p.rest[1:]
	}
	if r := p.peek(); r >= '0' && r <= '9' {
		p.rest = p.rest[1:]
		if next := p.peek(); next >= '0' && next <= '9' {
			return 0, false
		}
		return sign * int(r-'0'), true
	}
	return 1, !marked
}

// nearUnit returns the unit of the wanted dimension that was probably meant: the same but for capitals, or a letter
// off.
func nearUnit(name string, want Dim) (string, bool) {
	plain := plainRunes.Replace(name)
	for _, s := range want.Units() {
		if strings.EqualFold(plainRunes.Replace(s), plain) {
			return s, true
		}
	}
	return Near(name, want.Units())
}
