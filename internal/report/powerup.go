package report

import (
	"fmt"

	"lampwright/internal/quantity"
	"lampwright/internal/study"
)

// PowerUpTable returns the voltages of the strings at the first power-up.
func PowerUpTable(p study.PowerUp) Table {
	t := Table{
		Title: "Strings on a bench supply, without driver, at " + kelvin(p.AirK),
		Head: []string{
			"string of", "strings", "current limit", "of nominal", "expected", "lowest to highest bins",
			"voltage limit",
		},
	}
	for _, s := range p.Strings {
		for _, at := range s.At {
			t.Rows = append(t.Rows, []string{
				s.Channel, fmt.Sprint(s.Count), text(at.CurrentA, quantity.Current),
				fmt.Sprintf("%.0f %%", 100*at.Fraction), text(at.VoltageV, quantity.Voltage),
				span(at.MinV, at.MaxV, quantity.Voltage), text(s.LimitV, quantity.Voltage),
			})
		}
	}
	return t
}

// PowerUpSteps returns the checklist of the first power-up in its order. What is common practice has no source.
func PowerUpSteps(p study.PowerUp) []string {
	out := beforeSteps(p)
	for _, s := range p.Strings {
		out = append(out, fmt.Sprintf("Channel %s: voltage lower by %s or a multiple: one die or more is shorted; no "+
			"current at %s: open or reversed.", s.Channel, text(s.ShortedV, quantity.Voltage),
			text(s.LimitV, quantity.Voltage)))
	}
	return append(append(out, warmSteps(p)...), lastSteps()...)
}

// beforeSteps lead to the first current through a string.
func beforeSteps(p study.PowerUp) []string {
	return []string{
		"Lamp without mains, drivers disconnected. Look for bridges, reversed packages and screw heads on copper.",
		coreStep(p),
		"Wear eye protection or cover the LEDs with white paper; never look into them, also at 1 %.",
		"Set the voltage limit and the 1 % current limit of the table with the output off. Connect one string, then " +
			"switch on. Compare voltage and light.",
	}
}

// warmSteps lead to the steady state at full level.
func warmSteps(p study.PowerUp) []string {
	out := []string{
		"One package darker than its neighbours: ESD damage or a partial short.",
		"Repeat at 5 % and 10 %, one minute each. Measure before the string heats up: its voltage then falls.",
		"Switch off, wait, and connect the driver with its input off: never connect a string to a live driver. Power " +
			"the input last.",
		"Run at 5 % level for 10 min, 50 % for 30 min, then 100 % to the steady state. Touch nothing: read the board " +
			"with an infrared thermometer.",
	}
	for _, b := range p.Board {
		out = append(out, fmt.Sprintf("Infrared spot %s at full level: %s expected, P90 %s. Above %s switch off: "+
			"check thermal interface and screws.", b.Spot, kelvin(b.TempK), kelvin(b.P90K), kelvin(b.StopK)))
	}
	return out
}

// lastSteps are those after the first warm-up.
func lastSteps() []string {
	return []string{
		"Provoke faults under supervision: fan stopped, sensor open and shorted, controller reset. Each must end in " +
			"less light.",
		"Mains side, by a qualified person: protective earth ≤ 0.5 Ω, RCD test button, touch current, drip loops.",
		"Tighten the screws again after the first thermal cycle.",
	}
}

// coreStep is the insulation test of copper against core.
func coreStep(p study.PowerUp) string {
	s := "Join all LED terminals. Insulation of copper to core: 250 V to 500 V DC, ≥ 100 MΩ after 60 s. " +
		"Never across an LED."
	if p.CoreF > 0 {
		s += fmt.Sprintf(" Use DC and discharge afterwards: the board has about %s, through which 500 V, 50 Hz would "+
			"drive %s.", text(p.CoreF, quantity.Capacitance), text(p.CoreA, quantity.Current))
	}
	return s
}

func (b *builder) powerUp(v *view) {
	if b.r.Lamp == nil || b.r.Sys == nil {
		return
	}
	p := study.FirstPowerUp(b.r)
	v.PowerUp, v.PowerUpSteps = PowerUpTable(p), PowerUpSteps(p)
}
