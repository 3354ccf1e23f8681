package raytrace

import (
	"math/bits"
)

// account is a sum of weights over the paths of a tile: what all bands have in common, and what each has besides.
type account struct {
	common float64
	bands  []float64
}

// tally holds the sums of one tile. While its paths are followed, a flow and its part (OnWater and OnWaterDirect, for
// one) are disjoint: each passage is recorded once. complete adds them.
type tally struct {
	cells      []cellTally // of each receiver
	terminated [TerminationCount]account
	flow       [FlowCount]account
	segments   int64
	paths      int
}

// cellTally holds the sums of one tile on a receiver; cells without light cost next to nothing. Light straight from the
// lens comes first, as it is most of it, then the cells of the other light.
type cellTally struct {
	direct   int       // number of cells of the grid
	lit      bitmap    // the cells that have light
	spectral bitmap    // those with light that differs between bands
	common   []float64 // light that all bands have in common
	bands    []float64 // [cell·bands + band], what each band has besides
}

// bitmap is a set of cells.
type bitmap []uint64

func newBitmap(cells int) bitmap { return make(bitmap, (cells+63)/64) }

func (m bitmap) set(i int) { m[uint(i)/64] |= 1 << (uint(i) % 64) }

func (m bitmap) has(i int) bool { return m[uint(i)/64]>>(uint(i)%64)&1 != 0 }

func (r *run) newTally() *tally {
	n := len(r.bands)
	t := &tally{}
	for _, rec := range r.receivers {
		size := 2 * rec.Grid.NX * rec.Grid.NY
		t.cells = append(t.cells, cellTally{
			size / 2, newBitmap(size), newBitmap(size), make([]float64, size), make([]float64, size*n),
		})
	}
	for i := range t.terminated {
		t.terminated[i].bands = make([]float64, n)
	}
	for i := range t.flow {
		t.flow[i].bands = make([]float64, n)
	}
	return t
}

// reset empties a tally but for its cells, which sums.add empties.
func (t *tally) reset() {
	for i := range t.terminated {
		t.terminated[i].reset()
	}
	for i := range t.flow {
		t.flow[i].reset()
	}
	t.segments, t.paths = 0, 0
}

func (a *account) reset() {
	a.common = 0
	clear(a.bands)
}

// complete adds what bands have in common to each, and parts to their flows; dry says that the substrate is the
// target.
func (t *tally) complete(substrateR []float64, dry bool) {
	for i := range t.terminated {
		t.terminated[i].complete()
	}
	for i := range t.flow {
		t.flow[i].complete()
	}
	add := func(whole []float64, part Flow) {
		for b, v := range t.flow[part].bands {
			whole[b] += v
		}
	}
	add(t.flow[SubstrateFirst].bands, SubstrateDirect)
	add(t.flow[SubstrateTotal].bands, SubstrateFirst)
	add(t.flow[UpThroughRim].bands, UpLater)
	add(t.flow[OutOfDryWalls].bands, OutOfDryWallsLater)
	add(t.flow[OutOfWetWalls].bands, OutOfWetWallsLater)
	add(t.terminated[ToWater].bands, IntoWaterLater)
	add(t.flow[OnWater].bands, OnWaterDirect)
	if dry {
		add(t.flow[OnWater].bands, SubstrateFirst)
		add(t.flow[OnWaterDirect].bands, SubstrateDirect)
	}
	for b, v := range t.flow[SubstrateTotal].bands {
		t.terminated[ToSubstrate].bands[b] += v * (1 - substrateR[b])
	}
}

func (a *account) complete() {
	for b := range a.bands {
		a.bands[b] += a.common
	}
}

// moments are the sum of a quantity over tiles, and that of its square.
type moments struct{ sum, square float64 }

func (m *moments) add(x float64) {
	m.sum += x
	m.square += x * x
}

// sums holds the moments over the tiles of a group, by band; values are per path.
type sums struct {
	tiles      int
	segments   int64
	paths      int64
	cell       [][]moments // [receiver][cell·bands + band], cells as in cellTally
	all        [][]moments // [receiver][band]: totals over the grid, all light, then reflected
	terminated [TerminationCount][]moments
	flow       [FlowCount][]moments
}

func (r *run) newSums() *sums {
	n := len(r.bands)
	s := &sums{}
	for _, rec := range r.receivers {
		s.cell = append(s.cell, make([]moments, 2*rec.Grid.NX*rec.Grid.NY*n))
		s.all = append(s.all, make([]moments, 2*n))
	}
	for i := range s.terminated {
		s.terminated[i] = make([]moments, n)
	}
	for i := range s.flow {
		s.flow[i] = make([]moments, n)
	}
	return s
}

// add adds one tile of n bands to the sums of its group, and empties its cells.
func (s *sums) add(t *tally, n int) {
	s.tiles++
	s.paths += int64(t.paths)
	s.segments += t.segments
	per := 1 / float64(t.paths)
	total := make([]float64, 2*n) // straight from the lens, then reflected
	for k := range t.cells {
		clear(total)
		t.cells[k].addTo(s.cell[k], total, per)
		for b := range n {
			s.all[k][b].add(total[b] + total[n+b])
			s.all[k][n+b].add(total[n+b])
		}
	}
	for i := range t.terminated {
		for b, x := range t.terminated[i].bands {
			s.terminated[i][b].add(x * per)
		}
	}
	for i := range t.flow {
		for b, x := range t.flow[i].bands {
			s.flow[i][b].add(x * per)
		}
	}
}

// addTo adds the cells, times a factor, to their moments and totals, and empties them.
func (c *cellTally) addTo(sums []moments, totals []float64, factor float64) {
	n := len(totals) / 2
	for k, word := range c.lit {
		for ; word != 0; word &= word - 1 {
			i := 64*k + bits.TrailingZeros64(word)
			to, total, common := sums[i*n:(i+1)*n], totals[:n], c.common[i]*factor
			if c.common[i] = 0; i >= c.direct {
				total = totals[n:]
			}
			if !c.spectral.has(i) {
				for b := range total {
					total[b] += common
					to[b].add(common)
				}
				continue
			}
			from := c.bands[i*n : (i+1)*n]
			for b, x := range from {
				x = x*factor + common
				from[b] = 0
				total[b] += x
				to[b].add(x)
			}
		}
	}
	clear(c.lit)
	clear(c.spectral)
}
