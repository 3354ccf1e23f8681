package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/mount"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Permitted difference of the anodic indices of two metals in contact [V]: MILSTD889, cited from memory.
const (
	coupleHarshV        = 0.15 // salt, condensation
	coupleUncontrolledV = 0.25
	coupleDryV          = 0.50
)

// nobleShare is the area of the noble part over that of the base one up to which the base one corrodes little faster
// than alone: rule of thumb (no source).
const nobleShare = 0.1

// copperWmK is the conductivity from which a heat sink of no stated metal is copper; alloys of aluminium have less
// than 240 W/(m·K).
const copperWmK = 350

// place returns the permitted difference of metals in contact where the lamp is, and the name of the place.
func (v *reviewer) place() (permittedV float64, name string) {
	switch {
	case v.d.Installation.SaltWater.On:
		return coupleHarshV, "salt"
	case v.dampAir().condenses():
		return coupleHarshV, "condensation"
	case v.aboveWater():
		return coupleUncontrolledV, "humid air"
	}
	return coupleDryV, "dry air"
}

// metalPart is a part of the lamp as its metal.
type metalPart struct {
	name   string
	metal  project.Metal
	areaM2 float64
	at     source.Pos
	stated bool
}

// metalParts returns board, heat sink and screws, those whose metal is known or usual.
func (v *reviewer) metalParts() (board, sink, screws *metalPart) {
	area := v.d.Board.Outline().AreaM2()
	switch v.l.Stack.Base.S {
	case project.Aluminium:
		board = &metalPart{"board", project.MetalAluminium, area, v.d.Board.Part.At, true}
	case project.Copper:
		board = &metalPart{"board", project.MetalCopper, area, v.d.Board.Part.At, true}
	}
	part := v.l.Sink
	sink = &metalPart{
		"heat sink", part.Material.S, part.Base.Length.SI * part.Base.Width.SI, v.d.Sink.Part.At, part.Material.Set,
	}
	if !sink.stated {
		sink.metal = project.MetalAluminium
		if part.Conductivity.SI >= copperWmK {
			sink.metal = project.MetalCopper
		}
	}
	m := v.d.Board.Mounting
	if m == nil || !m.Metal.Set || len(v.l.Fasteners()) == 0 {
		return board, sink, nil
	}
	size, ok := v.l.Screw()
	if !ok {
		size, _ = mount.ScrewOf(string(project.ScrewM3))
	}
	head := math.Pi / 4 * size.WasherM * size.WasherM
	return board, sink, &metalPart{"screws", m.Metal.S, head * float64(len(v.l.Fasteners())), m.Metal.At, true}
}

// galvanic compares the couples of metals that touch with what the place permits. Nothing is said of screws whose metal
// is not stated: their area is small beside that of board and heat sink.
func (v *reviewer) galvanic() (out []Judgement) {
	board, sink, screws := v.metalParts()
	couples := [][2]*metalPart{{sink, screws}, {board, screws}}
	if sink.metal != project.MetalAnodised {
		couples = append(couples, [2]*metalPart{board, sink})
	}
	for _, c := range couples {
		if c[0] != nil && c[1] != nil {
			out = append(out, v.couple(*c[0], *c[1])...)
		}
	}
	return out
}

// couple judges two parts that touch.
func (v *reviewer) couple(a, b metalPart) []Judgement {
	volts, firstBase, err := mount.Couple(bare(a.metal), bare(b.metal))
	if err != nil || volts == 0 {
		return nil // plastic, or one metal
	}
	base, noble := a, b
	if !firstBase {
		base, noble = b, a
	}
	limit, place := v.place()
	share := noble.areaM2 / base.areaM2
	j := compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "lamp"}, At: b.at, Bound: AtMost, Dim: quantity.Voltage, Value: volts, P90: volts,
		Limit: limit, Typed: true, group: "galvanic",
	})
	assumed := !a.stated || !b.stated
	switch {
	case j.Severity == finding.Pass && assumed:
		return nil // a default is no pass
	case j.Severity == finding.Warn && (share <= nobleShare || limit == coupleDryV):
		j.Severity = finding.Note // it corrodes little faster than alone, or only where it gets wet
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: fmt.Sprintf("Galvanic difference of %s (%s) and %s (%s)", a.metal, a.name, b.metal, b.name),
				limit:    "permitted in " + place,
			}),
			Why: fmt.Sprintf("While wet, corrosion of the %s is %s times that of it alone (areas; MIL-STD-889, "+
				"cited from "+
				"memory).",
				base.metal, quantity.FormatIn(mount.Attack(noble.areaM2, base.areaM2), quantity.None, "", 3)),
		}
		if assumed {
			t.Title += "; metal of the heat sink not stated, " + string(sinkOf(a, b).metal) + " assumed"
		}
		if j.Severity != finding.Pass {
			t.fix("Keep the joint dry: seal its edge with grease or silicone")
			t.fix("Insulate it: plastic washers, an anodised face; under salt air screws of A4")
			t.fixf("Make both of metals that differ by ≤ %s", format(j.Limit, j.Dim))
		}
		return t
	}
	return []Judgement{j}
}

// sinkOf returns the one of two parts whose metal is not stated.
func sinkOf(a, b metalPart) metalPart {
	if a.stated {
		return b
	}
	return a
}

// bare returns the metal whose index counts: that of anodised aluminium is laid bare by a thread.
func bare(m project.Metal) string {
	if m == project.MetalAnodised {
		m = project.MetalAluminium
	}
	return string(m)
}
