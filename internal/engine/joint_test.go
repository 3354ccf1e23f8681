package engine_test

import (
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
)

// TestJointWithoutRange: a TIM without a stated tolerance has an effect where its resistance is another one, as
// readings may tell. The die covers the whole board of 400 mm², so that 8 mm²·K/W are 0.02 K/W, to either side; the
// solution of the board is good to 2 %.
func TestJointWithoutRange(t *testing.T) {
	o := lamptest.Quick()
	o.Samples = 1
	r := lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts), o)
	joint := func(offsetM2KW float64) float64 {
		p := r.Base.Clone()
		p[r.Lamp.Param.TIM] = offsetM2KW
		sol := r.Sys.Solve(p, engine.Needs{Only: engine.Typical})
		st := sol.Cases[engine.Typical]
		return (st.SolderK[0] - st.Sink.BaseK) / st.HeatW[0]
	}
	for _, sign := range []float64{1, -1} {
		lamptest.Near(t, "joint", joint(sign*8e-6)-joint(0), sign*0.02, 4e-4, "8 mm²·K/W over 400 mm²")
	}
}
