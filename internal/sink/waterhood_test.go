package sink

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// smallTank is 26 W under a closed wooden hood of 0.4 m² over a tank of 600 mm × 300 mm in a room of 22 °C and 50 %.
func smallTank() (Hood, OpenWater) {
	return Hood{WallM2: 0.4, WallUWm2K: 2.5}, OpenWater{AreaM2: 0.18, TankWK: 5}
}

// marchHood integrates the four balances in time, each with a heat capacity of its own, until nothing moves. It
// shares no code with Solve: all laws are written out again.
func marchHood(h WaterHood) (airC, waterC, wallC, ratio float64) {
	saturated := func(c float64) float64 {
		e := 611.2 * math.Exp(17.62*c/(243.12+c))
		return 0.622 * e / (h.PressurePa - e)
	}
	roomC := h.RoomK - 273.15
	e := h.RoomRH * 611.2 * math.Exp(17.62*roomC/(243.12+roomC))
	roomRatio := 0.622 * e / (h.PressurePa - e)
	exchange := h.ExchangeM3S * h.PressurePa / (287.05 * h.RoomK)
	lewis := 1 / (1007 * math.Cbrt(0.865*0.865))
	airC, waterC, wallC, ratio = roomC, roomC, roomC, roomRatio
	const step = 1.0 // s; the capacities are small, so that the end comes soon
	for range 400_000 {
		toWater := h.WaterWm2K * h.WaterM2 * (airC - waterC)
		toWall := h.InsideWm2K * h.WallM2 * (airC - wallC)
		evaporated := lewis * h.WaterWm2K * h.WaterM2 * (saturated(waterC) - ratio)
		condensed := lewis * h.InsideWm2K * h.WallM2 * math.Max(0, ratio-saturated(wallC))
		a, b := math.Pow(wallC+273.15, 4), math.Pow(waterC+273.15, 4)
		radiated := h.WaterM2 * 5.670374419e-8 * (a - b) / (1/0.96 + h.WaterM2/h.WallM2*(1/h.Emissivity-1))
		air := h.AirW - toWater - toWall - exchange*1007*(airC-roomC)
		water := h.WaterW + toWater + radiated - 2.45e6*evaporated - h.TankWK*(waterC-roomC)
		wall := toWall + 2.45e6*condensed - radiated - h.OutsideWm2K*h.WallM2*(wallC-roomC)
		vapour := evaporated - condensed - exchange*(ratio-roomRatio)
		airC, waterC, wallC = airC+step*air/100, waterC+step*water/3000, wallC+step*wall/300
		ratio += step * vapour / 0.1
		if math.Abs(air)+math.Abs(water)+math.Abs(wall)+2.45e6*math.Abs(vapour) < 1e-5 {
			break
		}
	}
	return airC, waterC, wallC, ratio
}

// TestWaterHoodAgainstTime compares the root with the end of a march in time, for hoods that are dry and for hoods that
// drip.
func TestWaterHoodAgainstTime(t *testing.T) {
	hood, water := smallTank()
	hood, err := hood.withDefaults()
	if err != nil {
		t.Fatal(err)
	}
	small := hood.over(water, 26, celsius(22), p0)
	for _, tt := range []struct {
		name   string
		change func(*WaterHood)
		drips  bool
	}{
		{"small tank", func(*WaterHood) {}, false},
		{"large tank", func(h *WaterHood) { h.WaterM2 = 0.41 }, false},
		{"light in the water", func(h *WaterHood) { h.WaterW = 9 }, false},
		{"warm water, tight hood", func(h *WaterHood) { h.WaterW, h.ExchangeM3S = 60, 2e-5 }, true},
		{"lamp off, warm water", func(h *WaterHood) { h.AirW, h.WaterW = 0, 40 }, true},
		{"dry room, much air", func(h *WaterHood) { h.RoomRH, h.ExchangeM3S = 0.1, 3e-3 }, false},
		{"bright hood at 2000 m", func(h *WaterHood) { h.Emissivity, h.PressurePa = 0.1, 79500 }, false},
	} {
		h := small
		tt.change(&h)
		s, err := h.Solve()
		if err != nil {
			t.Fatal(err)
		}
		airC, waterC, wallC, ratio := marchHood(h)
		for _, c := range []struct {
			what      string
			got, want float64
		}{{"air", s.AirK, airC}, {"water", s.WaterK, waterC}, {"wall", s.WallK, wallC}} {
			if math.Abs(c.got-zeroCelsiusK-c.want) > 1e-3 {
				t.Errorf("%s: %s at %.4f °C, the march in time ends at %.4f °C", tt.name, c.what, c.got-zeroCelsiusK,
					c.want)
			}
		}
		if math.Abs(s.Ratio-ratio) > 1e-7 || (s.CondensationKgS > 0) != tt.drips {
			t.Errorf("%s: humidity ratio %.7f, condensation %g kg/s; the march ends at %.7f, drips: %t", tt.name,
				s.Ratio, s.CondensationKgS, ratio, tt.drips)
		}
	}
}

// TestHoodTakesHeat: what the water changes. With 26 W a dry hood of 1 W/K is 26 K warmer than the room; over water of
// 600 mm × 300 mm 14.6 K (end of the march in time above), over 900 mm × 450 mm about 11 K.
func TestHoodTakesHeat(t *testing.T) {
	hood, water := smallTank()
	for _, tt := range []struct{ waterM2, want float64 }{{0.18, 14.59}, {0.405, 11.12}} {
		water.AreaM2 = tt.waterM2
		got, err := hood.OverWater(water, 26, celsius(22), p0)
		if err != nil {
			t.Fatal(err)
		}
		if rise := got.Day.AirK - celsius(22); math.Abs(rise-tt.want) > 0.02 {
			t.Errorf("over %g m²: the air is %.2f K over the room, want %.2f ± 0.02 K", tt.waterM2, rise, tt.want)
		}
		if !(got.LowAirK < got.Day.AirK-2 && got.HighAirK > got.Day.AirK+2 && got.HighAirK < got.Day.AirK+4) {
			t.Errorf("over %g m²: %.2f K, range %.2f to %.2f K; want about ±3 K (film ±40 %%)", tt.waterM2,
				got.Day.AirK, got.LowAirK, got.HighAirK)
		}
	}
}

// TestHoodRange: the range is that of single changes in quadrature.
func TestHoodRange(t *testing.T) {
	hood, water := smallTank()
	hood.VentM2, hood.VentHeightM, hood.LossFactor, hood.ExchangeM3S = 0.001, 0.1, 3.5, 1e-4
	rise := func(change func(*Hood, *WaterHood)) float64 {
		h := hood
		change(&h, &WaterHood{})
		w := h.over(water, 26, celsius(22), p0)
		change(&Hood{}, &w)
		s, err := w.Solve()
		if err != nil {
			t.Fatal(err)
		}
		return s.AirK
	}
	middle := rise(func(*Hood, *WaterHood) {})
	sum := 0.0
	for _, change := range []func(*Hood, *WaterHood){
		func(_ *Hood, w *WaterHood) { w.WaterWm2K *= 0.6 },
		func(h *Hood, _ *WaterHood) { h.WallUWm2K *= 0.8 },
		func(h *Hood, _ *WaterHood) { h.ExchangeM3S /= 3 },
		func(h *Hood, _ *WaterHood) { h.LossFactor *= 2 },
	} {
		d := rise(change) - middle
		if d <= 0 {
			t.Errorf("a change that should warm the air cools it by %.3f K", -d)
		}
		sum += d * d
	}
	got, err := hood.OverWater(water, 26, celsius(22), p0)
	if err != nil {
		t.Fatal(err)
	}
	if want := middle + math.Sqrt(sum); math.Abs(got.HighAirK-want) > 1e-6 {
		t.Errorf("upper end %.4f K, want %.4f K (JCGM100, independent errors)", got.HighAirK, want)
	}
}

// TestHoodWithoutWater: with next to no water and no leak the air is that of the plain hood, closed or vented, whatever
// its walls. Through vents they differ by a thousandth: the plain hood has the specific heat of the room's air, this
// one 1007 J/(kg·K).
func TestHoodWithoutWater(t *testing.T) {
	for _, h := range []Hood{
		{WallM2: 0.4},
		{WallM2: 0.4, WallUWm2K: 0.8},
		{WallM2: 0.4, WallUWm2K: 5.5},
		{WallM2: 0.4, VentM2: 0.004, VentHeightM: 0.2},
	} {
		plain, err := h.Air(26, celsius(22), p0)
		if err != nil {
			t.Fatal(err)
		}
		h.ExchangeM3S = 1e-12
		got, err := h.OverWater(OpenWater{AreaM2: 1e-9, TankWK: 5}, 26, celsius(22), p0)
		if err != nil {
			t.Fatal(err)
		}
		tol := 1e-4
		if h.VentM2 > 0 {
			tol = 0.02
		}
		if rise := got.Day.AirK - celsius(22); math.Abs(rise-plain.RiseK) > tol {
			t.Errorf("%+v: %.5f K over the room, the plain hood has %.5f K", h, rise, plain.RiseK)
		}
		h.ExchangeM3S = 0
		more, err := h.OverWater(OpenWater{AreaM2: 0.05, TankWK: 5}, 26, celsius(22), p0)
		if err != nil || more.Day.AirK >= got.Day.AirK {
			t.Errorf("%+v: water does not cool the air: %+v, %v", h, more.Day, err)
		}
	}
}

// TestWaterHoodKeepsTheHeat: what goes in comes out, and vapour too.
func TestWaterHoodKeepsTheHeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		h := WaterHood{
			RoomK: f("room", 280, 310), RoomRH: f("rh", 0, 1), PressurePa: f("pressure", 6e4, 1.05e5),
			AirW: f("air", 0, 80), WaterW: f("water", 0, 60), WaterM2: f("surface", 0.01, 1),
			WallM2: f("walls", 0.2, 2), WaterWm2K: f("film", 1, 8), InsideWm2K: f("inside", 1, 8),
			OutsideWm2K: f("outside", 1, 15), Emissivity: f("emissivity", 0.05, 1), TankWK: f("tank", 4, 20),
			ExchangeM3S: f("exchange", 0, 2e-3),
		}
		if f("heater", 0, 1) > 0.5 {
			h.HeldWaterK = f("held", 290, 305)
		}
		s, err := h.Solve()
		if err != nil {
			t.Fatal(err)
		}
		in, out := h.AirW+h.WaterW+s.HeaterW, s.AirOutW+s.VapourOutW+s.WallOutW+s.TankOutW
		if math.Abs(in-out) > 1e-6 {
			t.Fatalf("%.9g W go in, %.9g W come out: %+v", in, out, s)
		}
		if s.HeaterW < 0 || s.HeaterW > 0 && s.WaterK != h.HeldWaterK || s.WaterK < h.HeldWaterK {
			t.Fatalf("heater %g W, water %g K, held at %g K", s.HeaterW, s.WaterK, h.HeldWaterK)
		}
		if carried := s.EvaporationKgS - s.CondensationKgS; math.Abs(carried*latentJkg-s.VapourOutW) > 1e-6 {
			t.Fatalf("vapour: %g kg/s stay, %g W leave with the air", carried, s.VapourOutW)
		}
		more := h
		more.AirW += 1
		if hotter, err := more.Solve(); err != nil || hotter.AirK <= s.AirK {
			t.Fatalf("one watt more does not warm the air: %v", err)
		}
	})
}

// TestHoodAtNight: the lamp is off and the water has its temperature of the day; the air lies between room and water,
// and is damper than by day.
func TestHoodAtNight(t *testing.T) {
	hood, water := smallTank()
	water.LightW = 9
	a, err := hood.OverWater(water, 26, celsius(22), p0)
	if err != nil {
		t.Fatal(err)
	}
	if n := a.Night; !(n.AirK > celsius(22) && n.AirK < n.WaterK && n.RH > a.Day.RH && n.WaterK == a.Day.WaterK) {
		t.Errorf("night %+v after day %+v", n, a.Day)
	}
	water.HeldWaterK = celsius(26)
	heated, err := hood.OverWater(water, 26, celsius(22), p0)
	day, night := heated.Day, heated.Night
	if err != nil || day.WaterK != celsius(26) || day.HeaterW <= 0 || night.HeaterW <= day.HeaterW {
		t.Errorf("heated water: %+v, %v", heated, err)
	}
}

func TestBadWaterHoods(t *testing.T) {
	good := WaterHood{
		RoomK: 295, RoomRH: 0.5, PressurePa: p0, AirW: 20, WaterM2: 0.2, WallM2: 0.4, WaterWm2K: 3, InsideWm2K: 3.6,
		OutsideWm2K: 8, Emissivity: 0.9, TankWK: 5, ExchangeM3S: 1e-4,
	}
	for _, tt := range []struct {
		change func(*WaterHood)
		want   string
	}{
		{func(h *WaterHood) { h.RoomK = -1 }, "temperature"},
		{func(h *WaterHood) { h.RoomRH = 1.1 }, "relative humidity"},
		{func(h *WaterHood) { h.WaterM2 = 0 }, "positive areas"},
		{func(h *WaterHood) { h.InsideWm2K = math.NaN() }, "heat transfer coefficients"},
		{func(h *WaterHood) { h.Emissivity = 0 }, "emissivity"},
		{func(h *WaterHood) { h.AirW = -1 }, "zero or more"},
		{func(h *WaterHood) { h.HeldWaterK = 400 }, "water held"},
		{func(h *WaterHood) { h.WaterW, h.TankWK = 1e4, 0 }, "would heat the water"},
	} {
		h := good
		tt.change(&h)
		if _, err := h.Solve(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%+v: %v, want %q", h, err, tt.want)
		}
	}
	if _, err := (Hood{WallM2: -1}).OverWater(OpenWater{AreaM2: 1}, 1, 295, p0); err == nil {
		t.Error("a hood of negative size passed")
	}
}
