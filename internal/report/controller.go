package report

import (
	"lampwright/internal/draw"
	"lampwright/internal/study"
)

// ControllerPicture draws a simulated run of the controller core: duties, fan and state over time.
func ControllerPicture(run *study.ControllerRun) draw.Picture {
	percent := func(values []float64) (out []float64) {
		for _, v := range values {
			out = append(out, 100*v)
		}
		return out
	}
	duties := draw.LinePanel{What: "duty, %"}
	for i, name := range run.Channels {
		duties.Series = append(duties.Series, draw.LineSeries{Name: name, X: run.At, Y: percent(run.Duty[i])})
	}
	state := make([]float64, len(run.State))
	for i, s := range run.State {
		state[i] = float64(s)
	}
	return draw.LinesPicture(draw.Lines{
		ID: "controller", Title: run.Title, Along: run.Along,
		Panels: []draw.LinePanel{
			duties,
			{What: "fan, %", Series: []draw.LineSeries{{Name: "fan", X: run.At, Y: percent(run.Fan)}}},
			{
				What:   "state: 0 off, 1 brown-out, 2 limp, 3 soft start, 4 run",
				Series: []draw.LineSeries{{Name: "state", X: run.At, Y: state}},
			},
		},
	})
}
