package raytrace

// tally holds the sums of one tile.
type tally struct {
	cells      [][2][]float64 // [receiver][direct, reflected][cell·bands + band]
	terminated [TerminationCount][]float64
	flow       [FlowCount][]float64
	segments   int64
	paths      int
}

// sums holds sums and sums of squares over the tiles of a group.
type sums struct {
	tiles                   int
	segments                int64
	paths                   int64
	cell, cell2             [][2][]float64
	all, all2               [][]float64 // [receiver][band]: totals over the grid, all light, then reflected
	terminated, terminated2 [TerminationCount][]float64
	flow, flow2             [FlowCount][]float64
}

func (r *run) newTally() *tally {
	n := len(r.bands)
	t := &tally{}
	for _, rec := range r.receivers {
		size := rec.Grid.NX * rec.Grid.NY * n
		t.cells = append(t.cells, [2][]float64{make([]float64, size), make([]float64, size)})
	}
	for i := range t.terminated {
		t.terminated[i] = make([]float64, n)
	}
	for i := range t.flow {
		t.flow[i] = make([]float64, n)
	}
	return t
}

func (t *tally) reset() {
	for _, c := range t.cells {
		clear(c[0])
		clear(c[1])
	}
	for i := range t.terminated {
		clear(t.terminated[i])
	}
	for i := range t.flow {
		clear(t.flow[i])
	}
	t.segments, t.paths = 0, 0
}

func (r *run) newSums() *sums {
	n := len(r.bands)
	s := &sums{}
	for _, rec := range r.receivers {
		size := rec.Grid.NX * rec.Grid.NY * n
		s.cell = append(s.cell, [2][]float64{make([]float64, size), make([]float64, size)})
		s.cell2 = append(s.cell2, [2][]float64{make([]float64, size), make([]float64, size)})
		s.all = append(s.all, make([]float64, 2*n))
		s.all2 = append(s.all2, make([]float64, 2*n))
	}
	for i := range s.terminated {
		s.terminated[i], s.terminated2[i] = make([]float64, n), make([]float64, n)
	}
	for i := range s.flow {
		s.flow[i], s.flow2[i] = make([]float64, n), make([]float64, n)
	}
	return s
}

// add adds one tile to the sums of its group; values are per path.
func (s *sums) add(t *tally, bands int) {
	s.tiles++
	s.paths += int64(t.paths)
	per := 1 / float64(t.paths)
	put := func(sum, square, v []float64) {
		for i, x := range v {
			if x != 0 {
				x *= per
				sum[i] += x
				square[i] += x * x
			}
		}
	}
	total := make([]float64, 2*bands)
	for k, c := range t.cells {
		clear(total)
		for part := range c {
			put(s.cell[k][part], s.cell2[k][part], c[part])
			for i, x := range c[part] {
				if x == 0 {
					continue
				}
				b := i % bands
				if total[b] += x; part == 1 {
					total[bands+b] += x
				}
			}
		}
		put(s.all[k], s.all2[k], total)
	}
	for i := range t.terminated {
		put(s.terminated[i], s.terminated2[i], t.terminated[i])
	}
	for i := range t.flow {
		put(s.flow[i], s.flow2[i], t.flow[i])
	}
}
