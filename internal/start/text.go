package start

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// draft is a design before it is written down.
type draft struct {
	a       *Answers
	lib     *project.Library
	recipe  recipe
	counts  []int     // of each emitter of the recipe
	amps    []float64 // of each emitter of the recipe
	lenses  []string  // of each emitter of the recipe; "" for none
	lensM   float64   // diameter that the layout leaves room for
	heightM float64
	beam    float64 // that the lenses are nearest to [°]
	sink    *project.Sink
	fan     string
	layout  layout
	feeding feeding
}

// Parts and values of every design; common practice, no source.
const (
	boardPart  = "aluminium-2w"
	timPart    = "tim-paste-3w"
	sensorPart = "ntc-10k"
	fanSpeed   = "60 %"
)

// writer writes YAML line by line.
type writer struct{ strings.Builder }

func (w *writer) line(format string, args ...any) { fmt.Fprintf(w, format+"\n", args...) }

func mm(m float64) string { return fmt.Sprintf("%g mm", math.Round(1e4*m)/10) }

func places(list [][2]float64) string {
	var out []string
	for _, at := range list {
		out = append(out, fmt.Sprintf("[%s, %s]", mm(at[0]), mm(at[1])))
	}
	return "[" + strings.Join(out, ", ") + "]"
}

func celsius(k float64) string { return fmt.Sprintf("%g °C", math.Round(10*(k-273.15))/10) }

func hours(s float64) string { return fmt.Sprintf("%g h", math.Round(100*s/3600)/100) }

// text returns the design file.
func (d *draft) text() string {
	w := &writer{}
	if names := d.fictitious(); len(names) > 0 {
		w.line("# Fictitious parts of the built-in library, which cannot be ordered: %s.", strings.Join(names, ", "))
	}
	w.line("lampwright: 2")
	w.line("name: %q", d.a.Name)
	w.line("")
	d.installation(w)
	w.line("")
	d.requirements(w)
	w.line("")
	d.board(w)
	w.line("")
	w.line("channels:")
	d.channels(w)
	w.line("")
	d.cooling(w)
	w.line("")
	d.supplies(w)
	w.line("")
	d.rest(w)
	return w.String()
}

// header returns notes as the comment at the head of a design file.
func header(notes []Note) string {
	w := &writer{}
	w.line("# A starting design, written from answers about the place. Every value can be changed. How it was chosen:")
	for _, n := range notes {
		line := "#"
		for _, word := range strings.Fields(n.What + ": " + n.Why) {
			if len([]rune(line+word)) > 115 {
				w.line("%s", line)
				line = "#  "
			}
			line += " " + word
		}
		w.line("%s", line)
	}
	return w.String()
}

// fictitious names the parts that nobody sells.
func (d *draft) fictitious() (names []string) {
	seen := map[string]bool{}
	add := func(c *project.Common, id string) {
		if c != nil && c.Fictitious && !seen[id] {
			seen[id] = true
			names = append(names, id)
		}
	}
	for i, e := range d.recipe.parts {
		add(&e.Common, e.ID.S)
		if d.lenses[i] != "" {
			add(&d.lib.Lenses.Get(d.lenses[i]).Common, d.lenses[i])
		}
		add(&d.feeding.drivers[i].Common, d.feeding.drivers[i].ID.S)
	}
	add(&d.feeding.supply.Common, d.feeding.supply.ID.S)
	add(&d.sink.Common, d.sink.ID.S)
	add(&d.lib.Boards.Get(boardPart).Common, boardPart)
	add(&d.lib.ThermalInterfaces.Get(timPart).Common, timPart)
	return names
}

func (d *draft) installation(w *writer) {
	a := d.a
	w.line("installation:")
	if a.Kind == Bench {
		w.line("  kind: bench")
		w.line("  inside: {length: %s, width: %s}", mm(a.LengthM), mm(a.WidthM))
	} else {
		note := ""
		if a.Kind == Terrarium {
			note = "                    # a glass box without water"
		}
		w.line("  kind: tank%s", note)
		w.line("  inside: {length: %s, width: %s, height: %s}", mm(a.LengthM), mm(a.WidthM), mm(a.HeightM))
		w.line("  glass: %s                 # assumed; measure it", mm(d.glassM()))
		w.line("  panes:                      # assumed; a background or film absorbs light")
		for _, side := range []string{"left", "right", "front", "back"} {
			w.line("    %s: {condition: clean}", side)
		}
	}
	switch a.Kind {
	case Bench:
		w.line("  maintenance: {lens_cleaning: 3 months}")
	default:
		w.line("  maintenance: {lens_cleaning: 3 months, glass_cleaning: weekly}")
	}
	if a.Kind == Tank {
		w.line("  water_depth: %s", mm(a.WaterM))
	}
	if a.Kind != Bench {
		w.line("  substrate_depth: %s", mm(a.SubstrateM))
		w.line("  substrate_reflectance: 10 %%   # assumed: dark soil")
	}
	w.line("  hanging_height: %s        # front of the lenses to the %s", mm(d.heightM), d.below())
	w.line("  viewer_distance: 1 m          # assumed: the nearest eyes")
	w.line("  ambient: {typical: %s, max: %s, min: %s, humidity: %s}   # minimum and humidity assumed",
		celsius(a.AmbientK), celsius(a.AmbientMaxK), celsius(a.AmbientK-8), d.humidity())
}

func (d *draft) below() string {
	switch d.a.Kind {
	case Tank:
		return "water"
	case Terrarium:
		return "substrate"
	}
	return "bench"
}

func (d *draft) humidity() string {
	if d.a.Kind == Terrarium {
		return "80 %"
	}
	return "60 %"
}

// glassM is a common thickness of the panes of a tank; rule of thumb (no source).
func (d *draft) glassM() float64 {
	switch {
	case d.a.HeightM <= 0.3:
		return 5e-3
	case d.a.HeightM <= 0.45:
		return 8e-3
	}
	return 12e-3
}

func (d *draft) requirements(w *writer) {
	a := d.a
	w.line("requirements:")
	source := a.Plants.Source
	if a.Own {
		source = "own values"
	}
	w.line("  # %s: %s", a.Plants.Title, source)
	w.line("  ppfd: {value: %s, min: %s, max: %s}", ppfd(a.PPFD()), ppfd(a.PPFDMin), ppfd(a.PPFDMax))
	w.line("  dli: {value: %s, min: %s, max: %s}   # PPFD × (time at full level + 1 h)", dli(a.DLI(a.PPFD())),
		dli(a.DLI(a.PPFDMin)), dli(a.DLI(a.PPFDMax)))
	w.line("  uniformity: %.0f %%            # rule of thumb (no source)", 100*minUniformity(a.Kind))
	w.line("  spill: %.0f %%                 # rule of thumb (no source)", 100*maxSpill(a.Kind))
	w.line("  cct: %g K ± %g K", math.Round(a.CCTK), float64(cctBandK))
	w.line("  duv: 0 ± %g               # white light: ANSIC78.377, cited from memory", duvBand)
	w.line("  ra: %g", math.Round(10*a.Ra)/10)
	w.line("  max_junction: %s        # rule of thumb (no source)", celsius(maxJunctionK))
	w.line("  service_life: 5 years")
	if a.BudgetEUR > 0 {
		w.line("  budget: %g EUR", math.Round(100*a.BudgetEUR)/100)
	}
	w.line("  accessible_to: adults")
}

func ppfd(x float64) string { return fmt.Sprintf("%.3g µmol/m²/s", x) }
func dli(x float64) string  { return fmt.Sprintf("%.3g mol/m²/d", x) }

func (d *draft) board(w *writer) {
	l := &d.layout
	w.line("board:")
	w.line("  part: %s", boardPart)
	w.line("  thickness: %s", mm(thicknessM))
	w.line("  shape: rectangle")
	w.line("  length: %s", mm(l.lengthM))
	w.line("  width: %s", mm(l.widthM))
	w.line("  copper_coverage: %s", coverage)
	if d.a.Kind == Terrarium {
		w.line("  coating: silicone             # humid air")
	}
	w.line("  holes:")
	w.line("    - {diameter: %s, at: %s}   # screws, M3", mm(holeM), places(l.screws()))
	w.line("  mounting: {method: screws, screw: M3, torque: 0.5 N·m, washer: flat, keep_out_radius: %s}", mm(keepOutM))
}

// channel is one channel of a draft.
type channel struct {
	name   string
	part   int
	at     [][2]float64
	supply int
}

// split returns the channels: the second emitter of a recipe evenly among the first, each string side by side.
func (d *draft) split() (out []channel) {
	at := d.layout.emitters()
	lists := make([][][2]float64, len(d.counts))
	for i := range at {
		part := 0
		if total := len(at); len(d.counts) > 1 && ((i+1)*d.counts[1]+total/2)/total > (i*d.counts[1]+total/2)/total {
			part = 1
		}
		lists[part] = append(lists[part], at[i])
	}
	for part, strings := range d.feeding.strings {
		base := d.nameOf(part)
		next := 0
		for j, size := range strings {
			c := channel{name: base, part: part, at: lists[part][next : next+size]}
			if len(strings) > 1 {
				c.name = fmt.Sprintf("%s-%d", base, j+1)
			}
			next += size
			out = append(out, c)
		}
	}
	for i := range out {
		out[i].supply = i * d.feeding.supplies / len(out)
	}
	return out
}

// nameOf names a channel by its emitters.
func (d *draft) nameOf(part int) string {
	e := d.recipe.parts[part]
	switch {
	case !e.CCT.Set:
		return "blue"
	case len(d.recipe.parts) == 1 || !d.recipe.parts[1-part].CCT.Set:
		return "white"
	case e.CCT.SI < d.recipe.parts[1-part].CCT.SI:
		return "warm"
	}
	return "cool"
}

func (d *draft) channels(w *writer) {
	for _, c := range d.split() {
		e := d.recipe.parts[c.part]
		w.line("  - name: %s", c.name)
		w.line("    emitters:")
		w.line("      - part: %s", e.ID.S)
		for _, k := range e.DieConfigurations {
			if k.Series.N == seriesOf(e) {
				w.line("        die_configuration: %s", k.Name.S)
			}
		}
		if d.lenses[c.part] != "" {
			w.line("        lens: %s", d.lenses[c.part])
		}
		w.line("        at: %s", places(c.at))
		w.line("    current: %s", milliamps(d.feeding.amps[c.part]))
		if level := d.amps[c.part] / d.feeding.amps[c.part]; level < 1 {
			w.line("    level: %.0f %%                # below the smallest current of the drivers", 100*level)
		}
		w.line("    driver: %s", d.feeding.drivers[c.part].ID.S)
		ohm := wireDrop * float64(seriesOf(e)*len(c.at)) * e.ForwardVoltage.Y[0] / d.feeding.amps[c.part] / (2 * wireM)
		w.line("    wire: {part: %s, length: %g m}", wireFor(d.lib, d.feeding.fuseA, ohm), wireM)
	}
}

func (d *draft) cooling(w *writer) {
	w.line("thermal_interface: {part: %s}", timPart)
	w.line("sink:")
	w.line("  part: %s", d.sink.ID.S)
	w.line("  orientation: fins up")
	l := &d.layout
	w.line("  contact: {length: %s, width: %s}   # the whole board", mm(l.lengthM), mm(l.widthM))
	if d.fan != "" {
		w.line("fan: {part: %s, speed: %s, fin_flow_fraction: 50 %%}", d.fan, fanSpeed)
	}
	at := l.sensor(d.lensM)
	w.line("sensor: {part: %s, at: [%s, %s]}", sensorPart, mm(at[0]), mm(at[1]))
	w.line("solder: sac305")
	w.line("wire_solder: snbi58")
}

func (d *draft) supplies(w *writer) {
	f := &d.feeding
	w.line("supplies:")
	for j := range f.supplies {
		w.line("  - part: %s", f.supply.ID.S)
		if f.supplies > 1 || d.fan != "" {
			var names []string
			for _, c := range d.split() {
				if c.supply == j {
					names = append(names, c.name)
				}
			}
			w.line("    feeds: [%s]", strings.Join(names, ", "))
		}
		w.line("    wire: {part: %s, length: 1.2 m}", wireFor(d.lib, f.fuseA, math.Inf(1)))
		w.line("    fuse: {rated_current: %s, rated_voltage_dc: %d V, standard: IEC 60127}",
			quantity.Format(f.fuseA, quantity.Current), fuseVoltageV)
	}
	if d.fan != "" {
		w.line("  - {part: %s, fan: true}", d.fanSupply())
	}
}

// fanSupply returns the cheapest supply of the fan's voltage.
func (d *draft) fanSupply() (best string) {
	fan := d.lib.Fans.Get(d.fan)
	for _, id := range d.lib.Supplies.IDs() {
		s := d.lib.Supplies.Get(id)
		if math.Abs(s.Voltage.SI-fan.Voltage.SI) < 0.1 &&
			(best == "" || s.Price.SI < d.lib.Supplies.Get(best).Price.SI) {
			best = id
		}
	}
	return best
}

func (d *draft) rest(w *writer) {
	end := mm(0.4 * d.layout.lengthM)
	w.line("suspension:                     # two lines, and a third that bears the lamp where one fails")
	w.line("  method: lines")
	w.line("  anchor_base: wood             # assumed")
	w.line("  lines:")
	w.line("    - {at: [-%s, 0 mm], anchor: hook left, breaking_load: 300 N, angle: 10 deg}", end)
	w.line("    - {at: [%s, 0 mm], anchor: hook right, breaking_load: 300 N, angle: 10 deg}", end)
	w.line("    - {at: [0 mm, 0 mm], anchor: hook middle, breaking_load: 300 N}")
	w.line("")
	w.line("mains:")
	w.line("  breaker: {rated_current: 16 A, curve: B}")
	w.line("  rcd: 30 mA")
	w.line("  switch: {kind: none}          # the supply stays on; the drivers dim to 0 %%")
	w.line("  protective_earth: true")
	w.line("  drip_loop: true")
	w.line("  location: remote")
	w.line("")
	w.line("day: {full_level_time: %s, ramp_time: %s, tariff: 0.30 EUR/kWh}", hours(d.a.FullS), hours(rampS))
	w.line("")
	w.line("extras:")
	w.line("  - {what: screws and washers, price: 5 EUR}")
	w.line("  - {what: day controller, price: 22 EUR}")
}
