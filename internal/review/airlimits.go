package review

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// wearPart is a part that the air about it limits or wears out.
type wearPart struct {
	id, kind      string
	limits        *project.AirLimits
	at            source.Pos
	maxK, usualK  float64 // air about it at maximum and typical ambient
	mains         bool    // whose maximum falls with altitude
	fan, capacity *project.RatedLife
	needsLife     bool   // a fan, or a part with electrolytic capacitors
	figure        string // key of its life
}

// wearParts lists supplies and drivers on the mains in the room, and what is in the air of the lamp: drivers that a
// supply feeds, and the fan. Each part once.
func (v *reviewer) wearParts() (out []wearPart) {
	seen := map[string]bool{}
	add := func(p wearPart) {
		if !seen[p.id] {
			seen[p.id] = true
			out = append(out, p)
		}
	}
	room := v.d.Installation.Ambient
	hot, usual := v.r.Sol.Cases[maxAmbientCase].AirK, v.r.Sol.Cases[typicalCase].AirK
	for i := range v.d.Supplies {
		p := v.supplyOf(i)
		add(wearPart{
			id: p.ID.S, kind: "supply", limits: &p.AirLimits, at: v.d.Supplies[i].Part.At, maxK: room.Max.SI, usualK: room.Typical.SI,
			mains: true, capacity: p.CapacitorLife, needsLife: true, figure: figure.SupplyKey(i, "capacitor-life"),
		})
	}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		p := wearPart{
			id: c.Driver.ID.S, kind: "driver", limits: &c.Driver.AirLimits, at: c.Use.Driver.At, maxK: hot, usualK: usual,
		}
		if !c.Driver.Topology().NeedsSupply() {
			p.maxK, p.usualK, p.mains, p.needsLife = room.Max.SI, room.Typical.SI, true, true
			p.capacity, p.figure = c.Driver.CapacitorLife, c.Name+".capacitor-life"
		}
		add(p)
	}
	if f := v.l.Fan; f != nil {
		add(wearPart{
			id: f.ID.S, kind: "fan", limits: &f.AirLimits, at: v.d.Fan.Part.At, maxK: hot, usualK: usual, fan: f.Life, needsLife: true,
			figure: "fan.life",
		})
	}
	return out
}

// airLimits compares the air about each part with the range of its datasheet.
func (v *reviewer) airLimits() (out []Judgement) {
	parts := v.wearParts()
	for i := range parts {
		p := &parts[i]
		if p.limits.AirMax.Set {
			out = append(out, v.airMax(p))
		}
		if p.limits.AirMin.Set {
			out = append(out, v.airMin(p)...)
		}
	}
	return append(out, missingWear(parts)...)
}

// altitudeDerateK is by how much the permitted air of a supply falls for each kilometre above 2000 m [K]: without and
// with a fan of its own; usual datasheets, cited from memory.
const (
	altitudeDerateK    = 3.5
	altitudeDerateFanK = 5
)

// altitudeDerating returns by how much the maximum air temperature of a supply falls at an altitude [K]:
// ΔT = rate · (h − 2000 m)/1000 m.
func altitudeDerating(altitudeM, rateK float64) float64 {
	return math.Max(0, rateK*(altitudeM-usualAltitudeM)/1000)
}

func (v *reviewer) airMax(p *wearPart) Judgement {
	limit, of := p.limits.AirMax.SI, p.id
	if drop := altitudeDerating(v.d.Installation.Altitude.SI, altitudeDerateK); p.mains && drop > 0 {
		limit -= drop
		of += fmt.Sprintf(", lowered by %s for altitude", quantity.Format(drop, quantity.TemperatureDifference))
	}
	return compare(finding.Stop, Judgement{
		Subject: Subject{p.kind, []string{p.id}}, At: p.at, Bound: AtMost, Dim: quantity.Temperature, Value: p.maxK, P90: p.maxK,
		Limit: limit, group: p.id + " max",
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Air", when: "at maximum ambient", limit: "maximum air temperature",
					of: of,
				}),
				Why: "Above it the part shuts down, or ages fast.",
			}
			if j.Severity != finding.Pass {
				t.fixf("Move it to air ≤ %s", quantity.Format(j.Limit, quantity.Temperature))
				t.fixf("Use a part rated ≥ %s", quantity.Format(j.Value, quantity.Temperature))
			}
			return t
		},
	})
}

// airMin compares minimum ambient with the lowest air of a part; an assumed ambient gives no pass.
func (v *reviewer) airMin(p *wearPart) []Judgement {
	coldK, stated := v.l.MinAmbientK()
	j := compare(finding.Warn, Judgement{
		Subject: Subject{p.kind, []string{p.id}}, At: p.at, Bound: AtLeast, Dim: quantity.Temperature, Value: coldK, P90: coldK,
		Limit: p.limits.AirMin.SI, group: p.id + " min",
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Air", when: "at minimum ambient", limit: "minimum air temperature",
					of: p.id,
				}),
				Why: "Below it a supply starts late or not at all, and a fan needs a higher voltage.",
			}
			if !stated {
				t.Why += " Minimum ambient not stated, assumed."
			}
			if j.Severity != finding.Pass {
				t.fixf("Use a part rated ≤ %s", quantity.Format(j.Value, quantity.Temperature))
				t.fix("Keep the room warmer, or leave the supply on")
			}
			return t
		},
	})
	if j.Severity == finding.Pass && !stated {
		return nil
	}
	return []Judgement{j}
}

// missingWear asks for air limits and lives that datasheets do not state, in one finding.
func missingWear(parts []wearPart) []Judgement {
	var lacking groupBy[string]
	var names []string
	var first source.Pos
	for i := range parts {
		p := &parts[i]
		for _, x := range []struct {
			missing bool
			what    string
		}{
			{!p.limits.AirMin.Set || !p.limits.AirMax.Set, "air temperature limits"},
			{p.needsLife && p.fan == nil && p.capacity == nil, "life"},
		} {
			if !x.missing {
				continue
			}
			if lacking.add(x.what, p.id); len(names) == 0 {
				first = p.at
			}
			if !slices.Contains(names, p.id) {
				names = append(names, p.id)
			}
		}
	}
	if len(names) == 0 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Ask, Subject: Subject{"", names}, At: first,
		text: func(*reviewer, *Judgement) Text {
			var what []string
			for _, k := range lacking.keys {
				what = append(what, fmt.Sprintf("%s (%s)", k, list(lacking.names[k])))
			}
			return Text{
				Title: "Not stated in datasheets: " + strings.Join(what, ", "),
				Why: "Supplies usually work from −20 °C to 60 °C, fans from −10 °C to 60 °C (rule of thumb, no " +
					"source).",
				Fix: []string{
					"Ask the manufacturer; add `min_air_temperature` and `max_air_temperature`",
					"Add `life` of a fan (L10) and `capacitor_life` of a supply",
				},
			}
		},
	}}
}

// partLife compares the life of fan and electrolytic capacitors with the hours of the service life.
func (v *reviewer) partLife() (out []Judgement) {
	years, said := v.l.ServiceYears()
	needH := years * 365.25 * v.l.DailyHours()
	parts := v.wearParts()
	for i := range parts {
		switch p := &parts[i]; {
		case p.fan != nil:
			out = append(out, v.fanLife(p, needH, said))
		case p.capacity != nil:
			out = append(out, v.capacitorLife(p, needH, said))
		}
	}
	return out
}

func (v *reviewer) fanLife(p *wearPart, needH float64, said bool) Judgement {
	j := compare(finding.Warn, v.figureJudgement(p.figure, Judgement{
		Subject: Subject{"fan", []string{p.id}}, At: p.fan.Hours.At, Bound: AtLeast, Limit: 3600 * needH,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Fan life L10", when: "at typical ambient", limit: "service life", of: p.id,
					end: "at a factor of 2 per 10 K",
				}),
				Why: "10 % of fans have failed at L10; it falls by 1.5 to 2 per 10 K (rule of thumb, no source).",
			}
			if !said {
				t.Why += " Service life not stated, assumed 10 years."
			}
			if j.Severity == finding.Warn {
				t.fixf("Replace the fan every %s of operation", quantity.Format(j.P90, quantity.Time))
				t.fix("Use a fan with ball or fluid bearings, or a larger heat sink")
			}
			return t
		},
	}))
	if j.Severity == finding.Pass && !said {
		j.Severity = finding.Note // a default is no pass
	}
	return j
}

// coolerAirK is by how much another place may be cooler [K]: rule of thumb (no source).
const coolerAirK = 40

func (v *reviewer) capacitorLife(p *wearPart, needH float64, said bool) Judgement {
	c := p.capacity
	j := compare(finding.Warn, v.figureJudgement(p.figure, Judgement{
		Subject: Subject{p.kind, []string{p.id}}, At: c.Hours.At, Bound: AtLeast, Limit: 3600 * needH,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "Life of electrolytic capacitors", limit: "service life", of: p.id}),
				Why:   "Life halves for each 10 K (rule of thumb, no source); at most 15 years.",
			}
			if !c.Rise.Set {
				t.Why += " Rise in the supply not stated, assumed 20 K."
			}
			if !said {
				t.Why += " Service life not stated, assumed 10 years."
			}
			if j.Severity == finding.Warn {
				if cooler := math.Ceil(10 * math.Log2(j.Limit/j.Value)); cooler <= coolerAirK {
					t.fixf("Place it in air cooler by ≥ %.0f K", cooler)
				}
				t.fix("Use a supply with capacitors of longer life")
			}
			return t
		},
	}))
	if j.Severity == finding.Pass && (!said || !c.Rise.Set) {
		j.Severity = finding.Note // a default is no pass
	}
	return j
}
