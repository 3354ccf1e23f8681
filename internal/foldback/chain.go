package foldback

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Response is how something warms after a step: kelvin per watt at a time in seconds after the heat was switched on.
type Response func(seconds float64) float64

// Node is one part of a chain: it stores heat and passes it on to the next part, the last one to the air.
type Node struct {
	CapacityJK float64 // heat capacity [J/K]
	ToNextWK   float64 // conductance to the next node, of the last node to the air [W/K]
}

// Chain is a lamp as a chain of parts, in which heat enters the first: board, sink base, fins, say.
type Chain []Node

// modes are the eigenvalues of a chain and its eigenvectors, scaled to temperatures.
type modes struct {
	perS   []float64   // decay rate of each mode
	heat   []float64   // how much one watt into the first node drives each mode
	air    []float64   // how much one kelvin of the air drives each mode
	shapes [][]float64 // shapes[mode][node]
}

// solve finds the modes of C·dT/dt = −G·T + q by the symmetric eigenproblem of C^(−1/2)·G·C^(−1/2).
func (c Chain) solve() (modes, error) {
	n := len(c)
	if n == 0 {
		return modes{}, errors.New("chain has no nodes")
	}
	for i, node := range c {
		if !(node.CapacityJK > 0) || !(node.ToNextWK > 0) || math.IsInf(node.CapacityJK, 0) ||
			math.IsInf(node.ToNextWK, 0) {
			return modes{}, fmt.Errorf("node %d of the chain has %g J/K and %g W/K; give positive numbers", i+1, node.CapacityJK, node.ToNextWK)
		}
	}
	g := mat.NewSymDense(n, nil)
	for i, node := range c {
		diagonal := node.ToNextWK
		if i > 0 {
			diagonal += c[i-1].ToNextWK
			g.SetSym(i-1, i, -c[i-1].ToNextWK/math.Sqrt(c[i-1].CapacityJK*node.CapacityJK))
		}
		g.SetSym(i, i, diagonal/node.CapacityJK)
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(g, true) {
		return modes{}, errors.New("modes of the chain were not found; its capacities or conductances differ too " +
			"widely")
	}
	m := modes{perS: eigen.Values(nil)}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	last := c[n-1]
	for k := range n {
		shape := make([]float64, n)
		for i := range n {
			shape[i] = vectors.At(i, k) / math.Sqrt(c[i].CapacityJK)
		}
		m.shapes = append(m.shapes, shape)
		m.heat = append(m.heat, shape[0]/m.perS[k])
		m.air = append(m.air, shape[n-1]*last.ToNextWK/m.perS[k])
	}
	return m, nil
}

// rise returns the response of a node to a drive.
func (m modes) rise(drive []float64, node int) Response {
	weights := make([]float64, len(m.perS))
	for k := range weights {
		weights[k] = drive[k] * m.shapes[k][node]
	}
	return func(seconds float64) float64 {
		if seconds <= 0 {
			return 0
		}
		sum := 0.0
		for k, w := range weights {
			sum -= w * math.Expm1(-m.perS[k]*seconds)
		}
		return sum
	}
}

// HeatStep returns how a node warms over the air after a step of heat into the first node, in K/W: exact, as a sum of
// exponentials.
//
// Source: eigenvectors of the linear network (Strang2006, §5.4).
func (c Chain) HeatStep(node int) (Response, error) {
	m, err := c.at(node)
	if err != nil {
		return nil, err
	}
	return m.rise(m.heat, node), nil
}

// AirStep returns how a node follows a step of the air's temperature, from 0 to 1.
//
// Source: as HeatStep.
func (c Chain) AirStep(node int) (Response, error) {
	m, err := c.at(node)
	if err != nil {
		return nil, err
	}
	return m.rise(m.air, node), nil
}

// at checks the node's number and finds the modes.
func (c Chain) at(node int) (modes, error) {
	if node < 0 || node >= len(c) {
		return modes{}, fmt.Errorf("chain has %d nodes, but node %d is asked for", len(c), node+1)
	}
	return c.solve()
}

// SlowestS returns the longest time constant of the chain in seconds.
func (c Chain) SlowestS() (float64, error) {
	m, err := c.solve()
	if err != nil {
		return 0, err
	}
	return 1 / m.perS[0], nil // eigenvalues come in rising order
}

// With returns the response with a rise that follows the heat at once: of a junction over its board, in K/W.
func (r Response) With(promptKW float64) Response {
	return func(seconds float64) float64 {
		if seconds <= 0 {
			return 0
		}
		return r(seconds) + promptKW
	}
}
