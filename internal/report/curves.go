package report

import (
	"lampwright/internal/draw"
	"lampwright/internal/study"
)

// SweepPicture draws uniformity, PPFD and spill against hanging height, one line per lens.
func SweepPicture(points []study.HeightSample, w study.HeightRequirement, nowM float64) draw.Picture {
	var names []string
	rows := map[string][]study.HeightSample{}
	for _, p := range points {
		if rows[p.Lens] == nil {
			names = append(names, p.Lens)
		}
		rows[p.Lens] = append(rows[p.Lens], p)
	}
	panel := func(what string, least, most float64, of func(study.HeightSample) float64) draw.LinePanel {
		out := draw.LinePanel{What: what, Least: least, Most: most}
		for _, n := range names {
			s := draw.LineSeries{Name: n}
			for _, p := range rows[n] {
				s.X, s.Y = append(s.X, 1e3*p.HeightM), append(s.Y, of(p))
			}
			out.Series = append(out.Series, s)
		}
		return out
	}
	return draw.LinesPicture(draw.Lines{
		ID: "sweep", Title: "Light against hanging height", Along: "hanging height, mm", Mark: 1e3 * nowM, Marked: "now",
		Panels: []draw.LinePanel{
			panel("mean PPFD at the target, µmol/m²/s", w.LeastPPFD, w.MostPPFD, func(p study.HeightSample) float64 { return p.PPFD }),
			panel("uniformity at the target (min/mean), %", 100*w.LeastUniformity, 0, func(p study.HeightSample) float64 { return 100 * p.Uniformity }),
			panel("spill light, %", 0, 100*w.MostSpill, func(p study.HeightSample) float64 { return 100 * p.Spill }),
		},
	})
}

// DepthPicture draws the light against depth.
func DepthPicture(curve []study.DepthPoint) draw.Picture {
	mean, low, high := draw.LineSeries{Name: "mean"}, draw.LineSeries{Name: "P10 of area"}, draw.LineSeries{Name: "P90 of area"}
	for _, p := range curve {
		x := 1e3 * p.DepthM
		mean.X, mean.Y = append(mean.X, x), append(mean.Y, p.Mean)
		low.X, low.Y = append(low.X, x), append(low.Y, p.P10)
		high.X, high.Y = append(high.X, x), append(high.Y, p.P90)
	}
	return draw.LinesPicture(draw.Lines{
		ID: "depth", Title: "Light against depth", Along: "depth below the surface, mm",
		Panels: []draw.LinePanel{{What: "PPFD on a level plane, µmol/m²/s", Series: []draw.LineSeries{mean, low, high}}},
	})
}
