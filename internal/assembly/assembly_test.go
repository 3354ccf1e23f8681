package assembly

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

type check struct {
	name           string
	got, want, tol float64
	source         string
}

func compare(t *testing.T, checks []check) {
	t.Helper()
	for _, c := range checks {
		if !(math.Abs(c.got-c.want) <= c.tol) {
			t.Errorf("%s: got %.8g, want %.8g ± %g (%s)", c.name, c.got, c.want, c.tol, c.source)
		}
	}
}

func alloy(t *testing.T, id string) Alloy {
	t.Helper()
	a, ok := ByID(id)
	if !ok {
		t.Fatalf("no alloy %q", id)
	}
	return a
}

func TestAlloys(t *testing.T) {
	compare(t, []check{
		{"SnBi58 liquidus", alloy(t, "snbi58").LiquidusK - 273.15, 138, 1e-9, "textbook eutectic"},
		{"SAC305 solidus", alloy(t, "sac305").SolidusK - 273.15, 217, 1e-9, "public alloy table, 217 to 220 °C"},
		{"Sn63Pb37 liquidus", alloy(t, "snpb37").LiquidusK - 273.15, 183, 1e-9, "textbook eutectic"},
	})
	for _, a := range Alloys() {
		if !(a.SolidusK > 300) || a.LiquidusK < a.SolidusK || a.PeakLowK <= a.LiquidusK || a.PeakHighK <= a.PeakLowK || a.Kind == "" {
			t.Errorf("%+v is out of order", a)
		}
		if a.ServiceMaxK > 0 && a.ServiceMaxK > a.SolidusK-usualMarginK {
			t.Errorf("%s: service up to %g K for a solidus of %g K", a.ID, a.ServiceMaxK, a.SolidusK)
		}
	}
	if _, ok := ByID("unobtainium"); ok {
		t.Error("an unknown alloy was found")
	}
}

func TestServiceMargin(t *testing.T) {
	bi, sac := alloy(t, "snbi58"), alloy(t, "sac305")
	compare(t, []check{
		{"to melting", ServiceMargin(sac, 373.15).ToMeltingK, 117, 1e-9, "217 − 100"},
		{"spare", ServiceMargin(sac, 373.15).SpareK, 87, 1e-9, "less 30 K"},
		{"tin-bismuth's own bound rules", ServiceMargin(bi, 373.15).SpareK, 5, 1e-9, "105 − 100, common practice"},
	})
	if len(ServiceMargin(bi, 363.15).Notes) != 1 || len(ServiceMargin(bi, 350).Notes) != 0 || len(ServiceMargin(sac, 373.15).Notes) != 0 {
		t.Error("the note on weak tin-bismuth is in the wrong place")
	}
	if !strings.Contains(Mixing(bi, alloy(t, "snpb37")), "96 °C") || Mixing(bi, sac) != "" || Mixing(alloy(t, "snpb40"), bi) == "" {
		t.Error("tin, bismuth and lead melt at 96 °C together (NIST solder data), the others do not")
	}
	compare(t, []check{
		{"wires by tin-bismuth on SAC305", LaterStep(sac, bi, 0), 57, 1e-9, "217 − 160"},
		{"and the other way round", LaterStep(bi, sac, 513.15), -102, 1e-9, "138 − 240"},
	})
}

func TestPaste(t *testing.T) {
	sac := Paste{MetalShare: 0.885, MetalKgM3: 7380}
	bi := Paste{MetalShare: 0.90, MetalKgM3: 8560}
	d, err := bi.Print([]Opening{{LengthM: 3.3e-3, WidthM: 3.3e-3, FoilM: 0.12e-3, Coverage: 0.8, Count: 1}})
	if err != nil {
		t.Fatal(err)
	}
	small := Opening{LengthM: 0.3e-3, WidthM: 0.3e-3, FoilM: 0.12e-3}
	const source = "computed outside this program from 1/ρ = Σ w/ρ"
	compare(t, []check{
		{"SAC305 paste", sac.Density(), 4358, 44, source},
		{"SnBi58 paste", bi.Density(), 4991, 50, source},
		{"volume", d.VolumeM3 * 1e9, 1.0454, 0.0001, "3.3² · 0.8 · 0.12"},
		{"mass", d.MassKg * 1e6, 5.217, 0.005, source},
		{"metal by volume", sac.MetalVolume(), 0.52, 0.01, "about half"},
		{"area ratio", small.Release().AreaRatio, 0.625, 1e-12, "L·W/(2(L + W)t), IPC-7525"},
		{"smallest square", SmallestSquare(0.12e-3) * 1e3, 0.3168, 1e-9, "0.66·4·t, IPC-7525"},
		{"order for a small board", OrderKg(0.001), 0.010, 0, "at least 10 g, common practice"},
		{"order for a large one", OrderKg(0.050), 0.100, 1e-12, "twice, common practice"},
	})
	if small.Release().Releases {
		t.Error("0.625 must not release (IPC-7525: 0.66)")
	}
	side := SmallestSquare(0.12e-3)
	if !(Opening{LengthM: side, WidthM: side, FoilM: 0.12e-3}).Release().Releases {
		t.Error("the smallest square must release")
	}
	long := Opening{LengthM: 3e-3, WidthM: 0.17e-3, FoilM: 0.12e-3}.Release()
	if long.Releases || long.AspectRatio >= MinAspectRatio || long.AreaRatio < MinAreaRatio {
		t.Errorf("a long opening is judged by its aspect ratio: %+v", long)
	}
	if len((Opening{LengthM: 1, WidthM: 1, FoilM: 1e-4, Coverage: 0.95}).Release().Notes) != 1 {
		t.Error("a wide-open thermal pad goes unsaid")
	}
	for _, bad := range []struct {
		p Paste
		o Opening
	}{
		{Paste{}, Opening{LengthM: 1e-3, WidthM: 1e-3, FoilM: 1e-4, Count: 1}},
		{sac, Opening{WidthM: 1e-3, FoilM: 1e-4, Count: 1}},
		{sac, Opening{LengthM: math.NaN(), WidthM: 1e-3, FoilM: 1e-4, Count: 1}},
		{sac, Opening{LengthM: 1e-3, WidthM: 1e-3, FoilM: 1e-4, Coverage: 1.5, Count: 1}},
		{Paste{MetalShare: 0.9, MetalKgM3: 8000, Transferred: 2}, Opening{LengthM: 1e-3, WidthM: 1e-3, FoilM: 1e-4, Count: 1}},
	} {
		if _, err := bad.p.Print([]Opening{bad.o}); err == nil {
			t.Errorf("%+v gave no error", bad)
		}
	}
}

func TestPasteKeepsMassAndVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Paste{
			MetalShare: rapid.Float64Range(0.5, 1).Draw(t, "metal"), MetalKgM3: rapid.Float64Range(7000, 9000).Draw(t, "density"),
			FluxKgM3: rapid.Float64Range(800, 1300).Draw(t, "flux"), Transferred: rapid.Float64Range(0.5, 1).Draw(t, "te"),
		}
		o := Opening{LengthM: 2e-3, WidthM: 1e-3, FoilM: 1e-4, Count: rapid.IntRange(1, 50).Draw(t, "n")}
		d, err := p.Print([]Opening{o})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(d.MetalM3*p.MetalKgM3-p.MetalShare*d.MassKg) > 1e-12*d.MassKg {
			t.Fatalf("metal %g kg of %g kg paste at %g", d.MetalM3*p.MetalKgM3, d.MassKg, p.MetalShare)
		}
		if flux := p.FluxKgM3 * (d.VolumeM3 - d.MetalM3); math.Abs(flux-(1-p.MetalShare)*d.MassKg) > 1e-12*d.MassKg {
			t.Fatalf("flux %g kg of %g kg paste at %g", flux, d.MassKg, p.MetalShare)
		}
	})
}

// profile is a working lead-free profile in seconds and °C.
func profile(points ...[2]float64) []ProfilePoint {
	var out []ProfilePoint
	for _, p := range points {
		out = append(out, ProfilePoint{TimeS: p[0], TempK: p[1] + zeroCelsiusK})
	}
	return out
}

func TestCheckProfile(t *testing.T) {
	l, ok := Limits("lead-free")
	if !ok {
		t.Fatal("no lead-free limits")
	}
	// 25 → 150 in 60 s, to 200 in 90 s, to 245 in 30 s, stays 10 s, falls 4.5 K/s to 20.
	good := profile([2]float64{0, 25}, [2]float64{60, 150}, [2]float64{150, 200}, [2]float64{180, 245}, [2]float64{190, 245}, [2]float64{240, 20})
	checks, err := CheckProfile(good, l, alloy(t, "sac305"))
	if err != nil {
		t.Fatal(err)
	}
	const byHand = "by hand from the straight lines"
	want := []check{
		{"fastest rise", 0, 125.0 / 60, 1e-9, byHand},
		{"preheat", 0, 90, 1e-9, byHand},
		{"above liquidus", 0, 28.0/1.5 + 10 + 28/4.5, 1e-9, byHand},
		{"near the peak", 0, 5/1.5 + 10 + 5/4.5, 1e-9, byHand},
		{"peak", 0, 518.15, 1e-9, byHand},
		{"fastest fall", 0, 4.5, 1e-9, byHand},
		{"from 25 °C to the peak", 0, 180, 1e-9, byHand},
		{"peak of Sn96.5Ag3.0Cu0.5", 0, 518.15, 1e-9, byHand},
		{"above liquidus of Sn96.5Ag3.0Cu0.5", 0, 25/1.5 + 10 + 25/4.5, 1e-9, byHand},
	}
	if len(checks) != len(want) {
		t.Fatalf("%d checks, want %d", len(checks), len(want))
	}
	for k, c := range checks {
		if c.What != want[k].name || !c.Passed || c.Source == "" {
			t.Errorf("%+v, want %q to pass", c, want[k].name)
		}
		want[k].got = c.Value
	}
	compare(t, want)
	for name, bad := range map[string]struct {
		points []ProfilePoint
		fails  string
	}{
		"ramp":    {profile([2]float64{0, 25}, [2]float64{40, 150}, [2]float64{130, 200}, [2]float64{160, 245}, [2]float64{170, 245}, [2]float64{220, 20}), "fastest rise"},
		"quench":  {profile([2]float64{0, 25}, [2]float64{60, 150}, [2]float64{150, 200}, [2]float64{180, 245}, [2]float64{200, 245}, [2]float64{230, 20}), "fastest fall"},
		"too hot": {profile([2]float64{0, 25}, [2]float64{60, 150}, [2]float64{150, 200}, [2]float64{180, 262}, [2]float64{240, 20}), "peak"},
		"cold":    {profile([2]float64{0, 25}, [2]float64{60, 150}, [2]float64{150, 200}, [2]float64{180, 225}, [2]float64{240, 20}), "peak of Sn96.5Ag3.0Cu0.5"},
	} {
		checks, err := CheckProfile(bad.points, l, alloy(t, "sac305"))
		if err != nil {
			t.Fatal(err)
		}
		failed := false
		for _, c := range checks {
			failed = failed || (c.What == bad.fails && !c.Passed)
		}
		if !failed {
			t.Errorf("%s: %q passed in %+v", name, bad.fails, checks)
		}
	}
	for _, bad := range [][]ProfilePoint{nil, {{0, 300}}, {{0, 300}, {0, 310}}, {{0, 300}, {1, math.NaN()}}} {
		if _, err := CheckProfile(bad, l, Alloy{}); err == nil {
			t.Errorf("%v gave no error", bad)
		}
	}
}

func TestReflowLimits(t *testing.T) {
	l, _ := Limits("lead-free")
	pb, _ := Limits("tin-lead")
	const source = "J-STD-020D as reprinted in component datasheets"
	compare(t, []check{
		{"ramp", l.RampMaxKS, 3, 0, source},
		{"preheat from", l.PreheatMinS, 60, 0, source},
		{"preheat to", l.PreheatMaxS, 120, 0, source},
		{"above 217 °C from", l.AboveMinS, 60, 0, source},
		{"above 217 °C to", l.AboveMaxS, 150, 0, source},
		{"cool", l.CoolMaxKS, 6, 0, source},
		{"tin-lead above", pb.AboveK, 183 + 273.15, 0, source},
		{"tin-lead total", pb.TotalMaxS, 360, 0, source},
	})
	if _, ok := Limits("glue"); ok {
		t.Error("limits of glue were found")
	}
}

func TestPreheat(t *testing.T) {
	const table = "computed outside this program"
	pad := LayerResistance(100e-6, 2, 144e-6)
	compare(t, []check{
		{"aluminium, 100 × 100 × 2 mm, 25 to 100 °C", HeatJ(2700*2e-5, 900, 75), 3600, 60, "54 g, 3.6 kJ; " + table},
		{"dielectric under 12 × 12 mm", pad, 0.347, 0.0005, table},
		{"draw at 230 °C, board 25 °C", PadDraw(503.15, 298.15, 1.53), 134, 0.5, table},
		{"draw at 230 °C, board 120 °C", PadDraw(503.15, 393.15, 1.53), 72, 0.5, table},
		{"draw at 170 °C, board 100 °C", PadDraw(443.15, 373.15, 1.53), 46, 0.5, table},
	})
	cold, warm := OnPad(623.15, 0.4, 298.15, 1.53), OnPad(623.15, 0.4, 373.15, 1.53)
	compare(t, []check{
		{"series", cold.PowerW*1.53 + cold.PowerW/0.4, 325, 1e-9, "two resistances in series"},
		{"pad", cold.PadK - 298.15, cold.PowerW * 1.53, 1e-9, "definition of R"},
	})
	sac, bi := alloy(t, "sac305"), alloy(t, "snbi58")
	if cold.PadK > sac.LiquidusK || warm.PadK < bi.LiquidusK+20 {
		t.Errorf("350 °C at 0.4 W/K: pad at %g K cold and %g K warm; SAC305 must not flow cold, SnBi58 must flow at 100 °C (rule of thumb)", cold.PadK, warm.PadK)
	}
	p, err := PlateFor(sac, bi)
	if err != nil {
		t.Fatal(err)
	}
	compare(t, []check{
		{"plate", p.LowK - zeroCelsiusK, 100, 1e-9, "about 100 °C, common practice"},
		{"plate at most", p.HighK - zeroCelsiusK, 118, 1e-9, "20 K below 138 °C, common practice"},
	})
	if p, err := PlateFor(sac); err != nil || p.LowK != sac.SolidusK-30 {
		t.Errorf("%+v, %v", p, err)
	}
	if _, err := PlateFor(); err == nil {
		t.Error("no alloy gave no error")
	}
}
