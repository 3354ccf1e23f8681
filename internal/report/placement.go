package report

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"lampwright/internal/draw"
	"lampwright/internal/project"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// scales are those of drawings, from the largest. Source: ISO5455; 1 : 2.5 is common practice, no source.
var scales = []struct {
	text   string
	factor float64
}{
	{"5 : 1", 5},
	{"2 : 1", 2},
	{"1 : 1", 1},
	{"1 : 2", 1. / 2},
	{"1 : 2.5", 1 / 2.5},
	{"1 : 5", 1. / 5},
	{"1 : 10", 1. / 10},
	{"1 : 20", 1. / 20},
	{"1 : 50", 1. / 50},
	{"1 : 100", 1. / 100},
	{"1 : 200", 1. / 200},
	{"1 : 500", 1. / 500},
}

// Sizes of the table of positions [px], as build.css has them.
const (
	pointW, pointH = 140.0, 15.0
	pointsHeadH    = 20.0
	besideW        = 440.0 // widest picture with the table at its side
	gapW           = 16.0
	complete       = 40 // emitters up to which the scale is chosen so that all of them are in the table
	fewPoints      = 20 // that are in the table in any case
)

// second fills the second page: the placement as large as the first power-up leaves it room.
func (b *sheetBuilder) second() {
	p := study.FirstPowerUp(b.r)
	tableH := b.powerUp(p)
	b.v.Steps = sheetSteps(p)
	b.v.Legend, b.v.BoardNotes = b.legend(), b.boardNotes()
	const smallHeadH, dangerH = 36.0, 52.0
	used := smallHeadH + 2*headingH + dangerH + closingNoteH + lineH*columnLines(b.v.Steps) + notesH(b.v.Legend) +
		notesH(b.v.BoardNotes)
	b.placement(sheetH - used - tableH)
}

// notesH is the height of texts below one another over the whole width [px].
func notesH(list []string) (h float64) {
	const perLine = 112
	for _, s := range list {
		h += lineH*math.Ceil(float64(len([]rune(s)))/perLine) + noteGapH
	}
	return h
}

// columnLines is the number of lines of a list in two columns.
func columnLines(list []string) (n float64) {
	const perLine = 54
	for _, s := range list {
		n += math.Ceil(float64(len([]rune(s))) / perLine)
	}
	return math.Ceil(n/2) + 1
}

// placement draws the board at the largest scale that leaves the table of positions room, and fills that table.
func (b *sheetBuilder) placement(room float64) {
	n := len(b.r.Emitters)
	need := n
	if n > complete {
		need = fewPoints
	}
	for _, s := range scales {
		p := draw.PlacementPicture(b.board(s.factor))
		if p.Empty() {
			return
		}
		columns, rows := sheetW/pointW, (room-p.Height-pointsHeadH)/pointH
		beside := p.Width <= besideW
		if beside {
			columns, rows = (sheetW-p.Width-gapW)/pointW, (room-pointsHeadH)/pointH
		}
		places := int(columns) * int(math.Max(rows, 0))
		if p.Width <= sheetW && p.Height <= room && places >= need {
			b.v.Placement, b.v.Scale, b.v.Beside = template.HTML(p.InlineAtSize()), s.text, beside
			b.points(int(columns), int(rows))
			return
		}
	}
}

// board is the LED side of the board at a scale: x to the left.
func (b *sheetBuilder) board(scale float64) draw.Placement {
	v, colours := b.r.Board, channelColours(b.r)
	p := draw.Placement{
		Board: draw.Board{
			ID: "placement", Disc: v.Shape == "disc", LengthM: v.LengthM, WidthM: v.WidthM,
			Contact: draw.Rect{XM: -v.ContactXM, YM: v.ContactYM, LengthM: v.ContactLM, WidthM: v.ContactWM},
		},
		PxPerM: pxPerM * scale, XLeft: true,
	}
	for _, c := range v.Corners {
		p.Corners = append(p.Corners, [2]float64{-c[0], c[1]})
	}
	for _, h := range v.Holes {
		hole := draw.BoardHole(h)
		hole.XM = -hole.XM
		p.Holes = append(p.Holes, hole)
	}
	if v.HasSensor {
		p.Sensor = &draw.Spot{XM: -v.SensorXM, YM: v.SensorYM, Name: "sensor"}
	}
	p.Emitters = make([]draw.BoardEmitter, len(b.r.Emitters))
	for i := range b.r.Lamp.Channels {
		c := &b.r.Lamp.Channels[i]
		for k, e := range c.Emitters {
			x := &b.r.Emitters[e]
			p.Emitters[e] = draw.BoardEmitter{
				Label: code(i, k), XM: -x.XM, YM: x.YM, LengthM: x.BodyLM, WidthM: x.BodyWM, LensM: x.LensM,
				Colour: colours[c.Name],
			}
		}
	}
	for _, s := range b.strings() {
		p.Strings = append(p.Strings, s.emitters)
	}
	return p
}

// stringOf is one string: its emitters from + to −.
type stringOf struct {
	channel, number int
	emitters        []int
}

// strings returns every string of the lamp.
func (b *sheetBuilder) strings() (out []stringOf) {
	for i := range b.r.Lamp.Channels {
		c := &b.r.Lamp.Channels[i]
		for s := range c.Strings {
			one := stringOf{channel: i, number: s}
			for n := range len(c.Emitters) / c.Strings {
				one.emitters = append(one.emitters, c.StringEmitter(s, n))
			}
			out = append(out, one)
		}
	}
	return out
}

// codes returns the code of each emitter.
func (b *sheetBuilder) codes() []string {
	out := make([]string, len(b.r.Emitters))
	for i := range b.r.Lamp.Channels {
		for k, e := range b.r.Lamp.Channels[i].Emitters {
			out[e] = code(i, k)
		}
	}
	return out
}

// points fills the table of positions column by column.
func (b *sheetBuilder) points(columns, rows int) {
	codes := b.codes()
	n := len(codes)
	if n > columns*rows {
		b.v.MorePoints = n - columns*rows
		n = columns * rows
	}
	if !b.v.Beside {
		rows = (n + columns - 1) / columns
	}
	for at := 0; at < n; at += rows {
		var column []sheetPoint
		for e := at; e < min(at+rows, n); e++ {
			x := &b.r.Emitters[e]
			column = append(column, sheetPoint{codes[e], millimetre(x.XM), millimetre(x.YM)})
		}
		b.v.Columns = append(b.v.Columns, column)
	}
}

// maxLegend is the number of lines of the legend.
const maxLegend = 8

// legend says what each code stands for, and how the strings run.
func (b *sheetBuilder) legend() (out []string) {
	for i := range b.r.Lamp.Channels {
		c := &b.r.Lamp.Channels[i]
		at, text := 0, channelCode(i)+" "+c.Name+": "
		for j := range c.Use.Emitters {
			u := &c.Use.Emitters[j]
			if j > 0 {
				text += "; "
			}
			text += codeSpan(i, at, len(u.At)) + " " + u.Part.S
			at += len(u.At)
			if u.DieConfiguration.Set {
				text += " wired for " + u.DieConfiguration.S
			}
			if u.Lens.Set {
				text += " under " + u.Lens.S
			}
		}
		out = append(out, text+"; "+b.run(i)+".")
	}
	if len(out) > maxLegend {
		more := len(out) - maxLegend + 1
		out = append(out[:maxLegend-1], fmt.Sprintf("%d further channels: placement CSV.", more))
	}
	return out
}

// codeSpan is the codes of n emitters of a channel from its emitter at.
func codeSpan(channel, at, n int) string {
	if n < 2 {
		return code(channel, at)
	}
	return code(channel, at) + " to " + code(channel, at+n-1)
}

// run tells the order of the emitters in each string of a channel.
func (b *sheetBuilder) run(channel int) string {
	codes := b.codes()
	var runs []string
	for _, s := range b.strings() {
		if s.channel != channel {
			continue
		}
		var list []string
		for _, e := range s.emitters {
			list = append(list, codes[e])
		}
		if len(list) > 6 {
			list = append(append(list[:2:2], "…"), list[len(list)-1])
		}
		runs = append(runs, "+ "+strings.Join(list, " → ")+" −")
	}
	if len(runs) > 4 {
		runs = append(runs[:3:3], fmt.Sprintf("%d more", len(runs)-3))
	}
	return strings.Join(runs, ", ")
}

// boardNotes are holes, sensor and mounting, as far as the design states them.
func (b *sheetBuilder) boardNotes() (out []string) {
	d := b.r.Lamp.Design
	for i := range d.Board.Holes {
		h := &d.Board.Holes[i]
		what := "Ø " + h.Diameter.Text
		if !h.Diameter.Set {
			what = h.Length.Text + " × " + h.Width.Text
		}
		out = append(out, fmt.Sprintf("Holes %s (%d): %s.", what, len(h.At), places(h.At)))
	}
	if len(out) > 3 {
		out = append(out[:2], fmt.Sprintf("%d further kinds of holes: placement CSV.", len(d.Board.Holes)-2))
	}
	if s := d.Sensor; s != nil {
		out = append(out, fmt.Sprintf("Sensor %s: %s.", s.Part.S, places([]source.Point{s.At})))
	}
	if m := d.Board.Mounting; m != nil {
		out = append(out, mountingNote(m))
	}
	text := "Between board and heat sink: " + b.r.Lamp.Interface.Basics().ID.S
	if d.Solder.Set {
		text += "; solder under the LEDs: " + d.Solder.S
	}
	if d.WireAlloy.Set {
		text += "; for the wires: " + d.WireAlloy.S
	}
	return append(out, text+".")
}

func mountingNote(m *project.Mounting) string {
	text := "Mounting: " + strings.TrimSpace(string(m.Method.S)+" "+string(m.Screw.S))
	if m.Torque.Set {
		text += ", torque " + m.Torque.Text
	}
	if m.Washer.Set {
		text += ", washer " + string(m.Washer.S)
	}
	if m.KeepOut.Set {
		text += ", no copper of the circuit within " + m.KeepOut.Text
	}
	return text + "."
}

// places lists positions in millimetres, at most a dozen.
func places(list []source.Point) string {
	var out []string
	for i, at := range list {
		if i == 12 {
			return strings.Join(out, " ") + fmt.Sprintf(" and %d more, see the placement CSV", len(list)-12)
		}
		out = append(out, "("+millimetre(at.X.SI)+", "+millimetre(at.Y.SI)+")")
	}
	return strings.Join(out, " ")
}

// sheetSteps is the checklist of the first power-up, without what the table states.
func sheetSteps(p study.PowerUp) []string {
	out := beforeSteps(p)
	out = append(out, "Voltage lower by “one die” or a multiple: a die is shorted. No current at the voltage "+
		"limit: open or reversed.")
	out = append(out, warmSteps(p)...)
	return append(out, lastSteps()...)
}
