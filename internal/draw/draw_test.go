package draw

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampwright/internal/light"
)

const hostile = `<script>alert("x")</script> & 'y' ]]> ` + "\x00\x07"

// checkPicture says what is wrong with a picture as XML and as a part of a page.
func checkPicture(t testing.TB, name string, p Picture) {
	t.Helper()
	if p.Empty() {
		t.Errorf("%s: nothing was drawn", name)
		return
	}
	inline := p.Inline()
	for _, bad := range []string{"NaN", "Inf", "http", "url(", "src=", "href", "style=", "<script", "\x00"} {
		if strings.Contains(inline, bad) {
			t.Errorf("%s: holds %q", name, bad)
		}
	}
	for _, want := range []string{`role="img"`, "<title id=", "<desc id=", "aria-labelledby="} {
		if !strings.Contains(inline, want) {
			t.Errorf("%s: holds no %q", name, want)
		}
	}
	for _, text := range []string{inline, string(p.File())} {
		d := xml.NewDecoder(strings.NewReader(text))
		for {
			_, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Errorf("%s: is no XML: %v", name, err)
				break
			}
		}
	}
	if !(p.Width > 0) || !(p.Height > 0) || p.Height > 5000 {
		t.Errorf("%s: size %g × %g", name, p.Width, p.Height)
	}
}

func bump(nx, ny int) []float64 {
	out := make([]float64, nx*ny)
	for j := range ny {
		for i := range nx {
			x, y := (float64(i)+0.5)/float64(nx)-0.5, (float64(j)+0.5)/float64(ny)-0.5
			out[j*nx+i] = 100 * math.Exp(-8*(x*x+y*y))
		}
	}
	return out
}

func pictures(name string, width float64) map[string]Picture {
	var nm, broad, narrow, eye, target []float64
	for l := 360.0; l <= 830; l++ {
		nm = append(nm, l)
		broad = append(broad, 0.04*math.Exp(-math.Pow((l-560)/70, 2))+0.06*math.Exp(-math.Pow((l-450)/12, 2)))
		narrow = append(narrow, 0.1*math.Exp(-math.Pow((l-660)/10, 2)))
		eye = append(eye, math.Exp(-math.Pow((l-555)/60, 2)))
		target = append(target, 0.2*broad[len(broad)-1])
	}
	field := &Field{X0M: -0.0475, Y0M: -0.0225, StepM: 0.005, NX: 20, NY: 10, CellsK: bump(20, 10)}
	for i := range field.CellsK {
		field.CellsK[i] += 300
	}
	field.CellsK[0] = math.NaN()
	return map[string]Picture{
		"map": LightMap(Map{
			ID: "m", Title: name, What: "PPFD", Unit: "µmol/m²/s", LengthM: 0.6, WidthM: 0.3, NX: 30,
			NY: 15, Cells: bump(30, 15), Spots: []Spot{{0, 0, name}}, Edge: name, Width: width,
		}),
		"board": BoardPicture(Board{
			ID: "b", LengthM: 0.1, WidthM: 0.06, Contact: Rect{0, 0, 0.05, 0.05},
			Field: field, Sensor: &Spot{0.01, 0.01, "s"}, Width: width, Emitters: []BoardEmitter{
				{Label: name, LengthM: 0.004, WidthM: 0.004, LensM: 0.02, Colour: `"><script>`}, {
					Label: "bare", XM: 0.03,
					LengthM: 0.003, WidthM: 0.003, TemperatureK: 330, ShowsSolderAt: true,
				},
			},
		}),
		"section": SectionPicture(Section{
			ID: "s", LengthM: 0.6, HeightM: 0.36, WaterM: 0.32, SubstrateM: 0.05,
			GlassM: 0.006, LensM: 0.62, BoardM: 0.1, SinkM: 0.06, Width: width, Texts: []string{
				name,
				"22 % of the light misses the opening.",
			}, Lenses: []SectionLens{
				{XM: 0, HalfRad: math.Pi / 6, FieldRad: 0.9, Channel: name, Colour: "#123456"}, {
					XM:      0,
					HalfRad: math.Pi / 6, FieldRad: 0.9, Channel: "other",
				},
			},
		}),
		"bench": SectionPicture(Section{
			ID: "s2", LengthM: 0.8, LensM: 0.5, Width: width,
			Lenses: []SectionLens{{XM: 0.1, HalfRad: 0.6, FieldRad: 1.1}},
		}),
		"flow":     FlowPicture(FlowChart{ID: "f", Streams: demoStreams(name), Width: width}),
		"flowdown": FlowPicture(FlowChart{ID: "fd", Streams: demoStreams(name), Down: true, Width: width}),
		"lines": LinesPicture(Lines{
			ID: "ln", Title: name, Along: "height, mm", Mark: 200, Marked: "now",
			Width: width, Panels: []LinePanel{
				{What: name, Least: 20, Most: 90, Series: []LineSeries{{
					name,
					[]float64{100, 200, 300},
					[]float64{90, 60, 30},
				}, {"b", []float64{100, 300}, []float64{20, 10}}}},
				{What: "spill, %", Most: 500, Series: []LineSeries{{"", []float64{100, 300}, []float64{2, 20}}}},
			},
		}),
		"day": DayPicture(Day{
			ID: "dy", Title: name, Width: width, Hours: []float64{0, 8, 12, 18, 24}, StripAt: 1,
			Colours: []string{"#000000", "#804020", "#c0b0a0", "#804020", "#000000"},
			Lanes: []DayLane{
				{
					Name: name, Note: name, Value: "100 %", Y: []float64{0, 0.5, 1, 0.5, 0}, High: 1, Colour: "#e3c866",
					Filled: true,
				},
				{
					Name: "temperature", Note: "junction", Value: name, Low: 15, Limit: 80,
					Y:      []float64{20, 40, 70, 40, 20},
					Second: []float64{20, 30, 50, 30, 20}, Least: 30, Most: 60,
				},
			},
		}),
		"spectrum": SpectrumPicture(Spectrum{
			ID: "sp", LambdaNM: nm, Eye: eye, Target: target, TargetAt: name,
			Width: width, Channels: []SpectrumChannel{{name, "#e3c866", broad}, {"red", "red", narrow}},
		}),
		"windows": WindowsPicture(Windows{ID: "w", Width: width, Rows: []Window{
			{Channel: name, Driver: name, LowV: 8, TypV: 9, HighV: 10, MinV: 2, MaxV: 32, CapV: 9.6},
			{Channel: "far", Driver: "d", LowV: 5, TypV: 5.5, HighV: 6, MinV: 27, MaxV: 42},
		}}),
		"layers": LayersPicture(Layers{ID: "ly", Emitter: name, Width: width, Steps: []LayerStep{
			{name, 340, 320},
			{"paste", 320, 319.99},
			{"sink", 319, 300},
		}}),
		"stack": StackPicture(Stack{
			ID: "st", Width: width, Limits: []Limit{{name, 373}, {"absolute maximum", 423}},
			Rows: []StackRow{
				{Title: name, Emitter: name, RoomK: 295, Note: name, Steps: []Step{
					{name, 310},
					{"solder point to junction", 340},
				}},
			},
		}),
	}
}

func demoStreams(name string) []Stream {
	return []Stream{
		{"wall", "supply", 39, false},
		{"wall", "drivers", 3.5, false},
		{"supply", name, 5.5, true},
		{"supply", "drivers", 33, false},
		{"supply", "fan", 0.5, true},
		{"drivers", "heat in drivers", 2.5, true},
		{"drivers", "heat in wires", 1, true},
		{"drivers", "emitters", 33, false},
		{"emitters", "heat in emitters", 20.5, true},
		{"emitters", "light", 12.5, false},
		{"light", "misses", 2.3, true},
		{"light", "panes", 0.7, true},
		{"light", "sent back", 0.2, true},
		{"light", "target " + name, 9.3, false},
	}
}

func TestPicturesAreSoundAndEscaped(t *testing.T) {
	for _, name := range []string{"plain", hostile, strings.Repeat("very long name ", 20), "", "白い光"} {
		for _, width := range []float64{0, 320, 900} {
			for kind, p := range pictures(name, width) {
				checkPicture(t, fmt.Sprintf("%s of %q, %g wide", kind, name, width), p)
			}
		}
	}
}

func TestSameValuesSameBytes(t *testing.T) {
	a, b := pictures("x", 0), pictures("x", 0)
	for k := range a {
		if a[k].Inline() != b[k].Inline() {
			t.Errorf("%s differs from one run to the next", k)
		}
	}
}

func TestNothingToDraw(t *testing.T) {
	nan := math.NaN()
	for name, p := range map[string]Picture{
		"map without cells":     LightMap(Map{LengthM: 1, WidthM: 1}),
		"map with NaN":          LightMap(Map{LengthM: 1, WidthM: 1, NX: 1, NY: 1, Cells: []float64{nan}}),
		"board without size":    BoardPicture(Board{}),
		"section without size":  SectionPicture(Section{}),
		"lamp under its target": SectionPicture(Section{LengthM: 1, SubstrateM: 1, LensM: 0.5}),
		"flow of nothing": FlowPicture(FlowChart{Streams: []Stream{
			{"a", "b", nan, false},
			{"a", "b", -1, true},
			{"a", "a", 3, false},
		}}),
		"lines of one point": LinesPicture(Lines{Panels: []LinePanel{{Series: []LineSeries{{
			"a",
			[]float64{1},
			[]float64{1},
		}, {"b", []float64{1, 2}, []float64{nan, 1}}}}}}),
		"dark spectrum": SpectrumPicture(Spectrum{
			LambdaNM: []float64{400, 500},
			Channels: []SpectrumChannel{{"a", "", []float64{0, 0}}},
		}),
		"window without driver":  WindowsPicture(Windows{Rows: []Window{{LowV: nan}}}),
		"layers without any":     LayersPicture(Layers{Steps: []LayerStep{{"a", nan, 1}}}),
		"stack without a number": StackPicture(Stack{Rows: []StackRow{{RoomK: nan, Steps: []Step{{"a", 1}}}}}),
	} {
		if !p.Empty() {
			t.Errorf("%s: something was drawn", name)
		}
	}
	checkPicture(t, "one cell", LightMap(Map{LengthM: 1, WidthM: 1, NX: 1, NY: 1, Cells: []float64{5}}))
	checkPicture(t, "a dark map", LightMap(Map{LengthM: 1, WidthM: 1, NX: 2, NY: 2, Cells: make([]float64, 4)}))
	if p := FlowPicture(FlowChart{Streams: []Stream{
		{"a", "b", 3, false},
		{"b", "a", 3, false},
		{"b", "c", 1, false},
	}}); !p.Empty() {
		t.Error("a circle without a start was drawn")
	}
}

// Conservation: at each place the widths of what leaves are the width of the bar, and no label meets another.
func TestFlowWidthsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stages := rapid.IntRange(2, 7).Draw(t, "stages")
		watts := rapid.Float64Range(1, 500).Draw(t, "watts")
		var streams []Stream
		left, jumped, lands := watts, 0.0, 0.0
		for i := range stages {
			from, to := fmt.Sprint("place ", i), fmt.Sprint("place ", i+1)
			left += lands
			lands, jumped = jumped, 0
			for k := range rapid.IntRange(0, 3).Draw(t, "losses") {
				w := left * rapid.Float64Range(0.001, 0.3).Draw(t, "loss")
				streams = append(streams, Stream{
					from, fmt.Sprintf("loss %d of the place %d with a long name", k, i),
					w, true,
				})
				left -= w
			}
			if i+2 <= stages && rapid.Bool().Draw(t, "jumps") {
				jumped = left * 0.1
				left -= jumped
				streams = append(streams, Stream{from, fmt.Sprint("place ", i+2), jumped, false})
			}
			streams = append(streams, Stream{from, to, left, false})
		}
		ch := newChart(streams)
		c := &canvas{}
		lay := layAcross(c, &ch)
		var labels []box
		for i, s := range ch.stops {
			out := 0.0
			for k := range s.on {
				b := lay.links[s.on[k]]
				if math.Abs((b.a1-b.a0)-(b.b1-b.b0)) > 1e-9 {
					t.Fatalf("a stream changes its width on the way")
				}
				out += b.a1 - b.a0
			}
			for _, b := range lay.spurs[i] {
				if math.Abs((b.a1-b.a0)-(b.b1-b.b0)) > 1e-6 {
					t.Fatalf("a loss changes its width on the way")
				}
				out += b.a1 - b.a0
				if b.b0-bendIn < lay.barX[s.column]+barWide-1e-6 {
					t.Fatalf("a loss turns before it has left its bar")
				}
				labels = append(labels, b.label)
			}
			if out > lay.height[i]+1e-6 {
				t.Fatalf("%s: %g px leave a bar of %g px", s.name, out, lay.height[i])
			}
			if math.Abs(lay.height[i]-s.watts*lay.perW) > 1e-9 {
				t.Fatalf("%s: bar of %g px for %g W at %g px/W", s.name, lay.height[i], s.watts, lay.perW)
			}
		}
		for i := range labels {
			for j := range i {
				if labels[i].overlaps(labels[j]) {
					t.Fatalf("labels %v and %v overlap", labels[i], labels[j])
				}
			}
			if labels[i].x < 0 || labels[i].x+labels[i].w > c.w+1e-6 {
				t.Fatalf("label %v leaves the picture of %g px", labels[i], c.w)
			}
		}
	})
}

func TestFlowOfTheDemoIsWhole(t *testing.T) {
	ch := newChart(demoStreams("heat in supply"))
	if math.Abs(ch.total-42.5) > 1e-9 {
		t.Errorf("%g W enter, want 42.5", ch.total)
	}
	arrives, lost := 0.0, 0.0
	for _, s := range ch.stops {
		if len(s.on) == 0 && len(s.spurs) == 0 {
			arrives += s.watts
		}
		for _, l := range s.spurs {
			lost += l.watts
		}
	}
	if math.Abs(arrives+lost-ch.total) > 1e-9 {
		t.Errorf("%g W arrive and %g W are lost, of %g W", arrives, lost, ch.total)
	}
}

// The picture's refraction is that of the light room.
func TestRaysFollowTheLightRoom(t *testing.T) {
	s := Section{LengthM: 10, HeightM: 1, WaterM: 0.6, SubstrateM: 0.1, LensM: 0.9, Index: 1.333}
	for _, deg := range []float64{0, 5, 20, 30, 45, 60} {
		pts, how := s.trace(0, s.LensM, deg*math.Pi/180, 10, 0)
		end := pts[len(pts)-1]
		if how != onTarget {
			t.Errorf("%g°: ends as %d", deg, how)
			continue
		}
		r := light.RayThrough(0.3, 0.5, end[0], 1.333)
		if math.Abs(r.AirRad-deg*math.Pi/180) > 1e-6 || math.Abs(r.CrossingM-pts[len(pts)-2][0]) > 1e-6 {
			t.Errorf("%g°: light room goes %g rad and crosses at %g m, the picture at %g m", deg, r.AirRad,
				r.CrossingM, pts[len(pts)-2][0])
		}
	}
}

// A cone of 50° from 240 mm is 2 · 240 mm · tan 25° = 223.8 mm wide at the surface. Below it its half angle is
// asin(sin 25°/1.333) = 18.48°, so that it is 400 mm wide at a depth of (200 mm − 111.9 mm)/tan 18.48° = 263.6 mm.
func TestConeByHand(t *testing.T) {
	s := Section{LengthM: 10, HeightM: 1, WaterM: 0.2636, LensM: 0.5036, Index: 1.333}
	pts, _ := s.trace(0, s.LensM, 25*math.Pi/180, 10, 0)
	if got := 2 * pts[1][0]; math.Abs(got-0.2238) > 0.0001 {
		t.Errorf("%.4f m wide at the surface, want 0.2238", got)
	}
	if got := 2 * pts[2][0]; math.Abs(got-0.4000) > 0.0001 {
		t.Errorf("%.4f m wide 263.6 mm below it, want 0.4", got)
	}
}

func TestRaysEndWhereTheyShould(t *testing.T) {
	tank := Section{LengthM: 0.6, HeightM: 0.36, WaterM: 0.32, SubstrateM: 0.05, LensM: 0.62, Index: 1.333}
	bench := Section{LengthM: 0.6, LensM: 0.3}
	for _, tt := range []struct {
		name  string
		s     Section
		angle float64
		want  end
	}{
		{"straight down", tank, 0, onTarget},
		{"on the dry pane", tank, math.Atan(0.3 / 0.28), onPane},
		{"on the wet pane", tank, math.Atan(0.29 / 0.3), onPane},
		{"over the rim", tank, math.Atan(0.3/0.26) + 0.01, beyond},
		{"bench, inside", bench, math.Atan(0.99), onTarget},
		{"bench, beyond", bench, math.Atan(1.01), beyond},
	} {
		for _, sign := range []float64{1, -1} {
			if _, how := tt.s.trace(0, tt.s.LensM, sign*tt.angle, 1, -0.1); how != tt.want {
				t.Errorf("%s: ends as %d, want %d", tt.name, how, tt.want)
			}
		}
	}
}

// The outlines of a cone are circles: their area is that of the disc, and they stay closed where the edge cuts them.
func TestContours(t *testing.T) {
	const k = 100
	cells := make([]float64, k*k)
	for j := range k {
		for i := range k {
			cells[j*k+i] = 1 - math.Hypot((float64(i)+0.5)/k-0.5, (float64(j)+0.5)/k-0.5)
		}
	}
	l := refine(cells, k, k, 1, 1, 2)
	area := func(level float64) float64 {
		sum := 0.0
		for _, loop := range l.above(level) {
			for i, p := range loop {
				q := loop[(i+1)%len(loop)]
				sum += (p[0]*q[1] - q[0]*p[1]) / 2
			}
		}
		return sum
	}
	for _, tt := range []struct{ level, want, tol float64 }{
		{0.8, math.Pi * 0.04, 1e-3},
		{0.6, math.Pi * 0.16, 1e-3},
		{0, 1, 1e-9},   // everything
		{1.1, 0, 1e-9}, // nothing
	} {
		if got := area(tt.level); math.Abs(got-tt.want) > tt.tol {
			t.Errorf("area above %g is %g, want %g", tt.level, got, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(t, "n")
		v := rapid.SliceOfN(rapid.Float64Range(0, 10), n*n, n*n).Draw(t, "v")
		l := refine(v, n, n, 1, 1, 3)
		last := math.Inf(1)
		for _, level := range []float64{0, 1, 3, 5, 8} {
			sum := 0.0
			for _, loop := range l.above(level) {
				for i, p := range loop {
					q := loop[(i+1)%len(loop)]
					sum += (p[0]*q[1] - q[0]*p[1]) / 2
				}
			}
			if sum > last+1e-9 || sum < -1e-9 || sum > 1+1e-9 {
				t.Fatalf("area above %g is %g, above the level before it %g", level, sum, last)
			}
			last = sum
		}
	})
}

// dichromats are matrices on linear sRGB that simulate complete dichromacy. Source: Machado2009, severity 1.0, cited
// from memory; each row sums to 1, so that greys stay grey.
var dichromats = map[string][3][3]float64{
	"trichromat": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protanope": {
		{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998},
	},
	"deuteranope": {
		{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881},
	},
	"tritanope": {
		{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900},
	},
}

// TestScales: lightness rises in each of 64 steps for every kind of colour vision, and 16 steps of a ramp are equally
// far apart in OKLab.
func TestScales(t *testing.T) {
	const steps = 64 // a step of the 256 is less than the rounding of a colour to 8 bits
	for name, r := range map[string]ramp{"light": lightRamp, "heat": heatRamp} {
		for who, m := range dichromats {
			last := math.Inf(-1)
			for i := range steps + 1 {
				l := simulated(m, r.at(float64(i)/steps))[0]
				if l <= last {
					t.Errorf("%s, %s: lightness falls from %.4f to %.4f at %d of %d", name, who, last, l, i, steps)
				}
				last = l
			}
			if dark := simulated(m, r.at(0))[0]; last-dark < 0.7 {
				t.Errorf("%s, %s: spans %.2f in lightness", name, who, last-dark)
			}
		}
		// 0.053 and 0.052 by the target of the page's design; 4 % of rounding to 8 bits and of corners that are cut.
		want := map[string]float64{"light": 0.0534, "heat": 0.0521}[name]
		for i := range 16 {
			same := dichromats["trichromat"]
			d := labDistance(simulated(same, r.at(float64(i)/16)), simulated(same, r.at(float64(i+1)/16)))
			if math.Abs(d/want-1) > 0.04 {
				t.Errorf("%s: step %d is %.4f in OKLab, want %.4f", name, i, d, want)
			}
		}
	}
	// White has lightness 1 and no colour: Ottosson2020.
	if w := okLab([3]float64{1, 1, 1}); math.Abs(w[0]-1) > 1e-6 || math.Abs(w[1]) > 1e-6 || math.Abs(w[2]) > 1e-6 {
		t.Errorf("white is %v in OKLab", w)
	}
}

// simulated returns OKLab of a colour as it is seen through a matrix on linear sRGB.
func simulated(m [3][3]float64, hex string) [3]float64 {
	v, _ := linear(hex)
	var seen [3]float64
	for k := range seen {
		seen[k] = math.Max(0, m[k][0]*v[0]+m[k][1]*v[1]+m[k][2]*v[2])
	}
	return okLab(seen)
}

func TestChannelColours(t *testing.T) {
	var nm, white, red, dark []float64
	for l := 360.0; l <= 830; l++ {
		nm = append(nm, l)
		white = append(white, math.Exp(-math.Pow((l-560)/70, 2))+math.Exp(-math.Pow((l-450)/12, 2)))
		red = append(red, math.Exp(-math.Pow((l-660)/10, 2)))
		dark = append(dark, 0)
	}
	got := ChannelColours(nm, [][]float64{white, red, white, red, dark})
	if got[4] != "#808890" {
		t.Errorf("no light is drawn in %s, want the grey of what is unknown", got[4])
	}
	if got[0] == got[2] || got[1] == got[3] {
		t.Errorf("channels alike have the same colour: %v", got)
	}
}

// TestSeen: whatever colour stands for a channel can be told from light and dark pages and panels, and keeps its hue.
func TestSeen(t *testing.T) {
	hue := func(hex string) float64 {
		v, _ := linear(hex)
		return math.Atan2(math.Sqrt(3)*(v[1]-v[2]), 2*v[0]-v[1]-v[2])
	}
	grounds := []string{Paper.hex, Panel.hex}
	for _, d := range darkOf {
		if d.of == Paper || d.of == Panel {
			grounds = append(grounds, d.hex)
		}
	}
	list := []string{"#e3c866", "#000000", "#ffffff", "#0000ff", "#808890"}
	for _, b := range bandColours {
		list = append(list, b.hex)
	}
	for _, hex := range list {
		for times := range 4 {
			got := seen(shade(hex, times))
			v, ok := linear(got)
			if !ok {
				t.Fatalf("%s became %q", hex, got)
			}
			for _, ground := range grounds {
				g, _ := linear(ground)
				a, b := luminance(v)+0.05, luminance(g)+0.05
				// WCAG 2.2, 1.4.11: parts of graphics that are needed to understand them have 3 : 1 at the least.
				if r := math.Max(a/b, b/a); r < 3 {
					t.Errorf("%s, %d times, is drawn as %s: %.2f : 1 on %s", hex, times, got, r, ground)
				}
			}
			// Rounding to 256 steps turns dull colours by some degrees.
			if off := math.Abs(math.Remainder(hue(got)-hue(hex),
				2*math.Pi)); times == 0 && off > 0.05 && hex != "#000000" && hex != "#ffffff" {
				t.Errorf("%s is drawn as %s, its hue turned by %.2f rad", hex, got, off)
			}
		}
	}
	if again := seen(seen("#2946b8")); again != seen("#2946b8") {
		t.Errorf("a colour that is seen is changed again, to %s", again)
	}
}

// TestTrueMinus: numbers in pictures have a minus sign, not a hyphen.
func TestTrueMinus(t *testing.T) {
	for _, got := range []string{tick(-20, 10), tick(-0.5, 0.5), short(-12.3), short(-1234), short(-0.02)} {
		if !strings.HasPrefix(got, "−") || strings.Contains(got, "-") {
			t.Errorf("a number below zero is printed as %q", got)
		}
	}
	if got := tick(math.Copysign(0, -1), 1); got != "0" {
		t.Errorf("zero is printed as %q", got)
	}
}

func TestTextFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "s")
		wide := rapid.Float64Range(5, 300).Draw(t, "wide")
		for _, l := range wrap(s, 12, false, wide, 3) {
			if textWidth(l, 12, false) > wide {
				t.Fatalf("line %q is wider than %g", l, wide)
			}
		}
		if n := len(wrap(s, 12, false, wide, 3)); n > 3 {
			t.Fatalf("%d lines", n)
		}
	})
}

func BenchmarkLightMap(b *testing.B) {
	m := Map{ID: "m", LengthM: 0.6, WidthM: 0.3, NX: 100, NY: 60, Cells: bump(100, 60)}
	for b.Loop() {
		LightMap(m)
	}
}

// TestBoardOutline: a polygon is drawn by its corners and to their scale, and what is cut out is drawn over the field.
func TestBoardOutline(t *testing.T) {
	b := Board{
		ID: "b", LengthM: 0.06, WidthM: 0.04, Width: 460, Corners: [][2]float64{{0, 0}, {0.06, 0}, {0.06, 0.04}},
		Holes: []BoardHole{{XM: 0.05, YM: 0.01, DiameterM: 0.003}, {XM: 0.04, YM: 0.01, LengthM: 0.004, WidthM: 0.002}},
	}
	p := BoardPicture(b)
	// 460 px less 2 · 26 px for 2 · 60 mm: 3400 px/m about (230, 14 + 40 mm)
	for _, want := range []string{
		`d="M230 150L434 150L434 14z"`, `<circle cx="400" cy="116" r="5.1"`,
		`<rect x="359.2" y="112.6" width="13.6" height="6.8"`,
	} {
		if !strings.Contains(p.body, want) {
			t.Errorf("the picture lacks %s:\n%s", want, p.body)
		}
	}
	if !strings.Contains(p.Desc, "Polygon of 3 corners, 60.0 by 40.0 mm, 2 holes,") {
		t.Errorf("it is described as %q", p.Desc)
	}
	b.Infrared = []RoundSpot{{Name: "spot A", XM: 0.03, YM: 0.01, DiameterM: 0.005}}
	spot := BoardPicture(b).body
	for _, want := range []string{`<circle cx="332" cy="116" r="8.5"`, ">spot A<", ">infrared spot<"} {
		if !strings.Contains(spot, want) || strings.Contains(p.body, want) {
			t.Errorf("the picture of an infrared spot lacks %s, or that without one has it:\n%s", want, spot)
		}
	}
	b.Corners = [][2]float64{{0, 0}, {math.NaN(), 0}, {math.Inf(1), 0}}
	if p := BoardPicture(b); strings.Contains(p.body, "NaN") {
		t.Error("NaN in the picture")
	}
}

// TestTiltOf: a lamp that is tilted by 20° to the back shows its underside from the front and its tilt from the right;
// any tilt keeps
// the upright at right angles to both edges.
func TestTiltOf(t *testing.T) {
	sin, cos := math.Sincos(20 * math.Pi / 180)
	near := func(what string, got, want Tilt) {
		t.Helper()
		for i, d := range [][2]float64{got.Along, got.Deep, got.Up} {
			w := [][2]float64{want.Along, want.Deep, want.Up}[i]
			if math.Hypot(d[0]-w[0], d[1]-w[1]) > 1e-12 {
				t.Errorf("%s: %v, want %v", what, got, want)
			}
		}
	}
	back := math.Pi / 2
	near("to the back, from the front", TiltOf(20*math.Pi/180, back, false), Tilt{
		Along: [2]float64{1, 0},
		Deep:  [2]float64{0, sin}, Up: [2]float64{0, cos},
	})
	near("to the back, from the right", TiltOf(20*math.Pi/180, back, true), Tilt{
		Along: [2]float64{cos, sin},
		Up:    [2]float64{-sin, cos},
	})
	near("to the right, from the front", TiltOf(20*math.Pi/180, 0, false), Tilt{
		Along: [2]float64{cos, sin},
		Up:    [2]float64{-sin, cos},
	})
	near("to the right, from the right", TiltOf(20*math.Pi/180, 0, true), Tilt{
		Along: [2]float64{1, 0},
		Deep:  [2]float64{0, -sin}, Up: [2]float64{0, cos},
	})
	// What both cuts show of an edge makes it whole: x and z from the front, y from the right.
	for _, to := range []float64{0.3, 1.9, -2.2} {
		front, right := TiltOf(0.5, to, false), TiltOf(0.5, to, true)
		x, y := [3]float64{front.Along[0], -right.Deep[0], front.Along[1]}, [3]float64{
			front.Deep[0], right.Along[0],
			front.Deep[1],
		}
		up := [3]float64{front.Up[0], right.Up[0], front.Up[1]}
		dot := func(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
		for _, c := range []struct{ got, want float64 }{
			{dot(x, x), 1},
			{dot(y, y), 1},
			{dot(up, up), 1},
			{dot(x, y), 0},
			{dot(x, up), 0},
			{dot(y, up), 0},
		} {
			if math.Abs(c.got-c.want) > 1e-12 {
				t.Errorf("towards %g: %g, want %g: edges of length 1 at right angles", to, c.got, c.want)
			}
		}
	}
}
