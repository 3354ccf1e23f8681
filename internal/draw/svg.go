package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Picture is a complete drawing.
type Picture struct {
	ID     string // unique on a page; made of letters, digits and dashes
	Title  string
	Desc   string  // text alternative
	Width  float64 // of the view box; text of size 13 is legible at this width in pixels
	Height float64
	body   string
}

// Empty reports that there was nothing to draw.
func (p Picture) Empty() bool { return p.body == "" }

// Inline returns the drawing as an svg element of an HTML page.
func (p Picture) Inline() string { return p.element("") }

// InlineAtSize is Inline with the size of the drawing, 96 px to 25.4 mm on paper.
func (p Picture) InlineAtSize() string { return p.element(p.size()) }

func (p Picture) size() string { return ` width="` + n(p.Width) + `" height="` + n(p.Height) + `"` }

// File returns the drawing as an SVG file.
func (p Picture) File() []byte {
	return []byte("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + p.element(` xmlns="http://www.w3.org/2000/svg"`+p.size()) + "\n")
}

func (p Picture) element(more string) string {
	return fmt.Sprintf(`<svg%s class="lw" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-t %s-d" font-family="%s">`+
		"<title id=\"%s-t\">%s</title><desc id=\"%s-d\">%s</desc>\n%s</svg>",
		more, n(p.Width), n(p.Height), p.ID, p.ID, fonts, p.ID, escape(p.Title), p.ID, escape(p.Desc), p.body)
}

const fonts = "Segoe UI, Roboto, Helvetica Neue, Noto Sans, Liberation Sans, Arial, sans-serif"

// safeID drops the characters that an id must not contain.
func safeID(id string) string {
	var b strings.Builder
	for _, r := range id {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			b.WriteRune(r)
		}
	}
	if b.Len() == 0 {
		return "picture"
	}
	return b.String()
}

// escape escapes text for elements and attributes and drops characters that XML does not allow.
func escape(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&#34;")
		case r == '\'':
			b.WriteString("&#39;")
		case r == '\n' || r == '\t' || r == '\r':
			b.WriteByte(' ')
		case r < 0x20 || r >= 0x7f && r < 0xa0 || r == 0xfffe || r == 0xffff:
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// n prints a coordinate. A number that is not finite prints as 0, as it would make the picture invalid.
func n(x float64) string {
	if !finite(x) {
		return "0"
	}
	s := strconv.FormatFloat(x, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

func finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// canvas collects elements.
type canvas struct {
	b    strings.Builder
	w, h float64
}

func (c *canvas) picture(id, title, desc string) Picture {
	return Picture{ID: safeID(id), Title: title, Desc: desc, Width: c.w, Height: c.h, body: c.b.String()}
}

// paint is a colour with a class name, so that a page can replace it.
type paint struct{ class, hex string }

// fixed is a paint that no page replaces.
func fixed(hex string) paint { return paint{"", hex} }

var none = paint{"", "none"}

// style is the fill and stroke of an element.
type style struct {
	fill, line paint
	width      float64
	dash       string
	opacity    float64 // 0 means opaque
	round      bool
	crisp      bool // without smoothed edges, so that neighbours show no seam
}

func (s style) attrs() string {
	var b strings.Builder
	fill, line := s.fill, s.line
	if fill.hex == "" {
		fill = none
	}
	var classes []string
	if fill.class != "" {
		classes = append(classes, "f-"+fill.class)
	}
	if line.class != "" {
		classes = append(classes, "s-"+line.class)
	}
	if len(classes) > 0 {
		fmt.Fprintf(&b, ` class="%s"`, strings.Join(classes, " "))
	}
	fmt.Fprintf(&b, ` fill="%s"`, fill.hex)
	if line.hex != "" && line.hex != "none" {
		fmt.Fprintf(&b, ` stroke="%s"`, line.hex)
		if s.width != 1 && s.width != 0 {
			fmt.Fprintf(&b, ` stroke-width="%s"`, n(s.width))
		}
		if s.dash != "" {
			fmt.Fprintf(&b, ` stroke-dasharray="%s"`, s.dash)
		}
		if s.round {
			b.WriteString(` stroke-linejoin="round" stroke-linecap="round"`)
		}
	}
	if s.crisp {
		b.WriteString(` shape-rendering="crispEdges"`)
	}
	if s.opacity > 0 && s.opacity < 1 {
		fmt.Fprintf(&b, ` opacity="%s"`, n(s.opacity))
	}
	return b.String()
}

func (c *canvas) rect(x, y, w, h float64, s style) { c.roundRect(x, y, w, h, 0, s) }

func (c *canvas) roundRect(x, y, w, h, r float64, s style) {
	round := ""
	if r > 0 {
		round = ` rx="` + n(r) + `"`
	}
	fmt.Fprintf(&c.b, `<rect x="%s" y="%s" width="%s" height="%s"%s%s/>`+"\n", n(x), n(y), n(math.Max(w, 0)),
		n(math.Max(h, 0)), round, s.attrs())
}

func (c *canvas) circle(x, y, r float64, s style) {
	fmt.Fprintf(&c.b, `<circle cx="%s" cy="%s" r="%s"%s/>`+"\n", n(x), n(y), n(math.Max(r, 0)), s.attrs())
}

func (c *canvas) line(x1, y1, x2, y2 float64, s style) {
	fmt.Fprintf(&c.b, `<path d="M%s %sL%s %s"%s/>`+"\n", n(x1), n(y1), n(x2), n(y2), s.attrs())
}

func (c *canvas) path(d string, s style) {
	if d == "" {
		return
	}
	rule := ""
	if s.fill.hex != "" && s.fill.hex != "none" {
		rule = ` fill-rule="evenodd"`
	}
	fmt.Fprintf(&c.b, `<path d="%s"%s%s/>`+"\n", d, rule, s.attrs())
}

// poly returns the path through points.
func poly(pts [][2]float64, closed bool) string {
	if len(pts) == 0 {
		return ""
	}
	var b strings.Builder
	for i, p := range pts {
		if i == 0 {
			b.WriteByte('M')
		} else {
			b.WriteByte('L')
		}
		b.WriteString(n(p[0]) + " " + n(p[1]))
	}
	if closed {
		b.WriteByte('Z')
	}
	return b.String()
}

// words is the style of a text.
type words struct {
	size   float64 // 0 means 13
	ink    paint   // zero means ink
	anchor string  // "", "middle", "end"
	bold   bool
	halo   paint // drawn around the letters
}

func (w words) sizeOr() float64 {
	if w.size == 0 {
		return 13
	}
	return w.size
}

func (c *canvas) text(x, y float64, s string, w words) {
	if s == "" {
		return
	}
	var b strings.Builder
	ink := w.ink
	if ink.hex == "" {
		ink = Ink
	}
	var classes []string
	if ink.class != "" {
		classes = append(classes, "f-"+ink.class)
	}
	if w.halo.class != "" {
		classes = append(classes, "s-"+w.halo.class)
	}
	if len(classes) > 0 {
		fmt.Fprintf(&b, ` class="%s"`, strings.Join(classes, " "))
	}
	fmt.Fprintf(&b, ` fill="%s" font-size="%s"`, ink.hex, n(w.sizeOr()))
	if w.anchor != "" {
		fmt.Fprintf(&b, ` text-anchor="%s"`, w.anchor)
	}
	if w.bold {
		b.WriteString(` font-weight="600"`)
	}
	if w.halo.hex != "" {
		fmt.Fprintf(&b, ` stroke="%s" stroke-width="3" stroke-linejoin="round" paint-order="stroke"`, w.halo.hex)
	}
	fmt.Fprintf(&c.b, `<text x="%s" y="%s"%s>%s</text>`+"\n", n(x), n(y), b.String(), escape(s))
}

// rich writes a bold text followed by a regular one.
func (c *canvas) rich(x, y float64, bold, rest string, ink paint) {
	fmt.Fprintf(&c.b, `<text x="%s" y="%s" class="f-%s s-%s" fill="%s" font-size="13" stroke="%s" stroke-width="3" stroke-linejoin="round" paint-order="stroke"><tspan class="f-%s" fill="%s" font-weight="600">%s</tspan>%s</text>`+"\n",
		n(x), n(y), ink.class, Paper.class, ink.hex, Paper.hex, Ink.class, Ink.hex, escape(bold), escape(rest))
}

// lines writes lines of text below each other and returns their height.
func (c *canvas) lines(x, y float64, list []string, w words) float64 {
	step := lineStep(w.sizeOr())
	for i, s := range list {
		c.text(x, y+float64(i)*step, s, w)
	}
	return float64(len(list)) * step
}

func lineStep(size float64) float64 { return math.Round(size*1.28*2) / 2 }
