package sky

import (
	"math"
	"os"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lampwright/internal/table"
)

// at reads an instant of UTC.
func at(t testing.TB, text string) float64 {
	t.Helper()
	v, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return v.Sub(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)).Seconds()
}

func dateOf(t testing.TB, text string) int { return int(at(t, text+"T00:00:00Z") / dayS) }

func read(t testing.TB, name string, numeric ...string) table.Table {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	tab, err := table.Read(name, text, numeric...)
	if err != nil {
		t.Fatal(err)
	}
	return tab
}

func TestPrintedValues(t *testing.T) {
	sun, moon := SunAt(2448908.5), MoonAt(2448724.5)
	golden := Place{39.742476, -105.1786}
	instant := at(t, "2003-10-17T19:30:30Z")
	october := golden.SolarDay(dateOf(t, "2003-10-17"))
	rome := Place{41.9, 12.5}.SolarDay(dateOf(t, "2027-05-05"))
	local := func(utc float64) float64 { return math.Mod(utc-7*3600, dayS) }
	clock := func(h, m, s float64) float64 { return h*3600 + m*60 + s }
	for _, tt := range []struct {
		name           string
		got, want, tol float64
		source         string
	}{
		{"apparent longitude of the sun", sun.LongitudeDeg, 199.90895, 2e-4, "Meeus1998, ex. 25.a, cited from memory"},
		{"declination", sun.DeclinationDeg, -7.78507, 2e-4, "ex. 25.a"},
		{"equation of time, 13 min 42.6 s", sun.EquationMin, 13.710, 0.2 / 60, "ex. 28.b"},
		{"distance of the sun", sun.DistanceAU, 0.99766, 1e-5, "ex. 25.a"},
		{"June solstice of 1962", SeasonAt(1962, JuneSolstice), 2437837.39245, 1e-5, "ex. 27.a"},
		{"longitude of the moon", moon.LongitudeDeg, 133.162655, 1e-6, "ex. 47.a"},
		{"latitude of the moon", moon.LatitudeDeg, -3.229126, 1e-6, "ex. 47.a"},
		{"distance of the moon [km]", moon.DistanceM / 1e3, 368409.7, 0.05, "ex. 47.a"},
		{"illuminated fraction", IlluminatedAt(2448724.5), 0.6786, 1e-4, "ex. 48.a"},
		{"new moon of February 1977", PhaseAt(-283 * 4).JDE, 2443192.65118, 1e-5, "ex. 49.a"},
		{"last quarter of January 2044", PhaseAt(544*4 + 3).JDE, 2467636.49186, 1e-5, "ex. 49.b"},
		{"elevation", golden.SunElevation(instant), 39.872046, 0.01, "RedaAndreas2003, appendix, cited from memory"},
		{"its equation of time", SunAt(JDE(instant)).EquationMin, 14.641503, 0.01, "the same"},
		{"sunrise", local(october.Sun.Rise.UTC), clock(6, 12, 43), 5, "the same"},
		{"transit", local(october.TransitUTC), clock(11, 46, 4), 5, "the same"},
		{"sunset of 17 October, local", local(october.Sun.Set.UTC), clock(17, 18, 51), 5, "pyephem 4.1.4"},
		{
			"sunset of 16 October, local, printed for the 17th of UT",
			local(golden.SolarDay(dateOf(t, "2003-10-16")).Sun.Set.UTC), clock(17, 20, 19), 5,
			"RedaAndreas2003, appendix",
		},
		{"true obliquity", obliquityAt(centuries(2446895.5)), 23.443569, 2e-4, "Meeus1998, ex. 22.a, from memory"},
		{"nautical dawn of Rome", rome.Nautical.Rise.UTC, at(t, "2027-05-05T02:53:04Z"), 10, "pyephem 4.1.4"},
		{"nautical dusk of Rome", rome.Nautical.Set.UTC, at(t, "2027-05-05T19:21:23Z"), 10, "pyephem 4.1.4"},
		{"astronomical dawn of Rome", rome.Astronomical.Rise.UTC, at(t, "2027-05-05T02:11:35Z"), 10, "pyephem 4.1.4"},
		{"air mass at 90°", AirMass(90), 0.9997, 1e-4, "KastenYoung1989, by its formula"},
		{"air mass at 60°", AirMass(60), 1.1540, 2e-4, "the same"},
		{"air mass at 30°", AirMass(30), 1.9943, 2e-4, "the same"},
		{"air mass at 10°", AirMass(10), 5.586, 5e-3, "the same"},
		{"air mass at 5°", AirMass(5), 10.306, 1e-2, "the same"},
		{"air mass at 0°", AirMass(0), 37.92, 0.038, "the same"},
		{"air mass below the horizon", AirMass(-5), AirMass(0), 0, "definition"},
		{"zenith of midnight", Place{-90, 0}.SunElevation(at(t, "2027-12-22T00:00:00Z")), 23.436, 0.01, "obliquity"},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s: %.7f, want %.7f ± %g (%s)", tt.name, tt.got, tt.want, tt.tol, tt.source)
		}
	}
	if k := PhaseAt(544*4 + 3).Kind; k != LastQuarter || k.String() != "last_quarter" {
		t.Errorf("phase %v", k)
	}
}

// Rise, transit, set and twilights of twelve days at three latitudes.
func TestSunTable(t *testing.T) {
	tab := read(t, "sun_2027.csv", "lat_deg", "lon_deg", "elevation_noon_geometric_deg")
	worst := 0.0
	for i := range tab.Rows() {
		p := Place{tab.Number(i, "lat_deg"), tab.Number(i, "lon_deg")}
		d := p.SolarDay(dateOf(t, tab.Text(i, "date")))
		for column, got := range map[string]float64{
			"civil_dawn": d.Civil.Rise.UTC, "sunrise": d.Sun.Rise.UTC, "transit": d.TransitUTC, "sunset": d.Sun.Set.UTC,
			"civil_dusk": d.Civil.Set.UTC,
		} {
			off := math.Abs(got - at(t, tab.Text(i, column)))
			if worst = max(worst, off); off > 20 {
				t.Errorf("%s of row %d: %.0f s off", column, i+1, off)
			}
		}
		if off := d.NoonElevationDeg - tab.Number(i, "elevation_noon_geometric_deg"); math.Abs(off) > 0.02 {
			t.Errorf("noon of row %d: %.4f° off", i+1, off)
		}
	}
	t.Logf("the worst instant is %.1f s off", worst)
	if worst > 10 {
		t.Errorf("the worst instant is %.1f s off; the package states 10 s", worst)
	}
}

// Lengths of the day and of civil twilight, from the same table: 12.108 h at the equator at the equinox, not 12.
func TestLengths(t *testing.T) {
	for _, tt := range []struct {
		lat, lon  float64
		date      string
		hours     float64
		twilight  float64 // minutes
		tolerance float64 // minutes
	}{
		{0, 0, "2027-03-20", 12.1083, 20.7, 0.3},
		{52.5, 13.5, "2027-06-21", 16.832, 50.2, 0.3},
		{52.5, 13.5, "2027-03-20", 12.153, 34.1, 0.3},
	} {
		d := Place{tt.lat, tt.lon}.SolarDay(dateOf(t, tt.date))
		if h := d.Hours(d.Sun); math.Abs(h-tt.hours) > 20.0/3600 {
			t.Errorf("%g° on %s: %.4f h, want %g", tt.lat, tt.date, h, tt.hours)
		}
		if m := (d.Civil.Set.UTC - d.Sun.Set.UTC) / 60; math.Abs(m-tt.twilight) > tt.tolerance {
			t.Errorf("%g° on %s: civil twilight of %.1f min, want %g", tt.lat, tt.date, m, tt.twilight)
		}
	}
}

// Beyond the circles the sun stays above or below; on the day on which that begins, half of it may cross.
func TestPolarDays(t *testing.T) {
	tromso := Place{69.6, 18.9}
	june, december := tromso.SolarDay(dateOf(t, "2027-06-21")), tromso.SolarDay(dateOf(t, "2027-12-21"))
	if june.Sun.Rise.State != AlwaysAbove || june.Sun.Set.State != AlwaysAbove || june.Hours(june.Sun) != 24 {
		t.Errorf("June: %+v", june.Sun)
	}
	if december.Sun.Rise.State != AlwaysBelow || december.Hours(december.Sun) != 0 ||
		december.Civil.Rise.State != Crosses {
		t.Errorf("December: %+v, civil %+v", december.Sun, december.Civil)
	}
	pole := Place{90, 0}.SolarDay(dateOf(t, "2027-03-20"))
	if h := pole.Hours(pole.Sun); h != 24 {
		t.Errorf("at the pole, %g h of sun", h)
	}
}

// Elevation of the sun and fraction of the moon at random instants, as another program computes them.
func TestPositions(t *testing.T) {
	tab := read(t, "positions.csv", "lat_deg", "lon_deg", "sun_elevation_deg", "moon_illuminated")
	worstSun, worstMoon := 0.0, 0.0
	for i := range tab.Rows() {
		utc := at(t, tab.Text(i, "utc"))
		p := Place{tab.Number(i, "lat_deg"), tab.Number(i, "lon_deg")}
		worstSun = max(worstSun, math.Abs(p.SunElevation(utc)-tab.Number(i, "sun_elevation_deg")))
		worstMoon = max(worstMoon, math.Abs(IlluminatedAt(JDE(utc))-tab.Number(i, "moon_illuminated")))
	}
	t.Logf("worst: sun %.4f°, moon %.5f", worstSun, worstMoon)
	if worstSun > 0.02 || worstMoon > 5e-4 { // declination 0.01°, equation of time 4 s or 0.017°, parallax 0.002°
		t.Errorf("sun %.4f° off, moon %.5f", worstSun, worstMoon)
	}
}

// All phases of a year, within a minute.
func TestPhaseTable(t *testing.T) {
	tab := read(t, "moon_phases_2027.csv")
	got := Phases(at(t, "2027-01-01T00:00:00Z"), at(t, "2028-01-01T00:00:00Z"))
	if len(got) != tab.Rows() {
		t.Fatalf("%d phases, want %d", len(got), tab.Rows())
	}
	for i, p := range got {
		off := UTC(p.JDE) - at(t, tab.Text(i, "utc"))
		if math.Abs(off) > 60 || p.Kind.String() != tab.Text(i, "phase") {
			t.Errorf("phase %d: %s, %.0f s off %s", i+1, p.Kind, off, tab.Text(i, "phase"))
		}
	}
}

// Phases follow each other at a quarter of a lunation, the fraction is 0, 1/2, 1, 1/2 there, and a span has each once.
func TestPhaseProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.IntRange(-1200, 1200).Draw(t, "quarters")
		a, b := PhaseAt(q), PhaseAt(q+1)
		if gap := b.JDE - a.JDE; gap < 6.4 || gap > 8.4 || b.Kind != (a.Kind+1)%4 {
			t.Fatalf("%s and %s are %g days apart", a.Kind, b.Kind, gap)
		}
		want := []float64{0, 0.5, 1, 0.5}[a.Kind]
		if k := IlluminatedAt(a.JDE); math.Abs(k-want) > 0.004 {
			t.Fatalf("%s: illuminated %g", a.Kind, k)
		}
		if in := Phases(UTC(a.JDE)-1, UTC(b.JDE)); len(in) != 1 || in[0] != a {
			t.Fatalf("from %s to %s: %v", a.Kind, b.Kind, in)
		}
	})
}

// Dates are in order: rise before transit before set, the sun at the stated elevation at each, the next transit a day
// later.
func TestSolarDayProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Place{rapid.Float64Range(-89, 89).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")}
		date := rapid.IntRange(-7000, 30000).Draw(t, "date")
		d, next := p.SolarDay(date), p.SolarDay(date+1)
		if gap := next.TransitUTC - d.TransitUTC; math.Abs(gap-dayS) > 31 {
			t.Fatalf("%g s to the next transit", gap)
		}
		for _, a := range []struct {
			arc Arc
			deg float64
		}{{d.Sun, RiseDeg}, {d.Civil, CivilDeg}, {d.Nautical, NauticalDeg}, {d.Astronomical, AstronomicalDeg}} {
			for _, c := range []Crossing{a.arc.Rise, a.arc.Set} {
				if c.State == Crosses && math.Abs(p.SunElevation(c.UTC)-a.deg) > 1e-3 {
					t.Fatalf("%g° at the crossing of %g°", p.SunElevation(c.UTC), a.deg)
				}
			}
			if a.arc.Rise.State == Crosses && a.arc.Rise.UTC > d.TransitUTC ||
				a.arc.Set.State == Crosses && a.arc.Set.UTC < d.TransitUTC {
				t.Fatalf("%+v around %g", a.arc, d.TransitUTC)
			}
		}
		if d.Hours(d.Sun) > d.Hours(d.Civil) || d.Hours(d.Civil) > d.Hours(d.Nautical) ||
			d.Hours(d.Nautical) > d.Hours(d.Astronomical) {
			t.Fatal("twilights end before the day does")
		}
	})
}

// How long is a solar day with its twilights?
func BenchmarkSolarDay(b *testing.B) {
	p := Place{52.5, 13.5}
	for b.Loop() {
		p.SolarDay(9800)
	}
}
