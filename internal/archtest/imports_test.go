package archtest

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
)

// module is the path before every package of ours.
const module = "lampwright/"

// goPackage is what the go command says of a package.
type goPackage struct {
	ImportPath   string
	Dir          string
	Doc          string
	GoFiles      []string
	Imports      []string
	TestImports  []string
	XTestImports []string
}

// room is the package's short name: "heat", "cmd/lampwright".
func (p goPackage) room() string {
	return strings.TrimPrefix(strings.TrimPrefix(p.ImportPath, module), "internal/")
}

var packages = sync.OnceValues(func() ([]goPackage, error) {
	cmd := exec.Command("go", "list", "-e", "-json=ImportPath,Dir,Doc,GoFiles,Imports,TestImports,XTestImports", module+"...")
	cmd.Dir = root
	out, err := cmd.Output()
	if err != nil {
		return nil, err
	}
	var list []goPackage
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p goPackage
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return list, nil
		} else if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
})

func listPackages(t *testing.T) []goPackage {
	t.Helper()
	list, err := packages()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	if len(list) < 20 {
		t.Fatalf("go list found %d packages; it should find the whole house", len(list))
	}
	return list
}

// uses is one room that another may import, with the reason.
type uses struct{ room, why string }

// floors lists every room from the ground up. A room imports only rooms of lower floors, and of those only what stands
// here; a room that is not here may not exist.
var floors = [][]struct {
	room string
	uses []uses
}{
	{ // Plain tools of arithmetic and text.
		{"quantity", nil},
		{"geom", nil},
		{"curve", nil},
		{"draw", nil}, // pictures of plain values
		{"root", nil},
		{"table", nil},    // embedded tables of reference values
		{"examples", nil}, // embedded folders
		{"docs", nil},     // the bibliography
		{"version", nil},  // of the binary
	},
	{ // Physics that needs no other physics, and files.
		{"source", []uses{{"quantity", "values are read with their units"}}},
		{"spectrum", []uses{{"curve", "tables over wavelength are curves with a range"}, {"table", "observers, illuminants, components of daylight"}}},
		{"heat", []uses{{"geom", "outlines, pads and contacts on the grid"}}},
		{"light", []uses{{"table", "absorption of water"}}},
		{"sink", []uses{{"root", "balances of heat and pressure"}}},
		{"touch", []uses{{"table", "burn thresholds"}}},
		{"foldback", []uses{{"root", "the level at which the loop settles"}}},
		{"assembly", []uses{{"table", "alloys, reflow limits"}}},
		{"photometry", nil},
		{"drive", nil},
		{"wiring", []uses{{"root", "heat balance of a lead"}, {"table", "wire gauges, fuse ratings, creepage distances"}}},
		{"flicker", nil},
		{"life", nil},
		{"point", []uses{{"curve", "datasheet curves with their range"}}},
	},
	{ // What needs one of those.
		{"colour", []uses{{"root", "nearest point of the locus, mixes to a colour"}, {"spectrum", "sums over wavelength"}}},
		{"plant", []uses{{"spectrum", "sums over wavelength"}, {"table", "factors of classic lights"}}},
		{"finding", []uses{{"source", "a finding points at a line of a file"}}},
		{"project", []uses{{"source", "files as typed values with places"}, {"quantity", "dimensions and texts of problems"}, {"geom", "outlines and holes that are possible"}, {"photometry", "measured far fields of parts"}, {"drive", "circuit of each kind of driver"}, {"spectrum", "measured spectra of parts"}}},
		{"partslib", nil}, // an embedded folder; project reads it as it reads any other
	},
	{ // Monte Carlo, over the tank of light.
		{"raytrace", []uses{
			{"intensity", "sampled directions"},
			{"light", "tank, emitters, Fresnel formulae, and direct light without noise"},
		}},
	},
	{ // The one room that knows all disciplines.
		{"design", []uses{
			{"project", "what was designed"},
			{"source", "where each input stands"},
			{"quantity", "figures carry their dimension"},
			{"curve", "cooling against temperature"},
			{"geom", "outline, pads and contact of the board"},
			{"point", "emitters at work"},
			{"heat", "the board's unit responses"},
			{"sink", "what carries heat into the room"},
			{"intensity", "patterns of lenses, and the lamp's own far field"},
			{"light", "unit responses of the light"},
			{"raytrace", "light by Monte Carlo, and glare"},
			{"photometry", "measured patterns of parts, and the lamp's own far field"},
			{"spectrum", "watts to lumens and photons"},
			{"colour", "colour of the mix"},
			{"plant", "photons by band and by yield"},
			{"foldback", "the sensor's table and loop"},
			{"drive", "output voltages of strings"},
			{"wiring", "voltage drop and ampacity"},
		}},
		{"casefile", []uses{
			{"geom", "outlines of boards"},
			{"heat", "solve a case of a board"},
			{"light", "solve a case of a tank"},
		}},
		{"verify", []uses{
			{"assembly", "check rows"},
			{"colour", "check rows"},
			{"drive", "check rows"},
			{"flicker", "check rows"},
			{"foldback", "check rows"},
			{"geom", "shapes of check rows"},
			{"heat", "check rows"},
			{"life", "check rows"},
			{"light", "check rows"},
			{"photometry", "check rows"},
			{"plant", "check rows"},
			{"root", "the time of a check row"},
			{"sink", "check rows"},
			{"spectrum", "check rows"},
			{"table", "the rows themselves"},
			{"wiring", "check rows"},
		}},
	},
	{ // Judgement, and alternatives.
		{"choose", []uses{
			{"design", "evaluate each alternative"},
			{"light", "which heights meet what is wanted"},
			{"project", "what can be varied"},
			{"quantity", "figures as texts"},
			{"source", "values that are put in"},
		}},
		{"review", []uses{
			{"design", "the Result that is judged"},
			{"finding", "what it has to say"},
			{"project", "what was wanted"},
			{"source", "places of findings"},
			{"quantity", "limits and margins as text"},
			{"curve", "derating curves of datasheets"},
			{"drive", "potentials of pads, insulation stress, parallel strings"},
			{"flicker", "risk levels of PWM dimming"},
			{"wiring", "fuses, breakers, dielectric, touch voltages"},
			{"touch", "burn thresholds"},
		}},
	},
	{ // The record.
		{"report", []uses{
			{"colour", "loci of the chromaticity diagram"},
			{"design", "the Result that is shown"},
			{"draw", "its pictures"},
			{"finding", "the findings that are listed"},
			{"foldback", "the sensor's table and how its loop ends"},
			{"intensity", "beam and field angles, for the section"},
			{"light", "refractive index of water, for the section"},
			{"project", "parts by their names"},
			{"quantity", "figures as text"},
			{"source", "places of inputs and findings"},
			{"spectrum", "curves to draw"},
			{"version", "which program computed the figures"},
		}},
	},
	{ // The workspace.
		{"web", []uses{
			{"choose", "alternatives side by side"},
			{"colour", "the wish of a mix"},
			{"design", "evaluate, live"},
			{"report", "the design report, and the pictures and tables that it shares with it"},
			{"docs", "citations for the report"},
			{"draw", "paints and channel colours"},
			{"finding", "findings that are shown"},
			{"foldback", "rows of its table and the course of its loop"},
			{"project", "load texts as they are edited"},
			{"quantity", "values and choices as text"},
			{"review", "judge"},
			{"source", "splice, save, problems"},
		}},
	},
	{ // Faces.
		{"cli", []uses{
			{"casefile", "compute cases of boards and tanks"},
			{"docs", "citations for the dossier"},
			{"examples", "demos that the workspace offers"},
			{"web", "serve the workspace"},
			{"version", "print it"},
			{"choose", "alternatives side by side"},
			{"colour", "figures of a spectrum file"},
			{"design", "evaluate"},
			{"report", "write the design report"},
			{"finding", "print findings"},
			{"light", "flows of a traced lamp, by name"},
			{"photometry", "read and write far fields"},
			{"plant", "figures of a spectrum file"},
			{"project", "load"},
			{"quantity", "print figures, suggest near names"},
			{"review", "judge"},
			{"partslib", "the built-in parts"},
			{"source", "schema, reference, saving"},
			{"spectrum", "read a spectrum file"},
			{"verify", "the check table"},
		}},
	},
	{ // What holds the house together.
		{"cmd/lampwright", []uses{{"cli", "the main function"}}},
		{"house", nil}, // imports cli in a test, to hold the printed format against docs
	},
}

// TestImports holds what each room imports against floors: nothing that is not there, upwards or sideways, and nothing
// there that no code uses.
func TestImports(t *testing.T) {
	floorOf, may := map[string]int{}, map[string]map[string]bool{}
	for n, floor := range floors {
		for _, r := range floor {
			floorOf[r.room], may[r.room] = n, map[string]bool{}
		}
	}
	for _, floor := range floors {
		for _, r := range floor {
			for _, u := range r.uses {
				may[r.room][u.room] = true
				if u.why == "" {
					t.Errorf("%s may import %s, but the table gives no reason", r.room, u.room)
				}
				if below, known := floorOf[u.room]; !known || below >= floorOf[r.room] {
					t.Errorf("the table lets %s import %s, which is not on a lower floor: data flows one way", r.room, u.room)
				}
			}
		}
	}
	built := map[string]bool{}
	for _, p := range listPackages(t) {
		room := p.room()
		built[room] = true
		if _, known := may[room]; !known {
			t.Errorf("room %s is not in the table of floors: add it with what it may import and why, and to docs/architecture.md", room)
			continue
		}
		used := map[string]bool{}
		for _, imp := range p.Imports {
			if !strings.HasPrefix(imp, module) {
				continue
			}
			other := strings.TrimPrefix(strings.TrimPrefix(imp, module), "internal/")
			used[other] = true
			if !may[room][other] {
				t.Errorf("%s imports %s, which the table of floors does not allow: pass plain values instead, or give the reason there", room, other)
			}
		}
		for other := range may[room] {
			if !used[other] {
				t.Errorf("the table lets %s import %s, but no code does: take the line out", room, other)
			}
		}
	}
	for room := range may {
		if !built[room] {
			t.Errorf("the table names room %s, which does not exist", room)
		}
	}
}

// libraries lists what comes from outside the standard library, the rooms that may use it, and why it is confined.
var libraries = []struct {
	prefix string
	rooms  []string
	why    string
}{
	{"go.yaml.in/yaml/v4", []string{"source"}, "one room knows YAML, so that the library can be exchanged"},
	{"github.com/alecthomas/kong", []string{"cli"}, "one room knows the command line"},
	{"charm.land/lipgloss/v2", []string{"cli"}, "one room knows the terminal"},
	{"gonum.org/v1/gonum", []string{"curve", "foldback", "intensity", "light", "spectrum"}, "numerical methods that others keep well"},
	{"golang.org/x/sync", []string{"heat", "light", "raytrace"}, "errors of work in parallel"},
}

// facesOnly are packages of the standard library that a room of physics must not know, and who may.
var facesOnly = []struct {
	prefix string
	rooms  []string
	why    string
}{
	{"os", []string{"source", "cli", "web", "cmd/lampwright"}, "files and signals arrive as arguments"},
	{"net", []string{"cli", "web"}, "only a face speaks to a network"},
	{"time", []string{"cli", "web"}, "there is no clock in physics: the same files give the same bytes"},
	{"log", nil, "a room returns what it has to say"},
	{"math/rand", nil, "seeded streams of math/rand/v2 give the same answer on every machine"},
	{"plugin", nil, "one binary"},
	{"syscall", nil, "files and signals arrive as arguments"},
	{"unsafe", nil, "nothing here needs it"},
}

// TestOutsideImports holds imports from outside the module against libraries and facesOnly.
func TestOutsideImports(t *testing.T) {
	within := func(imp, prefix string) bool { return imp == prefix || strings.HasPrefix(imp, prefix+"/") }
	for _, p := range listPackages(t) {
		for _, imp := range p.Imports {
			if first, _, _ := strings.Cut(imp, "/"); strings.Contains(first, ".") {
				allowed := false
				for _, l := range libraries {
					allowed = allowed || within(imp, l.prefix) && slices.Contains(l.rooms, p.room())
				}
				if !allowed {
					t.Errorf("%s imports %s, which is not in the table of libraries for it: give the reason there, or do without", p.room(), imp)
				}
			}
			for _, f := range facesOnly {
				if within(imp, f.prefix) && imp != "math/rand/v2" && !slices.Contains(f.rooms, p.room()) {
					t.Errorf("%s imports %s: %s", p.room(), imp, f.why)
				}
			}
		}
	}
}
