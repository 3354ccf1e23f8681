// Package figure describes the numbers of a solution: a catalogue of figures with key, title, unit, range and
// derivation.
//
// In: a lamp, its engine.System and a Solution.
// Out: a Result, plain data that marshals and unmarshals to itself; an Evaluation that keeps the numbers behind it.
// Assumes: a steady lamp at full level.
// Leaves to others: judgement (review), further questions (study), pictures and tables (draw, report, cli, web).
package figure

import (
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Figure is a computed quantity with its range and its derivation.
type Figure struct {
	Key   string         `json:"key"`   // such as "white.junction"
	Title string         `json:"title"` // for people
	Value float64        `json:"value"` // SI
	Lo    float64        `json:"p10"`   // 10 % of lamps built from these parts lie below, by the tolerances given
	Hi    float64        `json:"p90"`   // 10 % lie above; equal to Lo and Value where nothing varies
	Dim   quantity.Dim   `json:"kind"`
	Case  engine.CaseKey `json:"case,omitempty"` // the case that it belongs to; empty where it holds in every one
	Basis Basis          `json:"basis"`
	// Decimals is the fixed number of decimals in print; nil where digits follow the value.
	Decimals *int `json:"decimals,omitempty"`
	// Ends says that Lo and Hi are the limits of datasheet or usual values, and not P10 and P90.
	Ends bool `json:"ends,omitempty"`
	// Duv is the distance from the Planckian locus that is printed beside a CCT; nil for other figures.
	Duv *float64 `json:"duv,omitempty"`
	// Withheld says why there is no number: the lamp does not settle in the case that the figure is of. Value is then
	// 0.
	Withheld string `json:"withheld,omitempty"`
}

// Basis is how a figure came about.
type Basis struct {
	Formula string   `json:"formula"` // in symbols
	Numbers string   `json:"numbers"` // the same with numbers put in
	Inputs  []Input  `json:"inputs"`
	Method  string   `json:"method"` // key in docs/sources.md, and where in it
	Valid   string   `json:"valid"`  // range in which the method holds
	Notes   []string `json:"notes,omitempty"`
}

// Input is one number that went into a figure.
type Input struct {
	Name   string     `json:"name"`
	Value  string     `json:"value"`
	Source string     `json:"source"`           // the datasheet and page, "the design", "assumed: …" or "computed"
	Figure string     `json:"figure,omitempty"` // key of the figure it is, where it is one
	At     source.Pos `json:"at"`               // where it stands in the files, where it does
}

// Text prints the figure's value with the digits that its range supports.
func (f Figure) Text() string {
	if f.Withheld != "" {
		return "withheld"
	}
	value, _ := f.Rounded()
	return f.beside(value)
}

// PlainText prints the figure's value with the digits of its dimension, whether it has a range or not.
func (f Figure) PlainText() string {
	f.Lo, f.Hi = f.Value, f.Value
	return f.Text()
}

// beside adds to a text of the value what belongs beside it: Duv to a CCT.
func (f Figure) beside(value string) string {
	if f.Duv == nil {
		return value
	}
	return value + ", Duv " + quantity.Signed(*f.Duv, duvDecimals)
}

// RangeText prints the range: two values, one where they read alike, or nothing where nothing varies.
func (f Figure) RangeText() string {
	_, spread := f.Rounded()
	return spread
}

// Rounded returns the value and the range with the digits that the range supports; the range is empty where nothing
// varies.
func (f Figure) Rounded() (value, spread string) {
	if f.Decimals == nil {
		return quantity.FormatRange(f.Value, f.Lo, f.Hi, f.Dim)
	}
	fixed := func(v float64) string { return quantity.FormatIn(v, f.Dim, "", *f.Decimals) }
	lo, hi := fixed(f.Lo), fixed(f.Hi)
	switch {
	case f.Lo == f.Hi:
		return fixed(f.Value), ""
	case lo == hi:
		return fixed(f.Value), lo
	}
	return fixed(f.Value), lo + " to " + hi
}

// RangeOf names the kind of range.
func (f Figure) RangeOf() string {
	if f.Ends {
		return "min–max of datasheet or usual values"
	}
	return "P10–P90"
}

// Assumption is a lamp.Assumption with the effect of its usual range on the figure that it affects most.
type Assumption struct {
	Key     string       `json:"key"`
	What    string       `json:"what"`
	Used    float64      `json:"used"`
	Lo      float64      `json:"lo"`
	Hi      float64      `json:"hi"`
	Dim     quantity.Dim `json:"kind"`
	Why     string       `json:"why"`
	Fix     string       `json:"fix"`
	Affects string       `json:"affects"` // key of that figure
	AtLo    float64      `json:"figure_at_lo"`
	AtHi    float64      `json:"figure_at_hi"`
	At      source.Pos   `json:"at"`
	Param   string       `json:"param"` // the parameter that it moves
}

// Result is the whole lamp, computed.
type Result struct {
	Name               string           `json:"name"`
	HasFictitiousParts bool             `json:"fictitious_parts"` // some part is made up
	Figures            []Figure         `json:"figures"`
	Channels           []ChannelView    `json:"channels"`
	Emitters           []EmitterView    `json:"emitters"`
	Cases              []CaseView       `json:"cases"`
	Board              BoardView        `json:"board"`
	BoardHeat          HeatMap          `json:"board_heat"` // usual day
	Stack              []LayerView      `json:"stack"`      // down through the hottest emitter, usual day
	Installation       InstallationView `json:"installation"`
	Surface            *Map             `json:"surface,omitempty"` // on the water; nil where there is none
	Target             *Map             `json:"target"`            // on the substrate or the bench
	Spectrum           SpectrumView     `json:"spectrum"`
	ColourPreview      ColourPreview    `json:"colour_preview"`
	EnergyFlows        []EnergyFlow     `json:"energy_flows"`
	BOM                []BOMLine        `json:"bom"`
	Assumptions        []Assumption     `json:"assumptions"`
	Colour             colour.XY        `json:"colour"` // chromaticity of the whole lamp
	Notes              []string         `json:"notes"`  // where a method or a curve was left
	// NotSampled lists what varies between lamps and is in no range; none where nothing was sampled.
	NotSampled []string `json:"not_sampled,omitempty"`
	// Calibration states the parameters that were learned from readings; nil for the lamp as its datasheets state it.
	Calibration *Calibration `json:"calibration,omitempty"`
}

// Evaluation is a lamp with all that was computed of it: its Result as plain data, and the numbers from which questions
// are answered without solving the slow parts again.
type Evaluation struct {
	*Result
	Lamp *lamp.Lamp `json:"-"`

	Sys     *engine.System  `json:"-"`
	Base    lamp.Params     `json:"-"`
	Sol     engine.Solution `json:"-"` // of the lamp as its sheets state it
	Day     *Day            `json:"-"` // nil where the design states no programme
	Preview bool            `json:"-"` // as in Options

	rows          []row
	replaced      *replacedLamp    // nil where the design names none
	beneathLenses engine.LensBoard // nil before its first use
}

// Figure returns the figure of that key.
func (r *Result) Figure(key string) (Figure, bool) {
	i := slices.IndexFunc(r.Figures, func(f Figure) bool { return f.Key == key })
	if i < 0 {
		return Figure{}, false
	}
	return r.Figures[i], true
}

// Value returns a figure that must exist; a wrong key is a mistake of ours.
func (r *Result) Value(key string) float64 {
	f, ok := r.Figure(key)
	if !ok {
		panic("figure: no figure " + key)
	}
	return f.Value
}

// Keys returns every key, in the order of the figures.
func (r *Result) Keys() []string {
	keys := make([]string, len(r.Figures))
	for i, f := range r.Figures {
		keys[i] = f.Key
	}
	return keys
}

func (r *Result) add(f Figure) {
	if _, twice := r.Figure(f.Key); twice {
		panic("figure: two figures with the key " + f.Key)
	}
	r.Figures = append(r.Figures, f)
}

// CaseView is the steady state of the lamp at one ambient temperature and fan state.
type CaseView struct {
	Key             engine.CaseKey `json:"key"`
	Title           string         `json:"title"` // "hottest day, fan stopped"
	RoomK           float64        `json:"room_k"`
	AirK            float64        `json:"air_k"`               // at the sink: the room, and what the canopy adds
	SinkK           float64        `json:"sink_k"`              // its base, at the roots of the fins
	NodeK           float64        `json:"node_k"`              // where the interface meets it
	HeatW           float64        `json:"heat_w"`              // of emitters and lenses
	FaceW           float64        `json:"face_w"`              // of it, what the board's faces shed by themselves
	HousingW        float64        `json:"housing_w,omitempty"` // dissipated by the housing
	HousingK        float64        `json:"housing_k,omitempty"` // its temperature; 0 without one
	SinkKW          float64        `json:"sink_k_per_w"`
	SolderK         []float64      `json:"solder_k"`               // by emitter
	DielectricK     []float64      `json:"dielectric_k,omitempty"` // hot side of the laminate beneath the middle of each pad, by emitter; none where pads sit on the core
	JunctionK       []float64      `json:"junction_k"`             // by emitter
	SensorK         float64        `json:"sensor_k,omitempty"`
	SpotK           []float64      `json:"spot_k,omitempty"` // by infrared spot of the board
	LoopGain        float64        `json:"loop_gain"`        // of the junction–heat loop; at 1 there is no steady state
	Iterations      int            `json:"iterations"`
	Runaway         bool           `json:"runaway"`
	RunawayFraction float64        `json:"runs_away"` // share of lamps drawn from the tolerances that do
	FanFailure      bool           `json:"fan_dead"`
	Notes           []string       `json:"notes,omitempty"`
}

// EmitterView is one emitter, at typical ambient.
type EmitterView struct {
	Label       string     `json:"label"` // "white 3"
	Channel     string     `json:"channel"`
	Part        string     `json:"part"`
	Lens        string     `json:"lens,omitempty"`
	XM          float64    `json:"x_m"`
	YM          float64    `json:"y_m"`
	At          [3]float64 `json:"lens_at_m"` // of its lens, from the centre of the place and its inside bottom, the lamp tilted
	Aim         [3]float64 `json:"aim"`       // direction in which it looks, in the place, of length 1
	BodyLM      float64    `json:"body_length_m"`
	BodyWM      float64    `json:"body_width_m"`
	LensM       float64    `json:"lens_diameter_m,omitempty"`
	DieA        float64    `json:"die_a"`
	VoltageV    float64    `json:"voltage_v"`
	ElectricalW float64    `json:"electrical_w"`    // mean over dimming
	RadiantW    float64    `json:"radiant_w"`       // mean over dimming, before the lens
	HeatW       float64    `json:"heat_w"`          // mean over dimming
	Notes       []string   `json:"notes,omitempty"` // where it leaves its curves
}

// ChannelView is one channel, at typical ambient.
type ChannelView struct {
	Name        string  `json:"name"`
	CurrentA    float64 `json:"current_a"`  // of the driver, when on
	StringA     float64 `json:"string_a"`   // of one string
	TypicalV    float64 `json:"typical_v"`  // warm, typical bins
	MaxV        float64 `json:"cold_v"`     // coldest start, highest bins
	MinV        float64 `json:"hot_v"`      // hottest day, lowest bins
	ElectricalW float64 `json:"electric_w"` // mean over dimming, into the emitters
	RadiantW    float64 `json:"radiant_w"`  // mean over dimming, before lenses
	LumenLm     float64 `json:"flux_lm"`    // leaving the lenses
	PPFUmolS    float64 `json:"ppf_umol_s"` // leaving the lenses, 400–700 nm
	DriverInW   float64 `json:"driver_in_w"`
	WireDropV   float64 `json:"wire_drop_v"`
	Colour      string  `json:"colour"` // an sRGB colour that stands for the channel in pictures
}

// BoardView is what a picture of the board needs.
type BoardView struct {
	Shape     string       `json:"shape"`
	LengthM   float64      `json:"length_m"` // a disc's diameter; of a polygon, its extent along x
	WidthM    float64      `json:"width_m"`
	Corners   [][2]float64 `json:"corners,omitempty"` // of a polygon, x and y
	Holes     []BoardHole  `json:"holes,omitempty"`
	ContactXM float64      `json:"contact_x_m"`
	ContactYM float64      `json:"contact_y_m"`
	ContactLM float64      `json:"contact_length_m"`
	ContactWM float64      `json:"contact_width_m"`
	SensorXM  float64      `json:"sensor_x_m,omitempty"`
	SensorYM  float64      `json:"sensor_y_m,omitempty"`
	HasSensor bool         `json:"has_sensor"`
	Spots     []BoardSpot  `json:"spots,omitempty"` // infrared spots
}

// BoardSpot is a disc of the board at which an infrared thermometer looks.
type BoardSpot struct {
	Name      string  `json:"name"`
	XM        float64 `json:"x_m"` // its centre
	YM        float64 `json:"y_m"`
	DiameterM float64 `json:"diameter_m"`
	Stated    bool    `json:"stated"` // by the design
}

// BoardHole is a hole through the board: round where it has a diameter, and a rectangle otherwise.
type BoardHole struct {
	XM        float64 `json:"x_m"` // its centre
	YM        float64 `json:"y_m"`
	DiameterM float64 `json:"diameter_m,omitempty"`
	LengthM   float64 `json:"length_m,omitempty"` // along x
	WidthM    float64 `json:"width_m,omitempty"`
}

// HeatMap is the temperature of the board's top, cell by cell.
type HeatMap struct {
	X0M   float64   `json:"x0_m"` // centre of the first cell, from the centre of the board
	Y0M   float64   `json:"y0_m"`
	StepM float64   `json:"step_m"`
	NX    int       `json:"nx"`
	NY    int       `json:"ny"`
	TempK []float64 `json:"temp_k"` // [ny][nx], x fastest; 0 off the board
}

// LayerView is one temperature drop from a junction to the air.
type LayerView struct {
	Name  string  `json:"name"`
	HotK  float64 `json:"hot_k"`  // temperature on the side of the junction
	ColdK float64 `json:"cold_k"` // and on the side of the room
}

// InstallationView is what a picture of the installation needs.
type InstallationView struct {
	Kind       string  `json:"kind"`
	LengthM    float64 `json:"length_m"`
	WidthM     float64 `json:"width_m"`
	HeightM    float64 `json:"height_m"`
	WaterM     float64 `json:"water_m"`
	SubstrateM float64 `json:"substrate_m"`
	HangingM   float64 `json:"hanging_m"`
	TiltRad    float64 `json:"lamp_tilt_rad"`    // away from straight down, about the centre of the board
	TowardsRad float64 `json:"lamp_towards_rad"` // from x towards y
}

// Map is light on a level plane, cell by cell.
type Map struct {
	Title   string    `json:"title"`
	LengthM float64   `json:"length_m"` // along x
	WidthM  float64   `json:"width_m"`  // along y
	NX      int       `json:"nx"`
	NY      int       `json:"ny"`
	PPFD    []float64 `json:"ppfd"` // [ny][nx], x fastest, µmol/m²/s
	Lux     []float64 `json:"lux"`  // [ny][nx], x fastest, lx
}

// SpectrumView is the light of the lamp over wavelength.
type SpectrumView struct {
	LambdaNM []float64   `json:"lambda_nm"`
	Channels [][]float64 `json:"channels"` // [channel][wavelength], W/nm, leaving the lenses
	Target   []float64   `json:"target"`   // mean at the target, W/m²/nm
}

// EnergyFlow is power from one node to the next.
type EnergyFlow struct {
	From  string  `json:"from"`
	To    string  `json:"to"`
	Watts float64 `json:"watts"`
	Loss  bool    `json:"loss"` // it does not go on from there
}

// BOMLine is one line of the bill of materials.
type BOMLine struct {
	Part       string  `json:"part"`
	What       string  `json:"what"`
	Count      int     `json:"count"`
	Each       float64 `json:"each_eur"`
	Total      float64 `json:"total_eur"`
	Priced     bool    `json:"priced"`
	Note       string  `json:"note,omitempty"`
	Fictitious bool    `json:"fictitious,omitempty"`
}
