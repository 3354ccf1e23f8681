package heat

// arena hands out vectors and takes them all back at once: a job needs a few dozen of them for milliseconds, and
// the next job the same again. A nil arena makes fresh ones.
type arena struct {
	slab []float64
	used int
	need int // what the job would have liked in one piece
}

// floats gives n zeros.
func (a *arena) floats(n int) []float64 {
	v, used := a.take(n)
	if used {
		clear(v)
	}
	return v
}

// any gives n numbers of no particular, but finite, value, for vectors that are written before they are read.
func (a *arena) any(n int) []float64 {
	v, _ := a.take(n)
	return v
}

// take gives n numbers and reports whether they have been used before.
func (a *arena) take(n int) ([]float64, bool) {
	if a == nil {
		return make([]float64, n), false
	}
	a.need += n
	if a.used+n > len(a.slab) {
		return make([]float64, n), false
	}
	v := a.slab[a.used : a.used+n : a.used+n]
	a.used += n
	return v, true
}

// reset takes everything back; nothing handed out before may be used any more.
func (a *arena) reset() {
	if a.need > len(a.slab) {
		a.slab = make([]float64, a.need+a.need/4)
	}
	a.used, a.need = 0, 0
}
