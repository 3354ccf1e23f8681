package bench

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/project"
)

// Placement of a meter by hand, standard uncertainties; common practice, no source.
const (
	distanceU = 3e-3                // [m]
	placeU    = 5e-3                // on a plane, along x and y [m]
	turnU     = 1.0 * math.Pi / 180 // of the angle of a scan [rad]
	aimU      = 2.0 * math.Pi / 180 // of the axis, where no angle is stated [rad]
	riseU     = 0.01                // of a temperature rise over the air: place of the bead, stem loss
	seriesU   = 0.02                // of a rise while it changes: board and heat sink as one node
	sensorU   = 0.005               // of the resistance of a thermistor: a tenth of a kelvin of place
	junctionU = 2.0                 // of a junction temperature by forward voltage [K]
)

// setFresh sets the standard uncertainty of what is fresh in each item that states none: of the instrument, and of the
// place by which the predicted reading of the nominal lamp changes.
func (m *Model) setFresh() error {
	z := make([]float64, len(m.Params))
	s, err := m.solve(context.Background(), z, nil, nil)
	if err != nil {
		return fmt.Errorf("predict the readings of the nominal lamp: %w", err)
	}
	m.cache = s
	theta := m.theta(z)
	for i := range m.Items {
		it := &m.Items[i]
		if it.U > 0 {
			continue
		}
		value := m.readItem(i, s, theta)
		f := functionOf(it.Reading.What.S)
		in := it.Reading.Instrument
		if computed(it.Reading) {
			in = nil
		}
		common := 0.0 // by place: one error of a whole series
		switch f {
		case light, photons:
			common = m.placementU(it, s, f)
		case temperature:
			common = m.thermalU(it, value, s)
		case ohms:
			common = sensorU * value
		}
		it.U = math.Hypot(math.Max(freshU(in, f, value), leastU(f)), common*math.Sqrt(it.together()))
	}
	return nil
}

// together returns the number of points that one placement of the meter is common to: those of a series over time or
// angle. Each then counts with the root of their number, so that all of them tell no more than one placement allows.
// At each point of a grid the meter is placed anew.
func (it *Item) together() float64 {
	r := it.Reading
	if it.Point < 0 || r.Series[it.Point].At.X.Set {
		return 1
	}
	return float64(len(r.Series))
}

// leastU returns the least standard uncertainty of a display, SI: a step of a usual instrument; common practice, no
// source.
func leastU(f function) float64 {
	switch f {
	case light:
		return 0.5
	case photons:
		return 0.05
	case watts, ohms:
		return 0.1
	case temperature:
		return 0.05
	case speed:
		return 0.1
	case wavelength:
		return 0.1
	}
	return 1e-5
}

// thermalU returns what the place adds to the uncertainty of a temperature [K].
func (m *Model) thermalU(it *Item, valueK float64, s *moments) float64 {
	if it.Reading.What.S == project.ReadJunctionTemperature {
		return junctionU
	}
	at := s.at[it.condition][it.time]
	share := riseU
	if len(m.conditions[it.condition].timesS) > 0 {
		share = seriesU
	}
	return share * math.Abs(valueK-at.AirK())
}

// placementU returns the change of a reading of light with the place of the meter: the root of the sum of squares of
// those for one standard uncertainty of each of its coordinates.
func (m *Model) placementU(it *Item, s *moments, f function) float64 {
	r := it.Reading
	var point *project.SeriesPoint
	if it.Point >= 0 {
		point = &r.Series[it.Point]
	}
	sum := 0.0
	here, ok := m.lightAt(r, point, it, s, f)
	if !ok {
		return 0
	}
	for _, moved := range movedPlaces(r, point) {
		if v, ok := m.lightAt(&moved.reading, moved.point, it, s, f); ok {
			sum += sq(v - here)
		}
	}
	return math.Sqrt(sum)
}

// movedPlace is a reading with one of its coordinates moved by its standard uncertainty.
type movedPlace struct {
	reading project.Reading
	point   *project.SeriesPoint
}

func movedPlaces(r *project.Reading, point *project.SeriesPoint) (out []movedPlace) {
	add := func(move func(r *project.Reading, p *project.SeriesPoint)) {
		moved := movedPlace{reading: *r}
		if point != nil {
			p := *point
			moved.point = &p
		}
		move(&moved.reading, moved.point)
		out = append(out, moved)
	}
	if r.Place.S == project.AtAxis {
		add(func(r *project.Reading, _ *project.SeriesPoint) { r.Distance.SI += distanceU })
		add(func(r *project.Reading, p *project.SeriesPoint) {
			if p != nil && p.Angle.Set {
				p.Angle.SI += turnU
				return
			}
			r.Angle.SI += aimU
		})
		return out
	}
	axis := func(x bool) {
		add(func(r *project.Reading, p *project.SeriesPoint) {
			at := &r.At
			if p != nil && p.At.X.Set {
				at = &p.At
			}
			if x {
				at.X.SI += math.Copysign(placeU, -at.X.SI)
			} else {
				at.Y.SI += math.Copysign(placeU, -at.Y.SI)
			}
		})
	}
	axis(true)
	axis(false)
	return out
}

// lightAt returns the light of the nominal lamp at the place of a reading, without errors of the meter.
func (m *Model) lightAt(r *project.Reading, point *project.SeriesPoint, it *Item, s *moments, f function) (sum float64,
	ok bool,
) {
	place, err := m.meterLight(r, point)
	if err != nil {
		return 0, false
	}
	at := s.at[it.condition][it.time]
	channels := (*engine.Moment).Lux
	if f == photons {
		channels = (*engine.Moment).PPFD
	}
	for _, v := range channels(at, place) {
		sum += v
	}
	return sum, true
}
