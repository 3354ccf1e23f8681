package lamp

// clone returns parameters that can be changed without changing these.
func (p Params) Clone() Params {
	for _, s := range []*[]float64{&p.Flux, &p.VOffset, &p.VSlope, &p.RthKW, &p.Lens, &p.Driver, &p.Current, &p.Set, &p.Supply, &p.Fall, &p.Droop} {
		*s = append([]float64(nil), *s...)
	}
	return p
}

// params are the numbers that tolerances and assumptions move. Everything else about a lamp is fixed by its design.
type Params struct {
	Flux    []float64 // by kind: factor on radiant power
	VOffset []float64 // by kind: added to one die's voltage [V]
	VSlope  []float64 // by kind [V/K]
	RthKW   []float64 // by kind, as the sheet counts it
	Lens    []float64 // by optic: efficiency
	Driver  []float64 // by channel: efficiency
	Set     []float64 // by channel: factor on the current that the design sets
	Current []float64 // by channel: factor of the driver's tolerance on that
	Supply  []float64 // by supply: efficiency; 0 takes the curve
	Fall    []float64 // by kind: fall of light per kelvin where no curve is stated [1/K]
	Droop   []float64 // by kind: light grows as the current to this power where no curve is stated
	Still   float64   // factor on the sink's conductance in still air
	Blown   float64   // and with the fan on: another method, with errors of its own
	Share   float64   // of the fan's air that goes between the fins
	Canopy  float64   // where the air under a canopy lies in its range: −1 at the low end, 1 at the high one
	ColdK   float64   // of a cold start
	Cover   float64   // share of the board under copper

	PasteM2KW float64 // added to the interface's specific resistance [m²·K/W]
}

// nominal returns the parameters of the lamp as its sheets state them.
func (l *Lamp) Nominal() Params {
	p := Params{Still: 1, Blown: 1, Share: 1}
	p.ColdK, _ = l.ColdestK()
	p.Cover, _ = l.CoverageOf()
	if l.Fan != nil {
		p.Share, _ = l.FanShare()
	}
	for _, k := range l.Types {
		p.Flux = append(p.Flux, 1)
		p.VOffset = append(p.VOffset, 0)
		p.VSlope = append(p.VSlope, k.Model.VoltageSlopeVK)
		p.RthKW = append(p.RthKW, k.Model.RthKW)
		p.Fall = append(p.Fall, k.Model.FallPerK)
		p.Droop = append(p.Droop, k.Model.DroopPower)
	}
	for _, o := range l.Optics {
		p.Lens = append(p.Lens, o.Efficiency)
	}
	for _, c := range l.Channels {
		e := AssumedDriver.Used
		if c.Driver.Efficiency.Set {
			e = c.Driver.Efficiency.SI
		}
		p.Driver = append(p.Driver, e)
		p.Current, p.Set = append(p.Current, 1), append(p.Set, 1)
	}
	for range l.Design.Supplies {
		p.Supply = append(p.Supply, 0)
	}
	return p
}
