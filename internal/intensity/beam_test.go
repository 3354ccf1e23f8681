package intensity

import (
	"math"
	"testing"
)

// tabled samples a distribution each degree and in planes of some degrees, with its axis tilted towards azimuth 0.
func tabled(t *testing.T, p Distribution, tiltDeg, planeDeg float64) Distribution {
	t.Helper()
	var theta, phi []float64
	for d := 0.0; d <= 180; d++ {
		theta = append(theta, d*math.Pi/180)
	}
	for d := 0.0; d < 360; d += planeDeg {
		phi = append(phi, d*math.Pi/180)
	}
	values := make([][]float64, len(phi))
	st, ct := math.Sincos(tiltDeg * math.Pi / 180)
	for j, f := range phi {
		for _, a := range theta {
			values[j] = append(values[j], p.PerFlux(math.Sin(a)*math.Cos(f)*st+math.Cos(a)*ct, 0))
		}
	}
	out, err := FromTable(theta, phi, values)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func beamDeg(p Distribution) float64 { return BeamOf(p).BeamRad * 180 / math.Pi }

// TestBeamAboutItsAxis: the beam of 60° stays one where it points up or aside. It is read off straight lines over 1°
// and 2.5°, which err by 0.1°.
func TestBeamAboutItsAxis(t *testing.T) {
	beam, err := CosineBeam(math.Pi / 3)
	if err != nil {
		t.Fatal(err)
	}
	for _, tilt := range []float64{0, 6, 20, 40, 75, 120, 160, 180} {
		p := tabled(t, beam, tilt, 2.5)
		if got := beamDeg(p); math.Abs(got-60) > 0.2 {
			t.Errorf("tilted by %g°: beam angle %.2f°, want 60°", tilt, got)
		}
		b := BeamOf(p)
		if got := b.TiltRad * 180 / math.Pi; math.Abs(got-tilt) > 0.1 || math.Abs(math.Sin(b.AzimuthRad)) > 1e-6 {
			t.Errorf("tilted by %g°: axis at %.3f°, azimuth %g rad", tilt, got, b.AzimuthRad)
		}
		// The field angle of cos^m, by its definition: 2 arccos(0.1^(1/m)), m = ln 0.5/ln cos 30°.
		want := 2 * math.Acos(math.Pow(0.1, math.Log(math.Cos(math.Pi/6))/math.Log(0.5))) * 180 / math.Pi
		if got := b.FieldRad * 180 / math.Pi; math.Abs(got-want) > 0.3 {
			t.Errorf("tilted by %g°: field angle %.2f°, want %.2f°", tilt, got, want)
		}
	}
	narrow, err := CosineBeam(4 * math.Pi / 180)
	if err != nil {
		t.Fatal(err)
	}
	// Beside the optical axis, and not about it: straight lines over 1° widen it.
	if got := beamDeg(tabled(t, narrow, 4, 2.5)); math.Abs(got-4) > 0.4 {
		t.Errorf("a beam of 4° tilted by 4°: beam angle %.2f°", got)
	}
	up, err := FromTable([]float64{0, math.Pi / 2, math.Pi}, nil, [][]float64{{0, 0, 100}})
	if err != nil {
		t.Fatal(err)
	}
	// A straight line from 100 cd straight up to none at the horizon has half of it at 45°.
	if got := beamDeg(up); math.Abs(got-90) > 1e-6 {
		t.Errorf("uplight: beam angle %.4f°, want 90°", got)
	}
	both, err := FromTable([]float64{0, math.Pi / 2, math.Pi}, nil, [][]float64{{100, 0, 60}})
	if err != nil {
		t.Fatal(err)
	}
	if got := beamDeg(both); math.Abs(got-90) > 1e-6 {
		t.Errorf("down and up: beam angle %.4f°, want 90° of the part downwards", got)
	}
	wings, err := FromTable(degrees(0, 30, 60, 70, 90), nil, [][]float64{{20, 60, 100, 20, 0}})
	if err != nil {
		t.Fatal(err)
	}
	// 50 cd lies at 60° + 10° · 50/80.
	if got := beamDeg(wings); math.Abs(got-132.5) > 1e-6 {
		t.Errorf("wings: beam angle %.4f°, want 132.5°", got)
	}
}

func degrees(deg ...float64) []float64 {
	out := make([]float64, len(deg))
	for i, d := range deg {
		out[i] = d * math.Pi / 180
	}
	return out
}

// TestBeamOfOwnPlanes: the beam of planes at 0°, 90°, 180° and 270° is the mean of theirs; between planes nothing was
// measured. Planes at 0°, 60° and 180° represent 120°, 90° and 150°.
func TestBeamOfOwnPlanes(t *testing.T) {
	row := func(half float64) []float64 { // straight lines through half of the peak at half
		return []float64{1000, 1000 - 5000/half, 0}
	}
	theta := degrees(0, 10, 90)
	at := func(half float64) float64 { // where row crosses 500 cd, by hand
		if edge := 1000 - 5000/half; edge < 500 {
			return 10 * 500 / (1000 - edge)
		} else {
			return 10 + 80*(edge-500)/edge
		}
	}
	four, err := FromTable(theta, degrees(0, 90, 180, 270), [][]float64{row(20), row(40), row(20), row(40)})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := beamDeg(four), at(20)+at(40); math.Abs(got-want) > 1e-6 {
		t.Errorf("beam angle %.5f°, want %.5f°", got, want)
	}
	uneven, err := FromTable(theta, degrees(0, 60, 180), [][]float64{row(12), row(14), row(13)})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := beamDeg(uneven), 2*(120*at(12)+90*at(14)+150*at(13))/360; math.Abs(got-want) > 1e-6 {
		t.Errorf("uneven planes: beam angle %.5f°, want %.5f°", got, want)
	}
	// Zones of a table add up to its flux.
	sum := 0.0
	for _, s := range ZonalFractions(uneven, degrees(0, 7, 33, 90, 180)) {
		sum += s
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("zones add up to %.12f", sum)
	}
}
