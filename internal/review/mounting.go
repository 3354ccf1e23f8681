package review

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/mount"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Limits of how a board is mounted; rules of thumb (no source).
const (
	liftM         = 20e-6 // gap that a back pressure may open between two screws
	padBackPa     = 100e3 // back pressure of a compressed pad
	pasteBackPa   = 20e3  // of a paste after it has flowed
	padNeedsPa    = 100e3 // mean pressure that compresses a pad by 20 %
	strongW       = 3     // electrical power of an emitter that needs a screw nearby
	nearScrewM    = 25e-3
	plasticTorque = 0.5 // of the torque of metal, where a plastic washer or screw creeps
	longBoardM    = 120e-3
	tapePeelK     = 273.15 + 60 // acrylic has a third of its room-temperature peel from here
	wideContactM  = 60e-3
	roughFlatM    = 50e-6 // flatness over 100 mm that makers of power modules require
	extrudedFlat  = 4e-3  // deviation over width of an extrusion; order of size of its standard, cited from memory
)

const mountingWhy = "Paste and pad conduct only under pressure: where a board lifts, its emitters overheat."

// boardMounting judges what presses the board on the heat sink.
func (v *reviewer) boardMounting() []Judgement {
	m := v.d.Board.Mounting
	if m == nil {
		return []Judgement{v.boardAsk("Mounting of the board on the heat sink not stated", mountingWhy,
			"Add `mounting` to the board: method, screw, torque and their places")}
	}
	method, form := m.Method.S, v.l.Interface.Form
	if method == project.MountNone {
		switch form.S {
		case project.FormTape:
			method = project.MountTape
		case project.FormAdhesive:
			method = project.MountAdhesive
		}
	}
	switch method {
	case project.MountNone:
		return []Judgement{v.unclamped(form.Set)}
	case project.MountTape, project.MountAdhesive:
		return v.glued(method)
	}
	return v.screwed(m)
}

// boardAsk is missing data of the board.
func (v *reviewer) boardAsk(title, why string, fixes ...string) Judgement {
	return Judgement{
		Severity: finding.Ask, Subject: Subject{Kind: "board"}, At: v.mountingAt(),
		text: func(*reviewer, *Judgement) Text { return Text{Title: title, Why: why, Fix: fixes} },
	}
}

func (v *reviewer) mountingAt() source.Pos {
	if m := v.d.Board.Mounting; m != nil {
		return m.Method.At
	}
	return v.d.Board.Part.At
}

// unclamped is a board that nothing presses on its heat sink; form tells whether the datasheet says that its thermal
// interface is a paste or pad.
func (v *reviewer) unclamped(form bool) Judgement {
	if !form {
		return v.boardAsk(fmt.Sprintf("Board without screws, and the form of thermal interface %s not stated",
			v.l.Interface.ID.S),
			mountingWhy, "Add `form` to the thermal interface: paste, pad, tape or adhesive", "Screw the board to the "+
				"heat sink")
	}
	return Judgement{
		Severity: finding.Stop, Subject: Subject{Kind: "board"}, At: v.mountingAt(),
		text: func(v *reviewer, _ *Judgement) Text {
			return Text{
				Title: fmt.Sprintf("Nothing presses the board on the heat sink; %s does not hold it (%s)",
					v.l.Interface.ID.S,
					v.l.Interface.Form.S),
				Why: mountingWhy + " It falls off when the paste is warm.",
				Fix: []string{
					fmt.Sprintf("Screw it on: spacing ≤ %s", roundDown(v.spacingLimitM(), 1e-3)),
					"Use an adhesive rated for the temperature",
				},
			}
		},
	}
}

// glued judges a board that tape or adhesive holds: the temperature of the base against its rating, and, for tape, peel
// and weight.
func (v *reviewer) glued(method project.MountingMethod) (out []Judgement) {
	tim := v.l.Interface
	if !tim.Max.Set {
		out = append(out, v.boardAsk(fmt.Sprintf("Maximum temperature not stated in the datasheet of %s, which holds "+
			"the board",
			tim.ID.S), "Above it the bond creeps, and the board falls off.", "Ask the manufacturer; add "+
			"`max_temperature`"))
	} else {
		j := v.temperature("sink.temperature-max-ambient", tim.Max.SI)
		j.Subject, j.At = Subject{Kind: "board"}, v.mountingAt()
		j.text = func(v *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Heat sink base", when: "at maximum ambient", limit: "maximum of the bond that holds " +
						"the board",
					of: tim.ID.S,
				}),
				Why: "Above it the bond creeps, and the board falls off.",
			}
			if j.Severity != finding.Pass {
				t.fix("Screw the board to the heat sink")
			}
			v.coolFix(&t, j, v.allChannels()...)
			return t
		}
		out = append(out, compare(finding.Stop, j))
	}
	if method == project.MountTape {
		out = append(out, v.tapePeel(), v.tapeWeight())
	}
	return out
}

// tapePeel compares the base with the temperature at which acrylic tape has lost most of its peel strength. Above water
// a board on tape alone is a warning at any temperature.
func (v *reviewer) tapePeel() Judgement {
	j := v.temperature("sink.temperature-max-ambient", tapePeelK)
	j.Subject, j.At = Subject{Kind: "board"}, v.mountingAt()
	above := v.aboveWater()
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{quantity: "Heat sink base", when: "at maximum ambient", limit: "tape peel limit"}),
			Why: "At 60 °C acrylic keeps about a third of its peel strength (rule of thumb, no source), and the bow " +
				"of the board peels.",
		}
		if above {
			t.Title = "Board above water held by tape alone; heat sink base " + format(j.Value,
				j.Dim) + " at maximum ambient"
		}
		if j.Severity != finding.Pass {
			t.fixf("Screw the board to the heat sink: spacing ≤ %s", roundDown(v.spacingLimitM(), 1e-3))
		}
		return t
	}
	j = compare(finding.Warn, j)
	if above {
		j.Severity = finding.Warn
	}
	return j
}

// tapeWeight compares the area of tape with what bears the board in shear.
func (v *reviewer) tapeWeight() Judgement {
	kg := v.l.BoardMassKg()
	area := v.l.ContactAreaM2()
	return compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "board"}, At: v.mountingAt(), Bound: AtLeast, Dim: quantity.Area, Value: area, P90: area,
		Limit: mount.TapeArea(kg, mount.TapeShearPa),
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "Tape area", limit: "area for its static shear"}),
				Why: fmt.Sprintf("It bears %s at 1.8 kPa for a long time (rule of thumb, no source).",
					quantity.Format(kg, quantity.Mass)),
			}
			if j.Severity != finding.Pass {
				t.fix("Screw the board to the heat sink")
			}
			return t
		},
	})
}

// screwed judges a board that screws or clips press on its heat sink.
func (v *reviewer) screwed(m *project.Mounting) (out []Judgement) {
	out = append(out, v.mountingData(m)...)
	screws := v.l.Fasteners()
	if len(screws) == 0 {
		return out
	}
	out = append(out, v.screwSpacing())
	out = append(out, v.middleScrew(screws)...)
	out = append(out, v.screwNear(screws)...)
	if screw, ok := v.l.Screw(); ok && m.Method.S == project.MountScrews {
		out = append(out, v.washers(m, screws, screw)...)
		if m.Torque.Set {
			out = append(out, v.torque(m, screw))
			out = append(out, v.clampPressure()...)
		}
	}
	return append(out, v.flatness()...)
}

// mountingData asks for what the judgement of screws needs, in one finding.
func (v *reviewer) mountingData(m *project.Mounting) []Judgement {
	var what, add []string
	ask := func(missing bool, name, key string) {
		if missing {
			what, add = append(what, name), append(add, key)
		}
	}
	screws := m.Method.S == project.MountScrews
	ask(len(v.l.Fasteners()) == 0, "places", "`mounting.at`")
	ask(screws && !m.Screw.Set, "thread", "`mounting.screw`")
	ask(screws && !m.Torque.Set, "torque", "`mounting.torque`")
	ask(!v.l.Interface.Form.Set, "form of the thermal interface", "`form` of "+v.l.Interface.ID.S)
	if len(what) == 0 {
		return nil
	}
	return []Judgement{v.boardAsk("Mounting not stated completely: "+list(what), mountingWhy, "Add "+list(add))}
}

// backPa returns the back pressure of the thermal interface; that of a pad, the worse, where its form is not stated.
func (v *reviewer) backPa() float64 {
	if v.l.Interface.Form.S == project.FormPaste {
		return pasteBackPa
	}
	return padBackPa
}

// spacingLimitM returns the largest distance of screws at which the board lifts less than liftM between them.
func (v *reviewer) spacingLimitM() float64 { return v.l.Core().Spacing(v.backPa(), liftM) }

func (v *reviewer) screwSpacing() Judgement {
	s := v.l.ScrewSpacingM()
	return compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "board"}, Figure: "board.screw-spacing", At: v.mountingAt(), Bound: AtMost,
		Dim: quantity.Length, Value: s, P90: s, Limit: v.spacingLimitM(),
		text: func(v *reviewer, j *Judgement) Text {
			form := string(v.l.Interface.Form.S)
			if form == "" {
				form = "form not stated, pad assumed"
			}
			t := Text{
				Title: j.title(claim{
					quantity: "Screw spacing", limit: "limit",
					of: fmt.Sprintf("core %s, %s", quantity.Format(v.d.Board.Thickness.SI, quantity.Length), form),
				}),
				Why: fmt.Sprintf("At the limit a back pressure of %s lifts the board by 20 µm between screws "+
					"(pressures are a "+
					"rule of thumb, no source).", quantity.Format(v.backPa(), quantity.Pressure)),
			}
			if j.Severity != finding.Pass {
				t.fix(v.moreScrews(j.Limit))
				t.fix("Use a thicker core: spacing grows with its thickness to the power of 3/4")
			}
			return t
		},
	})
}

// moreScrews says where further screws halve, or divide further, the spans that exceed a limit.
func (v *reviewer) moreScrews(limitM float64) string {
	var places []string
	screws := v.l.Fasteners()
	for _, s := range mount.Spans(screws) {
		n := int(math.Ceil(s.Length()/limitM - 1e-9))
		for k := 1; k < n; k++ {
			f := float64(k) / float64(n)
			x, y := s.From.XM+f*(s.To.XM-s.From.XM), s.From.YM+f*(s.To.YM-s.From.YM)
			if !v.freePlace(x, y) {
				return fmt.Sprintf("Add screws until no span exceeds %s", roundDown(limitM, 1e-3))
			}
			places = append(places, fmt.Sprintf("[%s, %s]", quantity.Format(x, quantity.Length), quantity.Format(y,
				quantity.Length)))
		}
	}
	if len(places) == 0 {
		return fmt.Sprintf("Add screws until no span exceeds %s", roundDown(limitM, 1e-3))
	}
	if len(places) > 8 {
		return fmt.Sprintf("Add %d screws, so that no span exceeds %s", len(places), roundDown(limitM, 1e-3))
	}
	return fmt.Sprintf("Add %d screws: at %s", len(places), strings.Join(places, ", "))
}

// freePlace tells whether a screw with its washer fits on the board, clear of holes and packages.
func (v *reviewer) freePlace(x, y float64) bool {
	radius := 3.5e-3 // the washer of M3
	if screw, ok := v.l.Screw(); ok {
		radius = screw.WasherM / 2
	}
	_, hole := v.d.Board.HoleUnder(x, y, radius)
	return v.d.Board.HoldsDisc(x, y, radius) && !hole && v.bodyDistanceM(x, y) > radius
}

// bodyDistanceM returns the distance of a place from the nearest package [m].
func (v *reviewer) bodyDistanceM(x, y float64) float64 {
	best := math.Inf(1)
	for i := range v.l.Emitters {
		e := &v.l.Emitters[i]
		b := v.l.Types[e.Type].Part.Body
		dx := math.Max(0, math.Abs(x-e.XM)-b.Length.SI/2)
		dy := math.Max(0, math.Abs(y-e.YM)-b.Width.SI/2)
		best = math.Min(best, math.Hypot(dx, dy))
	}
	return best
}

// middleScrew looks for a screw in the middle third of a long board.
func (v *reviewer) middleScrew(screws []mount.Point) []Judgement {
	x0, x1, y0, y1 := v.d.Board.Outline().Bounds()
	long, mid := x1-x0, func(p mount.Point) float64 { return p.XM - (x0+x1)/2 }
	if y1-y0 > long {
		long, mid = y1-y0, func(p mount.Point) float64 { return p.YM - (y0+y1)/2 }
	}
	nearest := math.Inf(1)
	for _, s := range screws {
		nearest = math.Min(nearest, math.Abs(mid(s)))
	}
	if long <= longBoardM || nearest <= long/6 || v.l.Stack.Base.S == project.FR4 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Warn, Subject: Subject{Kind: "board"}, At: v.mountingAt(),
		text: func(v *reviewer, _ *Judgement) Text {
			return Text{
				Title: fmt.Sprintf("No screw in the middle third of a board of %s",
					quantity.Format(long, quantity.Length)),
				Why: "A metal core bows away from the heat sink in its middle, up to " +
					quantity.Format(v.laminateBowM(long), quantity.Length) +
					" (elastic bound), and screws at the ends do not close it.",
				Fix: []string{fmt.Sprintf("Add a screw within %s of the centre", roundDown(long/6, 1e-3))},
			}
		},
	}}
}

// laminateBowM returns the elastic bow of the board over a length: copper face convex, since the core shrinks more
// below
// the temperature of lamination, 150 K above the room; rule of thumb (no source). 0 for a copper core.
func (v *reviewer) laminateBowM(lengthM float64) float64 {
	core := v.l.Core()
	f := mount.Film{
		YoungPa: 110e9, ThicknessM: v.l.Stack.Copper.SI, PlateYoungPa: core.YoungPa, PlateThicknessM: core.ThicknessM,
		ExpansionPerK: 6e-6, CoolingK: 150,
	}
	if v.l.Stack.Base.S != project.Aluminium {
		f.ExpansionPerK = 0
	}
	return mount.Bow(f.Curvature(), lengthM)
}

// screwNear compares the distance of strong emitters from their nearest screw with what is usual.
func (v *reviewer) screwNear(screws []mount.Point) []Judgement {
	far, who := 0.0, -1
	st := v.r.Sol.Cases[typicalCase]
	for i := range v.l.Emitters {
		e := &v.l.Emitters[i]
		if st.States[i].ElectricalW <= strongW {
			continue
		}
		if d := mount.Nearest(mount.Point{XM: e.XM, YM: e.YM}, screws); who < 0 || d > far {
			far, who = d, i
		}
	}
	if who < 0 {
		return nil
	}
	e := &v.l.Emitters[who]
	return []Judgement{compare(finding.Warn, Judgement{
		Subject: Subject{"emitter", []string{e.Label}}, At: e.Point.At, Bound: AtMost, Dim: quantity.Length, Value: far,
		P90: far, Limit: nearScrewM,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Distance from the nearest screw", limit: "usual maximum",
					of: e.Label + ", above 3 W",
				}),
				Why: "A screw presses only a cone around it. 25 mm is a rule of thumb (no source).",
			}
			if j.Severity != finding.Pass {
				t.fixf("Add a screw within %s of every emitter above 3 W", quantity.Format(nearScrewM, quantity.Length))
			}
			return t
		},
	})}
}

// torque compares the tightening torque with what an aluminium thread withstands.
func (v *reviewer) torque(m *project.Mounting, screw mount.Screw) Judgement {
	share, limit := 1.0, "maximum for aluminium thread"
	why := "A thread in aluminium strips (rule of thumb, no source; engagement ≥ 2 diameters)."
	if m.Washer.S == project.WasherInsulating || m.Metal.S == project.MetalPlastic {
		share, limit = plasticTorque, "maximum with plastic"
		why = "Plastic creeps under the head: half the torque of metal (rule of thumb, no source)."
	}
	return compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "board"}, At: m.Torque.At, Bound: AtMost, Dim: quantity.Torque, Value: m.Torque.SI,
		P90: m.Torque.Hi, Limit: share * screw.LargestTorqueNm,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{Title: j.title(claim{quantity: "Torque", limit: limit, of: screw.ID}), Why: why}
			if j.Severity != finding.Pass {
				t.fixf("Tighten to %s, in two passes", quantity.Format(share*screw.TypicalTorqueNm, quantity.Torque))
			}
			return t
		},
	})
}

// clampPressure compares the mean pressure with what a pad needs, or the bond line that it leaves of a paste with the
// stated one.
func (v *reviewer) clampPressure() []Judgement {
	switch tim := v.l.Interface; {
	case tim.Form.S == project.FormPad:
		j := v.figureJudgement("board.clamp-pressure", Judgement{
			Subject: Subject{Kind: "board"}, At: v.mountingAt(), Bound: AtLeast, Limit: padNeedsPa,
		})
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Mean pressure under the board", limit: "usual minimum of a pad", of: tim.ID.S,
					end: "with dry stainless screws",
				}),
				Why: "A pad needs 0.1 to 0.3 MPa to compress by 20 % to 30 % (rule of thumb, no source).",
			}
			if j.Severity != finding.Pass {
				t.fixf("Use ≥ %.2f times the torque or number of screws", j.Limit/math.Min(j.Value, j.P90))
			}
			return t
		}
		return []Judgement{compare(finding.Warn, j)}
	case tim.Form.S == project.FormPaste && tim.Thickness.Set:
		return []Judgement{v.bondLine(tim)}
	}
	return nil
}

func (v *reviewer) bondLine(tim *project.ThermalInterface) Judgement {
	j := v.figureJudgement("board.bond-line", Judgement{
		Subject: Subject{"thermal interface", []string{tim.ID.S}}, At: tim.Thickness.At, Bound: AtMost, Limit: tim.Thickness.Hi,
	})
	yield := figure.PasteYield(tim)
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Bond line", when: "under the screws", limit: "maximum of the computation", of: tim.ID.S,
				end: "with the least pressure and the stiffest paste",
			}),
			Why: "Filler sets the bond line, pressure changes it little (Prasher2003, cited from memory).",
		}
		if !tim.YieldStress.Set {
			t.Why += " Yield stress not stated, assumed " + quantity.Format(yield.Used, quantity.Pressure) + "."
		}
		if j.Severity <= finding.Warn {
			t.fixf("Compute with `thickness` up to %s", quantity.Format(math.Max(j.Value, j.P90), quantity.Length))
			t.fix("Use more screws or a thinner paste")
		}
		return t
	}
	j = compare(finding.Warn, j)
	if j.Severity == finding.Pass && !tim.YieldStress.Set {
		j.Severity = finding.Note // a default is no pass
	}
	return j
}

// flatness compares the flatness of the heat sink with what power modules require, or reports what an extrusion may
// add.
func (v *reviewer) flatness() []Judgement {
	s := v.l.Sink
	_, _, length, width := v.l.ContactOf()
	if !s.Flatness.Set {
		if math.Max(length, width) <= wideContactM {
			return nil
		}
		return []Judgement{{
			Severity: finding.Note, Subject: Subject{"sink", []string{s.ID.S}}, At: s.ID.At,
			text: func(v *reviewer, _ *Judgement) Text {
				gap := extrudedFlat * math.Min(length, width)
				rise := mount.GapRise(v.r.Value("lamp.heat")/v.l.ContactAreaM2(), gap, v.timK())
				return Text{
					Title: "Flatness not stated in the datasheet of " + s.ID.S,
					Why: fmt.Sprintf("A raw extrusion may be out of plane by %s here, filled with paste %s more "+
						"(order of size, "+
						"cited from memory).", quantity.Format(gap, quantity.Length), quantity.Format(rise,
						quantity.TemperatureDifference)),
					Fix: []string{"Check with a straight edge; mill or lap to 50 µm over 100 mm"},
				}
			},
		}}
	}
	return []Judgement{compare(finding.Warn, Judgement{
		Subject: Subject{"sink", []string{s.ID.S}}, At: s.Flatness.At, Bound: AtMost, Dim: quantity.Length, Value: s.Flatness.SI,
		P90: s.Flatness.Hi, Limit: roughFlatM,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Flatness over 100 mm", limit: "usual requirement of power modules",
					of: s.ID.S,
				}),
				Why: "The gap fills with paste, or with air.",
			}
			if j.Severity != finding.Pass {
				t.fix("Mill or lap the base to 50 µm over 100 mm")
			}
			return t
		},
	})}
}

// timK returns the conductivity of the thermal interface [W/(m·K)]; 1 where it is not stated.
func (v *reviewer) timK() float64 {
	if k := v.l.Interface.Conductivity; k.Set {
		return k.SI
	}
	return 1
}

// roundDown prints a length as the last multiple of a step.
func roundDown(x, step float64) string {
	return quantity.Format(math.Floor(x/step+1e-9)*step, quantity.Length)
}
