package engine

// Within adds the light outside some bands to the outermost ones, so that no radiant flux is lost, and scales the
// fractions to a sum of 1: a spectrum that shifted with temperature keeps its lumens, and its radiant flux only
// approximately.
func (w BandWeights) Within(from, to int) BandWeights {
	cut := func(v []float64) []float64 {
		out := append([]float64(nil), v[from:to]...)
		for b, x := range v {
			if b < from {
				out[0] += x
			} else if b >= to {
				out[to-from-1] += x
			}
		}
		return out
	}
	out := BandWeights{cut(w.Share), cut(w.UmolJ), cut(w.LmW)}
	sum := 0.0
	for _, s := range out.Share {
		sum += s
	}
	for b := range out.Share {
		out.Share[b] /= sum
	}
	return out
}
