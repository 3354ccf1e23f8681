package figure

import (
	"fmt"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// replacedLamp is the lamp being replaced, solved.
type replacedLamp struct {
	light  *colour.ReplacedLight
	tube   *engine.TubeLight // nil where the design does not state where the tubes hang
	onH    float64           // time on per day; 0 where nothing states it
	tariff float64           // mean price of the energy while it is on [EUR/kWh]; 0 where none is stated
}

// replacedLight computes the light of the lamp being replaced; it returns nil where the design names none.
func (r *Evaluation) replacedLight() *replacedLamp {
	use := r.Lamp.Design.ReplacedLamp
	if use == nil {
		return nil
	}
	o, err := colour.ReplacedLamp{
		Count: use.Count.N, LuminousLm: use.Flux.SI, PowerW: use.Power.SI, CCTK: use.CCT.SI,
		Family: colour.Family(use.LampType.S), AgeH: use.OperatingTime.SI / 3600,
	}.Light()
	if err != nil {
		r.Notes = append(r.Notes, err.Error())
		return nil
	}
	return &replacedLamp{light: &o}
}

// bareTubes is the condition of the light of the lamp being replaced.
const bareTubes = "bare tubes, all directions: a reflector hood directs 60 % to 85 % of it down (rule of thumb, no " +
	"source); " +
	"lens losses of this lamp are already included"

// replacedWriter writes the figures of the lamp being replaced.
type replacedWriter struct {
	*writer
	*replacedLamp
	use    *project.ReplacedLamp
	design *project.Design
	l      *lamp.Lamp
	name   string
	count  int
}

// replacedFigures writes the figures of the lamp being replaced, and the ratios to it.
func (r *Evaluation) replacedFigures(base *writer) {
	if r.replaced == nil {
		return
	}
	design := r.Lamp.Design
	use := design.ReplacedLamp
	w := &replacedWriter{
		writer: base, replacedLamp: r.replaced, use: use, design: design, l: r.Lamp, name: "the replaced lamp",
		count: max(use.Count.N, 1),
	}
	if use.Name.Set {
		w.name = use.Name.S
	}
	w.maintenance()
	w.flux()
	w.ppf()
	w.power()
	w.ratios()
	w.tubes()
	w.daily()
	w.years(r)
}

func (w *replacedWriter) countInput() Input {
	return Input{Name: "n", Value: fmt.Sprint(w.count), Source: theDesign, At: w.use.Count.At}
}

func (w *replacedWriter) maintenance() {
	const key = "replaced.lumen-maintenance"
	w.row(key, "Lumen maintenance of "+w.name, quantity.Ratio, once(w.light.Kept), func() Basis {
		age := Input{
			Name: "operating time", Value: fmt.Sprintf("%.0f h", w.use.OperatingTime.SI/3600),
			Source: theDesign, At: w.use.OperatingTime.At,
		}
		formula := "1 − 0.05 (1 − exp(−t / 2500 h)) / (1 − exp(−3.2))"
		method := "Akashi2002: 95 % after 8000 h; most of the loss is early (rule of thumb, no source)"
		if lampType := colour.Family(w.use.LampType.S); lampType != "" && lampType != colour.Triphosphor {
			formula = "linear between the rows of a table by lamp type"
			method = "CIE97 cited from memory for halophosphate and metal halide; others rule of thumb (no source)"
		}
		return Basis{
			Formula: formula,
			Numbers: fmt.Sprintf("after %s → %s", age.Value, w.text(key, quantity.Ratio)), Inputs: []Input{age},
			Method: method,
			Valid:  "triphosphor tubes up to 8000 h; other types ±5 %, up to the hours of the notes",
			Notes:  w.light.Notes,
		}
	})
}

func (w *replacedWriter) flux() {
	const key, kept = "replaced.flux", "replaced.lumen-maintenance"
	w.row(key, "Luminous flux of "+w.name, quantity.Flux, once(w.light.LuminousNowLm), func() Basis {
		each := given("Φ₁ when new", w.use.Flux, quantity.Flux, theDesign)
		numbers := fmt.Sprintf("%d · %s · %s = %s", w.count, each.Value, w.text(kept, quantity.Ratio),
			w.text(key, quantity.Flux))
		return Basis{
			Formula: "Φ = n Φ₁ · lumen maintenance", Numbers: numbers,
			Inputs: []Input{w.countInput(), each, w.ref("lumen maintenance", kept, quantity.Ratio)},
			Method: "arithmetic", Valid: bareTubes,
		}
	})
}

func (w *replacedWriter) ppf() {
	const key = "replaced.ppf"
	w.row(key, "PPF of "+w.name+", 400–700 nm", quantity.PhotonFlux, once(w.light.PPFNowUmolS), func() Basis {
		lampType := string(w.use.LampType.S)
		if lampType == "" {
			lampType = string(colour.Triphosphor)
		}
		spectrum := Input{
			Name: "spectrum", Value: lampType + ", " + quantity.Format(w.use.CCT.SI, quantity.CCT),
			Source: theDesign, At: w.use.CCT.At,
		}
		perKlm := num(1000 * w.values[key] / w.values["replaced.flux"])
		numbers := fmt.Sprintf("%s at %s µmol/s per klm = %s", w.text("replaced.flux", quantity.Flux), perKlm,
			w.text(key, quantity.PhotonFlux))
		return Basis{
			Formula: "PPF = Φ · ∫S λ/(h c N_A) dλ / (683 lm/W ∫S V dλ)", Numbers: numbers,
			Inputs: []Input{w.ref("Φ", "replaced.flux", quantity.Flux), spectrum},
			Method: "CIE15-2018, illuminants of this lamp type; ANSI-ASABE-S640",
			Valid:  "a real tube of this type differs by a few per cent in photons per lumen; " + bareTubes,
			Notes:  w.light.Notes,
		}
	})
}

func (w *replacedWriter) power() {
	const key = "replaced.power"
	w.row(key, "Mains input power of "+w.name, quantity.Power, once(w.light.PowerW), func() Basis {
		each := given("P₁", w.use.Power, quantity.Power, theDesign)
		return Basis{
			Formula: "P = n P₁", Numbers: fmt.Sprintf("%d · %s = %s", w.count, each.Value, w.text(key, quantity.Power)),
			Inputs: []Input{w.countInput(), each}, Method: "arithmetic", Valid: "mains input, ballast included",
		}
	})
}

// quotient is a figure that is one figure over another.
type quotient struct {
	key, title        string
	over, under       string
	overDim, underDim quantity.Dim
	dim               quantity.Dim
	valid             string
}

func (w *replacedWriter) ratios() {
	const flux, ppf, power = "replaced.flux", "replaced.ppf", "replaced.power"
	for _, q := range []quotient{
		{
			"replaced.efficacy", "Luminous efficacy, mains, of " + w.name, flux, power, quantity.Flux, quantity.Power,
			quantity.Efficacy, bareTubes,
		},
		{
			"replaced.ppe", "PPE, mains, of " + w.name, ppf, power, quantity.PhotonFlux, quantity.Power,
			quantity.PhotonEfficacy, bareTubes,
		},
		{
			"replaced.flux-ratio", "Luminous flux relative to " + w.name, "lamp.flux", flux, quantity.Flux, quantity.Flux,
			quantity.None, bareTubes,
		},
		{
			"replaced.ppf-ratio", "PPF relative to " + w.name, "lamp.ppf", ppf, quantity.PhotonFlux, quantity.PhotonFlux,
			quantity.None, bareTubes,
		},
		{
			"replaced.power-ratio", "Mains input power relative to " + w.name, "mains.power", power, quantity.Power,
			quantity.Power, quantity.None, "both at the mains",
		},
	} {
		w.quotient(q)
	}
}

func (w *writer) quotient(q quotient) {
	n := onceIf(nil)
	if w.values[q.under] > 0 {
		n = once(w.values[q.over] / w.values[q.under])
	}
	w.row(q.key, q.title, q.dim, n, func() Basis {
		numbers := fmt.Sprintf("%s / %s = %s", w.text(q.over, q.overDim), w.text(q.under, q.underDim),
			w.text(q.key, q.dim))
		return Basis{
			Formula: q.over + " / " + q.under, Numbers: numbers,
			Inputs: []Input{w.ref(q.over, q.over, q.overDim), w.ref(q.under, q.under, q.underDim)},
			Method: "definition", Valid: q.valid,
		}
	})
}
