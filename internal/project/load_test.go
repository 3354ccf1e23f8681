package project

import (
	"fmt"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"lampwright/internal/partslib"
	"lampwright/internal/source"
)

func TestGood(t *testing.T) {
	p, problems := loadTexts(goodLamp, goodParts)
	if p == nil || len(problems) > 0 {
		t.Fatal(problems.Error())
	}
	if p.Design.Name.S != "good lamp" || len(p.Design.Channels) != 2 {
		t.Errorf("read: %+v", p.Design.Name)
	}
	if i, ok := p.Design.SupplyOf("white"); i != 0 || !ok {
		t.Errorf("white is fed by supply %d, %v", i, ok)
	}
	if _, ok := p.Design.SupplyOf("red"); ok {
		t.Error("a supply feeds red")
	}
	if e := p.Library.Emitters.Get("e1"); e == nil || e.Builtin || !e.Fictitious {
		t.Errorf("own part: %+v", e)
	}
	if e := p.Library.Emitters.Get("white-5700-six"); e == nil || !e.Builtin {
		t.Errorf("part of the parts library: %+v", e)
	}
	q, problems := LoadText(
		DesignFile, []byte(goodLamp), fstest.MapFS{partsName: {Data: []byte(goodParts)}}, partslib.Files(),
	)
	if q == nil || q.Design.Name.S != p.Design.Name.S {
		t.Errorf("text at hand: %v", problems)
	}
}

// TestProblems: what cannot be in a design, or in a part, is said with the place, what was read, and what would do.
func TestProblems(t *testing.T) {
	ch := func(c ...change) []change { return c }
	const rect = "shape: rectangle\n  length: 120 mm\n  width: 80 mm"
	spots := func(list string) string { return "\ninfrared_spots: [" + list + "]\nsensor:" }
	var many []string
	for i := range 21 {
		many = append(many, fmt.Sprintf("{name: s%d, at: [%d mm, 30 mm], diameter: 2 mm}", i, i-10))
	}
	for _, tt := range []struct {
		name    string
		changes []change
		// text that is at the place in the changed file; a name of one of the files where it is of all of it
		at   string
		msg  string
		hint string
	}{
		// The place.
		{
			"tank without height", ch(change{", height: 360 mm}", "}"}), "600 mm", "a tank needs its inside height",
			"add height",
		},
		{
			"tank without glass", ch(change{"  glass: 6 mm\n", ""}), "tank\n",
			"a tank needs the thickness of its glass", "such as 6 mm",
		},
		{
			"water on a bench", ch(change{"kind: tank", "kind: bench"}), "320 mm", "a bench contains no water",
			"use kind: tank",
		},
		{
			"water over the rim", ch(change{"water_depth: 320 mm", "water_depth: 361 mm"}), "361 mm\n",
			"the water is 361 mm deep and the panes are 360 mm high", "from the inside bottom",
		},
		{
			"substrate over the panes",
			ch(change{"  water_depth: 320 mm\n", ""}, change{"substrate_depth: 50 mm", "substrate_depth: 360 mm"}),
			"360 mm\n", "the substrate is higher than the panes", "",
		},
		{
			"lamp beside the tank, below its rim",
			ch(change{"hanging_height: 300 mm", "hanging_height: 39 mm\n  lamp_offset: [265 mm, 0 mm]"}),
			"[40 mm, 0 mm]",
			"is at 359 mm, below the rim of the tank at 360 mm, and not inside its glass", "hang the lamp higher",
		},
		{
			"lamp tilted over",
			ch(change{"hanging_height: 300 mm", "hanging_height: 300 mm\n  lamp_tilt: {tilt: 81 deg, azimuth: 0 deg}"}),
			"81 deg", "must be", "",
		},
		{
			"emitter that looks up",
			ch(
				change{"hanging_height: 300 mm", "hanging_height: 300 mm\n  lamp_tilt: {tilt: 50 deg, azimuth: 0 deg}"},
				change{"lens: lens-70-large\n", "lens: lens-70-large\n        tilt: 40 deg\n        azimuth: 0 deg\n"},
			),
			"[-40 mm, 0 mm]", "looks 90° away from straight down", "85°",
		},
		{
			"tilt to nowhere", ch(change{"lens: lens-70-large\n", "lens: lens-70-large\n        tilt: 40 deg\n"}),
			"40 deg", "a tilt needs its azimuth", "add azimuth",
		},
		{
			"towards without a tilt",
			ch(change{"lens: lens-70-large\n", "lens: lens-70-large\n        azimuth: 40 deg\n"}), "40 deg",
			"azimuth gives the direction of a tilt", "add tilt",
		},
		{
			"tilt and splay",
			ch(change{
				"lens: lens-70-large\n",
				"lens: lens-70-large\n        tilt: 40 deg\n        azimuth: 10 deg\n        splay: 5 deg\n",
			}),
			"5 deg", "tilt and splay both", "keep one",
		},
		{
			"splay and towards",
			ch(change{"lens: lens-70-large\n", "lens: lens-70-large\n        azimuth: 10 deg\n        splay: 5 deg\n"}),
			"10 deg", "away from the centre", "leave it out",
		},
		{
			"max below typical", ch(change{"max: 32 °C", "max: 21 °C"}), "21 °C",
			"the maximum ambient temperature is below the typical one", "",
		},
		{
			"min above typical", ch(change{"min: 15 °C", "min: 23 °C"}), "23 °C",
			"the minimum ambient temperature is above the typical one", "",
		},
		{
			"room in an oven", ch(change{"max: 32 °C", "max: 71 °C"}), "71 °C",
			"71 °C is not the temperature of a room", "-40 °C and 70 °C",
		},
		{
			"room on a pole", ch(change{"min: 15 °C", "min: -41 °C"}), "-41 °C",
			"-41 °C is not the temperature of a room", "",
		},
		{
			"absurd junction", ch(change{"max_junction: 100 °C", "max_junction: 20 °C"}), "20 °C\nboard",
			"20 °C is no limit for a junction", "80 °C to 120 °C",
		},
		{
			"day of more than 24 h",
			ch(change{"full_level_time: 8 h, ramp_time: 45 min", "full_level_time: 23 h, ramp_time: 45 min"}), "23 h",
			"the programme is longer than 24 h", "",
		},
		// The board.
		{
			"rectangle without width", ch(change{"  width: 80 mm\nchannels", "channels"}), "rectangle",
			"a rectangle needs length and width", "add length and width",
		},
		{
			"disc without diameter", ch(change{"shape: rectangle", "shape: disc"}), "disc", "a disc needs its diameter",
			"add diameter",
		},
		{
			"board too large", ch(change{"length: 120 mm\n", "length: 1.1 m\n"}), "1.1 m\n",
			"a board of 1.1 m is outside", "5 mm to 1 m",
		},
		{
			"board too small",
			ch(
				change{"length: 120 mm\n", "length: 4.5 mm\n"},
				change{"at: [[-40 mm, 0 mm], [40 mm, 0 mm]]", "at: [[0 mm, 0 mm]]"},
				change{"at: [20 mm, 30 mm]", "at: [0 mm, 30 mm]"},
				change{
					"part: white-5700-six\n        die_configuration: 9 V\n        lens: lens-70-large",
					"part: white-5700",
				},
			),
			"4.5 mm\n", "a board of 4.5 mm is outside", "5 mm to 1 m",
		},
		{
			"polygon without corners", ch(change{rect, "shape: polygon"}), "polygon", "a polygon needs its corners",
			"add corners",
		},
		{
			"polygon of two corners", ch(change{rect, "shape: polygon\n  corners: [[-60 mm, -40 mm], [60 mm, 40 mm]]"}),
			"[-60 mm, -40", "an outline of 2 corners encloses nothing", "in order around the rim",
		},
		{
			"polygon with a corner twice",
			ch(change{
				rect,
				"shape: polygon\n  corners: [[-60 mm, -40 mm], [60 mm, -40 mm], [60 mm, 40 mm], [60 mm, 40 mm], " +
					"[-60 mm, 40 mm]]",
			}),
			"[60 mm, 40 mm], [-60", "corners 3 and 4 of the outline are the same", "leave one",
		},
		{
			"outline that crosses itself",
			ch(change{
				rect,
				"shape: polygon\n  corners: [[-60 mm, -40 mm], [60 mm, 40 mm], [60 mm, -40 mm], [-60 mm, 40 mm]]",
			}),
			"[60 mm, -40 mm], [-60", "the outline crosses itself: the side from corner 1 meets the side from corner 3",
			"in order around the rim",
		},
		{
			"polygon too large",
			ch(change{
				rect,
				"shape: polygon\n  corners: [[-600 mm, -40 mm], [600 mm, -40 mm], [600 mm, 40 mm], [-600 mm, 40 " +
					"mm]]",
			}),
			"[-600 mm", "a board of 1200 × 80 mm is outside", "5 mm to 1 m",
		},
		{
			"polygon with a length",
			ch(
				change{
					"shape: rectangle\n",
					"shape: polygon\n  corners: [[-60 mm, -40 mm], [60 mm, -40 mm], [60 mm, 40 mm], [-60 mm, 40 mm]]\n",
				},
				change{"  width: 80 mm\nchannels", "channels"},
			),
			"120 mm", "a polygon has its size from its corners", "leave it out",
		},
		{
			"corners of a rectangle",
			ch(change{rect, rect + "\n  corners: [[-60 mm, -40 mm], [60 mm, -40 mm], [60 mm, 40 mm]]"}), "[-60 mm",
			"a rectangle has no corners to give", "say shape: polygon",
		},
		{
			"emitter over the edge of a polygon",
			ch(change{
				rect,
				"shape: polygon\n  corners: [[-60 mm, -40 mm], [60 mm, -40 mm], [60 mm, -4 mm], [36 mm, -4 mm], " +
					"[36 mm, 40 mm], [-60 mm, 40 mm]]",
			}),
			"[40 mm, 0 mm]]", "does not lie on the board", "",
		},
		{
			"sensor beside a polygon",
			ch(change{
				rect,
				"shape: polygon\n  corners: [[-60 mm, -40 mm], [60 mm, -40 mm], [60 mm, 40 mm], [30 mm, 40 mm], " +
					"[30 mm, 20 mm], [10 mm, 20 mm], [10 mm, 40 mm], [-60 mm, 40 mm]]",
			}),
			"[20 mm, 30 mm]", "the sensor does not lie on the board", "",
		},
		{
			"hole off the board", ch(change{rect, rect + "\n  holes: [{diameter: 3.2 mm, at: [[70 mm, 0 mm]]}]"}),
			"[70 mm", "the hole of 3.2 mm at (70, 0) mm does not lie within the board", "from the centre of the board",
		},
		{
			"hole over the edge", ch(change{rect, rect + "\n  holes: [{diameter: 3.2 mm, at: [[59 mm, 0 mm]]}]"}),
			"[59 mm", "does not lie within the board", "put the notch into the outline",
		},
		{
			"cut-out over the edge",
			ch(change{rect, rect + "\n  holes: [{length: 10 mm, width: 4 mm, at: [[56 mm, 30 mm]]}]"}), "[56 mm",
			"the cut-out of 10 × 4 mm at (56, 30) mm does not lie within the board", "",
		},
		{
			"hole without size", ch(change{rect, rect + "\n  holes: [{at: [[50 mm, 30 mm]]}]"}), "[50 mm",
			"a hole needs its diameter, or length and width", "3.2 mm",
		},
		{
			"hole of both kinds",
			ch(change{rect, rect + "\n  holes: [{diameter: 3 mm, width: 4 mm, at: [[50 mm, 30 mm]]}]"}), "[50 mm",
			"a hole has a diameter, or a length and a width", "",
		},
		{
			"holes that meet",
			ch(change{
				rect,
				rect + "\n  holes: [{diameter: 3 mm, at: [[50 mm, 30 mm]]}, {length: 4 mm, width: 4 mm, at: " +
					"[[46.6 mm, 30 mm]]}]",
			}),
			"[46.6 mm", "the cut-out of 4 × 4 mm at (46.6, 30) mm runs into the hole of 3 mm at (50, 30) mm", "",
		},
		{
			"round holes that meet",
			ch(change{rect, rect + "\n  holes: [{diameter: 3 mm, at: [[50 mm, 30 mm], [52 mm, 32 mm]]}]"}), "[52 mm",
			"runs into the hole of 3 mm", "",
		},
		{
			"hole beneath an emitter", ch(change{rect, rect + "\n  holes: [{diameter: 3 mm, at: [[43.4 mm, 0 mm]]}]"}),
			"[40 mm, 0 mm]]", "sits over the hole of 3 mm at (43.4, 0) mm", "move one of them",
		},
		{
			"sensor in a hole", ch(change{rect, rect + "\n  holes: [{diameter: 3 mm, at: [[21 mm, 30 mm]]}]"}),
			"[20 mm, 30 mm]}", "the sensor sits over the hole of 3 mm", "move one of them",
		},
		{"too many holes", ch(change{
			rect,
			rect + "\n  holes: [{diameter: 1 mm, at: [" + strings.Repeat(
				"[50 mm, 30 mm], ", 200,
			) + "[50 mm, 30 mm]]}]",
		}), "[50 mm", "the board has 201 holes; 200 are the most", ""},
		{
			"contact in a bay of a polygon",
			ch(
				change{
					rect,
					"shape: polygon\n  corners: [[-60 mm, -40 mm], [60 mm, -40 mm], [60 mm, 40 mm], [10 mm, 40 mm], " +
						"[10 mm, 34 mm], [-10 mm, 34 mm], [-10 mm, 40 mm], [-60 mm, 40 mm]]",
				},
				change{
					"contact: {length: 90 mm, width: 80 mm, at: [0 mm, 0 mm]}",
					"contact: {length: 9 mm, width: 5 mm, at: [0 mm, 38 mm]}",
				},
			),
			"9 mm, width", "the contact does not touch the board", "",
		},
		{
			"contact in a hole",
			ch(
				change{rect, rect + "\n  holes: [{length: 20 mm, width: 10 mm, at: [[0 mm, 0 mm]]}]"},
				change{"contact: {length: 90 mm, width: 80 mm", "contact: {length: 9 mm, width: 8 mm"},
			),
			"9 mm", "the contact does not touch the board", "",
		},
		{
			"thickness that is not made", ch(change{"thickness: 2 mm\n", "thickness: 2.5 mm\n"}), "2.5 mm",
			`board "aluminium-2w" is not made 2.5 mm thick`, "it is made in 1 mm, 1.6 mm, 2 mm, 3 mm",
		},
		// Channels.
		{
			"channel twice", ch(change{"name: red", "name: white"}), "white\n    emitters:\n      - part: photored",
			`channel "white" is given twice`, "its own name",
		},
		{
			"blank in a name", ch(change{"name: red", "name: deep red"}), "deep red", "contains no blank and no dot",
			"letters, digits and hyphens",
		},
		{"dot in a name", ch(change{"name: red", "name: red.1"}), "red.1", "contains no blank and no dot", ""},
		{
			"name of the lamp", ch(change{"name: red", "name: lamp"}), "lamp\n    emitters",
			`a channel cannot be called "lamp"`, "such as white",
		},
		{
			"name of a supply", ch(change{"name: red", "name: supply1"}), "supply1",
			`a channel cannot be called "supply1"`, "",
		},
		{"no emitter", ch(change{"at: [[0 mm, -20 mm], [0 mm, 20 mm]]", "at: []"}), "[]", "at is an empty list", ""},
		{
			"unequal strings", ch(change{"parallel_strings: 2", "parallel_strings: 3"}), "3\n    driver",
			`2 emitters "photored-662" cannot form 3 equal strings`, "the same emitters",
		},
		{
			"no such die configuration", ch(change{"die_configuration: 9 V", "die_configuration: 24 V"}), "24 V",
			`emitter "white-5700-six" has no die configuration "24 V"`, `it has "18 V", "9 V", "6 V"`,
		},
		{
			"emitter over the edge", ch(change{"[40 mm, 0 mm]]", "[56.6 mm, 0 mm]]"}), "[56.6 mm",
			`emitter white 2 (white-5700-six) at (56.6, 0) mm does not lie on the board`,
			"from the centre of the board",
		},
		{
			"emitter over the edge of a disc",
			ch(
				change{"shape: rectangle\n  length: 120 mm\n  width: 80 mm", "shape: disc\n  diameter: 86 mm"},
				change{"[[-40 mm, 0 mm]", "[[-39 mm, 0 mm]"},
			),
			"[40 mm", "does not lie on the board", "",
		},
		{
			"emitters overlap", ch(change{"[40 mm, 0 mm]]", "[-33.1 mm, 0 mm]]"}), "[-33.1 mm",
			"overlaps emitter white 1 (white-5700-six)", "move one of them",
		},
		{
			"emitters of two channels overlap", ch(change{"[[0 mm, -20 mm]", "[[40 mm, 0 mm]"}),
			"[40 mm, 0 mm], [0 mm, 20 mm]]", `overlaps emitter white 2 (white-5700-six) at`, "",
		},
		{
			"sensor off the board", ch(change{"at: [20 mm, 30 mm]", "at: [20 mm, 41 mm]"}), "[20 mm, 41 mm]",
			"the sensor does not lie on the board", "",
		},
		{
			"infrared spot over the edge",
			ch(change{"\nsensor:", spots("{name: a, at: [59 mm, 20 mm], diameter: 5 mm}")}),
			"[59 mm, 20 mm]", `infrared spot "a" of 5 mm at (59, 20) mm does not lie on the board`,
			"nearest free place: at: [57.5 mm, 20 mm]",
		},
		{
			"infrared spot far from the board",
			ch(change{"\nsensor:", spots("{name: a, at: [300 mm, 20 mm], diameter: 5 mm}")}),
			"[300 mm, 20 mm]", `infrared spot "a" of 5 mm at (300, 20) mm does not lie on the board`,
			"nearest free place: at: [57.5 mm, 20 mm]",
		},
		{
			"infrared spot over a hole",
			ch(
				change{rect, rect + "\n  holes: [{diameter: 3 mm, at: [[50 mm, 30 mm]]}]"},
				change{"\nsensor:", spots("{name: a, at: [53 mm, 30 mm], diameter: 5 mm}")},
			),
			"[53 mm, 30 mm]", `infrared spot "a" of 5 mm at (53, 30) mm reaches over the hole of 3 mm`,
			"nearest free place: at: [54 mm, 30 mm]",
		},
		{
			"infrared spot over a screw",
			ch(
				change{rect, rect + "\n  holes: [{diameter: 3.2 mm, at: [[50 mm, 30 mm]]}]\n" +
					"  mounting: {method: screws, screw: M3}"},
				change{"\nsensor:", spots("{name: a, at: [53 mm, 30 mm], diameter: 5 mm}")},
			),
			"[53 mm, 30 mm]", "reaches over the hole of 3.2 mm", "nearest free place: at: [56 mm, 30 mm]",
		},
		{
			"infrared spot of no size",
			ch(change{"\nsensor:", spots("{name: a, at: [53 mm, 30 mm], diameter: 0.9 mm}")}),
			"0.9 mm", "it must be at least 1 mm", "",
		},
		{
			"two infrared spots of one name",
			ch(change{"\nsensor:", spots("{name: b, at: [53 mm, 30 mm], diameter: 5 mm}, " +
				"{name: b, at: [53 mm, 20 mm], diameter: 5 mm}")}),
			"b, at: [53 mm, 20 mm]", `infrared spot "b" is given twice`, "its own name",
		},
		{
			"infrared spot with a dot in its name",
			ch(change{"\nsensor:", spots("{name: a.b, at: [53 mm, 30 mm], diameter: 5 mm}")}),
			"a.b", "the name of an infrared spot contains no blank and no dot", "letters, digits and hyphens",
		},
		{
			"too many infrared spots",
			ch(change{"\nsensor:", spots(strings.Join(many, ", "))}),
			"s20", "21 infrared spots; 20 are the most", "",
		},
		{
			"half of a foldback", ch(change{"at: [20 mm, 30 mm]}", "at: [20 mm, 30 mm], foldback_start: 55 °C}"}),
			"ntc-10k", "foldback_start and foldback_end belong together", "both, or neither",
		},
		{
			"foldback that ends at once",
			ch(change{"at: [20 mm, 30 mm]}", "at: [20 mm, 30 mm], foldback_start: 55 °C, foldback_end: 55 °C}"}),
			"55 °C}", "foldback_end must be above foldback_start", "",
		},
		// Cooling.
		{
			"contact larger than the sink", ch(change{"contact: {length: 90 mm", "contact: {length: 101 mm"}), "101 mm",
			`the contact is larger than the base of sink "fins-100", 100 × 100 mm`, "",
		},
		{
			"contact beside the board", ch(change{"width: 80 mm, at: [0 mm, 0 mm]", "width: 80 mm, at: [61 mm, 0 mm]"}),
			"[61 mm", "the centre of the contact does not lie on the board", "",
		},
		{
			"sink that needs a fan",
			ch(change{
				"  part: fins-100\n  contact: {length: 90 mm, width: 80 mm, at: [0 mm, 0 mm]}\nfan: {part: " +
					"fan-92, speed: 60 %}\n",
				"  part: s3\n",
			}),
			"s3", `sink "s3" states only how it does with a fan`, "add a fan",
		},
		{
			"sink silent on fans",
			ch(change{
				"  part: fins-100\n  contact: {length: 90 mm, width: 80 mm, at: [0 mm, 0 mm]}\n",
				"  part: fins-80-natural\n",
			}),
			"fan-92", `sink "fins-80-natural" does not state how it does with a fan`, "resistance_vs_air_speed",
		},
		{
			"tilt of a level sink", ch(change{"  part: fins-100\n", "  part: fins-100\n  tilt: 20 deg\n"}), "20 deg",
			"only a vertical sink is tilted", "orientation: vertical",
		},
		{
			"hood and its air rise",
			ch(change{"  part: fins-100\n", "  part: fins-100\n  hood_air_rise: 8 K\n  hood: {wall_area: 0.6 m²}\n"}),
			"8 K", "hood and hood_air_rise both give", "keep one",
		},
		{
			"vents without height",
			ch(change{"  part: fins-100\n", "  part: fins-100\n  hood: {wall_area: 0.6 m², vent_area: 60 cm²}\n"}),
			"60 cm²", "vents draw only by the height", "add vent_height",
		},
		{
			"housing without height",
			ch(change{
				"\nsolder: sac305",
				"\nhousing: {area: 300 cm², emissivity: 85 %, joint_resistance: 0.3 K/W}\nsolder: sac305",
			}),
			"300 cm²", "a housing with upright faces needs their height", "add height",
		},
		{
			"housing without perimeter",
			ch(change{
				"\nsolder: sac305",
				"\nhousing: {area: 300 cm², emissivity: 85 %, joint_resistance: 0.3 K/W, faces: down}\nsolder: " +
					"sac305",
			}),
			"300 cm²", "a housing whose faces look down needs their perimeter", "add perimeter",
		},
		{
			"housing that touches nothing",
			ch(change{
				"\nsolder: sac305", "\nhousing: {area: 300 cm², emissivity: 85 %, height: 60 mm}\nsolder: sac305",
			}),
			"300 cm²", "a housing must say how it touches the sink", "add joint",
		},
		{
			"housing with two joints",
			ch(change{
				"\nsolder: sac305",
				"\nhousing: {area: 300 cm², emissivity: 85 %, height: 60 mm, joint_resistance: 0.3 K/W, " +
					"contact_area: 12 cm²}\nsolder: sac305",
			}),
			"0.3 K/W", "joint_resistance and contact_area both give", "keep one",
		},
		{
			"housing on a bare contact",
			ch(change{
				"\nsolder: sac305",
				"\nhousing: {area: 300 cm², emissivity: 85 %, height: 60 mm, contact_area: 12 cm²}\nsolder: sac305",
			}),
			"12 cm²", "a contact of the housing needs its specific resistance", "275 mm²·K/W",
		},
		// Supplies.
		{
			"feeds nothing", ch(change{"feeds: [white]", "feeds: [white, blue]"}), "blue]",
			`there is no channel "blue"`, "name a channel",
		},
		{
			"fed twice",
			ch(change{"feeds: [white]\n", "feeds: [white]\n  - part: supply-24v-100w\n    feeds: [white]\n"}),
			"white]\n    wire", `channel "white" is fed by two supplies`, "",
		},
		{
			"two supplies for all", ch(change{"day: {", "  - {part: supply-24v-100w}\nday: {"}), "supply-24v-100w",
			"with several supplies each must name", "add feeds",
		},
		{
			"switch that turns nothing",
			ch(change{"kind: timer", "kind: timer, switches: [supply-48v-150w, red, white]"}), "white], making",
			`nothing called "white" is connected to the mains`, "name a supply of this design",
		},
		{
			"fuse behind a mains driver",
			ch(change{"    driver: ac-700ma\n", "    driver: ac-700ma\n    fuse: {rated_current: 1 A}\n"}), "1 A}",
			`driver "ac-700ma" is connected to the mains`, "leave it out",
		},
		{
			"driver without supply", ch(change{"feeds: [white]", "feeds: [red]"}), "buck-1a",
			`driver "buck-1a" needs a supply, and none feeds channel "white"`, "kind ac",
		},
		// Names of parts, each kind.
		{
			"emitter", ch(change{"part: photored-662", "part: photored-66"}), "photored-66\n",
			`there is no emitter "photored-66"`, `did you mean "photored-662"?`,
		},
		{
			"emitter that is like none", ch(change{"part: photored-662", "part: moonlight"}), "moonlight",
			`there is no emitter "moonlight"`, "`lampwright parts emitter` lists them",
		},
		{
			"lens", ch(change{"lens: lens-70-large", "lens: lens-70-lerge"}), "lens-70-lerge",
			`there is no lens "lens-70-lerge"`, `did you mean "lens-70-large"?`,
		},
		{
			"board", ch(change{"part: aluminium-2w", "part: aluminum-2w"}), "aluminum-2w",
			`there is no board "aluminum-2w"`, `did you mean "aluminium-2w"?`,
		},
		{
			"driver", ch(change{"driver: buck-1a", "driver: buck-2a"}), "buck-2a", `there is no driver "buck-2a"`,
			"did you mean",
		},
		{
			"interface", ch(change{"part: tim-paste-3w", "part: tim-past-3w"}), "tim-past-3w",
			`there is no thermal interface "tim-past-3w"`, `did you mean "tim-paste-3w"?`,
		},
		{
			"sink",
			ch(change{"part: fins-100\n  contact: {length: 90 mm, width: 80 mm, at: [0 mm, 0 mm]}", "part: fin-100"}),
			"fin-100", `there is no sink "fin-100"`, `did you mean "fins-100"?`,
		},
		{"fan", ch(change{"part: fan-92", "part: fan-91"}), "fan-91", `there is no fan "fan-91"`, "did you mean"},
		{
			"sensor", ch(change{"part: ntc-10k", "part: ntc-11k"}), "ntc-11k", `there is no sensor "ntc-11k"`,
			`did you mean "ntc-10k"?`,
		},
		{
			"solder", ch(change{"\nsolder: sac305", "\nsolder: sac306"}), "sac306", `there is no solder "sac306"`,
			`did you mean "sac305"?`,
		},
		{
			"wire solder", ch(change{"wire_solder: snbi58", "wire_solder: snbi57"}), "snbi57",
			`there is no solder "snbi57"`, `did you mean "snbi58"?`,
		},
		{
			"supply", ch(change{"part: supply-48v-150w", "part: supply-48v-15w"}), "supply-48v-15w",
			`there is no supply "supply-48v-15w"`, `did you mean "supply-48v-150w"?`,
		},
		{
			"wire", ch(change{"driver: buck-1a\n    wire: {part: awg20", "driver: buck-1a\n    wire: {part: awg21"}),
			"awg21", `there is no wire "awg21"`, "did you mean",
		},
		{
			"wire of a supply",
			ch(change{"feeds: [white]\n    wire: {part: awg20", "feeds: [white]\n    wire: {part: cable"}), "cable",
			`there is no wire "cable"`, "lists them",
		},
		// Emitters.
		{
			"flux in two units", ch(change{"flux: 100 lm", "flux: 100 lm\n    radiant_flux: 1 W"}), "e1\n",
			`emitter "e1" must state one of flux and radiant_flux`, "",
		},
		{"no flux", ch(change{"    flux: 100 lm\n", ""}), "e1\n", "must state one of flux and radiant_flux", ""},
		{
			"no spectrum",
			ch(change{
				"    peaks:\n      - {at: 450 nm, width: 20 nm, share: 40 %}\n      - {at: 560 nm, width: 90 nm, " +
					"share: 60 %}\n",
				"",
			}),
			"e1\n", "must have one of peaks, spectrum and spectrum_file", "",
		},
		{
			"column of no file", ch(change{"    flux: 100 lm\n", "    flux: 100 lm\n    spectrum_column: seventh\n"}),
			"seventh\n", "spectrum_column names a column of no file", "add spectrum_file",
		},
		{
			"no such spectrum file",
			ch(change{
				"    peaks:\n      - {at: 450 nm, width: 20 nm, share: 40 %}\n      - {at: 560 nm, width: 90 nm, " +
					"share: 60 %}\n",
				"    spectrum_file: white.csv\n",
			}),
			"white.csv", "spectrum_file \"white.csv\": file does not exist", "in the folder of this parts file",
		},
		{
			"spectrum file elsewhere",
			ch(change{
				"    peaks:\n      - {at: 450 nm, width: 20 nm, share: 40 %}\n      - {at: 560 nm, width: 90 nm, " +
					"share: 60 %}\n",
				"    spectrum_file: ../../white.csv\n",
			}),
			"../../white.csv", "is not the name of a file in the folder of parts", "its name alone",
		},
		{
			"peaks and a file", ch(change{"    flux: 100 lm\n", "    flux: 100 lm\n    spectrum_file: own.yaml\n"}),
			"e1\n", "must have one of peaks, spectrum and spectrum_file", "",
		},
		{
			"glowing tube",
			ch(change{
				"\nday: {",
				"\nreplaced_lamp: {flux: 1000 lm, power: 60 W, cct: 6500 K, lamp_type: incandescent}\nday: {",
			}),
			"6500 K, lamp_type", "no wire glows at 6500 K", "2400 K to 3500 K",
		},
		{
			"white LEDs beyond the model",
			ch(change{
				"\nday: {", "\nreplaced_lamp: {flux: 1000 lm, power: 60 W, cct: 12000 K, lamp_type: led}\nday: {",
			}),
			"12000 K", "white LEDs of 12000 K are not known here", "2200 K to 8000 K",
		},
		{
			"bluest of lamps",
			ch(change{"\nday: {", "\nreplaced_lamp: {flux: 1000 lm, power: 60 W, cct: 25000 K}\nday: {"}), "25000 K",
			"lamps of 25000 K are not known here", "20000 K or less",
		},
		{
			"name of the viewer", ch(change{"name: red", "name: viewer"}), "viewer\n",
			`a channel cannot be called "viewer"`, "",
		},
		{
			"two spectra",
			ch(change{"    flux: 100 lm\n", "    flux: 100 lm\n    spectrum: {400 nm: 0, 500 nm: 1, 600 nm: 0}\n"}),
			"e1\n", "must have one of peaks, spectrum and spectrum_file", "",
		},
		{
			"lumens that no eye sees",
			ch(change{
				"      - {at: 450 nm, width: 20 nm, share: 40 %}\n      - {at: 560 nm, width: 90 nm, share: 60 " +
					"%}\n",
				"      - {at: 790 nm, width: 20 nm}\n",
			}),
			"100 lm\n", "hardly any eye sees it", "radiant_flux",
		},
		{
			"dark spectrum",
			ch(change{
				"    peaks:\n      - {at: 450 nm, width: 20 nm, share: 40 %}\n      - {at: 560 nm, width: 90 nm, " +
					"share: 60 %}\n",
				"    spectrum: {400 nm: 0, 500 nm: 0, 600 nm: 0}\n",
			}),
			"spectrum", "is dark", "",
		},
		{
			"infrared beyond the grid",
			ch(change{
				"      - {at: 450 nm, width: 20 nm, share: 40 %}\n      - {at: 560 nm, width: 90 nm, share: 60 " +
					"%}\n",
				"      - {at: 1000 nm, width: 20 nm}\n",
			}),
			"1000 nm", "centre of 1000 nm lies outside 380 nm to 800 nm", "",
		},
		{"shares", ch(change{"share: 60 %", "share: 61 %"}), "450 nm", "sum to 101.0 %", "100 %"},
		{
			"voltage that falls", ch(change{"{0.1 A: 2.9 V, 1 A: 3.2 V}", "{0.1 A: 2.9 V, 1 A: 2.9 V}"}),
			"forward_voltage", "must rise with current", "",
		},
		{
			"flux below zero", ch(change{"{0.1 A: 20 %, 1 A: 180 %}", "{0.1 A: -1 %, 1 A: 180 %}"}), "flux_vs_current",
			"falls below zero", "",
		},
		{
			"flux that is dark where it is stated",
			ch(change{"{0.1 A: 20 %, 1 A: 180 %}", "{0.1 A: 0 %, 0.5 A: 0 %, 1 A: 180 %}"}), "flux_vs_current",
			"gives no light at test_current", "check the points",
		},
		{
			"light below zero when hot",
			ch(change{
				"    peaks:\n      - {at: 450",
				"    flux_vs_junction: {25 °C: 100 %, 100 °C: -1 %}\n    peaks:\n      - {at: 450",
			}),
			"flux_vs_junction", "flux_vs_junction falls below zero", "",
		},
		{
			"two ways to drift",
			ch(change{
				"    peaks:\n      - {at: 450",
				"    peak_vs_current: {0.1 A: 455 nm, 1 A: 450 nm}\n    cct_vs_current: {0.1 A: 4000 K, 1 A: " +
					"4100 K}\n    peaks:\n      - {at: 450",
			}),
			"cct_vs_current", "states both peak_vs_current and cct_vs_current", "keep one way",
		},
		{
			"half a chromaticity",
			ch(change{
				"    peaks:\n      - {at: 450",
				"    cie_x_vs_current: {0.1 A: 0.3, 1 A: 0.29}\n    peaks:\n      - {at: 450",
			}),
			"cie_x_vs_current", "states one of cie_x_vs_current and cie_y_vs_current", "cct_vs_current",
		},
		{
			"a drift from elsewhere",
			ch(change{
				"    peaks:\n      - {at: 450",
				"    peak_vs_current: {1 mA: 455 nm, 2 mA: 450 nm}\n    peaks:\n      - {at: 450",
			}),
			"peak_vs_current", "does not reach test_current", "add a point",
		},
		{
			"light that is dark at the test junction",
			ch(change{
				"    peaks:\n      - {at: 450",
				"    flux_vs_junction: {0 °C: 0 %, 25 °C: 0 %, 100 °C: 1 %}\n    peaks:\n      - {at: 450",
			}),
			"flux_vs_junction", "gives no light at test_junction", "",
		},
		{
			"dies that do not join", ch(change{"series: 2, parallel: 1", "series: 2, parallel: 2"}), "row,",
			`die configuration "row" has 2 × 2 dies, but the package has 2`, "series times parallel",
		},
		{
			"wiring twice", ch(change{"name: wide", "name: row"}), "row, series: 1",
			`die configuration "row" is given twice`, "",
		},
		// Supplies and wires.
		{
			"no IP code", ch(change{"ip_code: IP20", "ip_code: splash"}), "splash", `"splash" is no IP code`,
			"IP20 or IPX4",
		},
		{
			"enclosure without an IP code", ch(change{
				"solder: sac305\n", "solder: sac305\nenclosure: {sealing: open, ip_code: wet}\n",
			}), "wet}", `"wet" is no IP code`, "IP20 or IPX4",
		},
		{
			"tank that boils", ch(change{"  substrate_depth", "  water_temperature: 80 °C\n  substrate_depth"}), "80 °C",
			"80 °C is not the temperature of a tank", "24 °C",
		},
		{
			"heater without water", ch(change{"  water_depth: 320 mm\n", "  water_temperature: 25 °C\n"}), "25 °C",
			"water_temperature is given, and there is no water", "add water_depth",
		},
		{
			"time of no inrush", ch(change{"inrush: 40 A, ", ""}), "0.3 ms",
			"inrush_time is of an inrush that is not given", "add inrush",
		},
		{
			"overload below the rating", ch(change{"overload_current: 2 A", "overload_current: 1.6 A"}), "1.6 A",
			"overload_current lies below the rated current", "",
		},
		{
			"rated in air that melts it", ch(change{"max_current_ambient: 40 °C", "max_current_ambient: 105 °C"}),
			"105 °C, cross", "max_current_ambient must be below insulation_temperature_rating", "",
		},
		// Other parts.
		{
			"field not wider than beam", ch(change{"field_angle: 100 deg", "field_angle: 60 deg"}),
			"60 deg, efficiency", "field_angle must be larger than beam_angle", "at a tenth",
		},
		{"lens for nothing", ch(change{"fits: [p35]", "fits: []"}), "[], beam", "fits is an empty list", ""},
		{
			"dielectric not stated", ch(change{"dielectric_thickness: 100 µm, ", ""}), "dielectric, price",
			`board "b1" sends its heat through a dielectric`, "add dielectric_thickness",
		},
		{
			"vias not stated", ch(change{"thermal_path: dielectric", "thermal_path: vias"}), "vias",
			`board "b1" sends its heat through vias`, "via_conductivity",
		},
		{
			"board for less than nothing", ch(change{"2 mm: 5 EUR", "2 mm: -5 EUR"}), "price_by_thickness",
			"not above zero", "",
		},
		{
			"sink without anything", ch(change{", resistance_vs_power: {1 W: 5 K/W, 50 W: 4 K/W}", ""}), "s2",
			`sink "s2" has neither fins nor pins nor a curve`, "add fins",
		},
		{
			"sink without a base",
			ch(change{"{id: s2, base: {length: 60 mm, width: 60 mm}", "{id: s2, base: {length: 60 mm}"}), "s2",
			`sink "s2" does not state length and width of its base`, "add base",
		},
		{
			"fins and pins",
			ch(change{
				"fins: {count: 10, height: 30 mm, thickness: 1 mm}",
				"fins: {count: 10, height: 30 mm, thickness: 1 mm}, pins: {diameter: 3 mm, height: 25 mm, " +
					"transverse_pitch: 8 mm, longitudinal_pitch: 8 mm}",
			}),
			"s1", `sink "s1" has fins and pins`, "give one",
		},
		{
			"pins without gaps",
			ch(change{
				"fins: {count: 10, height: 30 mm, thickness: 1 mm}",
				"pins: {diameter: 8 mm, height: 25 mm, transverse_pitch: 8 mm, longitudinal_pitch: 9 mm}",
			}),
			"8 mm, height", "the pins are as wide as their pitch", "",
		},
		{
			"pins without metal",
			ch(change{
				"base_thickness: 6 mm, conductivity: 200 W/(m·K), emissivity: 85 %, fins: {count: 10, height: 30 " +
					"mm, thickness: 1 mm}",
				"pins: {diameter: 3 mm, height: 25 mm, transverse_pitch: 8 mm, longitudinal_pitch: 9 mm}",
			}),
			"s1", `sink "s1" is given by its pins and needs`, "",
		},
		{
			"sensor that rises",
			ch(change{
				"beta: 3950 K}",
				"beta: 3950 K, resistance_vs_temperature: {0 °C: 30 kΩ, 25 °C: 10 kΩ, 60 °C: 12 kΩ}}",
			}),
			"resistance_vs_temperature", "must fall with temperature", "negative temperature coefficient",
		},
		{
			"fins without gaps", ch(change{"count: 10", "count: 60"}), "60, height",
			"60 fins of 1 mm do not leave gaps on a base 60 mm wide", "",
		},
		{
			"fins without metal", ch(change{", conductivity: 200 W/(m·K), emissivity", ", emissivity"}), "s1",
			`sink "s1" is given by its fins and needs`, "",
		},
		{
			"sink that cools by itself", ch(change{"50 W: 4 K/W", "50 W: 0 K/W"}), "resistance_vs_power",
			"must be above zero", "",
		},
		{
			"sink against no power", ch(change{"{1 W: 5 K/W", "{-1 W: 5 K/W"}), "resistance_vs_power",
			"must not be below zero", "",
		},
		{
			"fan that rises", ch(change{"{0 m³/h: 20 Pa, 40 m³/h: 0 Pa}", "{0 m³/h: 20 Pa, 40 m³/h: 21 Pa}"}),
			"pressure_vs_flow", "must fall with flow", "from the largest pressure",
		},
		{
			"fan that sucks", ch(change{"{0 m³/h: 20 Pa, 40 m³/h: 0 Pa}", "{-1 m³/h: 20 Pa, 40 m³/h: 0 Pa}"}),
			"pressure_vs_flow", "below zero", "",
		},
		{
			"driver's outputs", ch(change{"output_min: 2 V", "output_min: 20 V"}), "20 V, output_max",
			"output_min must be below output_max", "",
		},
		{
			"driver's inputs", ch(change{"input_min: 8 V", "input_min: 30 V"}), "30 V, input_max",
			"input_min must be below input_max", "",
		},
		{
			"driver's currents", ch(change{"current_min: 0.1 A", "current_min: 1.1 A"}), "1.1 A, current_max",
			"current_min must not be above current_max", "",
		},
		{
			"supply that makes power", ch(change{"100 %: 90 %}}", "100 %: 101 %}}"}), "efficiency_vs_load",
			"not above 100 %", "",
		},
		{
			"driver with two efficiencies",
			ch(change{"current_min: 0.1 A", "efficiency: 90 %, max_power: 9 W, efficiency_vs_load: {50 %: 80 %}, current_min: 0.1 A"}),
			"efficiency_vs_load", "efficiency and efficiency_vs_load are both given", "",
		},
		{
			"driver with fractions of nothing", ch(change{"current_min: 0.1 A", "efficiency_vs_load: {50 %: 80 %}, current_min: 0.1 A"}),
			"efficiency_vs_load", "a rated power that is not given", "",
		},
		{
			"driver that rests above its work",
			ch(change{"current_min: 0.1 A", "no_load_power: 1 W, standby_power: 2 W, current_min: 0.1 A"}),
			"1 W, standby", "no_load_power is below standby_power", "",
		},
		{
			"driver whose input falls",
			ch(change{"current_min: 0.1 A", "no_load_power: 40 W, efficiency: 90 %, current_min: 0.1 A"}),
			"90 %, current_min", "input power falls from 40 W at 0 W output to 22.22 W at 20 W output", "",
		},
		{"interface without anything", ch(change{", thickness: 50 µm}", "}"}), "i1", `interface "i1" must state`, ""},
		{
			"interface with both",
			ch(change{", thickness: 50 µm}", ", thickness: 50 µm, thermal_impedance: 20 mm²·K/W}"}), "i1",
			`interface "i1" must state`, "",
		},
		{
			"solder that freezes first", ch(change{"solidus: 217 °C", "solidus: 221 °C"}), "221 °C",
			"solidus must not be above liquidus", "",
		},
		{
			"part twice", ch(change{"  - {id: s2, base", "  - {id: s1, base"}),
			"s1, base: {length: 60 mm, width: 60 mm}, resistance", `sink "s1" is given twice`, "another id",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			lamp, parts := apply(t, goodLamp, goodParts, tt.changes)
			p, problems := loadTexts(lamp, parts)
			if p != nil {
				t.Fatal("it loads")
			}
			if len(problems) != 1 {
				t.Errorf("%d problems, want one:\n%s", len(problems), problems.Error())
			}
			file, text := DesignFile, lamp
			if !strings.Contains(lamp, tt.at) {
				file, text = partsName, parts
			}
			got := problems[0]
			if want := file + ":" + place(t, text, tt.at); got.At.String() != want {
				t.Errorf("the place is %s, want %s (%q)", got.At, want, tt.at)
			}
			if !strings.Contains(got.Msg, tt.msg) {
				t.Errorf("message %q, want %q in it", got.Msg, tt.msg)
			}
			if !strings.Contains(got.Hint, tt.hint) {
				t.Errorf("hint %q, want %q in it", got.Hint, tt.hint)
			}
			if got.Line == "" || strings.HasSuffix(got.Msg, ".") {
				t.Errorf("the problem shows %q", got.Error())
			}
		})
	}
}

// TestTooMany: the work of a lamp is bounded.
func TestTooMany(t *testing.T) {
	grid := func(n int) string {
		var at []string
		for i := range n {
			at = append(at, fmt.Sprintf("[%d mm, %d mm]", -57+5*(i%24), -38+5*(i/24)))
		}
		return strings.Join(at, ",\n          ")
	}
	lamp := func(n int) string {
		return strings.Replace(goodLamp, "at: [[0 mm, -20 mm], [0 mm, 20 mm]]", "at: ["+grid(n)+"]", 1)
	}
	small := strings.Replace(
		lamp(298), "at: [[-40 mm, 0 mm], [40 mm, 0 mm]]", "at: [[-56 mm, 36 mm], [56 mm, 36 mm]]", 1,
	)
	if p, problems := loadTexts(small, goodParts); p == nil {
		// 298 small ones and two large: exactly the most; they may meet at the edge, and not be too many.
		for _, q := range problems {
			if strings.Contains(q.Msg, "is the most") {
				t.Errorf("300 emitters: %s", q.Error())
			}
		}
	}
	_, problems := loadTexts(lamp(300), goodParts)
	found := false
	for _, q := range problems {
		found = found || strings.Contains(q.Msg, "the lamp has 302 emitters; 300 is the most")
	}
	if !found {
		t.Errorf("302 emitters: %s", problems.Error())
	}
	// All on one spot: each is named once, not with each other.
	one := strings.TrimSuffix(strings.Repeat("[0 mm, 20 mm],\n          ", 200), ",\n          ")
	_, problems = loadTexts(
		strings.Replace(goodLamp, "at: [[0 mm, -20 mm], [0 mm, 20 mm]]", "at: ["+one+"]", 1), goodParts,
	)
	if n := len(problems); n != 199 {
		t.Errorf("200 emitters on one spot make %d problems, want 199", n)
	}
}

// TestAllAtOnce: problems of every file come together, in the order of files and lines.
func TestAllAtOnce(t *testing.T) {
	lamp, parts := apply(t, goodLamp, goodParts, []change{
		{"max: 32 °C", "max: 21 °C"},
		{"current: 350 mA", "current: 350 mV"},
		{"\nsolder: sac305", "\nsoldr: sac305"},
		{"part: fan-92", "part: fan-93"},
		{"solidus: 217 °C", "solidus: 221 °C"},
		{"output_min: 2 V", "output_min: 2 A"},
	})
	files := fstest.MapFS{
		DesignFile: {Data: []byte(lamp)}, partsName: {Data: []byte(parts)},
		"parts/broken.yaml": {Data: []byte("emitters: [")},
	}
	p, problems := Load(files, DesignFile, partslib.Files())
	if p != nil {
		t.Fatal("it loads")
	}
	var got []string
	for _, q := range problems {
		got = append(got, q.At.String())
	}
	want := []string{
		DesignFile + ":" + place(t, lamp, "21 °C"),
		DesignFile + ":" + place(t, lamp, "350 mV"),
		DesignFile + ":" + place(t, lamp, "fan-93"),
		DesignFile + ":" + place(t, lamp, "soldr"),
		"parts/broken.yaml:1:12",
		partsName + ":" + place(t, parts, "2 A"),
		partsName + ":" + place(t, parts, "221 °C"),
	}
	if strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("problems at\n%s\nwant\n%s\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"), problems.Error())
	}
	text := problems.Error()
	for _, want := range []string{`current "350 mV" is a voltage`, "    current: 350 mV\n      |              ^"} {
		if !strings.Contains(text, want) {
			t.Errorf("the problems print without %q:\n%s", want, text)
		}
	}
}

// TestShelf: own parts go before those of the parts library; a part is once in all of a project's files.
func TestShelf(t *testing.T) {
	own := strings.Replace(goodParts, "id: t1, solidus: 217 °C", "id: sac305, solidus: 216 °C", 1)
	p, problems := loadTexts(goodLamp, own)
	if p == nil {
		t.Fatal(problems.Error())
	}
	if s := p.Library.Solders.Get("sac305"); s.Builtin || s.Solidus.SI > 489.2 {
		t.Errorf("the parts library's solder went before the project's own: %+v", s.Solidus)
	}
	twice := fstest.MapFS{
		DesignFile: {Data: []byte(goodLamp)}, "parts/a.yaml": {Data: []byte(goodParts)},
		"parts/b.yaml": {Data: []byte("solders:\n  - {id: t1, solidus: 200 °C, liquidus: 210 °C}\n")},
	}
	_, problems = Load(twice, DesignFile, partslib.Files())
	if len(problems) != 1 || problems[0].At.String() != "parts/b.yaml:2:10" ||
		!strings.Contains(problems[0].Msg, `solder "t1" is given twice`) {
		t.Errorf("one id in two files: %s", problems.Error())
	}
	all, problems := LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 || len(all.Emitters.IDs()) == 0 || all.Emitters.Get("no such") != nil {
		t.Errorf("the parts library alone: %v", problems)
	}
	ids := all.Lenses.IDs()
	for i := range ids {
		if i > 0 && ids[i] <= ids[i-1] {
			t.Errorf("ids are not in order: %s after %s", ids[i], ids[i-1])
		}
	}
}

// TestFiles: files that are not there, are no files, or are too many.
func TestFiles(t *testing.T) {
	_, problems := Load(fstest.MapFS{}, DesignFile, partslib.Files())
	if len(problems) != 1 || problems[0].At.String() != DesignFile ||
		!strings.Contains(problems[0].Msg, "cannot read the file: file does not exist") {
		t.Errorf("no file: %s", problems.Error())
	}
	_, problems = Load(fstest.MapFS{DesignFile + "/x": {}}, DesignFile, partslib.Files())
	if len(problems) != 1 || !strings.Contains(problems[0].Msg, "this is a folder, not a regular file") {
		t.Errorf("a folder: %s", problems.Error())
	}
	many := fstest.MapFS{DesignFile: {Data: []byte(goodLamp)}}
	for i := range MaxFiles + 1 {
		many[fmt.Sprintf("parts/%03d.yaml", i)] = &fstest.MapFile{Data: []byte("fictitious: true\n")}
	}
	_, problems = Load(many, DesignFile, partslib.Files())
	if len(problems) != 1 || !strings.Contains(problems[0].Msg, "201 files of parts; 200 is the most") ||
		problems[0].Hint == "" {
		t.Errorf("too many files: %s", problems.Error())
	}
	delete(many, "parts/000.yaml")
	if p, problems := Load(many, DesignFile, partslib.Files()); p == nil {
		t.Errorf("200 files: %s", problems.Error())
	}
	_, problems = Load(torn{fstest.MapFS{DesignFile: {Data: []byte(goodLamp)}}}, DesignFile, partslib.Files())
	if len(problems) != 1 || !strings.Contains(problems[0].Msg, "cannot read the file: the disk is torn") {
		t.Errorf("a file that breaks off: %s", problems.Error())
	}
}

// torn is a file system whose files open and do not read.
type torn struct{ fstest.MapFS }

func (f torn) Open(name string) (fs.File, error) {
	file, err := f.MapFS.Open(name)
	if err != nil {
		return nil, err
	}
	return tornFile{file}, nil
}

type tornFile struct{ fs.File }

func (tornFile) Read([]byte) (int, error) { return 0, fmt.Errorf("read: %w", errTorn) }

var errTorn = fmt.Errorf("the disk is torn")

// TestLoadTextOn wants the same of a shelf that was read before as of one that is read now, and leaves that one alone.
func TestLoadTextOn(t *testing.T) {
	folder := fstest.MapFS{"parts/own.yaml": {Data: []byte("emitters:\n  - id: white-5700-six\n")}}
	builtin, problems := LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	before := builtin.Emitters.Get("white-5700-six")
	text := []byte("lampwright: 2\nname: x\n")
	_, want := LoadText("lamp.yaml", text, folder, partslib.Files())
	_, got := LoadTextOn("lamp.yaml", text, folder, builtin)
	if d := cmp.Diff(want, got); d != "" || len(got) == 0 {
		t.Errorf("other problems than with a shelf read anew:\n%s", d)
	}
	if builtin.Emitters.Get("white-5700-six") != before || !before.Builtin {
		t.Error("the built-in parts library was changed by a project's part")
	}
}

// TestFarOutline: a board that lies far from where it is measured from is a slip of the unit.
func TestFarOutline(t *testing.T) {
	at := func(x, y float64) source.Point {
		return source.Point{X: source.Value{SI: x, Set: true}, Y: source.Value{SI: y, Set: true}}
	}
	c := &checker{}
	c.polygon(
		&BoardUse{
			Shape:   source.Choice[BoardShape]{S: Polygon, Set: true},
			Corners: []source.Point{at(1, 0), at(1.2, 0), at(1.1, 0.08)},
		},
		"",
	)
	if len(c.found) != 1 || !strings.Contains(c.found[0].msg, "more than 1 m from the point") {
		t.Errorf("%+v", c.found)
	}
}
