package quantity

import (
	"regexp"
	"strings"
)

// The parts of a Pattern: a regular expression that JSON Schema (ECMA-262) and Go both read.
const (
	numberPattern    = `[+\-−]?([0-9]+(\.[0-9]+)?|\.[0-9]+)([eE][+\-−]?[0-9]+)?`
	tolerancePattern = `[ \t]*(±|\+/-)[ \t]*`
)

// Pattern returns a regular expression, without anchors, for what Parse takes for the dimension. It knows each unit in
// the spellings of the trade (2 W/(m·K), 2 W/m/K, 2 W m⁻¹ K⁻¹, 2 W/mK), but not all that Parse can read.
func (d Dim) Pattern() string {
	d.check()
	if d == None {
		return numberPattern
	}
	var ways []string
	seen := map[string]bool{}
	for i := range dims[d].units {
		u := &dims[d].units[i]
		spelled := spellings(u.symbol)
		for _, a := range u.aliases {
			spelled = append(spelled, unitPattern(a))
		}
		for _, s := range spelled {
			if !seen[s] {
				seen[s] = true
				ways = append(ways, s)
			}
		}
	}
	return numberPattern + `[ \t]*(` + strings.Join(ways, "|") + ")"
}

// TolerancePattern is Pattern for what ParseTolerance takes.
func (d Dim) TolerancePattern() string {
	d.check()
	if d == Ratio {
		return d.Pattern()
	}
	tail := d.delta().Pattern()
	if d.takesPercent() {
		tail += "|" + Ratio.Pattern()
	}
	return d.Pattern() + "(" + tolerancePattern + "(" + tail + "))?"
}

// spellings returns patterns of a unit with its denominator after one slash and in brackets, after a slash each, and as
// negative powers.
func spellings(symbol string) []string {
	out := []string{unitPattern(symbol)}
	over, under, ok := strings.Cut(symbol, "/")
	if !ok || over == "1" && strings.ContainsAny(under, "/(") {
		return out
	}
	parts := strings.FieldsFunc(strings.Trim(under, "()"), func(r rune) bool { return r == '·' || r == '/' })
	if len(parts) > 1 {
		out = append(
			out, unitPattern(over+"/"+strings.Join(parts, "/")), unitPattern(over+"/("+strings.Join(parts, "·")+")"),
		)
	}
	powers := ""
	if over != "1" {
		powers = unitPattern(over)
	}
	for _, p := range parts {
		exp := "(⁻¹|\\^?[-−]1)"
		if base, found := strings.CutSuffix(p, "²"); found {
			p, exp = base, "(⁻²|\\^?[-−]2)"
		} else if base, found := strings.CutSuffix(p, "³"); found {
			p, exp = base, "(⁻³|\\^?[-−]3)"
		}
		if powers != "" {
			powers += `[ ·⋅*]`
		}
		powers += unitPattern(p) + exp
	}
	return append(out, powers)
}

// unitPattern matches one spelling with the signs that look alike.
func unitPattern(s string) string {
	return signs.Replace(regexp.QuoteMeta(s))
}

var signs = strings.NewReplacer(
	"µ", "[uµμ]", "Ω", "(Ω|Ω|ohm)", "²", `(²|\^?2)`, "³", `(³|\^?3)`, "·", "[ ·⋅*]", "°C", "(°C|℃)",
)
