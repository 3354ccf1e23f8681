package light

import (
	"sort"
)

// Figures are the statistics of a map of equal cells, in the unit of the cells.
type Figures struct {
	Mean, Min, Max float64
	P10, P50, P90  float64 // percentiles of the area
	MinOverMean    float64 // uniformity U₀; it decreases on finer grids, so state the grid
	MinOverMax     float64
	Cells          int
}

// Summarise returns the Figures of a map. Percentiles interpolate linearly between the sorted cells.
// Source: EN12464 for U₀ = min/mean.
func Summarise(cells []float64) Figures {
	if len(cells) == 0 {
		return Figures{}
	}
	sorted := append([]float64(nil), cells...)
	sort.Float64s(sorted)
	f := Figures{Min: sorted[0], Max: sorted[len(sorted)-1], Cells: len(cells)}
	for _, v := range sorted {
		f.Mean += v / float64(len(sorted))
	}
	at := func(share float64) float64 {
		u := share * float64(len(sorted)-1)
		i := min(int(u), len(sorted)-1)
		j := min(i+1, len(sorted)-1)
		return sorted[i] + (u-float64(i))*(sorted[j]-sorted[i])
	}
	f.P10, f.P50, f.P90 = at(0.1), at(0.5), at(0.9)
	if f.Mean > 0 {
		f.MinOverMean = f.Min / f.Mean
	}
	if f.Max > 0 {
		f.MinOverMax = f.Min / f.Max
	}
	return f
}

// ShareBelow returns the fraction of the area of a map of equal cells that has less than a level. Between the sorted
// cells, which stand in the middle of their part of the area, it is linear; beyond the outermost ones it is 0 or 1.
func ShareBelow(cells []float64, level float64) float64 {
	sorted := append([]float64(nil), cells...)
	sort.Float64s(sorted)
	k, n := sort.SearchFloat64s(sorted, level), len(sorted)
	switch k {
	case 0:
		return 0
	case n:
		return 1
	}
	return (float64(k) - 0.5 + (level-sorted[k-1])/(sorted[k]-sorted[k-1])) / float64(n)
}

// ShareAbove returns the fraction of the area that has more than a level, as ShareBelow does.
func ShareAbove(cells []float64, level float64) float64 {
	negative := make([]float64, len(cells))
	for i, v := range cells {
		negative[i] = -v
	}
	return ShareBelow(negative, -level)
}
