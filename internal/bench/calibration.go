package bench

import (
	"math"
	"slices"

	"lampwright/internal/project"
)

// Calibration returns what the readings tell of the lamp as parameters to compute it with: those of lamp.Params that
// they
// tell anything of, with their correlations. made is the date, and checksum that of the readings file.
func (m *Model) Calibration(learned *Learned, made, checksum string) *project.Calibration {
	out := &project.Calibration{Made: made, Checksum: checksum, Readings: len(learned.Used)}
	for _, i := range learned.Used {
		if name := m.readings.Campaigns[m.Items[i].Campaign].Name.S; !slices.Contains(out.From, name) {
			out.From = append(out.From, name)
		}
	}
	ratio := learned.SDRatio()
	var kept []int
	for j := range m.Params {
		p := &m.Params[j]
		if !p.OfLamp() || ratio[j] > untoldRatio {
			continue
		}
		mean, sd := m.Marginal(learned.Fit, j)
		out.Parameters = append(out.Parameters, project.Learned{
			Name: p.Name, Value: p.LampValue(mean), SD: math.Abs(p.scale) * sd,
			Prior: p.LampValue(p.Prior.Centre), PriorSD: math.Abs(p.scale) * p.Prior.SD(),
			Basis: m.Sys.Lamp.Basis(p.Lamp),
		})
		row := make([]float64, len(kept))
		for k, other := range kept {
			row[k] = learned.Cov.At(j, other) / math.Sqrt(learned.Cov.At(j, j)*learned.Cov.At(other, other))
		}
		kept = append(kept, j)
		out.Correlations = append(out.Correlations, row)
	}
	return out
}
