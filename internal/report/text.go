package report

import (
	"html/template"
	"math"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"lampwright/internal/figure"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

func bad(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }

// plain prints a value as the command line does, or "not computed".
func plain(si float64, d quantity.Dim) string {
	if bad(si) {
		return "not computed"
	}
	return quantity.Format(si, d)
}

// text prints a value for the page: with a true minus, and a blank before the unit at which no line breaks.
func text(si float64, d quantity.Dim) string {
	s := plain(si, d)
	if bad(si) {
		return s
	}
	if rest, below := strings.CutPrefix(s, "-"); below {
		s = "−" + rest
	}
	return strings.Replace(s, " ", "\u00a0", 1)
}

// span prints a range, with its unit once where both ends have the same.
func span(lo, hi float64, d quantity.Dim) string {
	a, b := text(lo, d), text(hi, d)
	if a == b {
		return a
	}
	number, unit, _ := strings.Cut(a, "\u00a0")
	if _, other, _ := strings.Cut(b, "\u00a0"); other == unit && !bad(lo) {
		a = number
	}
	return a + " to " + b
}

// Rounded returns a figure and its range with the digits that the range supports; the range is empty where nothing varies.
func Rounded(f figure.Figure) (value, spread string) {
	return f.Text(), f.RangeText()
}

// valueOf returns a figure and its range for the page. A range too narrow to be seen is empty.
func valueOf(f figure.Figure) (value, spread string) {
	if bad(f.Value) {
		return text(f.Value, f.Dim), ""
	}
	value, spread = Rounded(f)
	if bad(f.Lo) || bad(f.Hi) || spread == value || !strings.Contains(spread, " to ") {
		spread = ""
	}
	return typeset(value), typeset(spread)
}

// typeset returns a value or a range with a true minus, and a blank before the last unit at which no line breaks.
func typeset(s string) string {
	s = strings.ReplaceAll(s, "-", "−")
	if i := strings.LastIndexByte(s, ' '); i > 0 && !strings.HasSuffix(s[:i], "to") {
		s = s[:i] + "\u00a0" + s[i+1:]
	}
	return s
}

// where prints a place in the files with the path of the value.
func where(p source.Pos) string {
	if p.File == "" {
		return ""
	}
	if p.Path != "" {
		return p.String() + " (" + p.Path + ")"
	}
	return p.String()
}

// sentence makes the first letter a capital and ends with a full stop.
func sentence(s string) string {
	s = capital(strings.TrimSpace(s))
	if last, _ := utf8.DecodeLastRuneInString(s); unicode.IsLetter(last) || unicode.IsDigit(last) || last == ')' || last == '%' || last == '²' || last == '³' {
		s += "."
	}
	return s
}

func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	// A part's id or a unit keeps its letters: only a plain word is raised.
	word, _, _ := strings.Cut(s, " ")
	if size == 0 || strings.ContainsAny(word, "-_0123456789.:") {
		return s
	}
	return string(unicode.ToUpper(first)) + s[size:]
}

var subscript = regexp.MustCompile(`([\pL\pN₀-₉′η])_([\pL\pN]+(?:,[\pL\pN]+)*)`)

var (
	lone   = regexp.MustCompile(`(^|[^\pL\pN_.-])(\pL)_([\pL\pN]+)`) // a symbol of one letter with its subscript, such as T_j
	quoted = regexp.MustCompile("`([^`]+)`")
)

// prose escapes a sentence and sets symbols with a subscript, and code where backticks quote it.
func prose(s string) template.HTML {
	var b strings.Builder
	at := 0
	plain := func(s string) {
		b.WriteString(lone.ReplaceAllString(template.HTMLEscapeString(s), "$1$2<sub>$3</sub>"))
	}
	for _, m := range quoted.FindAllStringSubmatchIndex(s, -1) {
		plain(s[at:m[0]])
		b.WriteString("<code>" + template.HTMLEscapeString(s[m[2]:m[3]]) + "</code>")
		at = m[1]
	}
	plain(s[at:])
	return template.HTML(b.String())
}

// symbols escapes a formula and sets what follows an underline as a subscript.
func symbols(s string) template.HTML {
	return template.HTML(subscript.ReplaceAllString(template.HTMLEscapeString(s), "$1<sub>$2</sub>"))
}
