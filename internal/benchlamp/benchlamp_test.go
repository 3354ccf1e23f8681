package benchlamp

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// twoColours is the lamp of the open campaigns.
func twoColours() *Lamp {
	return &Lamp{
		SinkAirKPerW: 1.1, StandbyW: 0.8, NTCBetaK: 3950, NTCR25Ohm: 10000, BoardJPerK: 60, SinkJPerK: 400,
		Channels: []Channel{
			{"white", 6, 0.7, 0.7, 2.95, 0.35, -0.0018, 255, -0.0018, 325, 2.5, 1.6},
			{"red", 4, 0.5, 0.35, 2.15, 0.55, -0.0019, 52, -0.003, 72, 3.5, 1.8},
		},
	}
}

// central returns values at the centre of the priors of the open campaigns.
func central(l *Lamp) *Values {
	v := l.Nominal()
	for name, value := range map[string]float64{
		"wire.white": 0.15, "wire.red": 0.15, "lens_axis.white": 9, "lens_axis.red": 9, "lens_efficiency.white": 0.88,
		"lens_efficiency.red": 0.88, "paste": 0.1, "emissivity": 0.9, "wall_efficiency": 0.82,
	} {
		to, err := l.Slot(v, name)
		if err != nil {
			panic(err)
		}
		*to = value
	}
	return v
}

// mode is a state of both drivers; one with the duty 0 is off.
func mode(duty ...float64) Mode {
	m := Mode{RoomC: 23, Duty: duty, Off: make([]bool, len(duty))}
	for i, d := range duty {
		m.Off[i] = d == 0
	}
	return m
}

// TestOpenPredictions: predictions of the open campaigns before the fit.
func TestOpenPredictions(t *testing.T) {
	l := twoColours()
	v := central(l)
	all, white, red := mode(1, 1), mode(1, 0), mode(0, 1)
	const source = "BL1, open campaign O01, computed by a separate program"
	for _, tt := range []struct {
		kind    Kind
		channel int
		mode    Mode
		want    float64
	}{
		{StringAtBoard, 0, all, 17.5598},
		{StringAtDriver, 0, all, 17.6648},
		{CurrentMean, 0, all, 0.7},
		{LuxBare, 0, white, 476.06521},
		{LuxLens, 0, white, 4284.58691},
		{FluxRatio, 0, all, 0.88},
		{Solder, 0, all, 34.77551},
		{StringAtBoard, 1, all, 8.86718},
		{StringAtDriver, 1, all, 8.94218},
		{LuxBare, 1, red, 94.91604},
		{LuxLens, 1, red, 854.24433},
		{Solder, 1, all, 32.90776},
		{SinkTemperature, -1, all, 31.91342},
		{Board, -1, all, 32.72374},
		{Infrared, -1, all, 32.23468},
		{WallPower, -1, all, 21.33226},
	} {
		r := Reading{
			Kind: tt.kind, Channel: tt.channel, DistanceM: 1, EmissivitySet: 0.95, ReflectedC: 23,
		}
		if err := l.Check(r); err != nil {
			t.Errorf("%s: %v", tt.kind, err)
			continue
		}
		s, err := l.Solve(v, tt.mode, Fault{})
		if err != nil {
			t.Fatal(err)
		}
		if got := l.Predict(v, &s, &r, Fault{}); math.Abs(got-tt.want) > 6e-6 {
			t.Errorf("%s of channel %d = %.7g, want %g ± 6e-6 (%s)", tt.kind, tt.channel, got, tt.want, source)
		}
	}
}

// TestScales: factors of the lux meter and of the lens, offset of the contact thermometer.
func TestScales(t *testing.T) {
	l := twoColours()
	v := central(l)
	v.LuxScale, v.Channels[1].Mismatch, v.Channels[1].LensAxis, v.ContactOffsetK = 0.9, 1.2, 10, 0.5
	v.R25Scale, v.BetaScale = 1.02, 0.9
	s, err := l.Solve(v, mode(0, 1), Fault{})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		r    Reading
		want float64
	}{
		{Reading{Kind: LuxBare, Channel: 1, DistanceM: 0.5}, 94.91604 * 0.9 * 1.2 * 4},
		{Reading{Kind: LuxLens, Channel: 1, DistanceM: 1}, 94.91604 * 0.9 * 1.2 * 10},
		{Reading{Kind: SinkTemperature}, s.SinkC + 0.5},
		{Reading{Kind: Solder, Channel: 1}, s.Channels[1].SolderC + 0.5},
		{Reading{Kind: Junction, Channel: 1}, s.Channels[1].JunctionC},
		{Reading{Kind: NTCBath}, 10200 * math.Exp(3555*(1/273.15-1/298.15))},
	} {
		if got := l.Predict(v, &s, &tt.r, Fault{}); math.Abs(got/tt.want-1) > 1e-6 {
			t.Errorf("%s: %.8g, want %.8g", tt.r.Kind, got, tt.want)
		}
	}
}

// TestThermistor: resistance at the ice point and at the temperature of the board.
func TestThermistor(t *testing.T) {
	l := twoColours()
	v := central(l)
	s, err := l.Solve(v, mode(1, 1), Fault{})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name  string
		r     Reading
		fault Fault
		want  float64
	}{
		{"ice", Reading{Kind: NTCBath, BathC: 0}, Fault{}, 33620.6037},
		{"25 °C", Reading{Kind: NTCBath, BathC: 25}, Fault{}, 10000},
		{"ice, B of 3435 K", Reading{Kind: NTCBath}, Fault{BetaK: 3435}, 1e4 * math.Exp(3435*(1/273.15-1/298.15))},
		{"board", Reading{Kind: NTC}, Fault{}, 1e4 * math.Exp(3950*(1/(32.723737+273.15)-1/298.15))},
	} {
		if got := l.Predict(v, &s, &tt.r, tt.fault); math.Abs(got/tt.want-1) > 1e-7 {
			t.Errorf("%s: %.8g Ω, want %.8g", tt.name, got, tt.want)
		}
	}
}

// TestBalance: the closed form agrees with the heat of each emitter at its temperature, with any duties.
func TestBalance(t *testing.T) {
	l := twoColours()
	rapid.Check(t, func(t *rapid.T) {
		v := central(l)
		v.PasteKPerW = rapid.Float64Range(0, 2).Draw(t, "paste")
		v.Film = rapid.Float64Range(0.3, 2).Draw(t, "film")
		v.Channels[0].Flux = rapid.Float64Range(0.7, 1.3).Draw(t, "flux")
		duty := []float64{rapid.Float64Range(0, 1).Draw(t, "white"), rapid.Float64Range(0, 1).Draw(t, "red")}
		s, err := l.Solve(v, mode(duty...), Fault{})
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for i, x := range s.Channels {
			c := l.Channels[i]
			heat := duty[i] * (x.CurrentA*x.VoltageV - x.FluxLm/c.EfficacyLmPerW)
			sum += c.Emitters * heat
			junction := s.BoardC + (c.DielectricKPerW+c.JunctionKPerW)*heat
			if math.Abs(heat-x.HeatW) > 1e-9 || math.Abs(junction-x.JunctionC) > 1e-9 {
				t.Fatalf("channel %d: heat %g for %g, junction %g for %g", i, x.HeatW, heat, x.JunctionC, junction)
			}
		}
		if math.Abs(sum-s.HeatW) > 1e-9 || math.Abs(s.SinkC-23-1.1/v.Film*sum) > 1e-9 {
			t.Fatalf("heat %g of %g, sink %g", s.HeatW, sum, s.SinkC)
		}
	})
}

// TestWarmUp: the matrix exponential beside a Runge–Kutta integration of the two nodes, and its end.
func TestWarmUp(t *testing.T) {
	for _, board := range []float64{60, 0.5, 0} {
		l := twoColours()
		l.BoardJPerK = board
		v := central(l)
		v.PasteKPerW, v.ContactOffsetK, v.SinkScale = 0.4, 0.3, 1.1
		s, err := l.Solve(v, mode(1, 0.5), Fault{})
		if err != nil {
			t.Fatal(err)
		}
		at := func(timeS float64) float64 { return l.Predict(v, &s, &Reading{Kind: WarmUp, TimeS: timeS}, Fault{}) }
		if got := at(0); math.Abs(got-23.3) > 1e-9 {
			t.Errorf("board of %g J/K: %g °C at switch-on, want that of the room and the offset", board, got)
		}
		if got := at(1e6); math.Abs(got-s.SinkC-0.3) > 1e-6 {
			t.Errorf("board of %g J/K: %g °C at the end, steady %g", board, got, s.SinkC+0.3)
		}
		if board == 0 {
			board = 0.02 // follows within milliseconds
		}
		b, k, tb, ts := board, 400*1.1, 0.0, 0.0
		rate := func(tb, ts float64) (float64, float64) {
			across := (tb - ts) / 0.4
			return (s.s0 + s.s1*tb - across) / b, (across - ts/1.1) / k
		}
		const end = 300.0
		dt := min(0.02, 0.4*b)
		for now := 0.0; now < end-dt/2; now += dt {
			a1, b1 := rate(tb, ts)
			a2, b2 := rate(tb+dt/2*a1, ts+dt/2*b1)
			a3, b3 := rate(tb+dt/2*a2, ts+dt/2*b2)
			a4, b4 := rate(tb+dt*a3, ts+dt*b3)
			tb, ts = tb+dt/6*(a1+2*a2+2*a3+a4), ts+dt/6*(b1+2*b2+2*b3+b4)
		}
		if got := at(end); math.Abs(got-23.3-ts) > 2e-3 {
			t.Errorf("board of %g J/K: %g °C after 300 s, integrated %g", board, got, 23.3+ts)
		}
	}
}

// TestFaults: what each fault changes.
func TestFaults(t *testing.T) {
	l := twoColours()
	v := central(l)
	get := func(f Fault, k Kind, channel int, duty ...float64) float64 {
		t.Helper()
		s, err := l.Solve(v, mode(duty...), f)
		if err != nil {
			t.Fatal(err)
		}
		return l.Predict(v, &s, &Reading{Kind: k, Channel: channel, DistanceM: 1}, f)
	}
	const ok = 1e-9
	swapped, byDriver := Fault{Swapped: [2]int{1, 2}}, Fault{Swapped: [2]int{1, 2}, ByDriver: true}
	for _, tt := range []struct {
		name            string
		got, want, band float64
	}{
		{"shorted: one voltage less", get(Fault{Shorted: 2}, StringAtBoard, 1, 1, 1), 8.86718 * 3 / 4, 0.02},
		{"open: dark", get(Fault{Open: 1}, LuxBare, 0, 1, 1), 0, ok},
		{"open: no current", get(Fault{Open: 1}, CurrentMean, 0, 1, 1), 0, ok},
		{"inverted: 0.2 is 0.8", get(Fault{Inverted: 1}, CurrentMean, 0, 0.2, 1), 0.56, ok},
		{"inverted: the other channel is right", get(Fault{Inverted: 1}, CurrentMean, 1, 0.2, 0.3), 0.15, ok},
		{"inverted: off is dark", get(Fault{Inverted: 1}, CurrentMean, 0, 0, 1), 0, ok},
		{"swapped: the current of the other driver", get(swapped, CurrentMean, 0, 1, 1), 0.5, ok},
		{"swapped: the string of a driver that is on is dark", get(swapped, LuxBare, 0, 1, 0), 0, ok},
		{"swapped: voltage at that current", get(swapped, StringAtBoard, 0, 0, 1), 6 * (2.88 - 0.0108), 0.1},
		{"by driver: its own current", get(byDriver, CurrentMean, 0, 1, 1), 0.7, ok},
		{"by driver: voltage of the other string", get(byDriver, StringAtBoard, 0, 1, 0), 4 * (2.15 + 0.55*0.35), 0.1},
		{"by driver: light of the other string", get(byDriver, LuxBare, 0, 1, 0), 94.916 * 0.7 / 0.5, 3},
		{"by driver: the string of one that is off", get(byDriver, LuxBare, 1, 1, 0), 0, ok},
	} {
		if math.Abs(tt.got-tt.want) > tt.band {
			t.Errorf("%s: %g, want %g ± %g", tt.name, tt.got, tt.want, tt.band)
		}
	}
}

// TestFigures: of the open campaign with four readings, at its true parameters.
func TestFigures(t *testing.T) {
	l := twoColours()
	l.Channels = l.Channels[:1]
	v := l.Nominal()
	for name, value := range map[string]float64{
		"flux.white": 0.963689025816472, "current.white": 0.9895610028333454, "vf.white": 0.05656084908117105,
		"wire.white": 0.2658034910485348, "lens_efficiency.white": 0.9629847761892325, "paste": 0.06582558078933531,
		"dielectric": 0.806071185409036, "film": 0.9851518706418102,
	} {
		to, err := l.Slot(v, name)
		if err != nil {
			t.Fatal(err)
		}
		*to = value
	}
	s, err := l.Solve(v, mode(1), Fault{})
	if err != nil {
		t.Fatal(err)
	}
	want := []float64{37.51803655007416, 1373.3862001147106, 8.003223305734936, 31.936231964492, 15.52823197958957}
	for k, got := range l.Figures(v, &s) {
		if math.Abs(got/want[k]-1) > 1e-12 {
			t.Errorf("%s = %.15g, want %.15g (BL1, open campaign O03, its truth)", FigureNames[k], got, want[k])
		}
	}
}

// TestErrors: what cannot be is reported.
func TestErrors(t *testing.T) {
	l := twoColours()
	v := central(l)
	v.PasteKPerW, l.Channels[0].FluxPerK = 400, -0.02
	if _, err := l.Solve(v, mode(1, 1), Fault{}); !errors.Is(err, ErrRunaway) {
		t.Errorf("a lamp that runs away: %v", err)
	}
	l.Channels[0].JunctionKPerW = 1e4
	if _, err := l.Solve(v, mode(1, 1), Fault{}); !errors.Is(err, ErrRunaway) {
		t.Errorf("a junction that runs away: %v", err)
	}
	for _, name := range []string{"flux", "flux.blue", "fan.white", "white"} {
		if _, err := l.Slot(v, name); err == nil || !strings.Contains(err.Error(), "is not known; use C_board") {
			t.Errorf("parameter %s: %v", name, err)
		}
	}
	l.SinkJPerK = 0
	for _, tt := range []struct {
		r    Reading
		want string
	}{
		{Reading{Kind: "lux"}, `kind "lux" is not known; use string_voltage_board`},
		{Reading{Kind: Solder, Channel: -1}, "needs a channel: white, red"},
		{Reading{Kind: LuxBare}, "distance_m is 0"},
		{Reading{Kind: Infrared}, "emissivity_set is 0"},
		{Reading{Kind: WarmUp}, "C_sink_J_per_K"},
	} {
		if err := l.Check(tt.r); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%+v: %v; want %q", tt.r, err, tt.want)
		}
	}
	l.SinkJPerK = 1
	if err := l.Check(Reading{Kind: WarmUp, TimeS: -1}); err == nil {
		t.Error("a time before switch-on")
	}
}
