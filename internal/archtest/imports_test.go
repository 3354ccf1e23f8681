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

// name is the package's short name: "heat", "cmd/lampwright".
func (p goPackage) name() string {
	return strings.TrimPrefix(strings.TrimPrefix(p.ImportPath, module), "internal/")
}

var packages = sync.OnceValues(func() ([]goPackage, error) {
	cmd := exec.Command("go", "list", "-e", "-json=ImportPath,Dir,Doc,GoFiles,Imports,TestImports,XTestImports",
		module+"...")
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
		t.Fatalf("go list found %d packages; it should find the whole code base", len(list))
	}
	return list
}

// uses is a package that another may import, with the reason.
type uses struct{ name, why string }

// layers lists every package from the bottom up. A package imports only packages of lower layers, and of those only
// what is listed here; a package that is not listed may not exist.
var layers = [][]struct {
	name string
	uses []uses
}{
	{
		{"archtest", nil},
		{"controller", nil},
		{"curve", nil},
		{"docs", nil},
		{"draw", nil},
		{"drive", nil},
		{"estimate", nil},
		{"examples", nil},
		{"flicker", nil},
		{"geom", nil},
		{"handbook", nil},
		{"inputfile", nil},
		{"intensity", nil},
		{"partslib", nil},
		{"quantity", nil},
		{"root", nil},
		{"sampling", nil},
		{"table", nil},
		{"textpos", nil},
		{"atomicfile", nil},
		{"version", nil},
	},
	{
		{"assembly", []uses{
			{"table", "alloys, reflow limits"},
		}},
		{"life", []uses{
			{"table", "maintenance factors"},
		}},
		{"burn", []uses{
			{"table", "burn thresholds"},
		}},
		{"foldback", []uses{
			{"root", "the level at which the loop settles"},
		}},
		{"sky", []uses{
			{"root", "instants at which the sun passes an elevation"},
			{"table", "periodic terms of the moon"},
		}},
		{"heat", []uses{
			{"geom", "outlines, pads and contacts on the grid"},
		}},
		{"light", []uses{
			{"intensity", "luminous intensity distributions of emitters"},
			{"table", "absorption of water"},
		}},
		{"mount", []uses{
			{"table", "screws"},
		}},
		{"outlinefile", []uses{
			{"geom", "outlines and holes"},
			{"textpos", "what is wrong in a file, with its place"},
		}},
		{"photometry", []uses{
			{"intensity", "far fields by the angles of their own type"},
			{"textpos", "what is wrong in a file, with its place"},
		}},
		{"plausible", []uses{
			{"table", "usual ranges of datasheet values"},
		}},
		{"point", []uses{
			{"curve", "datasheet curves with their range"},
		}},
		{"sink", []uses{
			{"root", "balances of heat and pressure"},
			{"table", "materials of lenses"},
		}},
		{"source", []uses{
			{"quantity", "values are read with their units"},
			{"textpos", "problems of files of other formats"},
		}},
		{"spectrum", []uses{
			{"curve", "tables over wavelength are curves with a range"},
			{"table", "observers, illuminants, components of daylight"},
			{"textpos", "what is wrong in a file, with its place"},
		}},
		{"wiring", []uses{
			{"root", "heat balance of a lead"},
			{"table", "wire gauges, fuse ratings, creepage distances"},
		}},
	},
	{
		{"benchlamp", []uses{
			{"sink", "infrared readings"},
		}},
		{"day", []uses{
			{"drive", "lightness of duties, means of ramps"},
			{"quantity", "near names of time zones"},
			{"root", "clouds of a stated mean"},
			{"sky", "declination of the sun, fraction of the moon"},
		}},
	},
	{
		{"colour", []uses{
			{"root", "nearest point of the locus, mixes to a colour"},
			{"spectrum", "sums over wavelength"},
			{"table", "lumen maintenance of lamps that are replaced"},
		}},
		{"finding", []uses{
			{"source", "a finding points at a line of a file"},
		}},
		{"plant", []uses{
			{"spectrum", "sums over wavelength"},
			{"table", "factors of classic lights"},
		}},
		{"project", []uses{
			{"curve", "a table read off a diagram at its test point"},
			{"day", "dates, time zones and clouds that are possible"},
			{"drive", "topology and input power of drivers and supplies"},
			{"geom", "outlines and holes that are possible"},
			{"inputfile", "open files of the project folder"},
			{"life", "tests of lumen maintenance that project"},
			{"mount", "screws and their washers"},
			{"photometry", "measured far fields of parts"},
			{"plausible", "exchanged length and width, usual ranges of tables"},
			{"quantity", "dimensions and texts of problems"},
			{"sampling", "correlations of learned parameters that are possible"},
			{"source", "files as typed values with places"},
			{"spectrum", "measured spectra of parts"},
			{"textpos", "what is wrong in spectra and LM-63 files"},
		}},
		{"raytrace", []uses{
			{"intensity", "distributions that are sampled"},
			{"light", "tank, water, emitters"},
		}},
	},
	{
		{"sheetfile", []uses{
			{"colour", "colour temperature of a spectrum"},
			{"intensity", "beam and peak of a distribution"},
			{"outlinefile", "outlines"},
			{"photometry", "LM-63 files"},
			{"spectrum", "spectra"},
		}},
		{"readingcsv", []uses{
			{"project", "readings, and what a reading may state"},
			{"quantity", "units of columns"},
			{"source", "the text of the readings file"},
			{"textpos", "what is wrong in a file, with its place"},
		}},
		{"lamp", []uses{
			{"colour", "colour shift with current"},
			{"curve", "datasheet curves"},
			{"day", "the daily programme"},
			{"drive", "outputs of the controller with their drivers"},
			{"foldback", "the sensor with its resistor and converter"},
			{"geom", "thermal pads"},
			{"intensity", "luminous intensity distributions"},
			{"life", "fatigue of solder joints, maintenance of lenses and emitters"},
			{"light", "luminous intensity distributions"},
			{"mount", "core as a plate, screws, mass"},
			{"point", "LED packages at a current and a temperature"},
			{"project", "what was designed"},
			{"quantity", "dimensions of assumptions"},
			{"sink", "geometry of heat sink, fan and housing"},
			{"sky", "place of the sun that a day follows"},
			{"source", "positions of inputs"},
			{"spectrum", "spectra of LED packages"},
		}},
		{"verify", []uses{
			{"assembly", "check rows"},
			{"colour", "check rows"},
			{"day", "check rows"},
			{"drive", "check rows"},
			{"estimate", "check rows"},
			{"flicker", "check rows"},
			{"foldback", "check rows"},
			{"geom", "shapes of check rows"},
			{"heat", "check rows"},
			{"intensity", "check rows"},
			{"life", "check rows"},
			{"light", "check rows"},
			{"mount", "check rows"},
			{"photometry", "check rows"},
			{"plant", "check rows"},
			{"raytrace", "check rows"},
			{"root", "maxima of check rows"},
			{"sink", "check rows"},
			{"sky", "check rows"},
			{"spectrum", "check rows"},
			{"table", "rows of the check table"},
			{"wiring", "check rows"},
		}},
	},
	{
		{"engine", []uses{
			{"colour", "colour of the sum"},
			{"curve", "cooling against temperature"},
			{"day", "levels along the day"},
			{"drive", "string voltages and wires"},
			{"geom", "outline, pads and contact of the board"},
			{"heat", "unit responses of the board"},
			{"intensity", "distributions of lenses"},
			{"lamp", "what is solved"},
			{"life", "how fast the light of emitters falls"},
			{"light", "unit responses of the light"},
			{"plant", "photons by band"},
			{"point", "LED packages at work"},
			{"project", "closed sets of the design"},
			{"quantity", "dimensions of assumptions that depend on a solution"},
			{"sampling", "the response of figures to what varies"},
			{"sink", "conductance of heat sink and housing"},
			{"spectrum", "watts to lumens and photons"},
			{"wiring", "wires and their ampacity"},
		}},
	},
	{
		{"casefile", []uses{
			{"benchlamp", "campaigns of readings: the stated lamp"},
			{"colour", "cases of colour"},
			{"controller", "traces of the controller core"},
			{"curve", "conductance of a heat sink, voltage of an emitter"},
			{"day", "cases of programmes"},
			{"drive", "input power of stated drivers and supplies"},
			{"engine", "steady state of a stated lamp"},
			{"estimate", "campaigns of readings: what they tell"},
			{"geom", "outlines of boards"},
			{"heat", "cases of heat in a board"},
			{"intensity", "distributions of cases"},
			{"lamp", "a stated lamp"},
			{"life", "lumen maintenance over a day"},
			{"light", "solve a case of a tank"},
			{"point", "emitters of a stated lamp"},
			{"project", "drivers of a stated lamp"},
			{"raytrace", "cases of light in a tank"},
			{"root", "balance of a case"},
			{"sampling", "quantiles of a stated lamp"},
			{"sink", "faces of a board, hoods"},
			{"sky", "cases of sun and moon"},
			{"source", "problems with their line"},
			{"spectrum", "spectra of cases"},
			{"textpos", "what is wrong in a case, with its place"},
		}},
		{"figure", []uses{
			{"colour", "figures of whole spectra"},
			{"day", "tariffs, the programme of the day"},
			{"drive", "lightness and dither of the outputs of a controller"},
			{"engine", "the Solution whose numbers are described"},
			{"foldback", "window of a thermal cut-out"},
			{"lamp", "names and parts"},
			{"life", "life of fan and capacitors"},
			{"light", "placed emitters in views"},
			{"mount", "pressure and bond line under screws"},
			{"plant", "figures of whole spectra"},
			{"point", "operating points in views"},
			{"project", "names of parts"},
			{"quantity", "dimensions and texts"},
			{"sampling", "quantiles of figures"},
			{"sink", "the housing's film and the hood in their derivations"},
			{"source", "positions of inputs"},
			{"spectrum", "spectra of the lamp"},
			{"wiring", "verified range of wire sizes"},
		}},
		{"store", []uses{
			{"engine", "the Solver that it wraps"},
			{"geom", "footprints on a heat sink's base"},
			{"heat", "unit responses of boards"},
			{"intensity", "distributions of lenses"},
			{"light", "unit responses of light"},
		}},
	},
	{
		{"bench", []uses{
			{"engine", "the lamp in the state of each reading"},
			{"estimate", "what the readings tell"},
			{"lamp", "parameters, channels, emitters"},
			{"life", "hours of ageing"},
			{"project", "the readings, and what instruments are"},
			{"quantity", "dimensions of readings"},
			{"sink", "what an infrared thermometer reads"},
			{"source", "readings that could be taken, as a file states them"},
		}},
		{"choose", []uses{
			{"engine", "options"},
			{"figure", "evaluate each alternative"},
			{"light", "which heights meet what is wanted"},
			{"project", "what can be varied"},
			{"quantity", "figures as texts"},
			{"source", "values that are put in"},
		}},
		{"lamptest", []uses{
			{"engine", "options of evaluations in tests"},
			{"figure", "evaluations in tests"},
			{"intensity", "distributions"},
			{"lamp", "lamps in tests"},
			{"partslib", "built-in parts"},
			{"photometry", "LM-63 files"},
			{"project", "projects as texts"},
			{"store", "unit responses kept between tests"},
		}},
		{"study", []uses{
			{"colour", "mixes"},
			{"controller", "configuration and runs of the controller core"},
			{"curve", "courses in time"},
			{"day", "programme and clock of the day"},
			{"drive", "lightness of levels"},
			{"engine", "numbers and the Solver"},
			{"figure", "the evaluation that is asked"},
			{"foldback", "the sensor's table and loop"},
			{"geom", "wire pads"},
			{"heat", "transients and soldering"},
			{"intensity", "far field of the lamp"},
			{"lamp", "what is built"},
			{"life", "lumen maintenance over a day"},
			{"light", "maps on further planes"},
			{"photometry", "LM-63 of the lamp"},
			{"project", "requirements and parts"},
			{"quantity", "texts of errors and names"},
			{"raytrace", "Monte Carlo tracing"},
			{"sink", "infrared readings"},
			{"spectrum", "light of channels"},
		}},
	},
	{
		{"report", []uses{
			{"bench", "plan and review of the readings"},
			{"colour", "loci of the chromaticity diagram"},
			{"day", "times of day as text"},
			{"draw", "its pictures"},
			{"figure", "the Result that is shown"},
			{"finding", "the findings that are listed"},
			{"foldback", "the sensor's table and how its loop ends"},
			{"intensity", "distributions, for the section"},
			{"light", "refractive index of water, for the section"},
			{"project", "parts by their names"},
			{"quantity", "figures as text"},
			{"source", "places of inputs and findings"},
			{"spectrum", "curves to draw"},
			{"study", "courses and heights that are drawn"},
			{"version", "version of the program"},
		}},
		{"review", []uses{
			{"burn", "burn thresholds"},
			{"colour", "bands of a mix, limits of the blue-light hazard"},
			{"curve", "derating curves of datasheets"},
			{"drive", "potentials of pads, insulation stress, parallel strings"},
			{"engine", "numbers of the solution"},
			{"figure", "the evaluation that is judged"},
			{"finding", "what it has to say"},
			{"flicker", "flicker risk"},
			{"lamp", "what is built"},
			{"life", "lumen maintenance over a day"},
			{"light", "light after the water has fallen"},
			{"mount", "limits of screws, bow, lines, couples of metals"},
			{"plausible", "usual ranges of typed values"},
			{"point", "how curves are extrapolated, in words"},
			{"project", "what was wanted"},
			{"quantity", "limits and margins as text"},
			{"root", "currents and sizes at which a rule passes"},
			{"sink", "air pressure at altitude, humid air"},
			{"source", "places of findings"},
			{"study", "hanging heights, foldback"},
			{"wiring", "fuses, ampacity, insulation"},
		}},
	},
	{
		{"search", []uses{
			{"engine", "options, and the currents of channels"},
			{"figure", "evaluate each change"},
			{"finding", "severities"},
			{"lamp", "channels and parts"},
			{"project", "put changes into a design"},
			{"quantity", "values as texts"},
			{"review", "judge each change"},
			{"source", "values that are put in"},
			{"wiring", "fuses for a current"},
		}},
	},
	{
		{"start", []uses{
			{"colour", "colour of emitters and of their mixtures"},
			{"engine", "options, and the flux of channels"},
			{"figure", "evaluate each draft"},
			{"finding", "severities"},
			{"lamp", "spectra of emitters"},
			{"project", "parts, and the design of a text"},
			{"quantity", "answers with their units"},
			{"review", "judge each draft"},
			{"search", "clear the stops that are left"},
			{"source", "the text of the design"},
			{"spectrum", "sums of spectra"},
			{"table", "starting points of plants"},
		}},
	},
	{
		{"web", []uses{
			{"atomicfile", "saves, and the lock of the folder"},
			{"bench", "readings beside their predictions"},
			{"choose", "alternatives side by side"},
			{"colour", "the wish of a mix"},
			{"day", "times of keyframes"},
			{"docs", "citations for the report"},
			{"draw", "paints and channel colours"},
			{"engine", "options"},
			{"figure", "evaluate, live"},
			{"finding", "findings that are shown"},
			{"foldback", "rows of its table and the course of its loop"},
			{"handbook", "help within the page"},
			{"geom", "shapes of a dropped outline"},
			{"inputfile", "open files of the project folder"},
			{"lamp", "channels and parts"},
			{"outlinefile", "a dropped outline"},
			{"project", "load texts as they are edited"},
			{"quantity", "values and choices as text"},
			{"report", "the design report, and the pictures and tables that it shares with it"},
			{"review", "judge"},
			{"search", "the plan of a review, choices of parts"},
			{"sheetfile", "what a dropped file contains"},
			{"source", "splice, save, problems"},
			{"start", "the design of a new lamp"},
			{"store", "unit responses in memory"},
			{"study", "questions of the views"},
			{"textpos", "problems of a dropped file"},
			{"wiring", "ratings of fuses"},
		}},
	},
	{
		{"cli", []uses{
			{"atomicfile", "files that commands write"},
			{"bench", "readings beside their predictions"},
			{"casefile", "compute a case file"},
			{"choose", "alternatives side by side"},
			{"colour", "figures of a spectrum file"},
			{"controller", "firmware of the controller"},
			{"day", "dates of simulations"},
			{"docs", "citations for the dossier"},
			{"engine", "options"},
			{"examples", "demos that the workspace offers"},
			{"figure", "evaluate"},
			{"finding", "print findings"},
			{"inputfile", "open files that are named"},
			{"lamp", "parameters of a result, learned ones that the design drops"},
			{"partslib", "the built-in parts"},
			{"photometry", "read and write far fields"},
			{"plant", "figures of a spectrum file"},
			{"project", "load"},
			{"quantity", "print figures, suggest near names"},
			{"raytrace", "estimates with standard errors"},
			{"readingcsv", "readings of CSV files"},
			{"report", "write the design report"},
			{"review", "judge"},
			{"search", "the plan of a review"},
			{"source", "schema, reference, saving"},
			{"spectrum", "read a spectrum file"},
			{"start", "the design of a new lamp"},
			{"store", "unit responses in the project folder"},
			{"study", "questions of the commands"},
			{"textpos", "what is wrong in spectra and LM-63 files"},
			{"verify", "the check table"},
			{"version", "version of the program"},
			{"web", "serve the workspace"},
		}},
	},
	{
		{"cmd/lampwright", []uses{
			{"cli", "the main function"},
		}},
	},
}

// TestImports compares the imports of each package with layers: nothing that is not listed, nothing upwards or
// sideways, and nothing listed that no code uses.
func TestImports(t *testing.T) {
	layerOf, may := map[string]int{}, map[string]map[string]bool{}
	for n, layer := range layers {
		for _, r := range layer {
			layerOf[r.name], may[r.name] = n, map[string]bool{}
		}
	}
	for _, layer := range layers {
		for _, r := range layer {
			for _, u := range r.uses {
				may[r.name][u.name] = true
				if u.why == "" {
					t.Errorf("%s may import %s, but the table gives no reason", r.name, u.name)
				}
				if below, known := layerOf[u.name]; !known || below >= layerOf[r.name] {
					t.Errorf("the table lets %s import %s, which is not in a lower layer: data flows one way", r.name,
						u.name)
				}
			}
		}
	}
	built := map[string]bool{}
	for _, p := range listPackages(t) {
		pkg := p.name()
		built[pkg] = true
		if _, known := may[pkg]; !known {
			t.Errorf("package %s is not in the table of layers: add it with what it may import and why, and to "+
				"docs/architecture.md", pkg)
			continue
		}
		used := map[string]bool{}
		for _, imp := range p.Imports {
			if !strings.HasPrefix(imp, module) {
				continue
			}
			other := strings.TrimPrefix(strings.TrimPrefix(imp, module), "internal/")
			used[other] = true
			if !may[pkg][other] {
				t.Errorf("%s imports %s, which the table of layers does not allow: pass plain values instead, or give "+
					"the reason there", pkg, other)
			}
		}
		for other := range may[pkg] {
			if !used[other] {
				t.Errorf("the table lets %s import %s, but no code does: remove the line", pkg, other)
			}
		}
	}
	for pkg := range may {
		if !built[pkg] {
			t.Errorf("the table names package %s, which does not exist", pkg)
		}
	}
}

// libraries lists what comes from outside the standard library, the packages that may use it, and why it is confined.
var libraries = []struct {
	prefix string
	users  []string
	why    string
}{
	{"go.yaml.in/yaml/v4", []string{"source"}, "one package knows YAML, so that the library can be exchanged"},
	{"github.com/alecthomas/kong", []string{"cli"}, "one package knows the command line"},
	{"github.com/boombuler/barcode", []string{"cli"}, "QR code of the address of the workspace"},
	{"golang.org/x/term", []string{"cli"}, "one package knows the terminal"},
	{
		"golang.org/x/text",
		[]string{"cli", "photometry"},
		"display width of characters; letters without their marks in files of ASCII alone",
	},
	{
		"gonum.org/v1/gonum",
		[]string{"bench", "curve", "estimate", "foldback", "heat", "intensity", "light", "spectrum", "verify"},
		"numerical methods that others keep well",
	},
	{"golang.org/x/sys", []string{"atomicfile"}, "locks, and the exchange of two files in one step"},
	{
		"golang.org/x/sync",
		[]string{"bench", "figure", "heat", "light", "raytrace", "sampling", "search"},
		"errors of work in parallel",
	},
}

// outsideOnly lists packages of the standard library that physics packages must not import, and which packages may.
var outsideOnly = []struct {
	prefix string
	users  []string
	why    string
}{
	{
		"os",
		[]string{"atomicfile", "inputfile", "cli", "web", "lamptest", "cmd/lampwright"},
		"files and signals arrive as arguments",
	},
	{"net", []string{"cli", "web"}, "only front ends use a network"},
	{
		"time",
		[]string{"atomicfile", "cli", "day", "web"},
		"there is no clock in physics: the same files give the same bytes (day reads its own time zones)",
	},
	{"log", nil, "a package returns its messages"},
	{"math/rand", nil, "seeded streams of math/rand/v2 give the same answer on every machine"},
	{"plugin", nil, "one binary"},
	{"syscall", []string{"atomicfile", "inputfile"}, "files and signals arrive as arguments"},
	{"unsafe", nil, "nothing here needs it"},
}

// TestOutsideImports compares imports from outside the module with libraries and outsideOnly.
func TestOutsideImports(t *testing.T) {
	within := func(imp, prefix string) bool { return imp == prefix || strings.HasPrefix(imp, prefix+"/") }
	for _, p := range listPackages(t) {
		for _, imp := range p.Imports {
			if first, _, _ := strings.Cut(imp, "/"); strings.Contains(first, ".") {
				allowed := false
				for _, l := range libraries {
					allowed = allowed || within(imp, l.prefix) && slices.Contains(l.users, p.name())
				}
				if !allowed {
					t.Errorf("%s imports %s, which is not in the table of libraries for it: give the reason there, or "+
						"do without", p.name(), imp)
				}
			}
			for _, f := range outsideOnly {
				if within(imp, f.prefix) && imp != "math/rand/v2" && !slices.Contains(f.users, p.name()) {
					t.Errorf("%s imports %s: %s", p.name(), imp, f.why)
				}
			}
		}
	}
}
