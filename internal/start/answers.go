package start

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/quantity"
)

// Kind is a kind of place.
type Kind string

// Kinds of places.
const (
	Tank      Kind = "tank"      // planted, with water
	Terrarium Kind = "terrarium" // glass, without water
	Bench     Kind = "bench"     // an open surface
)

// Form is the answers as a person writes them, each with its unit. An empty answer is the proposal for it.
type Form struct {
	Kind           string `json:"kind"`
	Length         string `json:"length"`
	Width          string `json:"width"`
	Height         string `json:"height"`
	WaterDepth     string `json:"water_depth"`
	SubstrateDepth string `json:"substrate_depth"`
	Plants         string `json:"plants"` // key of a proposal
	PPFDMin        string `json:"ppfd_min"`
	PPFDMax        string `json:"ppfd_max"`
	FullLevelTime  string `json:"full_level_time"`
	CCT            string `json:"cct"`
	Ra             string `json:"ra"`
	AmbientTypical string `json:"ambient_typical"`
	AmbientMax     string `json:"ambient_max"`
	Budget         string `json:"budget"`
	Cooling        string `json:"cooling"` // silent, or fan where it helps
	Name           string `json:"name"`
}

// FieldError is what is wrong with one answer.
type FieldError struct {
	Field string `json:"field"` // as in Form
	Error string `json:"error"`
}

// Answers are what a lamp is designed for, in SI units.
type Answers struct {
	Kind                                         Kind
	LengthM, WidthM, HeightM, WaterM, SubstrateM float64 // inside; height 0 for a bench
	Plants                                       Plants
	Own                                          bool    // PPFD or time differ from those of Plants
	PPFDMin, PPFDMax                             float64 // [µmol/m²/s]
	FullS                                        float64 // time at full level [s]
	CCTK, Ra                                     float64
	AmbientK, AmbientMaxK                        float64
	BudgetEUR                                    float64
	Fan                                          bool
	Name                                         string
}

// limits of answers: what a built-in lamp can sensibly be for. They are choices of this program.
const (
	minSideM, maxSideM = 0.1, 3
	maxDeepM           = 1.2
	// rampS is the length of sunrise and of sunset; common practice, no source.
	rampS = 3600
	// newOverOld is about the light of a new lamp over that at the end of five years; common practice, no source.
	newOverOld = 1.3
)

// reader reads the fields of a form, and collects what is wrong with them.
type reader struct {
	wrong []FieldError
	bad   map[string]bool
}

func (x *reader) fail(field, format string, args ...any) {
	if !x.bad[field] {
		x.bad[field] = true
		x.wrong = append(x.wrong, FieldError{field, fmt.Sprintf(format, args...)})
	}
}

// number reads a quantity between limits; of an empty text it returns the proposal.
func (x *reader) number(field, text string, dim quantity.Dim, proposal, lo, hi float64) float64 {
	text = strings.TrimSpace(text)
	if text == "" {
		return proposal
	}
	v, err := quantity.ParseUnambiguous(text, dim)
	switch {
	case err != nil:
		x.fail(field, "%s", err)
	case v < lo || v > hi:
		x.fail(field, "%s is outside %s to %s", quantity.Format(v, dim), quantity.Format(lo, dim),
			quantity.Format(hi, dim))
	default:
		return v
	}
	return proposal
}

// Read reads a form. Its errors are one per field; the answers are complete where there is none.
func Read(f Form) (Answers, []FieldError) {
	x := &reader{bad: map[string]bool{}}
	a := Answers{Kind: Kind(f.Kind), Name: strings.TrimSpace(f.Name)}
	switch a.Kind {
	case Tank, Terrarium, Bench:
	case "":
		a.Kind = Tank
	default:
		x.fail("kind", "%q is no kind of place; choose tank, terrarium or bench", f.Kind)
		a.Kind = Tank
	}
	x.place(&a, f)
	x.plants(&a, f)
	a.CCTK = x.number("cct", f.CCT, quantity.CCT, a.Plants.CCTK, 2200, 10000)
	a.Ra = x.number("ra", f.Ra, quantity.None, 80, 1, 98)
	a.AmbientK = x.number("ambient_typical", f.AmbientTypical, quantity.Temperature, 296.15, 273.15, 318.15)
	a.AmbientMaxK = x.number("ambient_max", f.AmbientMax, quantity.Temperature, a.AmbientK+8, 273.15, 323.15)
	if a.AmbientMaxK < a.AmbientK {
		x.fail("ambient_max", "maximum ambient temperature %s is below the typical one, %s",
			quantity.Format(a.AmbientMaxK, quantity.Temperature), quantity.Format(a.AmbientK, quantity.Temperature))
	}
	a.BudgetEUR = x.number("budget", f.Budget, quantity.Money, 0, 1, 100000)
	switch f.Cooling {
	case "", "silent":
	case "fan":
		a.Fan = true
	default:
		x.fail("cooling", "%q is no kind of cooling; choose silent or fan", f.Cooling)
	}
	if a.Name == "" {
		a.Name = fmt.Sprintf("%s %g × %g cm", titles[a.Kind], centimetres(a.LengthM), centimetres(a.WidthM))
	}
	odd := func(r rune) bool { return r < ' ' || r == '"' || r == '\\' }
	if len(a.Name) > quantity.MaxLen || strings.ContainsFunc(a.Name, odd) {
		x.fail("name", "a name is at most %d bytes, without quotation marks and control characters", quantity.MaxLen)
	}
	return a, x.wrong
}

var titles = map[Kind]string{Tank: "Planted tank", Terrarium: "Terrarium", Bench: "Propagation bench"}

func centimetres(m float64) float64 { return math.Round(1e4*m) / 100 }

// place reads the sizes.
func (x *reader) place(a *Answers, f Form) {
	size := func(field, text string, proposal, lo, hi float64) float64 {
		return x.number(field, text, quantity.Length, proposal, lo, hi)
	}
	a.LengthM = size("length", f.Length, 0.7, minSideM, maxSideM)
	a.WidthM = size("width", f.Width, 0.3, minSideM, maxSideM)
	if a.WidthM > a.LengthM && !x.bad["width"] && !x.bad["length"] {
		x.fail("width", "width %s exceeds length %s; enter the longer side as length",
			quantity.Format(a.WidthM, quantity.Length), quantity.Format(a.LengthM, quantity.Length))
	}
	if a.Kind == Bench {
		return
	}
	a.HeightM = size("height", f.Height, 0.4, 0.1, maxDeepM)
	if a.Kind == Tank {
		a.WaterM = size("water_depth", f.WaterDepth, math.Round(90*a.HeightM)/100, 0.03, maxDeepM)
		if a.WaterM >= a.HeightM {
			x.fail("water_depth", "water depth %s is not below the height of the tank, %s",
				quantity.Format(a.WaterM, quantity.Length), quantity.Format(a.HeightM, quantity.Length))
		}
	}
	a.SubstrateM = size("substrate_depth", f.SubstrateDepth, 0.05, 0, 0.5)
	top, what := a.HeightM, "the height of the terrarium"
	if a.Kind == Tank {
		top, what = a.WaterM, "the water depth"
	}
	if a.SubstrateM >= top {
		x.fail("substrate_depth", "substrate depth %s is not below %s, %s",
			quantity.Format(a.SubstrateM, quantity.Length), what, quantity.Format(top, quantity.Length))
	}
}

// plants reads what grows there, and for how long.
func (x *reader) plants(a *Answers, f Form) {
	p, ok := proposalFor(f.Plants, a.Kind)
	if !ok {
		var keys []string
		for _, q := range Proposals() {
			if _, of := proposalFor(q.Key, a.Kind); of {
				keys = append(keys, q.Key)
			}
		}
		x.fail("plants", "%q is no class of plants for a %s; choose one of %s", f.Plants, a.Kind,
			strings.Join(keys, ", "))
		p, _ = proposalFor("", a.Kind)
	}
	a.Plants = p
	a.PPFDMin = x.number("ppfd_min", f.PPFDMin, quantity.PPFD, p.PPFDMin, 5, 1000)
	a.PPFDMax = x.number("ppfd_max", f.PPFDMax, quantity.PPFD, p.PPFDMax, 5, 1500)
	if a.PPFDMax < 1.1*a.PPFDMin {
		x.fail("ppfd_max", "maximum PPFD %s is not 10 %% above the minimum, %s",
			quantity.Format(a.PPFDMax, quantity.PPFD), quantity.Format(a.PPFDMin, quantity.PPFD))
	}
	a.FullS = x.number("full_level_time", f.FullLevelTime, quantity.Time, p.FullS, 1800, 22*3600)
	a.Own = a.PPFDMin != p.PPFDMin || a.PPFDMax != p.PPFDMax || a.FullS != p.FullS
}

// PPFD returns the value that the lamp is designed for [µmol/m²/s]: the middle of the band, or more, so that the light
// is within it until the end of the service life.
func (a *Answers) PPFD() float64 {
	return math.Min(math.Max((a.PPFDMin+a.PPFDMax)/2, a.PPFDMin*newOverOld), 0.94*a.PPFDMax)
}

// DLI returns what a PPFD comes to in a day [mol/m²/d], where straight ramps count half.
func (a *Answers) DLI(ppfd float64) float64 { return ppfd * (a.FullS + rampS) * 1e-6 }

// Filled returns answers as a form, with the proposals in place of empty answers.
func Filled(a Answers) Form {
	text := func(v float64, d quantity.Dim, unit string) string {
		return fmt.Sprintf("%g %s", math.Round(100*quantity.In(v, d, unit))/100, unit)
	}
	size := func(m float64) string { return text(m, quantity.Length, "mm") }
	f := Form{
		Kind: string(a.Kind), Length: size(a.LengthM), Width: size(a.WidthM), Plants: a.Plants.Key, Name: a.Name,
		PPFDMin:       text(a.PPFDMin, quantity.PPFD, "µmol/m²/s"),
		PPFDMax:       text(a.PPFDMax, quantity.PPFD, "µmol/m²/s"),
		FullLevelTime: text(a.FullS, quantity.Time, "h"),
		CCT:           fmt.Sprintf("%g K", a.CCTK), Ra: fmt.Sprintf("%g", a.Ra),
		AmbientTypical: text(a.AmbientK, quantity.Temperature, "°C"),
		AmbientMax:     text(a.AmbientMaxK, quantity.Temperature, "°C"), Cooling: "silent",
	}
	if a.Kind != Bench {
		f.Height, f.SubstrateDepth = size(a.HeightM), size(a.SubstrateM)
	}
	if a.Kind == Tank {
		f.WaterDepth = size(a.WaterM)
	}
	if a.BudgetEUR > 0 {
		f.Budget = text(a.BudgetEUR, quantity.Money, "EUR")
	}
	if a.Fan {
		f.Cooling = "fan"
	}
	return f
}
