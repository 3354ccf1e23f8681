package report

import (
	"crypto/sha256"
	_ "embed" // plan and its style
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"
	"sync"

	"lampwright/internal/bench"
	"lampwright/internal/draw"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

//go:embed benchplan.html
var planHTML string

//go:embed benchplan.css
var planCSS string

var planPage = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("plan").Funcs(template.FuncMap{"prose": prose}).Parse(planHTML))
})

// planView is what the bench plan shows, all as text.
type planView struct {
	Style   template.HTML
	Policy  string
	Name    string
	Made    string
	Program string
	Room    string
	Settle  string // time until the steady state
	Total   string // of the work
	Compact bool   // ranges beside the values
	Strings []planString
	Signs   []planSign
	Steps   []string
	Groups  []planGroup
	Figures []string
	Warmup  template.HTML
	Map     template.HTML
	MapText string
	LeftOut string
	More    int // channels that have no room
}

// planString is one row of both tables of the first power-up.
type planString struct {
	Channel, Each, LimitV, DieV string
	Cold                        []sheetReading
	Dimmed, Volts, Amps         sheetReading
}

// planSign is what a difference means.
type planSign struct{ See, Cause, Do string }

type planGroup struct {
	Title, Wait string
	Readings    []planReading
}

type planReading struct{ Rank, ID, What, How, Expected, Range, Minutes, Tells string }

// BenchPlan writes a bench plan as one self-contained HTML file of two A4 pages: first power-up; readings.
func BenchPlan(w io.Writer, name string, s *bench.PlanSheet, o Options) error {
	v := &planView{Name: name, Made: o.Made, Program: o.Program, Room: kelvin(s.RoomK), Total: Duration(60 * s.Minutes)}
	if v.Name == "" {
		v.Name = "Unnamed lamp"
	}
	if s.SettleS > 0 {
		v.Settle = Duration(60 * math.Ceil(s.SettleS/60))
	}
	v.first(s)
	v.second(s)
	css := buildCSS + planCSS
	sum := sha256.Sum256([]byte(css))
	v.Policy = "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) +
		"'; base-uri 'none'; form-action 'none'"
	v.Style = template.HTML("<style>" + css + "</style>")
	if err := planPage().Execute(w, v); err != nil {
		return fmt.Errorf("write bench plan of %q: %w", name, err)
	}
	return nil
}

// expected returns a value and its range of ±2u with the digits that the range supports.
func expected(value, u float64, d quantity.Dim) (at, spread string) {
	const sigmas = 1.2816 // of the range by which FormatWithin rounds
	one := func(x float64) string { return quantity.FormatWithin(x, value-sigmas*u, value+sigmas*u, d) }
	lo, hi := one(value-2*u), one(value+2*u)
	number, unit, _ := strings.Cut(lo, " ")
	if _, other, _ := strings.Cut(hi, " "); other == unit {
		lo = number
	}
	return typeset(one(value)), typeset(lo + " to " + hi)
}

func planRead(r *bench.PlanReading) sheetReading {
	at, spread := expected(r.Expected, r.U, r.Dim)
	return sheetReading{Expected: at, Range: spread}
}

// Channels beyond which the rows of the first power-up have one line, and beyond which they have no room.
const (
	compactStrings = 5
	maxStrings     = 9
)

// first fills the page of the first power-up.
func (v *planView) first(s *bench.PlanSheet) {
	v.Compact = len(s.Strings) > compactStrings
	for i := range s.Strings {
		if i == maxStrings {
			v.More = len(s.Strings) - maxStrings
			break
		}
		x := &s.Strings[i]
		row := planString{
			Channel: x.Channel, LimitV: text(x.LimitV, quantity.Voltage), DieV: text(x.ShortedV, quantity.Voltage),
			Dimmed: planRead(&x.Dimmed), Volts: planRead(&x.Volts), Amps: planRead(&x.Amps),
		}
		if x.Strings > 1 {
			row.Each = fmt.Sprintf("each of %d", x.Strings)
		}
		for _, at := range x.Cold {
			row.Cold = append(row.Cold, sheetReading{
				text(at.CurrentA, quantity.Current), text(at.VoltageV, quantity.Voltage),
				span(at.MinV, at.MaxV, quantity.Voltage),
			})
		}
		v.Strings = append(v.Strings, row)
	}
	v.Steps, v.Signs = planSteps(s), planSigns(s)
}

// planSteps are the steps of the first power-up; common practice, no source.
func planSteps(s *bench.PlanSheet) []string {
	out := []string{
		"No mains, drivers disconnected. Look for solder bridges, reversed packages, screw heads on copper, loose " +
			"wires.",
		"Output of the bench supply off: set the voltage limit and the 5 % current limit of table 1. Connect one " +
			"string, " +
			"then switch on. Read the voltage in the first seconds.",
		"Switch off, set the full current, switch on, read within 1 s, switch off. Leave it out where the supply " +
			"does " +
			"not reach it. Next string.",
		"Connect the drivers with the input off: never connect a string to a live driver. Level 5 %: read the mean " +
			"current of each string (DC amps) in table 2.",
		"Now take the readings of page 2 that need a cold lamp, in their order.",
		"Full day. Touch nothing. Read the heat sink during the warm-up.",
	}
	if w := s.Warmup; w != nil {
		last := w.Points[len(w.Points)-1]
		stop := s.RoomK + 1.3*(last.Expected+2*last.U-s.RoomK)
		out[len(out)-1] += fmt.Sprintf(" Above %s switch off: check thermal interface, screws and fan.", kelvin(stop))
	}
	wait := "Steady: no change of the heat sink by 0.5 K in 10 min."
	if s.SettleS > 0 {
		wait = fmt.Sprintf("Steady after about %s: no change of the heat sink by 0.5 K in 10 min.",
			Duration(60*math.Ceil(s.SettleS/60)))
	}
	return append(out, wait+" Complete table 2, then the steady readings of page 2.",
		"Enter the values: `lampwright bench plan --readings FILE` writes the file, `lampwright bench review` "+
			"compares.")
}

// planSigns are the causes of differences; common practice, no source.
func planSigns(s *bench.PlanSheet) []planSign {
	least, most := math.Inf(1), 0.0
	for _, x := range s.Strings {
		least, most = math.Min(least, x.ShortedV), math.Max(most, x.ShortedV)
	}
	return []planSign{
		{
			"Voltage low by " + span(least, most, quantity.Voltage) + " or a multiple", "one die or more is shorted",
			"Switch off. Find the dark package.",
		},
		{"No current at the voltage limit", "string open or reversed", "Switch off. Check polarity and joints."},
		{
			"Voltage right at 5 %, high at full current", "resistance of a joint or a wire",
			"Read again at the board; solder the joint again.",
		},
		{
			"Voltage right cold, low when steady", "junctions hotter than predicted",
			"Switch off. Check thermal interface, screws, fan.",
		},
		{
			"Full current outside its range", "set resistor or dimming input of the driver; meter in the string " +
				"drops volts",
			"Check the set current. Use the 10 A range.",
		},
		{
			"5 % current near 95 % of the full one", "dimming signal inverted",
			"Change the polarity of the dimming output.",
		},
		{
			"All readings of one meter off by one factor", "range, battery or zero of the meter",
			"Read a known voltage or lamp with it.",
		},
	}
}

// second fills the page of the readings.
func (v *planView) second(s *bench.PlanSheet) {
	for i := range s.Groups {
		g := &s.Groups[i]
		out := planGroup{Title: groupTitle(g, s)}
		for k := range g.Readings {
			r := &g.Readings[k]
			at, spread := expected(r.Expected, r.U, r.Dim)
			out.Readings = append(out.Readings, planReading{
				Rank: fmt.Sprint(r.Rank), ID: r.ID, What: placeText(r), How: r.Instrument + ": " + r.Setting,
				Expected: at, Range: spread, Minutes: fmt.Sprintf("%.0f", r.Minutes), Tells: tellsText(r.Tells,
					r.Reduction),
			})
		}
		v.Groups = append(v.Groups, out)
	}
	for _, f := range s.Figures {
		before, _ := expected(f.Value, f.SDBefore, f.Dim)
		v.Figures = append(v.Figures, fmt.Sprintf("%s %s: standard uncertainty %s before, %s after", capital(f.Title),
			before,
			uncertainty(f.Value, f.SDBefore, f.Dim), uncertainty(f.Value, f.SDAfter, f.Dim)))
	}
	room := seriesRoom(v.Groups)
	if room < seriesLeast {
		v.MapText = "Warm-up and map of the target: see the readings file."
		v.LeftOut = leftOut(s)
		return
	}
	if s.Warmup != nil {
		v.Warmup = template.HTML(PlanWarmup(s, sheetW*0.46, room).InlineAtSize())
	}
	if s.Map != nil {
		v.Map = template.HTML(PlanCells(s, sheetW*0.51, room).InlineAtSize())
		v.MapText = fmt.Sprintf("Map, about %s, with the %s, level, at the centre of each cell. Small: expected.",
			Duration(60*s.Map.Minutes), s.Map.Instrument)
	}
	v.LeftOut = leftOut(s)
}

// Heights on the page of the readings [px].
const (
	readingH, stateH        = 48.0, 22.0
	readingsRestH           = 250.0 // head, tables' heads, notes, and what stands around the pictures
	seriesLeast, seriesMost = 110.0, 250.0
)

// seriesRoom returns the height that the readings leave for the plots of warm-up and map [px].
func seriesRoom(groups []planGroup) float64 {
	room := sheetH - readingsRestH
	for _, g := range groups {
		room -= stateH + readingH*float64(len(g.Readings))
	}
	return math.Min(room, seriesMost)
}

// uncertainty prints a standard deviation of a value in the unit of that value, with two digits; of a temperature in K.
func uncertainty(value, sd float64, d quantity.Dim) string {
	unit := quantity.UnitOf(value, d)
	x := quantity.In(value+sd, d, unit) - quantity.In(value, d, unit)
	if d == quantity.Temperature {
		unit = "K"
	}
	decimals := 0
	if x > 0 && x < 10 {
		decimals = 1 - int(math.Floor(math.Log10(x)))
	}
	return strings.TrimSpace(fmt.Sprintf("%.*f\u00a0%s", min(decimals, 6), x, unit))
}

// groupTitle names the state of a group, and how the lamp is brought into it.
func groupTitle(g *bench.PlanGroup, s *bench.PlanSheet) string {
	if g.State.FullDay() {
		return "Full day, steady"
	}
	var levels []string
	for _, l := range g.State.Levels {
		levels = append(levels, fmt.Sprintf("%s %.0f %%", l.Channel.S, 100*l.Level.SI))
	}
	title := "Only " + strings.Join(levels, ", ")
	if g.State.Lenses.S == "off" {
		title += ", lenses off"
	}
	if g.State.After.SI > 0 {
		return title + ", " + Duration(g.State.After.SI) + " after switch-on of the cold lamp"
	}
	return title + ", steady"
}

// placeText says what is read, and where.
func placeText(r *bench.PlanReading) string {
	if r.Where == "" {
		return quantityName(r.What)
	}
	return quantityName(r.What) + ", " + r.Where
}

// quantityName is the name of a quantity in a sentence.
func quantityName(what string) string {
	if what == string(project.ReadPPFD) {
		return "PPFD"
	}
	return what
}

func tellsText(title string, reduction float64) string {
	if title == "" {
		return ""
	}
	return fmt.Sprintf("%s −%.0f\u00a0%%", title, 100*reduction)
}

// leftOut names the readings that are not planned, by reason.
func leftOut(s *bench.PlanSheet) string {
	var reasons []string
	by := map[string][]string{}
	count := map[string]int{}
	for _, o := range s.LeftOut {
		if by[o.Reason] == nil {
			reasons = append(reasons, o.Reason)
		}
		if key := o.Reason + o.What; count[key] == 0 {
			by[o.Reason] = append(by[o.Reason], o.What)
		}
		count[o.Reason+o.What]++
	}
	var out []string
	for _, reason := range reasons {
		for i, what := range by[reason] {
			if n := count[reason+what]; n > 1 {
				by[reason][i] += fmt.Sprintf(" (%d)", n)
			}
		}
		out = append(out, strings.Join(by[reason], ", ")+": "+reason)
	}
	return strings.Join(out, "; ")
}

// PlanWarmup draws the predicted warm-up with a grid to mark readings on.
func PlanWarmup(s *bench.PlanSheet, width, height float64) draw.Picture {
	b := draw.Band{
		ID: "plan-warm-up", Title: "Warm-up of the heat sink", Along: "minutes after switch-on", Grid: true,
		Width: width,
		What:  "heat sink, °C: predicted ±2u; mark readings here", Height: height - 40,
		Predicted: []draw.BandPoint{{X: 0, Y: s.RoomK - celsius}},
	}
	for _, p := range s.Warmup.Points {
		b.Predicted = append(b.Predicted, draw.BandPoint{X: p.TimeS / 60, Y: p.Expected - celsius, U: p.U})
	}
	return draw.BandPicture(b)
}

const celsius = 273.15 // 0 °C [K]

// PlanCells draws the map of the target with the expected values and space to write.
func PlanCells(s *bench.PlanSheet, width, height float64) draw.Picture {
	points := s.Map.Points
	n := int(math.Round(math.Sqrt(float64(len(points)))))
	unit := quantity.UnitOf(points[len(points)/2].Expected, s.Map.Dim)
	m := draw.Cells{
		ID: "plan-map", Title: "Map of the target", What: quantityName(s.Map.What) + " at the target, " + unit, NX: n,
		NY: n, Width: width,
		MaxHeight: height,
	}
	for _, p := range points {
		m.LengthM = math.Max(m.LengthM, 2*math.Abs(p.XM)*float64(n)/float64(n-1))
		m.WidthM = math.Max(m.WidthM, 2*math.Abs(p.YM)*float64(n)/float64(n-1))
		at := quantity.FormatWithin(p.Expected, p.Expected-p.U, p.Expected+p.U, s.Map.Dim)
		m.Cells = append(m.Cells, draw.Cell{Below: strings.TrimSuffix(at, " "+unit)})
	}
	return draw.CellsPicture(m)
}

// PlanCautions warns of the hazards of bench work; common practice, no source.
const PlanCautions = "WARNING: electric shock, eye injury, burns. A qualified person does the mains side; local " +
	"regulations take precedence. Never look into LEDs; touch neither heat sink nor board; never bring a meter to " +
	"live " +
	"leads over water. Common practice without a source, not complete."

// BenchPlanTables returns a plan as tables for a terminal.
func BenchPlanTables(s *bench.PlanSheet) []Table {
	cold := Table{
		Title: "1 Bench supply, drivers disconnected, all junctions at " + kelvin(s.RoomK),
		Head: []string{
			"string of", "strings", "voltage limit", "one die", "current", "expected",
			"lowest to highest bins",
		},
	}
	warm := Table{
		Title: "2 On the drivers (range: ±2 standard uncertainties of lamp and meter)",
		Head: []string{
			"string of", "5 % level: mean current", "range", "full day, steady: current", "range",
			"volts at the board", "range",
		},
	}
	for i := range s.Strings {
		x := &s.Strings[i]
		for _, at := range x.Cold {
			cold.Rows = append(cold.Rows, []string{
				x.Channel, fmt.Sprint(x.Strings), plain(x.LimitV, quantity.Voltage), plain(x.ShortedV,
					quantity.Voltage),
				plain(at.CurrentA, quantity.Current), plain(at.VoltageV, quantity.Voltage),
				span(at.MinV, at.MaxV, quantity.Voltage),
			})
		}
		d, a, v := planRead(&x.Dimmed), planRead(&x.Amps), planRead(&x.Volts)
		warm.Rows = append(warm.Rows, []string{
			x.Channel, d.Expected, d.Range, a.Expected, a.Range, v.Expected,
			v.Range,
		})
	}
	signs := Table{Title: "If it differs", Head: []string{"reading", "probable cause", "do"}}
	for _, x := range planSigns(s) {
		signs.Rows = append(signs.Rows, []string{x.See, x.Cause, x.Do})
	}
	return append([]Table{cold, warm, signs}, readingTables(s)...)
}

// readingTables are the readings of the plan, by state, and the results that they determine.
func readingTables(s *bench.PlanSheet) (out []Table) {
	for i := range s.Groups {
		g := &s.Groups[i]
		t := Table{
			Title: "3 Readings: " + groupTitle(g, s),
			Head: []string{
				"rank", "id", "reading", "instrument, setting", "expected", "range ±2u", "min",
				"variance removed",
			},
		}
		for k := range g.Readings {
			r := &g.Readings[k]
			at, spread := expected(r.Expected, r.U, r.Dim)
			t.Rows = append(t.Rows, []string{
				fmt.Sprint(r.Rank), r.ID, placeText(r), r.Instrument + ": " + r.Setting, at, spread,
				fmt.Sprintf("%.0f", r.Minutes), tellsText(r.Tells, r.Reduction),
			})
		}
		out = append(out, t)
	}
	figures := Table{
		Title: "Results with these readings", Head: []string{
			"result", "predicted", "standard uncertainty now",
			"with the readings",
		},
	}
	for _, f := range s.Figures {
		at, _ := expected(f.Value, f.SDBefore, f.Dim)
		figures.Rows = append(figures.Rows, []string{
			f.Title, at, uncertainty(f.Value, f.SDBefore, f.Dim), uncertainty(f.Value, f.SDAfter, f.Dim),
		})
	}
	if s.Warmup != nil {
		figures.Notes = append(figures.Notes, fmt.Sprintf("offered: warm-up of the heat sink, %s in about %s",
			counted(len(s.Warmup.Points), "reading"), Duration(s.Warmup.Points[len(s.Warmup.Points)-1].TimeS)))
	}
	if s.Map != nil {
		figures.Notes = append(figures.Notes, fmt.Sprintf("offered: map of %s at the target at the centres of 5 × "+
			"5 cells, "+
			"%s, with the %s", quantityName(s.Map.What), Duration(60*s.Map.Minutes), s.Map.Instrument))
	}
	if rest := leftOut(s); rest != "" {
		figures.Notes = append(figures.Notes, "not planned: "+rest)
	}
	return append(out, figures)
}
