package lamptest

import (
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// Learned returns a calibration of a project with learned parameters, each on the basis of the design where it states
// none, without correlations.
func Learned(tb testing.TB, p *project.Project, parameters ...project.Learned) *project.Calibration {
	tb.Helper()
	l, err := lamp.New(p, intensity.FromLens)
	if err != nil {
		tb.Fatal(err)
	}
	c := &project.Calibration{Made: "2031-09-13", From: []string{"first light"}, Readings: 38, Parameters: parameters}
	for i := range parameters {
		if at := l.ParamIndex(parameters[i].Name); at >= 0 && parameters[i].Basis == "" {
			parameters[i].Basis = l.Basis(at)
		}
		c.Correlations = append(c.Correlations, make([]float64, i))
	}
	return c
}
