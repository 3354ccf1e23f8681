package drive

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// PadPotential states what a package's thermal pad is connected to inside the package.
type PadPotential int

// The potentials. The zero value is not stated in the datasheet.
const (
	PadUnknown PadPotential = iota
	PadIsolated
	PadAnode
	PadCathode
	PadChainNode // a node within the package's chain of dies
)

// ThermalPath says through what heat leaves the thermal pads of a board.
type ThermalPath int

// The paths. The zero value is none, and an error.
const (
	PathUnstated   ThermalPath = iota
	PathDielectric             // pads sit on copper over an insulating layer on the metal core
	PathCore                   // pads sit on the metal core itself (direct thermal path)
	PathVias                   // vias lead through FR4 to copper at the back, and that lies on the sink
)

// Mounting is how pads meet metal.
type Mounting struct {
	Path ThermalPath
	// SeparateBack reports, for vias, that each pad has copper of its own at the back.
	SeparateBack bool
	// InsulatingSink reports, for vias, that what lies between the back copper and the sink is rated to insulate.
	// Thermal paste is not: metal touches through it.
	InsulatingSink bool
}

// Joined reports whether the thermal pads of the board share one conductor.
//
// Under a dielectric each pad is an island of its own. On the core they all touch it. Over vias they share the back
// copper where it is one, and else the sink, unless what lies between insulates. Source: derived.
func (m Mounting) Joined() (bool, error) {
	switch m.Path {
	case PathDielectric:
		return false, nil
	case PathCore:
		return true, nil
	case PathVias:
		return !m.SeparateBack || !m.InsulatingSink, nil
	}
	return false, fmt.Errorf("thermal path %d of the board is not stated; give dielectric, core or vias", int(m.Path))
}

// PadPosition is one package in a string.
type PadPosition struct {
	Name      string
	VoltageV  float64 // across the package at work
	Potential PadPotential
	// NodeShare, for PadChainNode, is the node's voltage above the package's cathode over VoltageV, between 0 and 1.
	NodeShare float64
}

// PadString is a string of packages, from its positive end to its negative one.
type PadString struct {
	Name string
	// Output names the driver output; strings with the same one share both its ends.
	Output string
	// Reference names what EndV counts against, such as a supply that several drivers hang on without isolation.
	// Where it is empty the output is a floating one and shares a potential with none but its own strings.
	Reference string
	// EndV is the potential of the negative end, or of the positive one where PositiveFixed is set (a step-down driver
	// that switches below the string contains the positive end at its supply).
	EndV          float64
	PositiveFixed bool
	Positions     []PadPosition
}

// ends returns the potentials of the negative and the positive end.
func (s PadString) ends() (bottomV, topV float64) {
	var sum float64
	for _, seat := range s.Positions {
		sum += seat.VoltageV
	}
	if s.PositiveFixed {
		return s.EndV - sum, s.EndV
	}
	return s.EndV, s.EndV + sum
}

// reference returns the name of what the potentials of string i count against.
func (s PadString) reference(i int) string {
	switch {
	case s.Reference != "":
		return "reference " + s.Reference
	case s.Output != "":
		return "output " + s.Output
	}
	return fmt.Sprintf("string %d", i)
}

// node names the electrical node above seat k of string i, counted from the positive end: 0 is that end itself, the
// number of seats the negative one. Two nodes of one name are the same piece of metal.
func (s PadString) node(i, k int) string {
	ref := s.reference(i)
	positive, negative := k == 0, k == len(s.Positions)
	switch {
	case positive && s.PositiveFixed, negative && !s.PositiveFixed:
		return fmt.Sprintf("%s at %g V", ref, s.EndV)
	case (positive || negative) && s.Output != "":
		return ref + ", free end of output " + s.Output
	}
	return fmt.Sprintf("string %d, node %d", i, k)
}

// LivePad is a thermal pad with a potential, on a conductor that others share.
type LivePad struct {
	String     string
	Emitter    string
	Potential  PadPotential
	PotentialV float64 // against Reference
	Reference  string
	Node       string // pads of one node are joined anyway
}

// PadGroup is a conductor with the thermal pads that touch it.
type PadGroup struct {
	Conductor string // what joins them
	Pads      []LivePad
	// Conflict reports that pads of different nodes of one reference meet: the conductor shorts what lies between them.
	// It is even where the voltage between them happens to be nought at this working point.
	Conflict bool
	// SpreadV is the largest voltage between two of the pads that count against the same reference.
	SpreadV float64
	// Bridges lists the references that the conductor joins, where it joins more than one. A first such joint carries
	// no current between outputs that float; it takes away their isolation from each other.
	Bridges []string
	// Shorted lists the packages that the conductor bypasses, as "string: package".
	Shorted []string
	// Unknown lists the packages whose datasheet does not state the tie.
	Unknown []string
	// MaxSpreadV is SpreadV if each unknown pad were tied to its anode or cathode, whichever is worse.
	MaxSpreadV float64
	// LiveV is the potential farthest from its reference that the conductor takes.
	LiveV float64
	Notes []string
}

// PadGroups returns the conductors that thermal pads share, with the voltages that meet on them.
//
// A pad that is isolated within its package is in no group; where it sits on the core, the package's own insulation must
// withstand the voltage of InsulationStressV. On a board whose pads do not share a conductor (Mounting.Joined) the result is empty:
// then the dielectric must withstand the voltage instead, see InsulationStressV and CheckDielectric. A group comes back even for a
// single tied pad, because its conductor is then live.
// It is an error if the path is not stated, or if a chain node does not lie within its package.
// Source: derived from the order of the strings and Kirchhoff's voltage law.
func PadGroups(m Mounting, chains []PadString) ([]PadGroup, error) {
	joined, err := m.Joined()
	if err != nil {
		return nil, err
	}
	g := PadGroup{Conductor: "the metal core"}
	if m.Path == PathVias {
		g.Conductor = "the back copper and the sink on it"
		if m.SeparateBack {
			g.Conductor = "the sink"
		}
	}
	var possible []LivePad
	for i, s := range chains {
		// From the positive end down, one node a step.
		_, top := s.ends()
		for k, seat := range s.Positions {
			bottom := top - seat.VoltageV
			pad := LivePad{String: s.Name, Emitter: seat.Name, Potential: seat.Potential, Reference: s.reference(i)}
			anode, cathode := pad, pad
			anode.PotentialV, anode.Node = top, s.node(i, k)
			cathode.PotentialV, cathode.Node = bottom, s.node(i, k+1)
			top = bottom
			switch seat.Potential {
			case PadIsolated:
			case PadAnode:
				g.Pads = append(g.Pads, anode)
			case PadCathode:
				g.Pads = append(g.Pads, cathode)
			case PadChainNode:
				if !(seat.NodeShare > 0 && seat.NodeShare < 1) {
					return nil, fmt.Errorf("chain node of %s lies at %g of its voltage; it must lie between 0 and 1", seat.Name, seat.NodeShare)
				}
				pad.PotentialV = bottom + seat.NodeShare*seat.VoltageV
				pad.Node = within(i, k, seat.NodeShare)
				g.Pads = append(g.Pads, pad)
			default:
				g.Unknown = append(g.Unknown, s.Name+": "+seat.Name)
				possible = append(possible, anode, cathode)
			}
		}
	}
	if !joined || len(g.Pads)+len(g.Unknown) == 0 {
		return nil, nil
	}
	g.assess(possible)
	g.Shorted = shorted(g.Pads, chains)
	g.note()
	return []PadGroup{g}, nil
}

// assess fills in what follows from the potentials.
func (g *PadGroup) assess(possible []LivePad) {
	nodes := map[string]string{}
	for _, p := range g.Pads {
		if !slices.Contains(g.Bridges, p.Reference) {
			g.Bridges = append(g.Bridges, p.Reference)
		}
		if first, ok := nodes[p.Reference]; !ok {
			nodes[p.Reference] = p.Node
		} else if first != p.Node {
			g.Conflict = true
		}
		if math.Abs(p.PotentialV) > math.Abs(g.LiveV) {
			g.LiveV = p.PotentialV
		}
	}
	if len(g.Bridges) < 2 {
		g.Bridges = nil
	}
	g.SpreadV = spread(g.Pads)
	g.MaxSpreadV = worstSpread(g.Pads, possible)
}

// spread returns the largest voltage between pads of one reference.
func spread(pads []LivePad) float64 {
	var most float64
	for i, p := range pads {
		for _, q := range pads[:i] {
			if p.Reference == q.Reference {
				most = math.Max(most, math.Abs(p.PotentialV-q.PotentialV))
			}
		}
	}
	return most
}

// worstSpread is spread with unknown pads at either end of their package. possible contains the two ends of each in turn,
// of which a pad takes one and not both, so a package's own voltage does not count.
func worstSpread(pads, possible []LivePad) float64 {
	most := spread(pads)
	for i, p := range possible {
		for _, q := range pads {
			if p.Reference == q.Reference {
				most = math.Max(most, math.Abs(p.PotentialV-q.PotentialV))
			}
		}
		for j, q := range possible {
			if i/2 != j/2 && p.Reference == q.Reference {
				most = math.Max(most, math.Abs(p.PotentialV-q.PotentialV))
			}
		}
	}
	return most
}

// shorted lists the packages that lie, in whole or in part, between two places of their own string which the conductor
// touches.
func shorted(pads []LivePad, chains []PadString) []string {
	touched := map[string]bool{}
	for _, p := range pads {
		touched[p.Node] = true
	}
	var out []string
	for i, s := range chains {
		// Places count in packages from the positive end.
		first, last := math.Inf(1), math.Inf(-1)
		touch := func(node string, place float64) {
			if touched[node] {
				first, last = math.Min(first, place), math.Max(last, place)
			}
		}
		for k := range len(s.Positions) + 1 {
			touch(s.node(i, k), float64(k))
		}
		for k, seat := range s.Positions {
			if seat.Potential == PadChainNode {
				touch(within(i, k, seat.NodeShare), float64(k)+1-seat.NodeShare)
			}
		}
		for k, seat := range s.Positions {
			if first < float64(k+1) && last > float64(k) && first < last {
				out = append(out, s.Name+": "+seat.Name)
			}
		}
	}
	return out
}

// within names a node between the dies of package k of string i.
func within(i, k int, share float64) string {
	return fmt.Sprintf("string %d, within package %d at %g", i, k, share)
}

// note says in words what the figures do not.
func (g *PadGroup) note() {
	if g.Conflict {
		g.Notes = append(g.Notes, fmt.Sprintf("%s joins thermal pads at potentials up to %.3g V apart; it shorts the emitters between them", g.Conductor, g.SpreadV))
	}
	if len(g.Bridges) > 0 {
		g.Notes = append(g.Notes, fmt.Sprintf("%s joins %d outputs that nothing else joins; their drivers must be made for that", g.Conductor, len(g.Bridges)))
	}
	if len(g.Pads) > 0 && !g.Conflict {
		g.Notes = append(g.Notes, fmt.Sprintf("%s is live at %.3g V against its driver; insulate it from an earthed sink and from hands", g.Conductor, g.LiveV))
	}
	if len(g.Unknown) > 0 {
		g.Notes = append(g.Notes, fmt.Sprintf("no datasheet states what the thermal pad is connected to in %s; ask the manufacturer before pads share %s", strings.Join(g.Unknown, ", "), g.Conductor))
	}
}

// InsulationStressV returns the largest voltage that strings can put on the insulation between copper and metal base, in volts.
//
// The base may come to lie at any end of any string by a first fault, so it is the span of all potentials that count
// against one reference, that reference itself among them. openV is the largest output with a string open;
// 0 where it is not stated. Source: derived.
func InsulationStressV(strings []PadString, openV float64) float64 {
	low, high := map[string]float64{}, map[string]float64{}
	stress := openV
	for i, s := range strings {
		ref := s.reference(i)
		bottom, top := s.ends()
		low[ref], high[ref] = math.Min(low[ref], bottom), math.Max(high[ref], top)
		stress = math.Max(stress, high[ref]-low[ref])
	}
	return stress
}
