package review

import (
	"fmt"

	"lampwright/internal/drive"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/wiring"
)

// The mains of most of the world; rule of thumb (no source).
const (
	mainsV  = 230
	mainsHz = 50
)

// glowA is the current from which a die of InGaN is visible in a dark room: rule of thumb (no source).
const glowA = 1e-6

// standbyLimitW is the limit of standby power of a separate controlgear: EU20192020, cited from memory.
const standbyLimitW = 0.5

// offLeakage looks at the current that an open contact of the mains lets through, by its snubber and its cable.
func (v *reviewer) offLeakage() []Judgement {
	m, _ := v.mainsSide()
	loads := v.l.Switched()
	if m.Switch == nil || len(loads) == 0 || !m.Switch.Snubber.Set && !m.Switch.Cable.Set {
		return nil
	}
	s := m.Switch
	at := s.Snubber.At
	what := "snubber"
	switch {
	case !s.Snubber.Set:
		at, what = s.Cable.At, "cable"
	case s.Cable.Set:
		what = "snubber and cable"
	}
	leak := drive.LeakageA(s.Snubber.SI+drive.CableFPerM*s.Cable.SI, mainsHz, mainsV)
	return []Judgement{{
		Severity: finding.Note, Subject: Subject{Kind: "mains"}, At: at, Dim: quantity.Current, Value: leak, P90: leak,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: fmt.Sprintf("Leakage of the open switch by %s %s (230 V, 50 Hz assumed)", what,
					format(j.Value, j.Dim)),
				Why: "A supply charges on it and flashes every few seconds, or its LEDs glow at night.",
			}
			t.fix("Connect the snubber across the load in place of the contact")
			t.fix("Use a double-pole contact without snubber")
			t.fix("Leave the supplies on and dim to 0: `switch: {kind: none}`")
			return t
		},
	}}
}

// darkV returns the voltage of a channel's string below which none of its dies is visible [V].
func (v *reviewer) darkV(c *lamp.Channel) (volts float64) {
	for _, e := range c.Emitters[:len(c.Emitters)/c.Strings] {
		kind := &v.l.Types[v.l.Emitters[e].Type]
		one := drive.DarkInGaNV
		if kind.Part.Material.S == project.AlInGaP {
			one = drive.DarkAlInGaPV
		}
		volts += float64(kind.Wiring.Series.N) * one
	}
	return volts
}

// nightGlow compares the bleeder of each string with what its driver's leakage requires.
func (v *reviewer) nightGlow() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		leak := c.Driver.OffLeakage.SI
		if !c.Driver.OffLeakage.Set || leak < glowA*float64(c.Strings) {
			continue
		}
		largest := drive.GlowBleederOhm(v.darkV(c), leak)
		j := Judgement{Severity: finding.Note, Subject: channel(c.Name), At: c.Use.Driver.At}
		if b := c.Use.Bleeder; b.Set {
			j.Bound, j.Dim, j.Value, j.P90, j.Limit, j.Typed = AtMost, quantity.Resistance, b.SI, b.Hi, largest, true
			j.At = b.At
			j = compare(finding.Note, j)
		}
		j.text = func(v *reviewer, j *Judgement) Text {
			t := Text{
				Title: fmt.Sprintf("Leakage %s of driver %s lights the string at night (channel %s)",
					quantity.Format(leak, quantity.Current), c.Driver.ID.S, c.Name),
				Why: "InGaN is visible in the dark from about 1 µA; below 2.0 V of a die (AlInGaP 1.5 V) it is " +
					"dark (rule of " +
					"thumb, no source).",
			}
			if j.Bound == AtMost {
				t.Title = j.title(claim{quantity: "Bleeder", limit: "for a dark string", of: "channel " + c.Name})
			}
			if j.Severity != finding.Pass {
				ohm := lowerE12(largest)
				volts := v.r.Value(c.Name + ".voltage")
				t.fixf("Fit a bleeder of %s across the string (%s while lit); add `bleeder`",
					quantity.Format(ohm, quantity.Resistance), quantity.Format(volts*volts/ohm, quantity.Power))
			}
			return t
		}
		out = append(out, j)
	}
	return out
}

// lowerE12 returns the next E12 value at or below a resistance.
func lowerE12(ohm float64) float64 {
	r, err := wiring.AtMost("E12", ohm)
	if err != nil {
		return ohm
	}
	return r
}

// standby compares the standby power of each supply and mains driver that stays on with the limit.
func (v *reviewer) standby() (out []Judgement) {
	off := map[string]bool{}
	for _, o := range v.l.Switched() {
		off[o.Name] = true
	}
	add := func(name, part string, power source.Value, at source.Pos) {
		if off[name] || !power.Set {
			return
		}
		j := compare(finding.Note, Judgement{
			Subject: Subject{"", []string{part}}, At: at, Bound: AtMost, Dim: quantity.Power, Value: power.SI,
			P90:   power.Hi,
			Limit: standbyLimitW, Typed: true,
		})
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "Standby power", limit: "usual limit", of: part}),
				Why: fmt.Sprintf("It is %s kWh a year of darkness (limit: Regulation (EU) 2019/2020, cited from "+
					"memory).",
					quantity.FormatIn(drive.YearKWh(j.Value), quantity.None, "", 2)),
			}
			if j.Severity != finding.Pass {
				t.fix("Use a supply of ≤ 0.5 W without load")
				t.fix("Switch it off in the mains at night, by a switch rated for its inrush current")
			}
			return t
		}
		out = append(out, j)
	}
	for i := range v.d.Supplies {
		if part := v.supplyOf(i); part != nil {
			add(part.ID.S, part.ID.S, part.StandbyPower, v.d.Supplies[i].Part.At)
		}
	}
	for i := range v.l.Channels {
		if c := &v.l.Channels[i]; c.Driver.Kind.S == project.DriverAC {
			add(c.Name, c.Driver.ID.S+", channel "+c.Name, c.Driver.StandbyPower, c.Use.Driver.At)
		}
	}
	return out
}
