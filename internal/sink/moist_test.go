package sink

import (
	"math"
	"testing"
)

func TestMoistAir(t *testing.T) {
	dew := func(c, rh float64) float64 { return DewPointK(rh*SaturationPa(celsius(c))) - zeroCelsiusK }
	wet := func(c, rh float64) float64 {
		k, err := WetBulbK(celsius(c), rh*SaturationPa(celsius(c)), p0)
		if err != nil {
			t.Fatal(err)
		}
		return k - zeroCelsiusK
	}
	for _, tt := range []struct {
		name           string
		got, want, tol float64
		source         string
	}{
		{"e_s(0 °C)", SaturationPa(celsius(0)), 611.2, 0.5, "triple point of water, 611.66 Pa at 0.01 °C"},
		{"e_s(20 °C)", SaturationPa(celsius(20)), 2339, 7, "steam tables, 0.3 %"},
		{"e_s(25 °C)", SaturationPa(celsius(25)), 3169, 9.5, "steam tables, 0.3 %"},
		{"e_s(40 °C)", SaturationPa(celsius(40)), 7384, 22, "steam tables, 0.3 %"},
		{"dew point of 26 °C, 85 %", dew(26, 0.85), 23.3, 0.1, "Magnus, by hand"},
		{"dew point of 24 °C, 60 %", dew(24, 0.60), 15.8, 0.1, "Magnus, by hand"},
		{"dew point of 22 °C, 50 %", dew(22, 0.50), 11.1, 0.1, "Magnus, by hand"},
		{"dew point of saturated air", dew(19, 1), 19, 1e-9, "definition"},
		{"wet bulb of 25 °C, 50 %", wet(25, 0.5), 17.9, 0.2, "psychrometric chart, cited from memory"},
		{"wet bulb of saturated air", wet(25, 1), 25, 1e-6, "definition"},
		{
			"humidity ratio of 25 °C, 50 %", HumidityRatio(0.5*SaturationPa(celsius(25)), p0), 0.00988, 5e-5,
			"psychrometric chart, cited from memory",
		},
		{"vapour pressure of a ratio", VapourPa(HumidityRatio(1234, p0), p0), 1234, 1e-9, "inverse"},
		{"ratio of steam", HumidityRatio(p0, p0), math.Inf(1), 0, "limit"},
		{"dew point of dry air", DewPointK(0), math.Inf(-1), 0, "limit"},
	} {
		if !(tt.got == tt.want || math.Abs(tt.got-tt.want) <= tt.tol) {
			t.Errorf("%s: %.6g, want %.6g ± %g (%s)", tt.name, tt.got, tt.want, tt.tol, tt.source)
		}
	}
}

// TestBreathe: 0.6 L that warm from 24 °C to 58 °C in air of 26 °C and 90 %. By hand: 101325 · 34/297.15 = 11594 Pa;
// 0.6 L · 34/331.15 = 61.6 mL; vapour at 26 °C 0.9 · 3363 Pa/(461.5 · 299.15) = 21.9 g/m³, so 1.35 mg.
func TestBreathe(t *testing.T) {
	e := 0.9 * SaturationPa(celsius(26))
	b := Breathe(0.6e-3, celsius(24), celsius(58), e*297.15/299.15, p0)
	for _, tt := range []struct {
		name      string
		got, want float64
	}{{"pressure", b.PressurePa, 11594}, {"air", b.DrawnM3, 61.6e-6}, {"water", b.WaterKg, 1.35e-6}} {
		if math.Abs(tt.got/tt.want-1) > 0.003 {
			t.Errorf("%s: %.4g, want %.4g ± 0.3 %% (by hand, steam tables)", tt.name, tt.got, tt.want)
		}
	}
	if none := Breathe(1, 300, 300, 2000, p0); none != (Breath{}) {
		t.Errorf("a box that stays at its temperature: %+v", none)
	}
}
