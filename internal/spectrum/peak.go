package spectrum

// Peak returns the wavelength of the maximum and the full width at half of it [nm]; zeros for a spectrum without light.
//
// The maximum is that of the parabola through the highest sample and its neighbours; the width ends at the outermost
// crossings of half of it, linear between samples. Source: CIES017 (peak wavelength, spectral bandwidth at half
// intensity).
func (s Spectrum) Peak() (peakNM, widthNM float64) {
	lo, hi, step := s.Grid()
	n := (hi-lo)/step + 1
	at := func(i int) float64 { return s.At(float64(lo + i*step)) }
	top := 0
	for i := range n {
		if at(i) > at(top) {
			top = i
		}
	}
	if !(at(top) > 0) {
		return 0, 0
	}
	peak, max := float64(top), at(top)
	if top > 0 && top < n-1 {
		a, b, c := at(top-1), at(top), at(top+1)
		if bend := a - 2*b + c; bend < 0 {
			d := (a - c) / (2 * bend)
			peak, max = peak+d, b-(a-c)*d/4
		}
	}
	half := max / 2
	first, last := 0.0, float64(n-1)
	for i := 1; i < n; i++ {
		if at(i-1) < half && at(i) >= half {
			first = float64(i-1) + (half-at(i-1))/(at(i)-at(i-1))
			break
		}
	}
	for i := n - 1; i > 0; i-- {
		if at(i) < half && at(i-1) >= half {
			last = float64(i) - (half-at(i))/(at(i-1)-at(i))
			break
		}
	}
	return float64(lo) + peak*float64(step), (last - first) * float64(step)
}
