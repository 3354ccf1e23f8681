package casefile

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/benchlamp"
	"lampwright/internal/estimate"
)

// benchGuide describes campaigns of readings of the stated test lamp.
const benchGuide = "docs/cases-bench.md"

// benchModelName is the word of a campaign's "model".
const benchModelName = "BL1"

// Limits of a campaign.
const (
	maxBenchChannels   = 20
	maxBenchParameters = 120
	maxBenchReadings   = 2000 // with the points of series
	maxBenchOthers     = 200  // hypotheses, candidates
)

// ignored is a key that describes a value and changes nothing.
type ignored struct{}

func (*ignored) decode(*decoder, *node, string) {}

// benchCase is a campaign of readings of the stated test lamp.
type benchCase struct {
	ID          string            `json:"id"`
	Model       string            `json:"model"`
	Source      string            `json:"source"`
	Lamp        benchLamp         `json:"lamp"`
	Parameters  []benchParameter  `json:"parameters"`
	Modes       benchModes        `json:"modes"`
	Readings    []benchReading    `json:"readings"`
	Hypotheses  []benchHypothesis `json:"hypotheses"`
	FiguresMode string            `json:"figures_mode"`
	Candidates  []benchReading    `json:"candidates"`
	Likelihood  benchLikelihood   `json:"likelihood"`
	Figure      benchFigure       `json:"figure"`
	Date        ignored           `json:"date"`
	Version     ignored           `json:"version"`
}

// rename lists other names of the figure of the next reading.
func (benchCase) rename() map[string]string {
	return map[string]string{
		"best_next": "figure", "best_next_figure": "figure", "next_figure": "figure", "target_figure": "figure",
		"noise": "likelihood",
	}
}

// benchLamp is the stated lamp.
type benchLamp struct {
	SinkAirKPerW float64        `json:"R_sink_air_K_per_W"`
	StandbyW     float64        `json:"standby_W"`
	NTCBetaK     float64        `json:"ntc_B_K"`
	NTCR25Ohm    float64        `json:"ntc_R25_ohm"`
	BoardJPerK   float64        `json:"C_board_J_per_K"`
	SinkJPerK    float64        `json:"C_sink_J_per_K"`
	Channels     []benchChannel `json:"channels"`
}

func (benchLamp) rename() map[string]string {
	return map[string]string{
		"C_board": "C_board_J_per_K", "C_sink": "C_sink_J_per_K", "Cb_J_per_K": "C_board_J_per_K",
		"Cs_J_per_K": "C_sink_J_per_K",
	}
}

// benchChannel is a string of emitters with its driver.
type benchChannel struct {
	Name            string  `json:"name"`
	Emitters        float64 `json:"n"`
	CurrentA        float64 `json:"I_A"`
	RatedA          float64 `json:"I0_A"`
	VoltageV        float64 `json:"Vf0_V"`
	SlopeOhm        float64 `json:"Rd_ohm"`
	VoltageVPerK    float64 `json:"kV_V_per_K"`
	FluxLm          float64 `json:"flux0_lm"`
	FluxPerK        float64 `json:"kF_per_K"`
	EfficacyLmPerW  float64 `json:"K_lm_per_W"`
	JunctionKPerW   float64 `json:"R_js_K_per_W"`
	DielectricKPerW float64 `json:"R_dielectric_K_per_W"`
}

// benchParameter is a parameter with its prior.
type benchParameter struct {
	Name    string  `json:"name"`
	Prior   string  `json:"prior"`
	Mean    float64 `json:"mean"`
	SD      float64 `json:"sd"`
	Median  float64 `json:"median"`
	SigmaLn float64 `json:"sigma_ln"`
	Unit    string  `json:"unit"`
	Why     ignored `json:"why"`
	Source  ignored `json:"source"`
}

// benchModes are the states of the lamp by name.
type benchModes map[string]benchMode

type benchMode struct {
	RoomC float64   `json:"T_room_C"`
	On    []string  `json:"on"`
	Duty  benchDuty `json:"duty"`
}

func (m *benchModes) decode(d *decoder, n *node, path string) {
	if n.kind != object {
		d.problem(n.at, "%s is a JSON %s; it takes an object of modes by name", path, n.kind)
		return
	}
	*m = benchModes{}
	for _, one := range n.members {
		mode := benchMode{RoomC: 25}
		d.fill(one.value, &mode, path+"."+one.key)
		(*m)[one.key] = mode
	}
}

// benchDuty is the duty of drivers by name, or of all.
type benchDuty map[string]float64

// everyDriver is the name of the duty of all drivers.
const everyDriver = ""

func (b *benchDuty) decode(d *decoder, n *node, path string) {
	*b = benchDuty{}
	members := n.members
	if n.kind == number {
		members = []member{{everyDriver, n.at, n}}
	} else if n.kind != object {
		d.problem(n.at, "%s is a JSON %s; it takes an object of duties by driver", path, n.kind)
	}
	for _, one := range members {
		duty := 0.0
		d.fill(one.value, &duty, path+"."+one.key)
		if !(duty >= 0 && duty <= 1) {
			d.problem(one.value.at, "%s.%s is %g; required 0 to 1", path, one.key, duty)
		}
		(*b)[one.key] = duty
	}
}

// benchReading is a reading, or one that could be taken.
type benchReading struct {
	ID            string      `json:"id"`
	Kind          string      `json:"kind"`
	U             float64     `json:"u"`
	Channel       string      `json:"channel"`
	Mode          string      `json:"mode"`
	DistanceM     float64     `json:"distance_m"`
	EmissivitySet *float64    `json:"emissivity_set"`
	ReflectedC    *float64    `json:"T_reflected_C"`
	BathC         *float64    `json:"T_bath_C"`
	Value         *float64    `json:"value"`
	Series        benchSeries `json:"series"`
	Times         []float64   `json:"t_s"`
	Time          *float64    `json:"time_s"`
	Unit          ignored     `json:"unit"`
	Instrument    ignored     `json:"instrument"`
	Minutes       ignored     `json:"minutes"`
	Place         ignored     `json:"place"`
	Digits        ignored     `json:"digits"`
	Resolution    ignored     `json:"resolution"`
}

func (benchReading) rename() map[string]string {
	return map[string]string{"times_s": "t_s", "values": "series", "name": "id", "T_refl_C": "T_reflected_C"}
}

// benchSeries is a list of values over time: [time, value], {"t_s": …, "value": …}, or values alone beside t_s.
type benchSeries []benchPoint

type benchPoint struct{ timeS, value float64 }

// benchInstant is a point of a series as an object.
type benchInstant struct {
	TimeS float64 `json:"t_s"`
	Value float64 `json:"value"`
}

func (benchInstant) rename() map[string]string {
	return map[string]string{"time_s": "t_s", "t": "t_s", "T_C": "value", "T_sink_C": "value"}
}

func (s *benchSeries) decode(d *decoder, n *node, path string) {
	if n.kind == object { // two lists
		var lists struct {
			Times  []float64 `json:"t_s"`
			Values []float64 `json:"value"`
		}
		own := *n
		own.members = slices.Clone(n.members)
		for i, m := range own.members {
			if to, ok := (benchInstant{}).rename()[m.key]; ok {
				own.members[i].key = to
			} else if m.key == "values" {
				own.members[i].key = "value"
			}
		}
		d.fill(&own, &lists, path)
		if len(lists.Times) != len(lists.Values) {
			d.problem(n.at, "%s has %d times and %d values", path, len(lists.Times), len(lists.Values))
			return
		}
		for i, t := range lists.Times {
			*s = append(*s, benchPoint{t, lists.Values[i]})
		}
		return
	}
	if n.kind != list {
		d.problem(n.at, "%s is a JSON %s; it takes a list of [time, value]", path, n.kind)
		return
	}
	for i, item := range n.items {
		var p benchPoint
		where := fmt.Sprintf("%s[%d]", path, i)
		switch item.kind {
		case list:
			var both [2]float64
			d.fill(item, &both, where)
			p = benchPoint{both[0], both[1]}
		case object:
			var one benchInstant
			d.fill(item, &one, where)
			p = benchPoint{one.TimeS, one.Value}
		default:
			p.timeS = -1 // from t_s
			d.fill(item, &p.value, where)
		}
		*s = append(*s, p)
	}
}

// benchHypothesis is a fault that could explain the readings.
type benchHypothesis struct {
	Code        string       `json:"code"`
	Kind        string       `json:"kind"`
	Channel     string       `json:"channel"`
	Channels    []string     `json:"channels"`
	FactorPrior *benchFactor `json:"factor_prior"`
	Factor      *float64     `json:"factor"`
	Reading     string       `json:"reading"`
	Exponent    *float64     `json:"exponent"`
	BetaK       *float64     `json:"B_K"`
	Parameter   string       `json:"parameter"`
}

func (benchHypothesis) rename() map[string]string {
	return map[string]string{
		"ntc_B_K": "B_K", "beta_K": "B_K", "B": "B_K", "beta": "B_K",
		"power": "exponent", "decade": "exponent", "id": "code",
		"reading_id": "reading", "name": "code",
	}
}

// benchFactor is the lognormal prior of a factor: [median, sigma_ln] or an object.
type benchFactor struct {
	Median  float64 `json:"median"`
	SigmaLn float64 `json:"sigma_ln"`
}

func (f *benchFactor) decode(d *decoder, n *node, path string) {
	if n.kind != list {
		type plain benchFactor
		d.fill(n, (*plain)(f), path)
		return
	}
	var both [2]float64
	d.fill(n, &both, path)
	*f = benchFactor{both[0], both[1]}
}

// benchLikelihood is the distribution of the own errors of readings.
type benchLikelihood struct {
	Kind string   `json:"kind"`
	Nu   *float64 `json:"nu"`
	K    float64  `json:"k"`
}

func (l *benchLikelihood) decode(d *decoder, n *node, path string) {
	if n.kind == text {
		l.Kind = n.scalar.(string)
		return
	}
	type plain benchLikelihood
	d.fill(n, (*plain)(l), path)
}

// noise returns the likelihood of a campaign.
func (l benchLikelihood) noise() (estimate.Noise, error) {
	switch strings.ToLower(l.Kind) {
	case "", "normal", "gaussian":
		return estimate.Noise{}, nil
	case "student_t", "student", "t":
		n := estimate.Noise{Kind: estimate.StudentT, Nu: 4}
		if l.Nu != nil {
			n.Nu = *l.Nu
		}
		if !(n.Nu > 0) {
			return n, at("likelihood.nu", fmt.Errorf("nu is %g; required above 0", n.Nu))
		}
		return n, nil
	case "huber":
		return estimate.Noise{Kind: estimate.Huber, K: max(0, l.K)}, nil
	}
	return estimate.Noise{}, at("likelihood.kind", fmt.Errorf("likelihood %q is not known; "+
		"use normal, student_t, huber", l.Kind))
}

// benchFigure is the figure that the next reading is to tell.
type benchFigure struct {
	Figure string `json:"figure"`
}

func (f *benchFigure) decode(d *decoder, n *node, path string) {
	if n.kind == text {
		f.Figure = n.scalar.(string)
		return
	}
	type plain benchFigure
	d.fill(n, (*plain)(f), path)
}

// decodeBench reads a campaign strictly.
func decodeBench(d document, n *node) (*benchCase, error) {
	var c benchCase
	own := *n
	own.members = slices.DeleteFunc(slices.Clone(n.members), func(m member) bool {
		return m.key == "expected" || m.key == "tolerance"
	})
	dec := decoder{document: d, guide: benchGuide}
	dec.fill(&own, &c, "")
	if err := dec.err(); err != nil {
		return nil, err
	}
	if err := c.check(); err != nil {
		return nil, d.placed(n, err)
	}
	return &c, nil
}

// check returns what is impossible in a campaign.
func (c *benchCase) check() error {
	points := len(c.Readings)
	for _, r := range c.Readings {
		points += len(r.Series)
	}
	for _, l := range []struct {
		path      string
		count, to int
	}{
		{"lamp.channels", len(c.Lamp.Channels), maxBenchChannels},
		{"parameters", len(c.Parameters), maxBenchParameters},
		{"readings", points, maxBenchReadings},
		{"hypotheses", len(c.Hypotheses), maxBenchOthers},
		{"candidates", len(c.Candidates), maxBenchOthers},
		{"modes", len(c.Modes), maxBenchOthers},
	} {
		if l.count > l.to {
			return at(l.path, fmt.Errorf("%s lists %d; at most %d are computed", l.path, l.count, l.to))
		}
	}
	if len(c.Lamp.Channels) == 0 {
		return at("lamp", errors.New("a campaign needs a lamp with channels"))
	}
	for i, ch := range c.Lamp.Channels {
		path := fmt.Sprintf("lamp.channels[%d]", i)
		for _, v := range []struct {
			key   string
			value float64
		}{{"n", ch.Emitters}, {"I_A", ch.CurrentA}, {"I0_A", ch.RatedA}, {"K_lm_per_W", ch.EfficacyLmPerW}} {
			if !(v.value > 0) {
				return at(path+"."+v.key, fmt.Errorf("%s of channel %q is %g; required above 0", v.key, ch.Name,
					v.value))
			}
		}
	}
	if len(c.Parameters) == 0 {
		return at("parameters", errors.New("a campaign needs parameters that are estimated"))
	}
	return nil
}

// lamp returns the stated lamp.
func (c *benchCase) lamp() *benchlamp.Lamp {
	l := &benchlamp.Lamp{
		SinkAirKPerW: c.Lamp.SinkAirKPerW, StandbyW: c.Lamp.StandbyW, NTCBetaK: c.Lamp.NTCBetaK,
		NTCR25Ohm: c.Lamp.NTCR25Ohm, BoardJPerK: c.Lamp.BoardJPerK, SinkJPerK: c.Lamp.SinkJPerK,
	}
	for _, ch := range c.Lamp.Channels {
		l.Channels = append(l.Channels, benchlamp.Channel(ch))
	}
	return l
}
