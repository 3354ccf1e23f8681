package review

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

// near returns two limits on the two sides of a temperature, a twentieth of a kelvin off, as texts for a file.
func near(k float64) (below, above string) { return celsius(k - 0.05), celsius(k + 0.05) }

// TestTemperatures moves each limit to the two sides of the temperature that the base lamp reaches.
func TestTemperatures(t *testing.T) {
	r := lampVariant{}.review(t)
	for _, tt := range []struct {
		check, figure string
		set           func(limit string) edit
		silent        *edit // takes the limit out of the files
		fail, ask     finding.Severity
	}{
		{
			"junction", "a.junction-max-ambient", func(l string) edit {
				return edit{
					"max_junction: 150 °C", "max_junction: " + l,
				}
			},
			&edit{"    max_junction: 150 °C\n", ""}, finding.Stop, finding.Ask,
		},
		{
			"junction-wanted", "lamp.junction-max-ambient", func(l string) edit {
				return edit{
					"requirements: {", "requirements: {max_junction: " + l + ", ",
				}
			},
			nil, finding.Warn, 0,
		},
		{
			"laminate-temperature", "board.dielectric", func(l string) edit {
				return edit{"max_operating_temperature: 130 °C", "max_operating_temperature: " + l}
			},
			&edit{"    max_operating_temperature: 130 °C\n", ""}, finding.Stop, finding.Ask,
		},
		{
			"tim-temperature", "sink.temperature-max-ambient", func(l string) edit {
				return edit{
					"max_temperature: 150 °C", "max_temperature: " + l,
				}
			},
			nil, finding.Warn, 0,
		},
	} {
		below, above := near(r.Value(tt.figure))
		table := []side{
			{name: tt.check + ", within", lamp: lampVariant{}.with(tt.set(above)), check: tt.check, want: finding.Pass},
			{name: tt.check + ", beyond", lamp: lampVariant{}.with(tt.set(below)), check: tt.check, want: tt.fail},
		}
		if tt.silent != nil {
			table = append(table, side{
				name: tt.check + ", not stated", lamp: lampVariant{}.with(*tt.silent), check: tt.check,
				want: tt.ask,
			})
		}
		runTable(t, table)
	}
}

// TestLaminateBesidePads: where the pads sit on the core there is no laminate beneath them, and no figure of it; what
// lies beside them is held by the solder.
func TestLaminateBesidePads(t *testing.T) {
	direct := lampVariant{}.with(directCore)
	r := direct.review(t)
	if f, ok := r.Figure("board.dielectric"); ok {
		t.Errorf("a board without laminate beneath its pads has %q", f.Title)
	}
	below, above := near(r.Value("a.solder-max-ambient"))
	limit := func(to string) lampVariant {
		return lampVariant{}.with(
			directCore, edit{"max_operating_temperature: 130 °C", "max_operating_temperature: " + to},
		)
	}
	runTable(t, []side{
		{
			name: "beside the pads, within", lamp: limit(above), check: "laminate-temperature", want: finding.Pass,
			title: "beside the laminate",
		},
		{
			name: "beside the pads, beyond", lamp: limit(below), check: "laminate-temperature", want: finding.Stop,
			title: "beside the laminate",
		},
		{
			name: "FR4", lamp: lampVariant{}.with(viaBoard), check: "laminate-temperature", want: finding.Pass,
			title: "Laminate temperature",
		},
	})
}

// TestSolderJoint: a joint stays 30 K under the solidus (rule of thumb, no source).
func TestSolderJoint(t *testing.T) {
	below, above := near(lampVariant{}.review(t).Value("a.solder-max-ambient") + 30)
	alloy := func(solidus string) lampVariant {
		return lampVariant{}.with(edit{"solidus: 217 °C", "solidus: " + solidus})
	}
	runTable(t, []side{
		{name: "within", lamp: alloy(above), check: "solder-joint", want: finding.Pass},
		{name: "beyond", lamp: alloy(below), check: "solder-joint", want: finding.Stop},
		{
			name: "not named", lamp: lampVariant{}.with(edit{"\nsolder: tin\n", "\n"}), check: "solder-joint",
			want: finding.Ask, fix: "Add `solder: sac305`",
		},
	})
}

// TestP90: a figure that holds at its typical value and not in the unlucky tenth of lamps is a warning.
func TestP90(t *testing.T) {
	loose := lampVariant{samples: 60}.with(edit{"radiant_flux: 0.5 W", "radiant_flux: 0.5 W ± 30 %"})
	f, _ := loose.review(t).Figure("a.junction-max-ambient")
	if f.Hi-f.Value < 0.5 {
		t.Fatalf("the junction's range is %s; want one of a kelvin or so", f.RangeText())
	}
	between := celsius((f.Hi + f.Value) / 2)
	_, above := near(f.Hi)
	limit := func(l string) lampVariant { return loose.with(edit{"max_junction: 150 °C", "max_junction: " + l}) }
	runTable(t, []side{
		{name: "within for nine of ten", lamp: limit(above), check: "junction", want: finding.Pass},
		{name: "not within for nine of ten", lamp: limit(between), check: "junction", want: finding.Warn, title: "P90"},
	})
}

// TestSinkContact: the dies sit 15 mm from the middle.
func TestSinkContact(t *testing.T) {
	touch := func(l, w string) lampVariant {
		return lampVariant{}.with(
			edit{"sink: {part: block}", "sink: {part: block, contact: {length: " + l + ", width: " + w + "}}"},
		)
	}
	runTable(t, []side{
		{name: "whole base", lamp: lampVariant{}, check: "sink-contact", want: finding.Pass},
		// Their pads of 3 mm reach to 16.5 mm.
		{name: "just under them", lamp: touch("33 mm", "3 mm"), check: "sink-contact", want: finding.Pass},
		{
			name: "pads over its end", lamp: touch("32.9 mm", "3 mm"), check: "sink-contact", want: finding.Warn,
			title: "Across the edge of the heat sink contact area",
		},
		{
			name: "pads over its sides", lamp: touch("33 mm", "2.9 mm"), check: "sink-contact", want: finding.Warn,
			title: "Across the edge of the heat sink contact area",
		},
		{
			name: "just beside them", lamp: touch("29.9 mm", "10 mm"), check: "sink-contact", want: finding.Warn,
			title: "Outside the heat sink contact area, 29.9 mm × 10.0 mm: a 1 and a 2",
		},
		// At 0.2 A a die turns 0.2 A · 2.94 V − 0.2 W = 0.388 W into heat, below the half watt that matters; but it is
		// all heat of the lamp.
		{
			name: "beside them with little heat", lamp: touch("29.9 mm", "10 mm").with(current("0.2 A")),
			check: "sink-contact", want: finding.Warn, title: "388 mW",
		},
	})
}

// TestSinkCurveLeft: the lamp dissipates about 2 W; a sink whose datasheet begins or ends elsewhere is not known there.
func TestSinkCurveLeft(t *testing.T) {
	sheet := func(points string) lampVariant {
		return lampVariant{}.with(edit{"{0.1 W: 5 K/W, 100 W: 5 K/W}", points})
	}
	runTable(t, []side{
		{name: "within", lamp: lampVariant{}, check: "extrapolation", none: true},
		{
			name: "below its first point", lamp: sheet("{5 W: 5 K/W, 100 W: 4 K/W}"), check: "extrapolation",
			want: finding.Note, title: "the value of the nearer end is used",
		},
		{
			name: "beyond its last point", lamp: sheet("{0.5 W: 5 K/W, 1 W: 4.9 K/W}"), check: "extrapolation",
			want: finding.Note, title: "the value of the nearer end is used",
		},
	})
}

// withFan puts a fan on a sink whose datasheet knows both states.
func withFan(l lampVariant) lampVariant {
	l.parts += `
fans:
  - {id: blower, price: 2 EUR, pressure_vs_flow: {0 m³/h: 20 Pa, 40 m³/h: 0 Pa}, speed: 2000 rpm, min_speed: 1000 rpm, power: 1 W, voltage: 12 V, frame: 60 mm}
`
	return l.with(
		edit{
			"sink: {part: block}\n",
			"sink: {part: block}\nfan: {part: blower, speed: 100 %, fin_flow_fraction: 100 %}\n",
		},
		edit{"100 W: 5 K/W}}", "100 W: 5 K/W}, resistance_vs_air_speed: {0.1 m/s: 2 K/W, 20 m/s: 2 K/W}}"})
}

func TestFan(t *testing.T) {
	base := withFan(lampVariant{})
	dead := base.review(t).Value("lamp.junction-max-ambient-fan-failure")
	if on := base.review(t).Value("lamp.junction-max-ambient"); dead < on+1 {
		t.Fatalf("with its fan dead the lamp's junction is at %s, with it at %s", celsius(dead), celsius(on))
	}
	below, above := near(dead)
	max := func(l string) edit { return edit{"max_junction: 150 °C", "max_junction: " + l} }
	sensor := edit{"\nsolder: tin\n", "\nsolder: tin\nsensor: {part: ntc-10k, at: [0 mm, 15 mm]}\n"}
	speed := func(s string) edit { return edit{"speed: 100 %", "speed: " + s} }
	volts := func(v string) edit { return edit{"voltage: 12 V, frame", "voltage: " + v + ", frame"} }
	natural := edit{"resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}, ", ""}
	runTable(t, []side{
		{name: "no fan", lamp: lampVariant{}, check: "fan-failure", none: true},
		{name: "dead fan, within", lamp: base.with(max(above)), check: "fan-failure", want: finding.Pass},
		{
			name: "dead fan, beyond", lamp: base.with(max(below)), check: "fan-failure", want: finding.Stop,
			fix: "Add a temperature sensor",
		},
		{
			name: "dead fan, beyond, with a sensor", lamp: base.with(max(below), sensor), check: "fan-failure",
			want: finding.Warn, fix: "Let foldback reduce the currents",
		},
		{
			name: "dead fan, within, with a sensor", lamp: base.with(max(above), sensor), check: "fan-failure",
			want: finding.Pass,
		},
		{name: "sheet silent without a fan", lamp: base.with(natural), check: "fan-failure", want: finding.Ask},
		// 50 % of 2000 rpm is the 1000 rpm from which it starts.
		{
			name: "slowest speed", lamp: base.with(speed("50 %")), check: "fan-speed", want: finding.Pass,
			limit: "≥ 1000 rpm",
		},
		{name: "too slow", lamp: base.with(speed("49 %")), check: "fan-speed", want: finding.Stop, value: "980 rpm"},
		// Typed numbers have three digits: 999.5 rpm meets 1000 rpm, and 998.9 rpm does not.
		{name: "slowest speed, rounded", lamp: base.with(speed("49.975 %")), check: "fan-speed", want: finding.Pass},
		{
			name: "too slow by a little", lamp: base.with(speed("49.945 %")), check: "fan-speed", want: finding.Stop,
			value: "999 rpm", limit: "≥ 1000 rpm",
		},
		{name: "fan on its supply", lamp: base, check: "fan-supply", want: finding.Pass},
		// 12 V is within a tenth of 11 V, and not of 10.9 V.
		{name: "fan near its supply", lamp: base.with(volts("11 V")), check: "fan-supply", want: finding.Pass},
		{name: "fan off its supply", lamp: base.with(volts("10.9 V")), check: "fan-supply", want: finding.Warn},
		// 12 V is 1.25 times 9.6 V.
		{name: "fan that is its supply", lamp: base.with(volts("9.6 V")), check: "fan-supply", want: finding.Warn},
		{
			name: "fan that its supply burns", lamp: base.with(volts("9.5 V")), check: "fan-supply", want: finding.Stop,
			title: "the fan fails",
		},
		{
			name: "fan's voltage not stated", lamp: base.with(edit{", voltage: 12 V, frame", ", frame"}),
			check: "fan-supply", none: true,
		},
		{
			name: "air not stated", lamp: base.with(edit{", fin_flow_fraction: 100 %", ""}), check: "not-stated",
			subject: "fin flow fraction", want: finding.Ask,
		},
	})
}

// TestBurnThreshold: burn thresholds of ISO 13732-1, lower edge, cited from memory: coated metal 67 °C for a brush of 1
// s, bare metal 65 °C, and 55 °C for the 10 s of children on either. The sink of the base lamp is the same over any
// room but for the films of its board; so the hottest room is set to put the sink to either side.
func TestBurnThreshold(t *testing.T) {
	rise := lampVariant{}.with(edit{"max: 30 °C", "max: 50 °C"}).review(t).Value("sink.temperature-max-ambient") - 323.15
	at := func(sinkC float64) edit {
		return edit{"max: 30 °C", fmt.Sprintf("max: %.3f °C", sinkC-rise)}
	}
	children := edit{"requirements: {", "requirements: {accessible_to: children, "}
	adults := edit{"requirements: {", "requirements: {accessible_to: adults, "}
	bare := edit{"emissivity: 85 %, resistance", "emissivity: 8 %, resistance"}
	runTable(t, []side{
		{
			name: "coated, adults, within", lamp: lampVariant{}.with(at(66.8)), check: "burn-threshold",
			want: finding.Pass, limit: "≤ 67.0 °C",
		},
		{
			name: "coated, adults, beyond", lamp: lampVariant{}.with(at(67.2), adults), check: "burn-threshold",
			want: finding.Warn,
		},
		{
			name: "bare, adults, within", lamp: lampVariant{}.with(bare, at(64.8)), check: "burn-threshold",
			want: finding.Pass, limit: "≤ 65.0 °C",
		},
		{
			name: "bare, adults, beyond", lamp: lampVariant{}.with(bare, at(65.2)), check: "burn-threshold",
			want: finding.Warn,
		},
		{
			name: "coated, children, within", lamp: lampVariant{}.with(children, at(54.8)), check: "burn-threshold",
			want: finding.Pass, limit: "≤ 55.0 °C",
		},
		{
			name: "coated, children, beyond", lamp: lampVariant{}.with(children, at(55.2)), check: "burn-threshold",
			want: finding.Warn, title: "children",
		},
		{
			name: "bare, children, beyond", lamp: lampVariant{}.with(children, bare, at(55.2)), check: "burn-threshold",
			want: finding.Warn,
		},
		{
			name: "with the fan dead", lamp: withFan(lampVariant{}).with(at(67.2)), check: "burn-threshold",
			title: "on fan failure", want: finding.Warn,
		},
		{
			name: "with the fan on", lamp: withFan(lampVariant{}).with(at(67.2)), check: "burn-threshold",
			title: "at maximum ambient, within", want: finding.Pass,
		},
	})
}

// TestRunaway: two bare dies of 15 W electrical each, whose 14 W of light fall straight to nothing between 25 °C and
// 250 °C: heat grows by 2 · 14 W / 225 K for each kelvin of the junctions. All of the way to the air is linear, so that
// the loop's gain is that growth times the kelvin per watt which the same lamp shows where its light does not fall.
func TestHousing(t *testing.T) {
	body := func(joint string) edit {
		return edit{
			"solder: tin\n", "solder: tin\nhousing: {area: 100 cm², emissivity: 85 %, height: 60 mm, " + joint + "}\n",
		}
	}
	runTable(t, []side{
		{
			name: "tight", lamp: lampVariant{}.with(body("joint_resistance: 0.5 K/W")), check: "housing",
			want: finding.Pass,
		},
		{
			name: "loose", lamp: lampVariant{}.with(body("joint_resistance: 30 K/W")), check: "housing",
			title: "its joint takes", want: finding.Note, fix: "Add TIM",
		},
		{
			name: "by its contact",
			lamp: lampVariant{}.with(body("contact_area: 10 cm², contact_resistance: 275 mm²·K/W")), check: "housing",
			want: finding.Pass,
		},
		{
			name:  "hot to touch",
			lamp:  lampVariant{}.with(body("joint_resistance: 0.01 K/W"), edit{"max: 30 °C", "max: 65.5 °C"}),
			check: "burn-threshold", subject: "housing", want: finding.Warn,
		},
		{name: "without one", lamp: lampVariant{}, check: "housing", none: true},
	})
}

func TestRunaway(t *testing.T) {
	strong := lampVariant{}.with(
		edit{", lens: optic", ""}, edit{"{0.1 A: 2.92 V, 1.1 A: 3.12 V}", "{0.1 A: 29.2 V, 1.1 A: 31.2 V}"},
		edit{"radiant_flux: 0.5 W", "radiant_flux: 14 W"},
	)
	falling := edit{"{-50 °C: 100 %, 250 °C: 100 %}", "{25 °C: 100 %, 250 °C: 0 %}"}
	onSink := func(kw string) edit {
		return edit{"{0.1 W: 5 K/W, 100 W: 5 K/W}", "{0.1 W: " + kw + " K/W, 100 W: " + kw + " K/W}"}
	}
	runTable(t, []side{
		{name: "flat", lamp: lampVariant{}, check: "runaway", want: finding.Pass, value: "0.00"},
		{
			name: "falling, on a good sink", lamp: strong.with(falling, onSink("2")), check: "runaway",
			want: finding.Pass,
		},
		{
			name: "falling, on a poor one", lamp: strong.with(falling, onSink("30")), check: "runaway",
			title: "maximum ambient", want: finding.Stop, limit: "< 1",
		},
		{
			name: "no loop, and yet too hot",
			lamp: strong.with(onSink("30"), edit{"radiant_flux: 14 W", "radiant_flux: 1 W"}), check: "runaway",
			title: "maximum ambient: junction temperature exceeds every plausible value", want: finding.Stop,
			value: "0.00",
		},
	})
	for _, kw := range []string{"2", "5", "30"} {
		flat := strong.with(onSink(kw)).review(t)
		perW := (flat.Value("lamp.junction") - 293.15) / 2 // of 2 · (15 W − 14 W)
		want := perW * 2 * 14 / 225
		r := strong.with(falling, onSink(kw)).review(t)
		// Near a runaway the films of the faces are larger than on the flat lamp.
		if got := r.Cases[0].LoopGain; got < 0.8*want || got > 1.01*want {
			t.Errorf("on %s K/W the loop has a gain of %.4f, want %.4f or a little less", kw, got, want)
		}
		if got := r.Cases[0].Runaway; got != (want >= 1) {
			t.Errorf("on %s K/W, at a gain of %.3f, runaway is %v", kw, want, got)
		}
		f := r.one(t, "runaway", "", "")
		if want < 1 {
			continue
		}
		if !strings.Contains(f.Title, "typical ambient and maximum ambient") ||
			!strings.Contains(
				f.Why, "withheld: Derating of the die current, Radiant efficiency, Junction temperature",
			) {
			t.Errorf("on %s K/W the runaway is told as %q, %q; want both days, and what is withheld", kw, f.Title, f.Why)
		}
		for _, check := range []string{
			"junction", "solder-joint", "laminate-temperature", "burn-threshold", "ppfd", "cct", "supply-load",
			"driver-output-range", "spill", "blue-light",
		} {
			if list := r.find(check, "", ""); len(list) > 0 {
				t.Errorf("on %s K/W there is no settled lamp, and yet %s says %q", kw, check, list[0].Title)
			}
		}
		for _, fig := range r.Figures {
			// No junction is known, and so no temperature, light or power that goes by it.
			if fig.Withheld == "" &&
				(fig.Dim == quantity.Temperature || fig.Dim == quantity.PPFD || fig.Dim == quantity.Flux) {
				t.Errorf("on %s K/W figure %s is %s", kw, fig.Key, fig.Text())
			}
			if fig.Withheld != "" && (fig.Value != 0 || fig.Text() != "withheld") {
				t.Errorf("on %s K/W figure %s is withheld, and says %s (%g)", kw, fig.Key, fig.Text(), fig.Value)
			}
		}
		m := regexp.MustCompile(`Scale all currents to ≤ (\d+) %: steady state`).FindStringSubmatch(fixes(f))
		if m == nil {
			t.Fatalf("on %s K/W the fixes are %q", kw, fixes(f))
		}
		settled := strong.with(
			falling, onSink(kw), current(fmt.Sprintf("%g A", 0.005*float64(atoi(t, m[1])))),
		).review(t)
		if f := settled.one(t, "runaway", "", ""); f.Severity != finding.Pass {
			t.Errorf("%s was offered and put in: %s", m[0], f.Title)
		}
	}
}

// TestMissingData: whatever had to be assumed is asked for, with what its common spread does.
func TestMissingData(t *testing.T) {
	supply := edit{"efficiency_vs_load: {10 %: 90 %, 100 %: 90 %}, ", ""}
	runTable(t, []side{
		{
			name: "thermal resistance",
			lamp: lampVariant{}.with(
				noStated("    thermal_resistance: 5 K/W\n"), noStated("    thermal_resistance_kind: real\n"),
			),
			check: "not-stated", subject: "thermal resistance R_th of die", want: finding.Ask, value: "6.00 K/W",
		},
		{
			name: "kind of it", lamp: lampVariant{}.with(noStated("    thermal_resistance_kind: real\n")),
			check: "not-stated", subject: "R_th definition of die", want: finding.Ask,
		},
		{
			name: "slope of the voltage", lamp: lampVariant{}.with(noStated("    forward_voltage_tempco: 0 mV/K\n")),
			check: "not-stated", subject: "V_F temperature coefficient of die", want: finding.Ask,
		},
		{
			name:  "light against temperature",
			lamp:  lampVariant{}.with(noStated("    flux_vs_junction: {-50 °C: 100 %, 250 °C: 100 %}\n")),
			check: "not-stated", subject: "flux loss 25 °C to 100 °C of die", title: "10.0 % assumed",
			want: finding.Ask,
		},
		{name: "light against current", lamp: lampVariant{}.with(noStated("    flux_vs_current: {0.1 A: 20 %, 1.1 A: " +
			"220 %}\n")), check: "not-stated", subject: "flux-current exponent of die", title: "Flux-current " +
			"exponent not stated; 0.9 assumed", want: finding.Ask},
		{
			name: "efficiency of the driver", lamp: lampVariant{}.with(edit{"efficiency: 75 %, ", ""}),
			check: "not-stated", subject: "driver efficiency of down", want: finding.Ask,
		},
		{
			name: "efficiency of the supply", lamp: lampVariant{}.with(supply), check: "not-stated",
			subject: "supply efficiency of twelve", want: finding.Ask,
		},
		{
			name: "copper", lamp: lampVariant{}.with(edit{", copper_coverage: 80 %", ""}), check: "not-stated",
			subject: "copper coverage", want: finding.Ask,
		},
		{
			name: "minimum ambient", lamp: lampVariant{}.with(edit{", min: 15 °C", ""}), check: "not-stated",
			subject: "minimum ambient temperature", want: finding.Ask,
		},
		{name: "nothing", lamp: lampVariant{}, check: "not-stated", none: true},
	})
	// By hand: 4.0 W over 80 % and 93 % are 5.00 W and 4.30 W at the wall.
	f := lampVariant{}.with(supply).review(t).one(t, "not-stated", "supply efficiency of", "")
	if !strings.Contains(f.Why, "from 5.00 W to 4.30 W") {
		t.Errorf("the ask for the supply's efficiency says %q, want the wall's 5.00 W to 4.30 W in it", f.Why)
	}
	// 3.0 W / 80 % / 90 % = 4.17 W and 3.0 W / 95 % / 90 % = 3.51 W.
	f = lampVariant{}.with(edit{"efficiency: 75 %, ", ""}).review(t).one(t, "not-stated", "driver efficiency of", "")
	if !strings.Contains(f.Why, "from 4.17 W to 3.51 W") {
		t.Errorf("the ask for the driver's efficiency says %q, want the wall's 4.17 W to 3.51 W in it", f.Why)
	}
}

// TestExtrapolation: a curve that is left is said, and it is a warning on the usual day.
func TestExtrapolation(t *testing.T) {
	f := lampVariant{}.review(t).find("extrapolation", "", "curve")
	if len(f) > 0 {
		t.Errorf("the base lamp leaves a curve: %s", f[0].Title)
	}
	runTable(t, []side{
		{
			name:  "current beyond the curve",
			lamp:  lampVariant{}.with(edit{"{0.1 A: 20 %, 1.1 A: 220 %}", "{0.1 A: 20 %, 0.49 A: 98 %}"}),
			check: "extrapolation", title: "Flux-current curve extrapolated linearly to 500 mA (data 100 mA to 490 mA",
			want: finding.Warn,
		},
		{
			name:  "current below the flux curve",
			lamp:  lampVariant{}.with(edit{"{0.1 A: 20 %, 1.1 A: 220 %}", "{0.51 A: 102 %, 1.1 A: 220 %}"}),
			check: "extrapolation", want: finding.Warn,
			title: "Flux-current curve extrapolated below 510 mA in proportion to current to 500 mA",
		},
		{
			name:  "current below the voltage curve",
			lamp:  lampVariant{}.with(edit{"{0.1 A: 2.92 V, 1.1 A: 3.12 V}", "{0.6 A: 3.02 V, 1.1 A: 3.12 V}"}),
			check: "extrapolation", title: "Forward-voltage curve extrapolated below 600 mA by the diode law",
			want: finding.Warn,
		},
		{
			name:  "current on the end of the curve",
			lamp:  lampVariant{}.with(edit{"{0.1 A: 20 %, 1.1 A: 220 %}", "{0.1 A: 20 %, 0.5 A: 100 %}"}),
			check: "extrapolation", title: "outside the flux curve", none: true,
		},
		{
			name:  "voltage beyond the curve",
			lamp:  lampVariant{}.with(edit{"{0.1 A: 2.92 V, 1.1 A: 3.12 V}", "{0.1 A: 2.92 V, 0.4 A: 2.98 V}"}),
			check: "extrapolation", title: "Forward-voltage curve", want: finding.Warn,
		},
		{
			name:  "junction beyond the curve",
			lamp:  lampVariant{}.with(edit{"{-50 °C: 100 %, 250 °C: 100 %}", "{0 °C: 100 %, 30 °C: 100 %}"}),
			check: "extrapolation", title: "Flux-temperature curve", want: finding.Warn,
		},
	})
}

// TestWireSolder: a metal core is preheated to about 100 °C (rule of thumb, no source), and the wires' alloy must melt
// before the emitters' does.
func TestWireSolder(t *testing.T) {
	runTable(t, []side{
		{name: "softer alloy", lamp: lampVariant{}, check: "wire-solder", want: finding.Note, fix: "Preheat the board"},
		{
			name: "melts where the other begins to",
			lamp: lampVariant{}.with(edit{"liquidus: 138 °C", "liquidus: 217 °C"}), check: "wire-solder",
			want: finding.Note,
		},
		{
			name: "melts above it", lamp: lampVariant{}.with(edit{"liquidus: 138 °C", "liquidus: 217.1 °C"}),
			check: "wire-solder", want: finding.Warn,
		},
		{name: "FR4", lamp: lampVariant{}.with(viaBoard), check: "wire-solder", none: true},
	})
	f := lampVariant{}.review(t).one(t, "wire-solder", "", "")
	if !strings.Contains(fixes(f), "to 100 °C") {
		t.Errorf("the note on wires has fixes %q, want the preheat of 100 °C in them", fixes(f))
	}
}

// TestFoldback: a law that has begun where the sensor ends up with the fan dead leaves less than all of the light; one
// that has not begun leaves all, and nothing is said.
func TestFoldback(t *testing.T) {
	with := func(start, end string) lampVariant {
		return withFan(lampVariant{}).with(edit{
			"\nsolder: tin\n",
			"\nsolder: tin\nsensor: {part: ntc-10k, at: [0 mm, 15 mm], foldback_start: " + start +
				", foldback_end: " + end + "}\n",
		})
	}
	runTable(t, []side{
		{
			name: "begun", lamp: with("32 °C", "60 °C"), check: "foldback", want: finding.Note,
			title: "Foldback (32.0 °C to 60.0 °C at the sensor) settles",
		},
		{name: "not begun", lamp: with("90 °C", "110 °C"), check: "foldback", none: true},
		{
			name: "begun on a usual day", lamp: with("20.5 °C", "60 °C"), check: "foldback", want: finding.Warn,
			title: "Foldback is active at typical ambient", fix: "Set `foldback_start` > 23.9 °C",
		},
		{name: "no sensor", lamp: withFan(lampVariant{}), check: "foldback", none: true},
	})
}
