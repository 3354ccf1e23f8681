package bench

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/estimate"
	"lampwright/internal/life"
)

// DriftRow is the light of a channel after some operating time over that when new.
type DriftRow struct {
	Campaign  string  `json:"campaign"`
	Channel   string  `json:"channel"`
	Hours     float64 `json:"hours"` // at full level
	Predicted float64 `json:"predicted"`
	Measured  float64 `json:"measured"`
	SD        float64 `json:"sd"`
	Zeta      float64 `json:"zeta"` // of the light over the predicted ageing, whose uncertainty counts
	Verdict   Verdict `json:"verdict"`
}

const (
	// driftSpread is the standard deviation of the light of a channel in a later campaign over the predicted one,
	// beside half of the predicted loss: dirt, cleaning and another set-up; common practice, no source.
	driftSpread = 0.03
	lossSpread  = 0.5
)

// drift is a campaign on a lamp that has run for some time.
type drift struct {
	hours float64
	left  []float64 // by channel: light over that when new, predicted
	param []int     // by channel: position of the light over the predicted one among the parameters; −1 for none
}

// addDrifts adds the predicted ageing to the campaigns of a lamp that is not new.
func (m *Model) addDrifts() {
	m.drifts = make([]*drift, len(m.readings.Campaigns))
	l := m.Sys.Lamp
	var ageing []engine.Ageing
	for c := range m.readings.Campaigns {
		t := m.readings.Campaigns[c].OperatingTime
		if !t.Set || t.SI <= 0 {
			continue
		}
		if ageing == nil {
			ageing = m.ageingAtFull()
		}
		d := &drift{hours: t.SI / 3600}
		of := engine.LightLeft(ageing, d.hours)
		for i := range l.Channels {
			sum := 0.0
			for _, e := range l.Channels[i].Emitters {
				sum += of[e] / float64(len(l.Channels[i].Emitters))
			}
			d.left, d.param = append(d.left, sum), append(d.param, -1)
		}
		m.drifts[c] = d
	}
}

// ageingAtFull returns how fast the light of each emitter falls at full level at typical ambient.
func (m *Model) ageingAtFull() []engine.Ageing {
	sol := m.Sys.Solve(m.Sys.Lamp.Nominal(), engine.Needs{Only: engine.Typical, Stages: engine.Emission})
	full := engine.Exposure{Hours: 24, SolderK: sol.Cases[engine.Typical].SolderK}
	for i := range m.Sys.Lamp.Channels {
		full.Level = append(full.Level, m.Sys.Lamp.Channels[i].Level)
	}
	return m.Sys.Ageing(&sol, []engine.Exposure{full}, life.OnTime)
}

// driftOf returns the factors on the light of each channel in a campaign: the predicted one, and the position of the
// parameter of the light over it; nil where the lamp is new.
func (m *Model) driftOf(campaign int) *drift {
	d := m.drifts[campaign]
	if d == nil {
		return nil
	}
	name := m.readings.Campaigns[campaign].Name.S
	for i := range d.param {
		channel := m.Sys.Lamp.Channels[i].Name
		d.param[i] = m.readParameter(fmt.Sprintf("campaign.%s.light.%s", name, channel),
			fmt.Sprintf("light of channel %s in campaign %s over the predicted ageing", channel,
				name), estimate.LogNormal, 1,
			math.Hypot(driftSpread, lossSpread*(1-d.left[i])))
	}
	return d
}

// driftRows compares the light of each channel in the campaigns of a lamp that is not new with the predicted ageing.
func (m *Model) driftRows(f *estimate.Fit) (out []DriftRow) {
	for c, d := range m.drifts {
		if d == nil || !slices.ContainsFunc(m.Items, func(it Item) bool {
			return it.Campaign == c &&
				it.light != nil
		}) {
			continue
		}
		for i, j := range d.param {
			if j < 0 || f.SDRatio()[j] > untoldRatio {
				continue
			}
			mean, sd := m.Marginal(f, j)
			row := DriftRow{
				Campaign: m.readings.Campaigns[c].Name.S, Channel: m.Sys.Lamp.Channels[i].Name, Hours: d.hours,
				Predicted: d.left[i], Measured: mean * d.left[i], SD: sd * d.left[i],
			}
			// The change of z by the readings, over its own standard deviation before them.
			row.Zeta = f.Z[j] / math.Sqrt(1-f.Cov.At(j, j))
			row.Verdict = verdictOf(row.Zeta, 0, 1)
			out = append(out, row)
		}
	}
	return out
}
