package engine

import (
	"math"
	"testing"

	"lampwright/internal/drive"
)

// A driver of 0.07 W without load and 86 % at 4 W, 92.5 % at 12 W, 94 % at 26 W, on a supply of 0.24 W and 79 % at 6 W,
// 86 % at 15 W, 88.5 % at 30 W. Hand computation at 0.1 % of 23 W: driver 0.07 W + 0.023 W · (4/0.86 − 0.07)/4 =
// 0.09634 W; mains 0.24 W + 0.09634 W · (6/0.79 − 0.24)/6 = 0.3581 W. Off: 0.24 W + 0.004 W · 1.2258 = 0.2449 W.
func TestMainsPowerAtLowLevel(t *testing.T) {
	d := DriverLoad{
		Topology: drive.BuckTopology, StandbyW: 0.004, OutputW: 23,
		Line: drive.InputLine{
			NoLoadW: 0.07, FullW: 1, Load: []float64{4, 12, 26}, Efficiency: []float64{0.86, 0.925, 0.94},
		},
	}
	supplies := []SupplyLoad{{Line: drive.InputLine{
		NoLoadW: 0.24, FullW: 1, Load: []float64{6, 15, 30}, Efficiency: []float64{0.79, 0.86, 0.885},
	}}}
	last := 0.0
	for _, tt := range []struct{ level, loadW, mainsW float64 }{
		{0, 0.004, 0.244903}, {0.001, 0.0963417, 0.358098}, {0.05, 1.387084, 1.940320}, {1, 24.512446, 27.877929},
	} {
		d.Duty, d.Off = tt.level, tt.level == 0
		mains, out := MainsPower([]DriverLoad{d}, supplies)
		if math.Abs(out[0].LoadW-tt.loadW) > 1e-6 || math.Abs(mains.PowerW-tt.mainsW) > 1e-6 {
			t.Errorf("level %g: load %g W, mains %g W; want %g and %g", tt.level, out[0].LoadW, mains.PowerW, tt.loadW,
				tt.mainsW)
		}
		if math.Abs(mains.StandbyW-0.244903) > 1e-6 {
			t.Errorf("level %g: %g W with the light off, want 0.2449 W", tt.level, mains.StandbyW)
		}
		if mains.PowerW <= last {
			t.Errorf("level %g: mains %g W is not above %g W", tt.level, mains.PowerW, last)
		}
		last = mains.PowerW
	}
}

// Driver inputs on the mains add up without a supply; a fan is part of its supply's load.
func TestMainsPowerParts(t *testing.T) {
	line := drive.InputLine{NoLoadW: 0.5, FullW: 10, Load: []float64{1}, Efficiency: []float64{0.8}} // 12.5 W at 10 W
	direct := DriverLoad{
		Topology: drive.ACTopology, Line: line, StandbyW: 0.2, OutputW: 5, Duty: 1, Supply: -1, Switched: true,
	}
	off := DriverLoad{Topology: drive.BuckTopology, Line: line, StandbyW: 0.1, OutputW: 10, Off: true}
	supply := SupplyLoad{Line: drive.InputLine{NoLoadW: 1, FullW: 10, Load: []float64{1}, Efficiency: []float64{0.5}}, FanW: 0.9}
	mains, out := MainsPower([]DriverLoad{direct, off}, []SupplyLoad{supply})
	// 0.5 + 5 · 1.2 = 6.5 W; load 0.1 + 0.9 = 1 W, 1 + 1 · 1.9 = 2.9 W; off 0.2 + 1 + 0.1 · 1.9 = 1.39 W.
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"mains", mains.PowerW, 9.4},
		{"switched", mains.SwitchedW, 6.5},
		{"light off", mains.StandbyW, 1.39},
		{"load", out[0].LoadW, 1},
		{"peak, the driver that is off at its set current", out[0].PeakW, 13.4},
	} {
		if math.Abs(x.got-x.want) > 1e-9 {
			t.Errorf("%s: %g W, want %g W", x.what, x.got, x.want)
		}
	}
}
