package foldback

// HeatingRate returns how fast metal warms without cooling [K/s]: P/(m·c).
func HeatingRate(powerW, massKg, heatJkgK float64) float64 { return powerW / (massKg * heatJkgK) }

// Overshoot returns how far metal warms beyond the opening temperature of a cut-out that lags, in kelvin: P·τ/(m·c).
//
// lagS is τ of the cut-out on its seat. An upper bound: it neglects what the lamp still dissipates. Source: derived.
func Overshoot(powerW, massKg, heatJkgK, lagS float64) float64 {
	return HeatingRate(powerW, massKg, heatJkgK) * lagS
}

// CutoutReserveK is how far a cut-out opens above the hottest normal state, so that it does not trip without a fault.
// Rule of thumb (no source).
const CutoutReserveK = 5

// Cutout is what the opening temperature of an independent thermal cut-out must fit between.
type Cutout struct {
	NormalK    float64 // hottest at its place without a fault [K]
	LimitK     float64 // of the part that fails first [K]
	GradientK  float64 // how much hotter that part is than the place of the cut-out
	ToleranceK float64 // of the opening temperature, to either side
	OvershootK float64
}

// Window returns the lowest and highest nominal opening temperature [K]:
//
//	T_lo = T_normal + tol + 5 K, T_hi = T_limit − gradient − tol − overshoot
//
// With T_lo above T_hi no cut-out fits. Source: derived.
func (c Cutout) Window() (loK, hiK float64) {
	return c.NormalK + c.ToleranceK + CutoutReserveK, c.LimitK - c.GradientK - c.ToleranceK - c.OvershootK
}

// Thermal links open at their nominal temperature at the latest, and up to 10 K before (IEC60691); they rest about 25 K
// below it for a long time (cited from memory; the datasheet's holding temperature takes precedence).
const (
	LinkEarlyK = 10
	LinkRestK  = 25
)

// Link returns when a thermal link is open by, opens at the earliest, and up to where it may rest [K]. Source:
// IEC60691,
// cited from memory.
func Link(nominalK float64) (openByK, earliestK, restK float64) {
	return nominalK, nominalK - LinkEarlyK, nominalK - LinkRestK
}
