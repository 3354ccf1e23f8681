package search

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// move is a change of the design that a person would try.
type move struct {
	words string
	sets  []source.Setting
	by    float64 // how far a value moves: |ln| of the ratio; 0 for another part
	area  area    // of the findings that it may clear
	about []string
}

// area is a set of matters that belong together.
type area uint

const (
	electric area = 1 << iota // findings of the subjects that a move names
	thermal
	optical
	everything = electric | thermal | optical
)

// areas lists the checks of heat and of light; all others are of electricity. Those of light include colour.
var areas = map[area][]string{
	thermal: {
		"derating", "junction", "junction-wanted", "solder-joint", "solder-fatigue", "laminate-temperature",
		"tim-temperature", "mounting", "lens-temperature", "lens-material", "air-limits", "part-life", "coating",
		"fan-failure", "foldback", "cutout", "burn-threshold", "sink-contact", "altitude", "natural-convection",
		"housing", "evaporation", "budget",
	},
	optical: {
		"ppfd", "dli", "maintenance", "uniformity", "spill", "blue-light", "panes", "lens-loss", "lens-fit",
		"lens-data", "lens-height", "rim", "footprint", "cct", "ra", "duv", "rf", "water-level", "radiant-efficiency",
		"extrapolation",
	},
}

// areaOf returns the area of a check.
func areaOf(check string) area {
	for a, checks := range areas {
		if slices.Contains(checks, check) {
			return a
		}
	}
	return electric
}

// concerns reports whether a move may change one of these findings.
func (m *move) concerns(bad []matter) bool {
	return slices.ContainsFunc(bad, func(b matter) bool {
		switch of := areaOf(b.check); {
		case of&m.area == 0:
			return false
		case of != electric:
			return true
		}
		return slices.ContainsFunc(m.about, func(name string) bool { return strings.Contains(b.subject, name) })
	})
}

// mover lists the moves of a design.
type mover struct {
	l        *lamp.Lamp
	d        *project.Design
	lib      *project.Library
	channels []engine.ChannelSolution
	list     []move
}

// movesOf returns what can be tried on a design.
func movesOf(r *figure.Evaluation) []move {
	l := r.Lamp
	v := mover{l: l, d: l.Design, lib: l.Project.Library, channels: r.Sol.Channels}
	for i := range l.Channels {
		v.channel(i)
	}
	v.drivers()
	v.supplies()
	v.cooling()
	v.board()
	v.height()
	v.mainsSwitch()
	v.day()
	return v.list
}

// add adds a change to other parts, with the subjects of findings of electricity that it may clear.
func (v *mover) add(words string, of area, about []string, sets ...source.Setting) {
	v.list = append(v.list, move{words: words, sets: sets, area: of, about: about})
}

func set(path, text string) source.Setting { return source.Setting{Path: path, Text: text} }

// ladder are the factors that a value is tried with.
var ladder = []float64{0.4, 0.55, 0.7, 0.8, 0.9, 1.05, 1.15, 1.3, 1.5, 1.8}

// rounded returns a value as a person sets it: in halves of the second digit.
func rounded(x float64) float64 {
	if x <= 0 {
		return 0
	}
	step := math.Pow(10, math.Floor(math.Log10(x))-1)
	return math.Round(x/step*2) / 2 * step
}

// values adds a value multiplied by each factor of the ladder, within limits.
func (v *mover) values(what, path string, now, lo, hi float64, dim quantity.Dim, unit string, of area,
	about ...string,
) {
	tried := map[string]bool{}
	for _, factor := range ladder {
		x := rounded(quantity.In(now, dim, unit)*factor) / quantity.In(1, dim, unit)
		if x < lo || x > hi || math.Abs(x/now-1) < 0.02 {
			continue
		}
		text := fmt.Sprintf("%g %s", quantity.In(x, dim, unit), unit)
		if !tried[text] {
			tried[text] = true
			words := fmt.Sprintf("%s %s → %s", what, quantity.Format(now, dim), quantity.Format(x, dim))
			v.add(words, of, about, set(path, text))
			v.list[len(v.list)-1].by = math.Abs(math.Log(x / now))
		}
	}
}

// channel adds current, emitters, lenses, wire and fuse of a channel.
func (v *mover) channel(i int) {
	ch := &v.l.Channels[i]
	path, name := fmt.Sprintf("channels[%d]", i), "channel "+ch.Name
	v.values(name+": current", path+".current", ch.CurrentA, 0.01, 10, quantity.Current, "mA", everything, name)
	for j := range ch.Use.Emitters {
		v.emitters(&ch.Use.Emitters[j], fmt.Sprintf("%s.emitters[%d]", path, j), name)
	}
	if w := ch.Use.Wire; w != nil {
		v.wires(w, path, name)
	}
}

// emitters adds other packages, die configurations and lenses of one kind of emitter in a channel.
func (v *mover) emitters(u *project.EmitterUse, path, name string) {
	part := v.lib.Emitters.Get(u.Part.S)
	about := []string{name, u.Part.S}
	for _, id := range v.lib.Emitters.IDs() {
		e := v.lib.Emitters.Get(id)
		if id == u.Part.S || e.Package.S != part.Package.S {
			continue
		}
		sets := []source.Setting{set(path+".part", id)}
		if u.DieConfiguration.Set && !slices.ContainsFunc(e.DieConfigurations, func(c project.DieConfiguration) bool {
			return c.Name.S == u.DieConfiguration.S
		}) {
			sets = append(sets, set(path+".die_configuration", "")) // the first of the new part
		}
		v.add(fmt.Sprintf("%s: %s → %s", name, u.Part.S, id), everything, about, sets...)
	}
	now := u.DieConfiguration.S
	if now == "" && len(part.DieConfigurations) > 0 {
		now = part.DieConfigurations[0].Name.S
	}
	for _, c := range part.DieConfigurations {
		if c.Name.S != now {
			v.add(fmt.Sprintf("%s: die configuration %s → %s", name, now, c.Name.S), everything, about,
				set(path+".die_configuration", c.Name.S))
		}
	}
	if !u.Lens.Set {
		return
	}
	for _, id := range v.lib.Lenses.IDs() {
		if id != u.Lens.S && v.lib.Lenses.Get(id).MadeFor(part.Package.S) {
			v.add(fmt.Sprintf("%s: %s → %s", name, u.Lens.S, id), optical, nil, set(path+".lens", id))
		}
	}
}

// wires adds thicker wires.
func (v *mover) wires(w *project.WireUse, path, of string) {
	now := v.lib.Wires.Get(w.Part.S)
	for _, id := range v.lib.Wires.IDs() {
		if v.lib.Wires.Get(id).Resistance.SI < now.Resistance.SI {
			v.add(fmt.Sprintf("wire of %s: %s → %s", of, w.Part.S, id), electric, []string{of},
				set(path+".wire.part", id))
		}
	}
}

// drivers adds another driver, which delivers their currents, for all channels that share one, and for each of them
// alone.
func (v *mover) drivers() {
	users := map[string][]int{}
	for i := range v.d.Channels {
		id := v.d.Channels[i].Driver.S
		users[id] = append(users[id], i)
	}
	for _, now := range v.lib.Drivers.IDs() {
		groups := [][]int{users[now]}
		if len(users[now]) > 1 {
			for _, i := range users[now] {
				groups = append(groups, []int{i})
			}
		}
		for _, group := range groups {
			for _, id := range v.lib.Drivers.IDs() {
				if id == now || len(group) == 0 || !v.delivers(v.lib.Drivers.Get(id), group) {
					continue
				}
				var sets []source.Setting
				var about, names []string
				for _, i := range group {
					sets = append(sets, set(fmt.Sprintf("channels[%d].driver", i), id))
					names = append(names, v.d.Channels[i].Name.S)
					about = append(about, "channel "+v.d.Channels[i].Name.S)
				}
				v.add(fmt.Sprintf("driver of %s: %s → %s", strings.Join(names, ", "), now, id), electric, about,
					sets...)
			}
		}
	}
}

// delivers reports whether the currents of channels are within the range of a driver, as far as it is stated.
func (v *mover) delivers(d *project.Driver, channels []int) bool {
	for _, i := range channels {
		a := v.l.Channels[i].CurrentA
		if d.CurrentMin.Set && a < d.CurrentMin.SI || d.CurrentMax.Set && a > d.CurrentMax.SI {
			return false
		}
	}
	return true
}

// supplies adds other supplies, their wires, and fuses that protect the wires.
func (v *mover) supplies() {
	for j := range v.d.Supplies {
		u := &v.d.Supplies[j]
		path := fmt.Sprintf("supplies[%d]", j)
		for _, id := range v.lib.Supplies.IDs() {
			if id != u.Part.S {
				v.add(fmt.Sprintf("supply %s → %s", u.Part.S, id), electric,
					[]string{u.Part.S, "channel", "driver", "fan", "timer", "breaker"}, set(path+".part", id))
			}
		}
		if u.Wire != nil {
			v.wires(u.Wire, path, u.Part.S)
		}
		v.fuses(j)
	}
	v.fanSupply()
}

// fuseRatings is the series of rated currents of miniature fuses [A]. Source: IEC60127, sheet 3 (cited from
// memory).
var fuseRatings = []float64{0.315, 0.4, 0.5, 0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10}

// fuseVoltageV is the rated direct voltage of the fuses that are tried.
const fuseVoltageV = 63

// fuses adds a fuse at the output of a supply, and one ahead of each of its channels, of the first rating of the series
// above some multiples of the current there.
func (v *mover) fuses(supply int) {
	u := &v.d.Supplies[supply]
	part := v.lib.Supplies.Get(u.Part.S)
	var fed []int
	total := 0.0
	for i := range v.l.Channels {
		if v.l.Channels[i].Supply == supply {
			fed = append(fed, i)
			total += v.channels[i].InputOnW / part.Voltage.SI
		}
	}
	for _, factor := range []float64{1.3, 1.7, 2.2} {
		own := set(fmt.Sprintf("supplies[%d].fuse", supply), fuseText(factor*total))
		var each []source.Setting
		var words []string
		for _, i := range fed {
			amps := factor * v.channels[i].InputOnW / part.Voltage.SI
			each = append(each, set(fmt.Sprintf("channels[%d].fuse", i), fuseText(amps)))
			words = append(words, quantity.Format(ratingA(amps), quantity.Current)+" "+v.l.Channels[i].Name)
		}
		at := fmt.Sprintf("%s at the output of %s", quantity.Format(ratingA(factor*total), quantity.Current), u.Part.S)
		ahead := "ahead of each channel: " + strings.Join(words, ", ")
		about := []string{u.Part.S, "channel"}
		v.add("time-lag fuse of "+at, electric, about, own)
		v.add("time-lag fuses "+ahead, electric, about, each...)
		v.add("time-lag fuses of "+at+" and "+ahead, electric, about, append(each, own)...)
	}
}

// ratingA returns the first rating of the series that is not below a current [A]; the last one beyond it.
func ratingA(amps float64) float64 {
	for _, a := range fuseRatings {
		if a >= amps {
			return a
		}
	}
	return fuseRatings[len(fuseRatings)-1]
}

func fuseText(amps float64) string {
	return fmt.Sprintf("{rated_current: %g A, rated_voltage_dc: %d V, standard: IEC 60127}", ratingA(amps),
		fuseVoltageV)
}

// fanSupply adds a supply for the fan alone where one supply feeds fan and channels.
func (v *mover) fanSupply() {
	if v.l.Fan == nil || len(v.d.Supplies) != 1 {
		return
	}
	var names []string
	for i := range v.d.Channels {
		if v.l.Channels[i].Supply == 0 {
			names = append(names, v.d.Channels[i].Name.S)
		}
	}
	feeds := "[" + strings.Join(names, ", ") + "]"
	for _, id := range v.lib.Supplies.IDs() {
		v.add("supply "+id+" for the fan alone", electric|thermal, []string{v.l.Fan.ID.S, v.d.Supplies[0].Part.S},
			set("supplies[0].feeds", feeds), set("supplies[1]", "{part: "+id+", fan: true}"))
	}
}

// cooling adds other sinks, fans and interfaces, and fan speeds.
func (v *mover) cooling() {
	for _, id := range v.lib.Sinks.IDs() {
		if id == v.d.Sink.Part.S {
			continue
		}
		sets := []source.Setting{set("sink.part", id)}
		if v.d.Sink.Contact != nil {
			sets = append(sets, set("sink.contact", ""))
		}
		v.add(fmt.Sprintf("heat sink %s → %s", v.d.Sink.Part.S, id), thermal, nil, sets...)
	}
	for _, id := range v.lib.ThermalInterfaces.IDs() {
		if now := v.d.ThermalInterface.Part.S; id != now {
			v.add(fmt.Sprintf("thermal interface %s → %s", now, id), thermal, nil, set("thermal_interface.part", id))
		}
	}
	if v.l.Fan == nil {
		return
	}
	speed := 1.0
	if v.d.Fan.Speed.Set {
		speed = v.d.Fan.Speed.SI
	}
	v.values("fan speed", "fan.speed", speed, 0.1, 1, quantity.Ratio, "%", everything, v.l.Fan.ID.S)
	for _, id := range v.lib.Fans.IDs() {
		if id != v.l.Fan.ID.S {
			v.add(fmt.Sprintf("fan %s → %s", v.l.Fan.ID.S, id), electric|thermal, []string{v.l.Fan.ID.S},
				set("fan.part", id))
		}
	}
}

// board adds other thicknesses of the board, and other boards in the thickness nearest to it.
func (v *mover) board() {
	use := &v.d.Board
	for _, id := range v.lib.Boards.IDs() {
		made := slices.Clone(v.lib.Boards.Get(id).PriceByThickness.X)
		if id != use.Part.S && len(made) > 0 {
			made = []float64{slices.MinFunc(made, func(a, b float64) int {
				return cmp.Compare(math.Abs(a-use.Thickness.SI), math.Abs(b-use.Thickness.SI))
			})}
		}
		for _, t := range made {
			var sets []source.Setting
			words := "board"
			if id != use.Part.S {
				sets, words = append(sets, set("board.part", id)), fmt.Sprintf("board %s → %s", use.Part.S, id)
			}
			if math.Abs(t-use.Thickness.SI) > 1e-9 {
				text := fmt.Sprintf("%g mm", math.Round(1e6*t)/1e3)
				sets, words = append(sets, set("board.thickness", text)), words+", "+text
			}
			if len(sets) > 0 {
				v.add(words, electric|thermal, []string{"board"}, sets...)
			}
		}
	}
}

// height adds hanging heights.
func (v *mover) height() {
	now := v.d.Installation.Hanging.SI
	v.values("hanging height", "installation.hanging_height", now, 0.05, 2, quantity.Length, "mm", optical)
}

// contactA is the peak current that the contact of a common relay for electronic loads closes on [A]; common practice,
// no source.
const contactA = 165

// mainsSwitch adds a relay for electronic loads, and no switch at all.
func (v *mover) mainsSwitch() {
	m := v.d.Mains
	if m == nil || m.Switch == nil {
		return
	}
	kind := string(m.Switch.Kind.S)
	about := []string{kind, "mains"}
	v.add(fmt.Sprintf("%s → relay with a making capacity of %d A", kind, contactA), electric, about,
		set("mains.switch", fmt.Sprintf("{kind: relay, making_capacity: %d A}", contactA)))
	v.add("no switch in the mains: the supplies stay on, the drivers dim to 0 %", electric, about,
		set("mains.switch", "{kind: none}"))
}

// day adds times at full level.
func (v *mover) day() {
	if t := v.d.Day.FullLevelTime; t.Set && t.SI > 0 {
		v.values("time at full level", "day.full_level_time", t.SI, 3600, 86400, quantity.Time, "h", optical)
	}
}
