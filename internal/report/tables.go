package report

import (
	"encoding/csv"
	"io"
	"strconv"

	"lampwright/internal/figure"
	"lampwright/internal/project"
)

// OrdersCSV writes an order list as CSV (RFC 4180), with its total in the last row; an empty price is not stated. Wires
// are counted in metres of the pair.
func OrdersCSV(w io.Writer, lines []project.OrderLine) error {
	rows := [][]string{{
		"kind", "part", "what", "count", "unit", "each_eur", "total_eur", "note", "from", "fictitious",
	}}
	sum := 0.0
	for i := range lines {
		o := &lines[i]
		each, total, part := "", "", ""
		if o.Priced {
			each, total = euros(o.Each), euros(o.Total())
			sum += o.Total()
		}
		if o.Part != nil {
			part = o.Part.ID.S
		}
		rows = append(rows, []string{
			o.Kind, cell(part), cell(o.What), strconv.Itoa(o.Count), unitOf(o), each, total, cell(o.Note),
			cell(fromOf(o)), strconv.FormatBool(o.Fictitious()),
		})
	}
	return writeCSV(w, append(rows, []string{"total", "", "", "", "", "", euros(sum), "", "", ""}))
}

func euros(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }

func writeCSV(w io.Writer, rows [][]string) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	return c.WriteAll(rows) // it flushes
}

// unitOf is the unit in which a line of the order list is counted.
func unitOf(o *project.OrderLine) string {
	if o.Kind == kindWire {
		return "m"
	}
	return "piece"
}

// fromOf says where a line and its price come from: the library, a file of the project's parts, or the design.
func fromOf(o *project.OrderLine) string {
	switch {
	case o.Part == nil:
		return "design"
	case o.Part.Builtin:
		return "library"
	}
	return o.Part.ID.At.File
}

// PlacementCSV writes the positions of emitters, holes, sensor and screws as CSV (RFC 4180), from the centre of the
// board: x as in the design, seen from above, and x as one looks at the LED side.
func PlacementCSV(w io.Writer, r *figure.Evaluation) error {
	b := &sheetBuilder{r: r}
	rows := [][]string{{
		"kind", "code", "name", "part", "lens", "string", "place_in_string", "x_mm", "y_mm", "x_led_side_mm",
		"length_mm", "width_mm", "diameter_mm",
	}}
	add := func(kind, code, name, part, lens, row, place string, x, y, length, width, diameter float64) {
		rows = append(rows, []string{
			kind, code, cell(name), cell(part), cell(lens), row, place, csvMM(x), csvMM(y), csvMM(-x), sizeMM(length),
			sizeMM(width), sizeMM(diameter),
		})
	}
	codes := b.codes()
	for _, s := range b.strings() {
		for n, e := range s.emitters {
			x := &r.Emitters[e]
			add("emitter", codes[e], x.Label, x.Part, x.Lens, channelCode(s.channel)+strconv.Itoa(s.number+1),
				strconv.Itoa(n+1), x.XM, x.YM, x.BodyLM, x.BodyWM, 0)
		}
	}
	for _, h := range r.Board.Holes {
		add("hole", "", "", "", "", "", "", h.XM, h.YM, h.LengthM, h.WidthM, h.DiameterM)
	}
	for _, p := range r.Lamp.Fasteners() {
		add("fastener", "", "", "", "", "", "", p.XM, p.YM, 0, 0, 0)
	}
	if s := r.Lamp.Design.Sensor; s != nil {
		add("sensor", "", "", s.Part.S, "", "", "", s.At.X.SI, s.At.Y.SI, 0, 0, 0)
	}
	for _, s := range r.Board.Spots {
		add("infrared spot", "", s.Name, "", "", "", "", s.XM, s.YM, 0, 0, s.DiameterM)
	}
	return writeCSV(w, rows)
}

// csvMM prints a position in millimetres.
func csvMM(m float64) string {
	s := strconv.FormatFloat(1000*m, 'f', 3, 64)
	if s == "-0.000" {
		return "0.000"
	}
	return s
}

// sizeMM prints a size in millimetres; empty where there is none.
func sizeMM(m float64) string {
	if m == 0 {
		return ""
	}
	return csvMM(m)
}
