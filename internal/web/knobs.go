package web

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"

	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// knob is a what-if value of the design: a slider with a field, or a choice.
type knob struct {
	Path    string   `json:"path"`
	Group   string   `json:"group"`
	Label   string   `json:"label"`
	Text    string   `json:"text"` // as stated in the file
	Unit    string   `json:"unit,omitempty"`
	Value   float64  `json:"value"` // in Unit
	Min     float64  `json:"min"`
	Max     float64  `json:"max"`
	Step    float64  `json:"step"`
	Limit   float64  `json:"limit,omitempty"` // that the value should not pass, in Unit
	LimitIs string   `json:"limit_is,omitempty"`
	Choices []option `json:"choices,omitempty"`
	Kind    string   `json:"kind,omitempty"` // of parts, where it is the id of one
	Name    string   `json:"name,omitempty"` // of that part
}

// option is one of the values of a choice, with what it is in words.
type option struct {
	Value string           `json:"value"`
	Name  string           `json:"name,omitempty"`
	Sets  []source.Setting `json:"sets,omitempty"` // what has to go with it
}

// knobs returns the what-if values, in the order of the job.
func knobs(l *lamp.Lamp) []knob {
	b := knobList{l: l, slots: l.Project.Slots(), offered: map[string]bool{"": true}}
	for i := range l.Channels {
		b.channel(i)
	}
	b.installation()
	if l.Fan != nil {
		speed := 1.0
		if l.Design.Fan.Speed.Set {
			speed = l.Design.Fan.Speed.SI
		}
		b.slider("Cooling", "Fan speed", "fan.speed", l.Design.Fan.Speed, speed, quantity.Ratio, "%", 10, 100, 1)
	}
	// A kind of parts says in which group its choice belongs; groups that follow no slider come last.
	b.offer("Cooling")
	b.board()
	for _, k := range project.Kinds {
		b.offer(k.Group)
	}
	if l.Design.Day.FullLevelTime.Set {
		b.slider("Day programme", "Time at full level", "day.full_level_time", l.Design.Day.FullLevelTime,
			l.Design.Day.FullLevelTime.SI, quantity.Time, "h", 0, 24, 0.25)
	}
	if s := l.Design.Requirements.ServiceLife; s.Set {
		b.slider("Day programme", "Service life", "requirements.service_life", s, s.SI, quantity.Time, "years", 0.5, 20,
			0.5)
	}
	return b.list
}

// knobList collects the what-if values of a lamp.
type knobList struct {
	l       *lamp.Lamp
	slots   []project.Slot
	list    []knob
	offered map[string]bool // groups whose kinds of parts are in the list
}

// slider adds a value that moves between lo and hi in a unit, or in the unit that the file states it in.
func (b *knobList) slider(group, label, path string, v source.Value, si float64, dim quantity.Dim, unit string,
	lo, hi, step float64,
) {
	k := knob{Path: path, Group: group, Label: label, Unit: unit, Text: v.Text, Min: lo, Max: hi, Step: step}
	// A value that is written in another unit moves in that one.
	if of := unitOf(v.Text, dim); of != "" && of != unit {
		in := func(x float64) float64 {
			at, err := quantity.Parse(strconv.FormatFloat(x, 'g', -1, 64)+" "+unit, dim)
			if err != nil {
				panic("web: " + err.Error()) // the units above are ours
			}
			return tidy(quantity.In(at, dim, of))
		}
		k.Unit, k.Min, k.Max, k.Step = of, in(lo), in(hi), tidy(in(lo+step)-in(lo))
	}
	k.Value = tidy(quantity.In(si, dim, k.Unit))
	if k.Text == "" {
		k.Text = strconv.FormatFloat(k.Value, 'g', -1, 64) + " " + k.Unit
	}
	k.Max = math.Max(k.Max, k.Value)
	k.Min = math.Min(k.Min, k.Value)
	b.list = append(b.list, k)
}

// choice adds a value that is one of several, where there are several.
func (b *knobList) choice(group, label, path, now string, choices []option) {
	if len(choices) > 1 && now != "" {
		b.list = append(b.list, knob{Path: path, Group: group, Label: label, Text: now, Choices: choices})
	}
}

// channel adds the values of a channel.
func (b *knobList) channel(i int) {
	l := b.l
	ch := &l.Channels[i]
	path, group := fmt.Sprintf("channels[%d]", i), "Channel "+ch.Name
	top := math.Ceil(1e3 * math.Max(ch.Driver.CurrentMax.SI, ch.CurrentA))
	// Below the driver's minimum, too: another driver may be the fix.
	low := math.Max(10, 10*math.Floor(100*math.Min(ch.Driver.CurrentMin.SI, ch.CurrentA/2)))
	b.slider(group, "Current", path+".current", ch.Use.Current, ch.CurrentA, quantity.Current, "mA", low, top, 10)
	if a, part := leastMaximum(l, ch); part != "" {
		k := &b.list[len(b.list)-1]
		k.Limit, k.LimitIs = tidy(quantity.In(a, quantity.Current, k.Unit)), "absolute maximum of "+part
	}
	b.slider(group, "Dimming level", path+".level", ch.Use.Level, ch.Level, quantity.Ratio, "%", 0, 100, 1)
	b.emitters(ch, path, group)
	b.part(group, "Driver", path+".driver")
}

// emitters adds the emitters and lenses of a channel.
func (b *knobList) emitters(ch *lamp.Channel, path, group string) {
	for j := range ch.Use.Emitters {
		u := &ch.Use.Emitters[j]
		at := fmt.Sprintf("%s.emitters[%d]", path, j)
		of := ""
		if len(ch.Use.Emitters) > 1 {
			of = fmt.Sprintf(" %d", j+1)
		}
		b.part(group, "Emitter"+of, at+".part")
		b.part(group, "Lens on "+u.Part.S, at+".lens")
	}
}

// installation adds height, depth and ambient temperatures.
func (b *knobList) installation() {
	l := b.l
	p := &l.Design.Installation
	b.slider("Installation", "Hanging height", "installation.hanging_height", p.Hanging, p.Hanging.SI, quantity.Length,
		"mm", 50, 1000, 5)
	if t := p.LampTilt; t != nil {
		b.slider("Installation", "Lamp tilt", "installation.lamp_tilt.tilt", t.Tilt, t.Tilt.SI, quantity.Angle, "deg", 0, 80, 1)
	}
	if p.Kind.S == project.Tank && p.Water.Set {
		b.slider("Installation", "Water depth", "installation.water_depth", p.Water, p.Water.SI, quantity.Length, "mm", 0,
			math.Floor(1e3*p.Inside.Height.SI), 5)
	}
	b.glass()
	b.slider("Installation", "Ambient, typical", "installation.ambient.typical", p.Ambient.Typical, p.Ambient.Typical.SI,
		quantity.Temperature, "°C", 5, 40, 0.5)
	b.slider("Installation", "Ambient, maximum", "installation.ambient.max", p.Ambient.Max, p.Ambient.Max.SI,
		quantity.Temperature, "°C", 10, 50, 0.5)
}

// glass adds the condition of the panes, the cover glass and the maintenance of a tank.
func (b *knobList) glass() {
	p := &b.l.Design.Installation
	if p.Kind.S != project.Tank {
		return
	}
	for i, pane := range p.Panes.All() {
		path, now := "installation.panes."+project.PaneNames[i], string(project.PaneClean)
		if pane != nil {
			now = string(pane.Condition.S)
		}
		b.choice("Glass", "Pane, "+project.PaneNames[i], path+".condition", now, paneOptions(path, pane))
		if pane != nil && pane.Condition.S != project.PaneClean {
			b.slider("Glass", "Reflectance, "+project.PaneNames[i], path+".reflectance", pane.Reflectance,
				pane.Reflectance.SI, quantity.Ratio, "%", 0, 95, 1)
		}
	}
	if c := p.Cover; c != nil {
		b.slider("Glass", "Cover glass", "installation.cover_glass.thickness", c.Thickness, c.Thickness.SI,
			quantity.Length, "mm", 2, 12, 1)
		b.choice("Glass", "Cover glass, condition", "installation.cover_glass.condition", string(c.Condition.S),
			wordOptions(project.CoverDry.Values()))
	}
}

// paneOptions lists the conditions of a pane; those that need a reflectance bring one where none is stated.
func paneOptions(path string, pane *project.Pane) []option {
	out := wordOptions(project.PaneClean.Values())
	for i := range out {
		usual, covered := map[string]string{"paint": "4 %", "paper": "80 %", "background": "10 %"}[out[i].Value]
		if covered && (pane == nil || !pane.Reflectance.Set) {
			out[i].Sets = []source.Setting{{Path: path + ".reflectance", Text: usual}}
		}
	}
	return out
}

// wordOptions lists the words of a closed set.
func wordOptions(words []string) (out []option) {
	for _, w := range words {
		out = append(out, option{Value: w})
	}
	return out
}

// offer adds the parts of each kind of a group, once.
func (b *knobList) offer(group string) {
	for _, k := range project.Kinds {
		if b.offered[group] || k.Group != group {
			continue
		}
		uses := k.Uses(b.l.Design)
		for i, u := range uses {
			label := k.Label
			if len(uses) > 1 {
				label += fmt.Sprintf(" %d", i+1)
			}
			b.part(group, label, u.ID.At.Path)
		}
	}
	b.offered[group] = true
}

// part adds a part that is chosen among others, where there are others.
func (b *knobList) part(group, label, path string) {
	i := slices.IndexFunc(b.slots, func(s project.Slot) bool { return s.Path == path })
	if i < 0 {
		return
	}
	s := b.slots[i]
	list := b.l.Project.Alternatives(s)
	if len(list) < 2 {
		return
	}
	k := knob{Path: path, Group: group, Label: label, Text: s.Now, Kind: s.Kind.Name, Name: s.Now}
	for _, a := range list {
		if a.Part.ID.S == s.Now && a.Part.Name.Set {
			k.Name = a.Part.Name.S
		}
	}
	b.list = append(b.list, k)
}

// board adds the board's part and the thickness of its core.
func (b *knobList) board() {
	b.part("Board", "Board", "board.part")
	now := b.l.Design.Board.Thickness.Text
	var thick []option
	for _, t := range b.l.Stack.PriceByThickness.X {
		thick = append(thick, option{Value: project.Millimetres(t)})
	}
	b.choice("Board", "Core thickness", "board.thickness", now, with(thick, now))
}

// leastMaximum returns the current of a channel at which the first of its emitters reaches its absolute maximum [A];
// no part where no sheet states one.
func leastMaximum(l *lamp.Lamp, ch *lamp.Channel) (a float64, part string) {
	a = math.Inf(1)
	for _, e := range ch.Emitters {
		k := &l.Types[l.Emitters[e].Type]
		if m := k.Part.MaxForwardCurrent; m.Set && ch.StringA() > 0 {
			if all := m.SI * float64(k.Model.Parallel) / ch.StringA() * ch.CurrentA; all < a {
				a, part = all, k.Part.ID.S
			}
		}
	}
	return a, part
}

// with returns a list that has the value, as it is written, in place of one that says the same.
func with(list []option, now string) []option {
	for i, o := range list {
		a, errA := quantity.Parse(o.Value, quantity.Length)
		b, errB := quantity.Parse(now, quantity.Length)
		if errA == nil && errB == nil && math.Abs(a-b) < 1e-9 {
			list[i].Value = now
			return list
		}
	}
	return append(list, option{Value: now})
}

// oneNumber is a text of a number and its unit, and nothing else.
var oneNumber = regexp.MustCompile(`^\s*[-+]?[0-9.]+\s*([^\s0-9.±]\S*)\s*$`)

// unitOf returns the unit that a value is written in; nothing where it is more than a number with one.
func unitOf(text string, dim quantity.Dim) string {
	m := oneNumber.FindStringSubmatch(text)
	if m == nil {
		return ""
	}
	if _, err := quantity.Parse("1 "+m[1], dim); err != nil {
		return ""
	}
	return m[1]
}

// tidy takes off what binary fractions add.
func tidy(x float64) float64 { return math.Round(x*1e9) / 1e9 }
