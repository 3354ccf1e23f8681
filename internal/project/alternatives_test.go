package project_test

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/examples"
	"lampwright/internal/lamptest"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// setsOf returns the settings that put a part in a place, in one line.
func setsOf(t *testing.T, p *project.Project, path, id string) string {
	t.Helper()
	s, ok := p.SlotAt(path)
	if !ok {
		t.Fatalf("no part at %s", path)
	}
	for _, a := range p.Alternatives(s) {
		if a.Part.ID.S == id {
			return fmt.Sprint(a.Sets)
		}
	}
	return "none"
}

// changed is a design with settings.
func changed(t *testing.T, p *project.Project, sets ...source.Setting) *project.Project {
	t.Helper()
	f, err := p.File, error(nil)
	for _, s := range sets {
		if f, err = f.Put(s.Path, s.Text); err != nil {
			t.Fatal(err)
		}
	}
	q, problems := project.Of(f, p.Library, nil)
	if q == nil {
		t.Fatal(problems)
	}
	return q
}

// TestAlternatives: what a part brings that the design could not be built without.
func TestAlternatives(t *testing.T) {
	p := lamptest.Example(t, "long-tank")
	thick := changed(t, p, source.Setting{Path: "board.thickness", Text: "3 mm"})
	contact := changed(t, p, source.Setting{Path: "sink.contact", Text: "{length: 200 mm, width: 40 mm}"})
	fused := changed(t, p, source.Setting{
		Path: "channels[0].fuse", Text: "{rated_current: 1 A, rated_voltage_dc: 63 V}",
	})
	ac := func(supplies string) *project.Project {
		return changed(t, p, source.Setting{Path: "channels[0].driver", Text: "ac-700ma"},
			source.Setting{Path: "supplies", Text: supplies})
	}
	elsewhere := ac("[{part: supply-24v-100w, feeds: [neutral, cyan, red]}]")
	jar := lamptest.Example(t, "moss-jar")
	fedByMains := changed(t, changed(t, jar, source.Setting{Path: "channels[0].driver", Text: "ac-700ma"}),
		source.Setting{Path: "supplies", Text: "[]"})
	for _, tt := range []struct {
		what     string
		p        *project.Project
		path, id string
		want     string
	}{
		{"the present part", p, "board.part", "aluminium-2w", "[]"},
		{
			"a thickness that the board is not made in", thick, "board.part", "copper-direct",
			"[{board.part copper-direct} {board.thickness 2 mm}]",
		},
		{
			"a sink beside one that touches in part", contact, "sink.part", "fins-150",
			"[{sink.part fins-150} {sink.contact }]",
		},
		{
			"a mains driver has no fuse of its channel", fused, "channels[0].driver", "ac-700ma",
			"[{channels[0].driver ac-700ma} {channels[0].fuse }]",
		},
		{
			"a fed driver is fed", elsewhere, "channels[0].driver", "buck-1a",
			"[{channels[0].driver buck-1a} {supplies[0].feeds [neutral, cyan, red, cool]}]",
		},
		{
			"by a supply of the lowest voltage where there is none", fedByMains, "channels[0].driver", "buck-1a",
			"[{channels[0].driver buck-1a} {supplies[0] {part: supply-12v-60w, feeds: [white]}}]",
		},
		{"another fed driver", p, "channels[0].driver", "buck-3a", "[{channels[0].driver buck-3a}]"},
		{"a lens of another package", p, "channels[2].emitters[0].lens", "lens-100-large", "none"},
	} {
		if got := setsOf(t, tt.p, tt.path, tt.id); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.what, got, tt.want)
		}
	}
	if _, ok := p.SlotAt("channels[0].current"); ok {
		t.Error("a current is no part")
	}
	var paths []string
	for _, s := range p.Slots() {
		paths = append(paths, s.Path)
	}
	for _, want := range []string{
		"channels[3].driver", "supplies[0].wire.part", "channels[0].emitters[0].lens", "solder", "sensor.part",
	} {
		if !slices.Contains(paths, want) {
			t.Errorf("%s is not among %v", want, paths)
		}
	}
}

// TestAlternativePackage: an emitter keeps its pads, and a wiring that the other package lacks goes.
func TestAlternativePackage(t *testing.T) {
	library, err := fs.ReadFile(partslib.Files(), "parts/emitters.yaml")
	if err != nil {
		t.Fatal(err)
	}
	_, after, _ := strings.Cut(string(library), "  - id: white-4500-trio\n")
	own, _, _ := strings.Cut(after, "\n  - id: ")
	mine := "emitters:\n  - id: my-trio\n" + strings.ReplaceAll(own, "name: 9 V", "name: all")
	lamp, err := fs.ReadFile(examples.Files, "long-tank-first/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, problems := project.Load(fstest.MapFS{
		"lamp.yaml":      {Data: lamp},
		"parts/own.yaml": {Data: []byte(mine)},
	}, "lamp.yaml", partslib.Files())
	if p == nil {
		t.Fatal(problems)
	}
	s, _ := p.SlotAt("channels[0].emitters[0].part")
	var got []string
	for _, a := range p.Alternatives(s) {
		got = append(got, fmt.Sprint(a.Part.ID.S, len(a.Sets)))
		if pack := p.Library.Emitters.Get(a.Part.ID.S).Package.S; pack != "5050" {
			t.Errorf("%s has the package %s", a.Part.ID.S, pack)
		}
	}
	// The present one needs no setting, another its id, and one without "9 V" loses that.
	if text := strings.Join(got, " "); text != "my-trio2 white-4500-trio1 white-5700-trio0" {
		t.Error(text)
	}
}

func TestNearestThickness(t *testing.T) {
	b := project.Stackup{PriceByThickness: source.Curve{X: []float64{1e-3, 1.6e-3, 2e-3}}}
	for mm, want := range map[float64]float64{0.5: 1, 1.2: 1, 1.7: 1.6, 1.9: 2, 9: 2} {
		if got := 1e3 * b.NearestThickness(mm*1e-3); got != want {
			t.Errorf("%g mm: %g mm, want %g mm", mm, got, want)
		}
	}
	if got := (&project.Stackup{}).NearestThickness(1.23e-3); got != 1.23e-3 {
		t.Errorf("%g without a list", got)
	}
	if got := project.Millimetres(1.6e-3) + project.Millimetres(2e-3); got != "1.6 mm2 mm" {
		t.Error(got)
	}
	if got := project.FeedsText([]string{"white", "a: b", "no"}); got != `[white, "a: b", "no"]` {
		t.Error(got)
	}
}
