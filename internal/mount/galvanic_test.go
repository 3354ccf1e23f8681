package mount

import "testing"

// TestGalvanicByHand: aluminium 0.90 V, copper 0.35 V, 18/8 stainless 0.50 V, tin 0.65 V against gold.
func TestGalvanicByHand(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want float64
		base bool
	}{
		{"aluminium", "copper", 0.55, true},
		{"stainless", "aluminium", 0.40, false},
		{"aluminium", "tin", 0.25, true},
		{"zinc", "aluminium", 0.35, true},
	} {
		v, base, err := Couple(tt.a, tt.b)
		if err != nil || base != tt.base {
			t.Errorf("%s on %s: base %v, %v", tt.a, tt.b, base, err)
		}
		near(t, tt.a+" on "+tt.b, v, tt.want, 1e-9, "MILSTD889, cited from memory")
	}
	if _, _, err := Couple("aluminium", "gallium"); err == nil {
		t.Error("a metal without index has no couple")
	}
	// 4 heads of M3 screws, diameter 5.5 mm: 0.950 cm² on 250 cm²; copper of 250 cm² on rivets of 1 cm².
	near(t, "steel on aluminium", Attack(0.950, 250), 1.0038, 1e-9, "by hand")
	near(t, "copper on aluminium", Attack(250, 1), 251, 1e-9, "by hand")
}
