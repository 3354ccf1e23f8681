// Package sampling finds the quantiles of the outputs of a slow function whose inputs vary, independently or in groups
// of correlated normal inputs.
//
// In: Inputs with their distributions and correlations, and a function that evaluates all outputs.
// Out: a Surface, the second-order response of each output to each input; its values at Latin hypercube samples; and
// quantiles.
// Assumes: each output is smooth in the inputs over their ranges; the effect of two inputs together is the sum of the two
// alone, or their product for an output that is positive throughout.
// Leaves to others: what the inputs and outputs are, and the check of the assumption by exact samples.
package sampling

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"
)

// Distribution is the kind of distribution of an input.
type Distribution int

// The distributions.
const (
	Uniform   Distribution = iota // between Lo and Hi
	Normal                        // mean (Lo + Hi)/2, standard deviation (Hi − Lo)/2
	LogNormal                     // Lo and Hi are one standard deviation of the logarithm below and above the median
)

// Input is one number that varies.
type Input struct {
	Nominal, Lo, Hi float64
	Distribution    Distribution
}

// Quantile returns the value that is not exceeded with probability p, in (0, 1).
func (in Input) Quantile(p float64) float64 {
	switch in.Distribution {
	case Normal:
		return in.normal(probit(p))
	case LogNormal:
		return math.Sqrt(in.Lo*in.Hi) * math.Exp(math.Log(in.Hi/in.Lo)/2*probit(p))
	}
	return in.Lo + (in.Hi-in.Lo)*p
}

// probit returns the quantile of the standard normal distribution.
func probit(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// nodes are the probabilities at which an input is evaluated beside its nominal value: the outer points of Gauss–Legendre
// quadrature with three points, at which a parabola is right in the mean over a uniform range.
var nodes = [2]float64{(1 - 0.7745966692414834) / 2, (1 + 0.7745966692414834) / 2}

// Surface is the second-order response of each output to each input, all others at their nominal values:
//
//	T(y) = T(y₀) + Σᵢ (bᵢ dᵢ + cᵢ dᵢ²)      dᵢ = xᵢ − xᵢ,nominal
//
// T is the logarithm for an output that is positive wherever it was evaluated, else the identity. Source: BoxWilson1951
// (response surfaces), without terms of two inputs.
type Surface struct {
	inputs  []Input
	groups  []Group
	outputs []response
}

type response struct {
	logarithm bool
	missing   bool // at some point
	positive  bool // not below 0 wherever it was evaluated, and so nowhere
	nominal   float64
	terms     []term
}

// term is the effect of one input.
type term struct {
	input int
	b, c  float64
}

// negligible is the effect of an input below which it is left out, over the sum of all effects. Effects of a hundredth
// add in squares: twenty of them widen a range by a thousandth.
const negligible = 0.005

// Fit evaluates the outputs at the nominal inputs and at two more values of each input. eval returns all outputs, NaN
// for one that does not exist; changed is the one input that differs from its nominal value, -1 for none. eval is called
// from several goroutines.
func Fit(inputs []Input, eval func(x []float64, changed int) ([]float64, error)) (*Surface, error) {
	x := make([]float64, len(inputs))
	for i := range inputs {
		x[i] = inputs[i].Nominal
	}
	base, err := eval(x, -1)
	if err != nil {
		return nil, err
	}
	values := make([][2][]float64, len(inputs))
	at := make([][2]float64, len(inputs))
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, in := range inputs {
		at[i] = in.nodes()
		group.Go(func() (err error) {
			x := slices.Clone(x)
			for k, v := range at[i] {
				x[i] = v
				if values[i][k], err = eval(x, i); err != nil {
					return err
				}
			}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	s := &Surface{inputs: inputs, outputs: make([]response, len(base))}
	for o := range base {
		s.outputs[o] = fitOutput(o, base, values, inputs, at)
	}
	return s, nil
}

// nodes returns two values of an input away from its nominal one.
func (in Input) nodes() (at [2]float64) {
	lo, hi := in.Quantile(nodes[0]), in.Quantile(nodes[1])
	// A nominal value at an end of its range needs a value in its middle.
	mid := in.Quantile(0.5)
	near := 0.25 * (hi - lo)
	switch {
	case math.Abs(lo-in.Nominal) < near:
		return [2]float64{mid, hi}
	case math.Abs(hi-in.Nominal) < near:
		return [2]float64{lo, mid}
	}
	return [2]float64{lo, hi}
}

func fitOutput(o int, base []float64, values [][2][]float64, inputs []Input, at [][2]float64) response {
	out := response{
		nominal: base[o], logarithm: base[o] > 0, missing: math.IsNaN(base[o]), positive: base[o] >= 0,
	}
	for i := range values {
		for k := range values[i] {
			v := values[i][k][o]
			out.missing = out.missing || math.IsNaN(v)
			out.logarithm = out.logarithm && v > 0
			out.positive = out.positive && v >= 0
		}
	}
	if out.missing {
		return out
	}
	out.nominal = out.transform(base[o])
	largest := make([]float64, len(values))
	total := 0.0
	for i := range values {
		d0, d1 := at[i][0]-inputs[i].Nominal, at[i][1]-inputs[i].Nominal
		y0, y1 := out.transform(values[i][0][o])-out.nominal, out.transform(values[i][1][o])-out.nominal
		if y0 == 0 && y1 == 0 || d0 == d1 || d0 == 0 || d1 == 0 {
			continue
		}
		// Divided differences through (0, 0), (d₀, y₀) and (d₁, y₁).
		c := (y1/d1 - y0/d0) / (d1 - d0)
		out.terms = append(out.terms, term{input: i, b: y0/d0 - c*d0, c: c})
		largest[len(out.terms)-1] = math.Max(math.Abs(y0), math.Abs(y1))
		total += largest[len(out.terms)-1]
	}
	kept := out.terms[:0]
	for i, t := range out.terms {
		if largest[i] > negligible*total {
			kept = append(kept, t)
		}
	}
	out.terms = kept
	return out
}

func (r *response) transform(y float64) float64 {
	if r.logarithm {
		return math.Log(y)
	}
	return y
}

// back undoes transform; a parabola below 0 of an output that is nowhere below is 0.
func (r *response) back(v []float64) {
	for k, y := range v {
		switch {
		case r.logarithm:
			v[k] = math.Exp(y)
		case r.positive:
			v[k] = math.Max(0, y)
		}
	}
}

// Correlate states that the inputs of each group vary together; no input is in two groups.
func (s *Surface) Correlate(groups ...Group) { s.groups = groups }

// Samples are values of every input.
type Samples struct {
	surface *Surface
	d       [][]float64 // [input][sample]: distance from the nominal value
	n       int
}

// Sample draws n samples of the inputs. Each input has one value in each of n intervals of equal probability, in random
// order (Latin hypercube), and a stream of random numbers of its own. The standard normal values of a group are those
// of independent inputs, multiplied by the Cholesky factor of its correlation matrix. Source: McKayBeckmanConover1979;
// GolubVanLoan2013, §4.2.
func (s *Surface) Sample(n int, seed uint64) *Samples {
	out := &Samples{surface: s, n: n, d: make([][]float64, len(s.inputs))}
	used := make([]bool, len(s.inputs))
	for o := range s.outputs {
		for _, t := range s.outputs[o].terms {
			used[t.input] = true
		}
	}
	probabilities := func(i int) []float64 {
		rng := rand.New(rand.NewPCG(seed, uint64(i)+1))
		p := make([]float64, n)
		for k, interval := range rng.Perm(n) {
			p[k] = (float64(interval) + rng.Float64()) / float64(n)
		}
		return p
	}
	for g := range s.groups {
		s.groups[g].sample(s, out, used, probabilities)
	}
	for i, in := range s.inputs {
		if !used[i] {
			continue
		}
		d := probabilities(i)
		for k, p := range d {
			d[k] = in.Quantile(p) - in.Nominal
		}
		out.d[i] = d
	}
	return out
}

// Missing tells whether an output does not exist somewhere.
func (s *Surface) Missing(output int) bool { return s.outputs[output].missing }

// Varies tells whether any input changes an output.
func (s *Surface) Varies(output int) bool { return len(s.outputs[output].terms) > 0 }

// Join makes one output of several.
type Join struct {
	Of func(values []float64) float64 // of one sample; it may reorder the values
	// Ranked says that Of returns the value of some rank, as the largest or the median, and so commutes with every
	// increasing function.
	Ranked bool
}

// Quantiles returns quantiles of an output, or of several outputs that join makes one of, nil for one output; of
// ascends. buffer is for reuse between calls of one goroutine.
func (s *Samples) Quantiles(outputs []int, join *Join, buffer *Buffer, of ...float64) []float64 {
	first := &s.surface.outputs[outputs[0]]
	if join != nil && !(join.Ranked && s.allLogarithms(outputs)) {
		for c, o := range outputs {
			s.surface.outputs[o].back(s.transformed(o, buffer.column(c, s.n)))
		}
		return Quantiles(joined(len(outputs), s.n, join.Of, buffer), of...)
	}
	for c, o := range outputs {
		s.transformed(o, buffer.column(c, s.n))
	}
	v := buffer.column(0, s.n)
	if join != nil {
		v = joined(len(outputs), s.n, join.Of, buffer)
	}
	out := Quantiles(v, of...)
	first.back(out)
	return out
}

func (s *Samples) allLogarithms(outputs []int) bool {
	return !slices.ContainsFunc(outputs, func(o int) bool { return !s.surface.outputs[o].logarithm })
}

// joined sets the first of some columns of a buffer to the joined values of all.
func joined(columns, n int, of func([]float64) float64, buffer *Buffer) []float64 {
	parts, v := make([]float64, columns), buffer.column(0, n)
	for k := range v {
		for c := range parts {
			parts[c] = buffer.columns[c][k]
		}
		v[k] = of(parts)
	}
	return v
}

// Buffer holds values of samples between calls.
type Buffer struct{ columns [][]float64 }

// column returns a column of n values.
func (b *Buffer) column(c, n int) []float64 {
	for len(b.columns) <= c {
		b.columns = append(b.columns, make([]float64, n))
	}
	return b.columns[c][:n]
}

// transformed sets v to the transformed values of an output at the samples.
func (s *Samples) transformed(output int, v []float64) []float64 {
	r := &s.surface.outputs[output]
	for k := range v {
		v[k] = r.nominal
	}
	// Two terms at a time: the loop waits for memory.
	terms := r.terms
	for ; len(terms) >= 2; terms = terms[2:] {
		b0, c0, b1, c1 := terms[0].b, terms[0].c, terms[1].b, terms[1].c
		d0, d1 := s.d[terms[0].input][:len(v)], s.d[terms[1].input][:len(v)]
		for k, x := range d0 {
			y := d1[k]
			v[k] += x*(b0+c0*x) + y*(b1+c1*y)
		}
	}
	for _, t := range terms {
		for k, x := range s.d[t.input][:len(v)] {
			v[k] += x * (t.b + t.c*x)
		}
	}
	return v
}

// Quantiles returns ascending quantiles of values and reorders them; linear between ranks (Hyndman and Fan 1996,
// definition 7).
func Quantiles(values []float64, of ...float64) []float64 {
	out, done := make([]float64, len(of)), 0 // values before done are not above those from there on
	for n, q := range of {
		at := q * float64(len(values)-1)
		i := int(math.Floor(at))
		rest := values[done:]
		out[n] = selectRank(rest, i-done)
		done = i
		if i+1 < len(values) && at > float64(i) {
			// The next rank is the smallest of those above.
			out[n] += (at - float64(i)) * (slices.Min(values[i+1:]) - out[n])
		}
	}
	return out
}

// fewValues is how many values are partitioned about one of them; of more, about one of a sample.
const fewValues = 600

// selectRank returns the value of rank k, with smaller values before it and larger ones behind. Source: Hoare1961; of
// many values it first selects among a sample of them, so that the rank lies close to one side: FloydRivest1975.
func selectRank(v []float64, k int) float64 {
	lo, hi := 0, len(v)-1
	for lo < hi {
		pivot := v[(lo+hi)/2]
		if n := hi - lo + 1; n > fewValues {
			size, share := float64(n), float64(k-lo+1)/float64(n)
			sample := 0.5 * math.Exp(2*math.Log(size)/3)
			margin := 0.5 * math.Sqrt(math.Log(size)*sample*(1-sample/size))
			if share < 0.5 {
				margin = -margin
			}
			from := max(lo, k-int(share*sample-margin))
			to := min(hi, k+int((1-share)*sample+margin))
			selectRank(v[from:to+1], k-from)
			pivot = v[k]
		}
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return v[k]
		}
	}
	return v[k]
}
