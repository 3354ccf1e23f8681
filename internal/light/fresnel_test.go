package light

import (
	"math"
	"testing"
)

// TestSlabByHand: a pane of index 3 that transmits half of the light in one passage, between air and a medium of index 1.5,
// at normal incidence. R₁ = (2/4)² = 1/4, R₂ = (1.5/4.5)² = 1/9, τ = 1/2, and 1 − R₁R₂τ² = 143/144:
//
//	R = 1/4 + (3/4)² · 1/9 · 1/4 · 144/143 = 1/4 + 9/572    T = 3/4 · 8/9 · 1/2 · 144/143 = 48/143
func TestSlabByHand(t *testing.T) {
	r, tr := Slab(1, 1, 3, 1.5, math.Ln2)
	near(t, "reflectance", r, 1.0/4+9.0/572, 1e-12)
	near(t, "transmittance", tr, 48.0/143, 1e-12)
	// From the other side: R = 1/9 + (8/9)² · 1/4 · 1/4 · 144/143, and the same T (reciprocity).
	r, tr = Slab(1, 1.5, 3, 1, math.Ln2)
	near(t, "reflectance from the other side", r, 1.0/9+64.0/81/16*144/143, 1e-12)
	near(t, "transmittance from the other side", tr, 48.0/143, 1e-12)
	// Without absorption nothing is lost: T = (1 − R₁)(1 − R₂)/(1 − R₁R₂) = 24/35.
	r, tr = Slab(1, 1, 3, 1.5, 0)
	near(t, "transmittance of a clear pane", tr, 24.0/35, 1e-12)
	near(t, "reflectance and transmittance of a clear pane", r+tr, 1, 1e-12)
}
