package draw

import (
	"fmt"
	"math"
	"strings"
)

// The colours of a picture. A page with CSS replaces them by those of its theme.
var (
	Ink    = paint{"ink", "#1a2026"}    // text and outlines
	Soft   = paint{"soft", "#55606a"}   // secondary text
	Faint  = paint{"faint", "#c3cad0"}  // grid lines
	Panel  = paint{"panel", "#eef1f3"}  // background areas
	Paper  = paint{"paper", "#ffffff"}  // page
	Water  = paint{"water", "#d5e7f0"}  // water
	Ground = paint{"ground", "#b9a78c"} // substrate
	Flow   = paint{"flow", "#dfb132"}   // useful power
	Loss   = paint{"loss", "#a9b1b7"}   // lost power
	Beyond = paint{"beyond", "#a3321f"} // values outside a limit
	Within = paint{"within", "#2b6f8f"} // values within a limit
)

// darkOf holds the colours on a dark page.
var darkOf = []struct {
	of  paint
	hex string
}{
	{Ink, "#e6e9ec"},
	{Soft, "#a3adb6"},
	{Faint, "#414b54"},
	{Panel, "#232a31"},
	{Paper, "#161b20"},
	{Water, "#1e3a4a"},
	{Ground, "#6d604c"},
	{Flow, "#c4962a"},
	{Loss, "#5f6a73"},
	{Beyond, "#ef8068"},
	{Within, "#6fb7d6"},
}

// CSS returns rules by which a page gives its pictures its theme: light, dark where the reader's system is, and light
// in print.
func CSS() string {
	var light, dark, rules strings.Builder
	for _, d := range darkOf {
		fmt.Fprintf(&light, "--lw-%s:%s;", d.of.class, d.of.hex)
		fmt.Fprintf(&dark, "--lw-%s:%s;", d.of.class, d.hex)
		fmt.Fprintf(&rules, ".lw .f-%[1]s{fill:var(--lw-%[1]s)}.lw .s-%[1]s{stroke:var(--lw-%[1]s)}\n", d.of.class)
	}
	return ":root{" + light.String() + "}\n@media screen and (prefers-color-scheme:dark){:root{" + dark.String() +
		"}}\n" + rules.String()
}

// ramp is a colour scale from low to high values: a path of straight pieces through OKLab, at even speed.
//
// It is our own. Lightness rises without a turn, also as protanopes, deuteranopes and tritanopes see it, so that a grey
// print keeps the order, and colours at equal steps are equally far apart, so that these look equal. Lighter is more.
type ramp struct {
	lab  [][3]float64
	upTo []float64 // length of the path up to each colour
}

var (
	// From night blue to straw.
	lightRamp = rampOf("#060d27", "#0c2244", "#0c3961", "#04536e", "#1e6e77", "#3e8876", "#6d9c6f", "#97b170",
		"#c5c574", "#e6dc9b", "#fff4ca")
	// From plum to bone.
	heatRamp = rampOf("#181224", "#371c3a", "#5a2245", "#7d2b49", "#a13741", "#b95441", "#cd7245", "#db9256", "#e7b373",
		"#f0d3a1", "#fcf0cf")
	greyRamp = rampOf("#2c2c2c", "#ededed") // surroundings of a map in colours, with a scale of their own
)

// rampOf returns the ramp through colours given as #rrggbb.
func rampOf(hexes ...string) (r ramp) {
	for i, h := range hexes {
		v, ok := linear(h)
		if !ok {
			panic("draw: no colour: " + h)
		}
		lab, length := okLab(v), 0.0
		if i > 0 {
			length = r.upTo[i-1] + labDistance(r.lab[i-1], lab)
		}
		r.lab, r.upTo = append(r.lab, lab), append(r.upTo, length)
	}
	return r
}

// at returns the colour at t, from 0 for low to 1 for high.
func (r ramp) at(t float64) string {
	last := len(r.lab) - 1
	length := math.Min(math.Max(t, 0), 1) * r.upTo[last]
	i := 0
	for i < last-1 && r.upTo[i+1] < length {
		i++
	}
	f := (length - r.upTo[i]) / (r.upTo[i+1] - r.upTo[i])
	var mixed [3]float64
	for k := range mixed {
		mixed[k] = (1-f)*r.lab[i][k] + f*r.lab[i+1][k]
	}
	v := fromOKLab(mixed)
	return fmt.Sprintf("#%02x%02x%02x", eight(v[0]), eight(v[1]), eight(v[2]))
}

// labDistance returns the distance of two colours in OKLab.
func labDistance(a, b [3]float64) float64 {
	return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
}

// okLab returns the OKLab coordinates L, a, b of linear sRGB. Source: Ottosson2020.
func okLab(v [3]float64) [3]float64 {
	l := math.Cbrt(0.4122214708*v[0] + 0.5363325363*v[1] + 0.0514459929*v[2])
	m := math.Cbrt(0.2119034982*v[0] + 0.6806995451*v[1] + 0.1073969566*v[2])
	s := math.Cbrt(0.0883024619*v[0] + 0.2817188376*v[1] + 0.6299787005*v[2])
	return [3]float64{
		0.2104542553*l + 0.7936177850*m - 0.0040720468*s,
		1.9779984951*l - 2.4285922050*m + 0.4505937099*s,
		0.0259040371*l + 0.7827717662*m - 0.8086757660*s,
	}
}

// fromOKLab is the inverse of okLab. Source: Ottosson2020.
func fromOKLab(c [3]float64) [3]float64 {
	cube := func(x float64) float64 { return x * x * x }
	l := cube(c[0] + 0.3963377774*c[1] + 0.2158037573*c[2])
	m := cube(c[0] - 0.1055613458*c[1] - 0.0638541728*c[2])
	s := cube(c[0] - 0.0894841775*c[1] - 1.2914855480*c[2])
	return [3]float64{
		4.0767416621*l - 3.3077115913*m + 0.2309699292*s,
		-1.2684380046*l + 2.6097574011*m - 0.3413193965*s,
		-0.0041960863*l - 0.7034186147*m + 1.7076147010*s,
	}
}

// Scales returns the colour scales of light and of temperature, and a grey one, from low to high in n ≥ 2 steps as
// hexadecimal sRGB, for maps that a page draws itself.
func Scales(n int) (light, heat, grey []string) {
	for i := range n {
		t := float64(i) / float64(n-1)
		light, heat, grey = append(light, lightRamp.at(t)), append(heat, heatRamp.at(t)), append(grey, greyRamp.at(t))
	}
	return light, heat, grey
}

// labHex returns the sRGB colour of a CIELAB colour under D65, cut to what a screen shows.
// Sources: CIE15-2018, §8.2.1; IEC61966-2-1, eqs 7 to 10.
func labHex(l, a, b float64) string {
	f := func(t float64) float64 {
		if t > 6.0/29 {
			return t * t * t
		}
		return 3 * (6.0 / 29) * (6.0 / 29) * (t - 4.0/29)
	}
	fy := (l + 16) / 116
	x, y, z := 0.95047*f(fy+a/500), f(fy), 1.08883*f(fy-b/200)
	return fmt.Sprintf("#%02x%02x%02x",
		eight(3.2406*x-1.5372*y-0.4986*z), eight(-0.9689*x+1.8758*y+0.0415*z), eight(0.0557*x-0.2040*y+1.0570*z))
}

// ChannelColours returns for each channel the colour that stands for it: of the hue of its light, as light as can be
// told from a light page and from a dark one. White light gives a straw yellow, no light a grey; channels alike get
// duller shades. The pictures write the channel's name as well, and charts give each line its dashes.
func ChannelColours(lambdaNM []float64, channels [][]float64) []string {
	var out []string
	times := map[string]int{}
	for _, perNM := range channels {
		hex := lightColour(lambdaNM, perNM)
		k := times[hex]
		times[hex]++
		out = append(out, seen(shade(hex, k)))
	}
	return out
}

func lightColour(lambdaNM, perNM []float64) string {
	var sum, mean, blue, green, red float64
	for i, v := range perNM {
		if i >= len(lambdaNM) || !finite(v, lambdaNM[i]) || v < 0 {
			continue
		}
		nm := lambdaNM[i]
		sum += v
		mean += v * nm
		switch {
		case nm < 500:
			blue += v
		case nm < 580:
			green += v
		default:
			red += v
		}
	}
	switch {
	case sum <= 0:
		return "#808890"
	case blue > 0.05*sum && green > 0.12*sum && red > 0.12*sum:
		return "#e3c866"
	}
	mean /= sum
	for _, c := range bandColours {
		if mean < c.below {
			return c.hex
		}
	}
	return "#6b1f2a"
}

// shade takes part of the hue out of a colour, the more the oftener it came before.
func shade(hex string, times int) string {
	var v [3]int
	if _, err := fmt.Sscanf(hex, "#%02x%02x%02x", &v[0], &v[1], &v[2]); err != nil || times == 0 {
		return hex
	}
	grey, share := float64(v[0]+v[1]+v[2])/3, math.Min(0.35*float64(times), 0.9)
	for i := range v {
		v[i] = int(math.Round(float64(v[i])*(1-share) + grey*share))
	}
	return fmt.Sprintf("#%02x%02x%02x", v[0], v[1], v[2])
}

// Between these relative luminances a colour has a contrast of 3 : 1 at the least to Paper and to Panel, light and
// dark. Source: WCAG2023, 1.4.11 and the definition of contrast ratio, from memory.
const seenLow, seenHigh = 0.172, 0.252

// seen makes a colour darker or lighter, in its hue, until a line of it can be told from a page, be that light or
// dark.
func seen(hex string) string {
	v, ok := linear(hex)
	if !ok {
		return hex
	}
	l := luminance(v)
	want := math.Min(math.Max(l, seenLow), seenHigh)
	if l == 0 {
		v, l = [3]float64{want, want, want}, want
	}
	for i := range v {
		v[i] = math.Min(v[i]*want/l, 1)
	}
	// What a screen has no more of is made up with white.
	if l = luminance(v); l < want {
		for i := range v {
			v[i] += (1 - v[i]) * (want - l) / (1 - l)
		}
	}
	return fmt.Sprintf("#%02x%02x%02x", eight(v[0]), eight(v[1]), eight(v[2]))
}

// luminance returns the relative luminance of linear sRGB.
func luminance(v [3]float64) float64 { return 0.2126*v[0] + 0.7152*v[1] + 0.0722*v[2] }

// linear returns the linear light of a colour given as #rrggbb. Source: IEC61966-2-1, eqs 5 and 6.
func linear(hex string) (v [3]float64, ok bool) {
	var eight [3]int
	if _, err := fmt.Sscanf(hex, "#%02x%02x%02x", &eight[0], &eight[1], &eight[2]); err != nil {
		return v, false
	}
	for i, e := range eight {
		if v[i] = float64(e) / 255; v[i] <= 0.04045 {
			v[i] /= 12.92
		} else {
			v[i] = math.Pow((v[i]+0.055)/1.055, 2.4)
		}
	}
	return v, true
}

// eight returns the number from 0 to 255 that stands for linear light from 0 to 1. Source: IEC61966-2-1, eqs 9 and 10.
func eight(v float64) int {
	v = math.Min(math.Max(v, 0), 1)
	if v <= 0.0031308 {
		v *= 12.92
	} else {
		v = 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	return int(math.Round(255 * v))
}

// bandColours name the colours of narrow channels by their mean wavelength. They differ in lightness as well.
var bandColours = []struct {
	below float64
	hex   string
}{
	{435, "#6a3d9a"}, // violet
	{462, "#2946b8"}, // royal blue
	{488, "#2f7fd0"}, // blue
	{512, "#189a9a"}, // cyan
	{545, "#2f8f3a"}, // green
	{578, "#8aa51c"}, // lime
	{606, "#e08a00"}, // amber
	{628, "#e2572b"}, // orange red
	{648, "#cf2e2e"}, // red
	{690, "#a3123a"}, // deep red
}

// onColour returns black or white, whichever is read better on a colour given as #rrggbb.
func onColour(hex string) paint {
	var r, g, b int
	if _, err := fmt.Sscanf(hex, "#%02x%02x%02x", &r, &g, &b); err != nil {
		return fixed("#111111")
	}
	if 0.299*float64(r)+0.587*float64(g)+0.114*float64(b) > 140 {
		return fixed("#111111")
	}
	return fixed("#ffffff")
}

// colourOr returns a colour that is a #rrggbb, or another.
func colourOr(hex, other string) string {
	if len(hex) != 7 || hex[0] != '#' {
		return other
	}
	for _, r := range hex[1:] {
		if !strings.ContainsRune("0123456789abcdefABCDEF", r) {
			return other
		}
	}
	return hex
}
