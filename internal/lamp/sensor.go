package lamp

import (
	"fmt"

	"lampwright/internal/foldback"
)

// assumedBits is the resolution of a converter that nobody states, by common practice (no source).
const assumedBits = 12

// Divider returns the sensor of the design with its resistor and converter: those of sensor, else those of the
// controller; else a resistor as large as the sensor at 25 °C, and 12 bits. The design has a sensor.
func (l *Lamp) Divider() (foldback.Divider, error) {
	use := l.Design.Sensor
	part := l.Project.Library.Sensors.Get(use.Part.S)
	ntc, err := foldback.Beta(part.R25.SI, part.Beta.SI)
	if n := len(part.Table.X); part.Table.Set && n >= 3 {
		pick := [3]int{0, n / 2, n - 1}
		var ohm, kelvin [3]float64
		for i, at := range pick {
			ohm[i], kelvin[i] = part.Table.Y[at], part.Table.X[at]
		}
		ntc, err = foldback.Fit(ohm, kelvin)
	}
	if err != nil {
		return foldback.Divider{}, fmt.Errorf("sensor %q: %w", part.ID.S, err)
	}
	d := foldback.Divider{NTC: ntc, FixedOhm: part.R25.SI, Bits: assumedBits}
	if c := l.Controller; c != nil {
		if c.Part.PullUp.Set {
			d.FixedOhm = c.Part.PullUp.SI
		}
		if c.Part.ADCBits.Set {
			d.Bits = c.Part.ADCBits.N
		}
	}
	if use.FixedResistor.Set {
		d.FixedOhm = use.FixedResistor.SI
	}
	if use.ADCBits.Set {
		d.Bits = use.ADCBits.N
	}
	if err := d.Validate(); err != nil {
		return d, fmt.Errorf("sensor %q: %w", part.ID.S, err)
	}
	return d, nil
}
