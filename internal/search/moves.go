package search

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/wiring"
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
	optical // of light in the place
	lenses
	colours
	light      = optical | lenses | colours
	everything = electric | thermal | light
)

// areas lists the checks of heat, light, lenses and colour; all others are of electricity.
var areas = map[area][]string{
	thermal: {
		"derating", "junction", "junction-wanted", "solder-joint", "solder-fatigue", "laminate-temperature",
		"tim-temperature", "mounting", "lens-temperature", "lens-material", "air-limits", "part-life", "coating",
		"fan-failure", "foldback", "cutout", "burn-threshold", "sink-contact", "altitude", "natural-convection",
		"housing", "evaporation", "budget",
	},
	optical: {
		"ppfd", "dli", "maintenance", "uniformity", "spill", "blue-light", "panes", "lens-height", "rim", "water-level",
	},
	lenses:  {"lens-loss", "lens-fit", "lens-data", "footprint"},
	colours: {"cct", "ra", "duv", "rf", "radiant-efficiency", "extrapolation"},
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
	l    *lamp.Lamp
	d    *project.Design
	lib  *project.Library
	r    *figure.Evaluation
	list []move
}

// movesOf returns what can be tried on a design.
func movesOf(r *figure.Evaluation) []move {
	l := r.Lamp
	v := mover{l: l, d: l.Design, lib: l.Project.Library, r: r}
	v.all()
	return v.list
}

// all adds every change that a plan may contain.
func (v *mover) all() {
	for i := range v.l.Channels {
		v.channel(i)
	}
	v.drivers()
	v.supplies()
	v.cooling()
	v.board()
	v.height()
	v.mainsSwitch()
	v.day()
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
	about := []string{name, u.Part.S}
	v.parts(path+".part", name+": ", everything, about)
	part := v.lib.Emitters.Get(u.Part.S)
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
	v.parts(path+".lens", name+": ", optical|lenses, nil)
}

// parts adds the other parts that fit a place of the design.
func (v *mover) parts(path, words string, of area, about []string) {
	s, ok := v.l.Project.SlotAt(path)
	if !ok {
		return
	}
	for _, a := range v.l.Project.Alternatives(s) {
		if len(a.Sets) > 0 {
			change := fmt.Sprintf("%s%s → %s%s", words, s.Now, a.Part.ID.S, accompanied(a.Sets[1:]))
			v.add(change, of, about, a.Sets...)
		}
	}
}

// accompanied names the values that a part brings.
func accompanied(sets []source.Setting) (words string) {
	for _, s := range sets {
		if key := s.Path[strings.LastIndexByte(s.Path, '.')+1:]; s.Text != "" {
			words += ", " + strings.ReplaceAll(key, "_", " ") + " " + s.Text
		}
	}
	return words
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
				if id != now && len(group) > 0 && v.delivers(v.lib.Drivers.Get(id), group) {
					v.driver(group, now, id)
				}
			}
		}
	}
}

// driver adds a driver for some channels.
func (v *mover) driver(group []int, now, id string) {
	var sets []source.Setting
	var about, names []string
	for _, i := range group {
		s, _ := v.l.Project.SlotAt(fmt.Sprintf("channels[%d].driver", i))
		for _, a := range v.l.Project.Alternatives(s) {
			if a.Part.ID.S == id {
				sets = append(sets, a.Sets...)
			}
		}
		names = append(names, v.d.Channels[i].Name.S)
		about = append(about, "channel "+v.d.Channels[i].Name.S)
	}
	v.add(fmt.Sprintf("driver of %s: %s → %s", strings.Join(names, ", "), now, id), electric, about, sets...)
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
		v.parts(path+".part", "supply ", electric, []string{u.Part.S, "channel", "driver", "fan", "timer", "breaker"})
		if u.Wire != nil {
			v.wires(u.Wire, path, u.Part.S)
		}
		v.fuses(j)
	}
	v.fanSupply()
}

// fuseVoltageV is the rated direct voltage of the fuses that are tried.
const fuseVoltageV = 63

// fuses adds a fuse at the output of a supply, and one ahead of each of its channels, of the smallest rating that
// conducts some multiples of the current there.
func (v *mover) fuses(supply int) {
	about := []string{v.d.Supplies[supply].Part.S, "channel"}
	for _, factor := range []float64{1, 1.3, 1.7} {
		own, at, each, ahead := v.fusesFor(supply, factor)
		v.add("time-lag fuse of "+at, electric, about, own)
		if len(each) > 0 {
			v.add("time-lag fuses "+ahead, electric, about, each...)
			v.add("time-lag fuses of "+at+" and "+ahead, electric, about, append(each, own)...)
		}
	}
}

// fusesFor returns a fuse at the output of a supply, and one ahead of each of its channels, both also in words.
func (v *mover) fusesFor(supply int, factor float64) (own source.Setting, at string, each []source.Setting,
	ahead string,
) {
	rating := func(key string) float64 { return wiring.SuggestFuse(factor*v.r.Value(key), math.Inf(1)).RatedA }
	total := rating(figure.SupplyKey(supply, "current-max"))
	var words []string
	for i := range v.l.Channels {
		if c := &v.l.Channels[i]; c.Supply == supply {
			amps := rating(c.Name + ".input-current-max")
			each = append(each, set(fmt.Sprintf("channels[%d].fuse", i), FuseText(amps)))
			words = append(words, quantity.Format(amps, quantity.Current)+" "+c.Name)
		}
	}
	own = set(fmt.Sprintf("supplies[%d].fuse", supply), FuseText(total))
	at = fmt.Sprintf("%s at the output of %s", quantity.Format(total, quantity.Current), v.d.Supplies[supply].Part.S)
	return own, at, each, "ahead of each channel: " + strings.Join(words, ", ")
}

// FuseText returns a time-lag fuse of a rated current [A] as the design file states it.
func FuseText(ratedA float64) string {
	return fmt.Sprintf("{rated_current: %g A, rated_voltage_dc: %d V, standard: IEC 60127}", ratedA, fuseVoltageV)
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
	feeds := project.FeedsText(names)
	for _, id := range v.lib.Supplies.IDs() {
		v.add(id+" added for the fan alone", electric|thermal, []string{v.l.Fan.ID.S, v.d.Supplies[0].Part.S},
			set("supplies[0].feeds", feeds), set("supplies[1]", "{part: "+id+", fan: true}"))
	}
}

// cooling adds other sinks, fans and interfaces, and fan speeds.
func (v *mover) cooling() {
	v.parts("sink.part", "heat sink ", thermal, nil)
	v.parts("thermal_interface.part", "thermal interface ", thermal, nil)
	if v.l.Fan == nil {
		return
	}
	speed := 1.0
	if v.d.Fan.Speed.Set {
		speed = v.d.Fan.Speed.SI
	}
	v.values("fan speed", "fan.speed", speed, 0.1, 1, quantity.Ratio, "%", everything, v.l.Fan.ID.S)
	v.parts("fan.part", "fan ", electric|thermal, []string{v.l.Fan.ID.S})
}

// board adds other thicknesses of the board, and other boards in the thickness nearest to it.
func (v *mover) board() {
	use := &v.d.Board
	for _, t := range v.lib.Boards.Get(use.Part.S).PriceByThickness.X {
		if math.Abs(t-use.Thickness.SI) > 1e-9 {
			text := project.Millimetres(t)
			v.add("board, "+text, electric|thermal, []string{"board"}, set("board.thickness", text))
		}
	}
	v.parts("board.part", "board ", electric|thermal, []string{"board"})
}

// height adds hanging heights.
func (v *mover) height() {
	now := v.d.Installation.Hanging.SI
	v.values("hanging height", "installation.hanging_height", now, 0.05, 2, quantity.Length, "mm", optical)
}

// contactA is the peak current that the contact of a common relay for electronic loads closes on [A]; common practice,
// no source.
const contactA = 165

// noSwitch leaves the supplies on.
const noSwitch = "{kind: none}"

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
		set("mains.switch", noSwitch))
}

// day adds times at full level.
func (v *mover) day() {
	if t := v.d.Day.FullLevelTime; t.Set && t.SI > 0 {
		v.values("time at full level", "day.full_level_time", t.SI, 3600, 86400, quantity.Time, "h", optical)
	}
}
