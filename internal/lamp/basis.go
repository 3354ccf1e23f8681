package lamp

import (
	"fmt"
	"hash/fnv"
	"slices"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// Basis returns in words what the value of a parameter belongs to: the parts and settings for which a value that is
// learned from readings holds. It is empty where readings of the lamp tell nothing of the parameter. A factor names the
// datasheet value that it multiplies.
func (l *Lamp) Basis(param int) string {
	for i := range l.Types {
		if b := l.Types[i].basis(param); b != "" {
			return b
		}
	}
	for i := range l.Optics {
		if o := &l.Optics[i]; param == o.Param || param >= 0 && (param == o.ShapeParam || param == o.AngleParam) {
			return l.opticBasis(i)
		}
	}
	for i := range l.Channels {
		if b := l.Channels[i].basis(param); b != "" {
			return b
		}
	}
	for i := range l.Design.Supplies {
		if param == l.Param.Supply[i] || param == l.Param.SupplyNoLoad[i] {
			return fmt.Sprintf("supply %d, %s", i+1, l.Design.Supplies[i].Part.S)
		}
	}
	return l.lampBasis(param)
}

// basis returns the basis of a parameter of an LED package; empty for other parameters.
func (k *EmitterType) basis(param int) string {
	own := []int{
		k.Param.Flux, k.Param.VoltageOffset, k.Param.Tempco, k.Param.Rth, k.Param.Ageing, k.Param.Wavelength,
	}
	for _, of := range []struct {
		param  int
		varies bool
	}{
		{k.Param.FluxLoss, !k.Part.FluxVsJunction.Set},
		{k.Param.FluxExponent, !k.Part.FluxVsCurrent.Set},
		{k.Param.PeakWidth, len(k.Part.Peaks) > 0},
		{k.Param.CCT, k.isWhite()},
		{k.Param.Duv, k.isWhite()},
	} {
		if of.varies {
			own = append(own, of.param)
		}
	}
	if !slices.Contains(own, param) {
		return ""
	}
	text := "emitter " + k.Part.ID.S
	if name := k.Wiring.Name.S; name != "" {
		text += ", die configuration " + name
	}
	switch param {
	case k.Param.Flux:
		flux := quantity.Format(k.Part.RadiantFlux.SI, quantity.Power)
		if k.Part.Flux.Set {
			flux = quantity.Format(k.Part.Flux.SI, quantity.Flux)
		}
		return text + fmt.Sprintf(", %s at %s", flux, quantity.Format(k.Part.TestCurrent.SI, quantity.Current))
	case k.Param.VoltageOffset:
		return text + fmt.Sprintf(", %s per die at %s", quantity.Format(k.Model.DieVoltage(k.Model.TestCurrentA),
			quantity.Voltage), quantity.Format(k.Model.TestCurrentA, quantity.Current))
	}
	return text
}

func (k *EmitterType) isWhite() bool {
	_, white := k.White()
	return white
}

// opticBasis returns the basis of the parameters of an optic.
func (l *Lamp) opticBasis(optic int) string {
	var emitters []string
	for i := range l.Emitters {
		id := l.Types[l.Emitters[i].Type].Part.ID.S
		if l.Emitters[i].Optic == optic && !slices.Contains(emitters, id) {
			emitters = append(emitters, id)
		}
	}
	list := strings.Join(emitters, ", ")
	if lens := l.Optics[optic].Lens; lens != nil {
		return fmt.Sprintf("lens %s over emitter %s", lens.ID.S, list)
	}
	return "emitter " + list + " without a lens"
}

// basis returns the basis of a parameter of a channel; empty for other parameters.
func (c *Channel) basis(param int) string {
	switch param {
	case c.Param.CurrentTolerance, c.Param.DriverEfficiency, c.Param.NoLoad:
		return fmt.Sprintf("driver %s on channel %s", c.Driver.ID.S, c.Name)
	case c.Param.WireResistance:
		if c.Wire != nil {
			return fmt.Sprintf("wire %s, %s, on channel %s", c.Wire.ID.S,
				quantity.Format(c.Use.Wire.Length.SI, quantity.Length), c.Name)
		}
	}
	return ""
}

// lampBasis returns the basis of a parameter of the lamp as a whole; empty where readings tell nothing of it.
func (l *Lamp) lampBasis(param int) string {
	board := "board " + l.Stack.ID.S
	switch param {
	case l.Param.TIM:
		return l.jointBasis()
	case l.Param.NaturalConvection:
		return l.sinkBasis()
	case l.Param.ForcedConvection, l.Param.FlowFraction:
		if l.Fan == nil {
			return ""
		}
		if _, stated := l.FlowFraction(); param == l.Param.ForcedConvection || !stated {
			return l.sinkBasis() + fmt.Sprintf(", fan %s at %s, %s", l.Fan.ID.S, quantity.Format(l.FanSpeed(),
				quantity.Ratio), word(l.Design.Fan.Airflow.S, project.Impinging))
		}
	case l.Param.HoodAirRise:
		if h := l.hoodText(); h != "" {
			return h
		}
	case l.Param.Dielectric, l.Param.DielectricK:
		if l.OnLaminate() {
			return board
		}
	case l.Param.CopperCoverage:
		if _, stated := l.CoverageOf(); !stated && l.OnLaminate() {
			return board
		}
	case l.Param.BackEmissivity:
		return board
	case l.Param.BoardField:
		return fmt.Sprintf("%s, %s thick, %s", board, quantity.Format(l.Design.Board.Thickness.SI,
			quantity.Length), l.layout())
	}
	return l.installationBasis(param)
}

// installationBasis returns the basis of a parameter of the place; empty for other parameters.
func (l *Lamp) installationBasis(param int) string {
	p := &l.Design.Installation
	length := func(m float64) string { return quantity.Format(m, quantity.Length) }
	place := fmt.Sprintf("%s of %s × %s", p.Kind.S, length(p.Inside.Length.SI), length(p.Inside.Width.SI))
	if l.WaterM() > 0 {
		place += ", water " + length(l.WaterM())
	}
	switch param {
	case l.Param.HangingHeight:
		return place + ", hanging height " + length(p.Hanging.SI)
	case l.Param.LightField:
		return fmt.Sprintf("%s, hanging height %s, %s", place, length(p.Hanging.SI), l.layout())
	case l.Param.YellowSubstance:
		if l.WaterM() > 0 {
			return place + ", tint " + word(p.WaterTint.S, project.TintClear)
		}
	case l.Param.PanesRetained, l.Param.CoverRetained:
		return place
	}
	for i, at := range l.Param.PaneReflectance {
		if pane := p.Panes.All()[i]; at == param && pane != nil && pane.Reflectance.Set {
			return fmt.Sprintf("%s, %s pane: %s", place, project.PaneNames[i], pane.Condition.S)
		}
	}
	return ""
}

// jointBasis states the joint between board and heat sink.
func (l *Lamp) jointBasis() string {
	_, _, length, width := l.ContactOf()
	fastening := string(project.MountNone)
	if m := l.Design.Board.Mounting; m != nil {
		fastening = string(m.Method.S)
		if n := len(l.Fasteners()); n > 0 {
			fastening = fmt.Sprintf("%d × %s %s", n, fastening, m.Screw.S)
		}
	}
	return fmt.Sprintf("thermal interface %s, board %s, contact %s × %s, fastening %s", l.Interface.ID.S, l.Stack.ID.S,
		quantity.Format(length, quantity.Length), quantity.Format(width, quantity.Length),
		strings.TrimSpace(fastening))
}

// sinkBasis states the heat sink and what changes its convection.
func (l *Lamp) sinkBasis() string {
	text := fmt.Sprintf("heat sink %s, %s", l.Sink.ID.S, word(l.Design.Sink.Orientation.S, project.FinsUp))
	if h := l.hoodText(); h != "" {
		text += ", " + h
	}
	if h := l.Design.Housing; h != nil {
		text += ", housing " + quantity.Format(h.Area.SI, quantity.Area)
	}
	return text
}

// hoodText states the hood; empty where there is none.
func (l *Lamp) hoodText() string {
	if h := l.Design.Sink.Hood; h != nil {
		return fmt.Sprintf("hood with walls of %s, vents of %s", quantity.Format(h.WallArea.SI, quantity.Area),
			quantity.Format(h.VentArea.SI, quantity.Area))
	}
	if rise := l.Design.Sink.HoodAirRise; rise.Set && rise.SI > 0 {
		return "hood with air rise " + quantity.Format(rise.SI, quantity.TemperatureDifference)
	}
	return ""
}

// layout states the number of emitters, and a checksum of their parts and centres to a hundredth of a millimetre.
func (l *Lamp) layout() string {
	sum := fnv.New32a()
	for i := range l.Emitters {
		e := &l.Emitters[i]
		fmt.Fprintf(sum, "%s %.2f %.2f\n", l.Types[e.Type].Part.ID.S, 1e3*e.XM, 1e3*e.YM)
	}
	return fmt.Sprintf("%d emitters, layout %08x", len(l.Emitters), sum.Sum32())
}

// word returns a word of the design, or the one that holds where it is not given.
func word[T ~string](given, otherwise T) string {
	if given == "" {
		return string(otherwise)
	}
	return string(given)
}
