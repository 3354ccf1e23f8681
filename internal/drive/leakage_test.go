package drive

import (
	"math"
	"testing"
)

// TestLeakageByHand: 2π · 50 Hz · 47 nF · 230 V = 3.396 mA; 6 m of 100 pF/m: 43.35 µA; 9 · 2.0 V/50 µA = 360 kΩ.
func TestLeakageByHand(t *testing.T) {
	for _, tt := range []struct {
		what      string
		got, want float64
	}{
		{"snubber", LeakageA(47e-9, 50, 230), 3.3961e-3},
		{"cable", LeakageA(6*CableFPerM, 50, 230), 43.354e-6},
		{"standby of 0.4 W", YearKWh(0.4), 3.504},
		{"bleeder", GlowBleederOhm(9*DarkInGaNV, 50e-6), 360e3},
	} {
		if math.Abs(tt.got-tt.want) > 1e-4*tt.want {
			t.Errorf("%s: %g, want %g (by hand)", tt.what, tt.got, tt.want)
		}
	}
}

// TestShortedString puts the result back into 8·(v₀ + R·I) = 9·(v₀ + R·(1.1 − I)): v₀ = 2.774 V, R = 0.32 Ω give
// I = (2.774 + 9 · 0.352)/(17 · 0.32) = 1.0923 A.
func TestShortedString(t *testing.T) {
	got, err := ShortedStringA(1.1, 2, 9, 9*2.95, 9*0.32)
	if want := 1.0923; err != nil || math.Abs(got-want) > 1e-4 {
		t.Errorf("%g A, want %g A (by hand); %v", got, want, err)
	}
	// Of two emitters one is left: it takes all.
	if got, err = ShortedStringA(1, 2, 2, 6, 0.4); err != nil || got != 1 {
		t.Errorf("%g A, want all of 1 A; %v", got, err)
	}
	for _, bad := range [][2]int{{1, 9}, {2, 1}} {
		if _, err = ShortedStringA(1, bad[0], bad[1], 6, 0.4); err == nil {
			t.Errorf("%d strings of %d emitters give no error", bad[0], bad[1])
		}
	}
}
