package raytrace

import (
	"math"
)

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
