package review

import (
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// dayPos returns where the design states its programme.
func (v *reviewer) dayPos() source.Pos {
	d := &v.d.Day
	switch {
	case d.FullLevelTime.Set:
		return d.FullLevelTime.At
	case len(d.Keyframes) > 0:
		return d.Keyframes[0].Time.At
	case len(d.Channels) > 0:
		return d.Channels[0].Channel.At
	case d.Sun != nil:
		return d.Sun.Latitude.At
	}
	return source.Pos{}
}

// dayJudgement returns a judgement of the programme by a figure.
func (v *reviewer) dayJudgement(key string) Judgement {
	return v.figureJudgement(key, Judgement{Subject: Subject{Kind: "programme"}, At: v.dayPos()})
}

// programme reports keyframes that the lamp cannot make.
func (v *reviewer) programme() []Judgement {
	if v.r.Day == nil || v.r.Day.Err == nil {
		return nil
	}
	return []Judgement{{
		Severity: finding.Stop, Subject: Subject{Kind: "programme"}, At: v.dayPos(),
		text: func(v *reviewer, _ *Judgement) Text {
			t := Text{
				Title: "The lamp cannot run its programme: " + v.r.Day.Err.Error(),
				Why:   "DLI, energy, temperatures and the controller follow from the programme.",
			}
			t.fix("Reduce the light of the keyframe, or change its colour")
			return t
		},
	}}
}

// The darkness that plants and animals are given each day [s]. Rules of thumb (no source).
const (
	minDarkS      = 10 * 3600 // tanks
	minBenchDarkS = 6 * 3600  // benches of plants alone, which grow at up to 18 h of light
)

// darkness compares the longest darkness of the day with what is usual.
func (v *reviewer) darkness() []Judgement {
	const key = "programme.dark"
	if _, ok := v.r.Figure(key); !ok {
		return nil
	}
	j := v.dayJudgement(key)
	j.Bound, j.Limit = AtLeast, minDarkS
	if v.d.Installation.Kind.S == project.Bench {
		j.Limit = minBenchDarkS
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{quantity: "Longest darkness", limit: "usual minimum"}),
			Why:   "Plants, fish and people's sleep need a dark night. The minimum is a rule of thumb (no source).",
		}
		if j.Severity != finding.Pass {
			t.fixf("Make the night dark for %s", quantity.Format(j.Limit, quantity.Time))
			t.fix("Let moonlight end in the evening")
		}
		return t
	}
	return []Judgement{compare(finding.Warn, j)}
}

// dayColour compares the CCT while the light is bright with the required one: where that of full level meets it.
func (v *reviewer) dayColour() (out []Judgement) {
	w := v.d.Requirements.Colour()
	full, ok := v.r.Figure("lamp.cct")
	if !w.Set || !ok || full.Value < w.Lo || full.Value > w.Hi {
		return nil // cct reports it
	}
	sides := []struct{ key, title string }{{"programme.cct-min", "Minimum"}, {"programme.cct-max", "Maximum"}}
	for _, side := range sides {
		if _, ok := v.r.Figure(side.key); !ok {
			continue
		}
		j := v.dayJudgement(side.key)
		j.Bound, j.Limit, j.Upper, j.group = Range, w.Lo, w.Hi, "bright"
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: side.title + " CCT of the bright day", limit: "requirement"}),
				Why:   "Channels that rise apart tint the light while it is bright.",
			}
			if j.Severity != finding.Pass {
				t.fix("Let the channels rise together, or state keyframes by cct and ppfd")
			}
			return t
		}
		out = append(out, compare(finding.Warn, j))
	}
	return out
}

// dayFoldback compares the sensor along the day at maximum ambient with the start of foldback.
func (v *reviewer) dayFoldback() []Judgement {
	const key = "programme.sensor-max-ambient"
	_, ok := v.r.Figure(key)
	_, _, law, known := study.FoldbackSteadyState(v.r)
	if !ok || !known {
		return nil
	}
	j := v.dayJudgement(key)
	j.Subject, j.At = v.sensorJudgement(finding.Note).Subject, v.d.Sensor.At.At
	j.Bound, j.Limit = AtMost, law.StartK
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Sensor temperature along the day", when: "at maximum ambient", limit: "start of foldback",
			}),
			Why: "Foldback then reduces the light, and the DLI is below its prediction.",
		}
		if j.Severity != finding.Pass {
			t.fix("Improve the cooling, or lower the levels of noon")
			t.fix("Raise foldback_start as far as the junctions allow")
		}
		return t
	}
	return []Judgement{compare(finding.Note, j)}
}

// daySupply compares the largest load of the day with a supply, and its current with its fuse, where keyframes raise
// the lamp above full level.
func (v *reviewer) daySupply() (out []Judgement) {
	for i := range v.d.Supplies {
		key := figure.DaySupplyKey(i)
		if _, ok := v.r.Figure(key); !ok {
			continue
		}
		part := v.supplyOf(i)
		j := v.dayJudgement(key)
		j.Subject, j.Bound, j.Limit = Subject{"supply", []string{part.ID.S}}, AtMost, part.Power.SI
		limit := "rated power"
		if fuse := v.d.Supplies[i].Fuse; fuse != nil && fuse.RatedCurrent.SI*part.Voltage.Lo < j.Limit {
			j.Limit, limit = fuse.RatedCurrent.SI*part.Voltage.Lo, "rated current of its fuse at minimum voltage"
		}
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Peak load", when: "at the worst minute of the day", limit: limit, of: part.ID.S,
				}),
				Why: "Keyframes raise channels above full level; the supply limits its current, or the fuse opens.",
			}
			if j.Severity != finding.Pass {
				watts := quantity.Format(SizeForLoadW(j.Value, 1), quantity.Power)
				t.fixf("Use a supply of ≥ %s and a fuse to match", watts)
				t.fix("Reduce the light of the brightest keyframe")
			}
			return t
		}
		out = append(out, compare(finding.Stop, j))
	}
	return out
}
