package review

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/geom"
	"lampwright/internal/heat"
	"lampwright/internal/intensity"
	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// keptSolver is a Solver whose fields are those of the first board, sink and installation of a shape: numbers that
// belong together and cost nothing. What depends on the figures of a lamp alone is computed.
type keptSolver struct {
	engine.Direct
	mu   sync.Mutex
	kept map[string]any
}

// keep returns what is kept under a key, or computes it.
func keep[T any](s *keptSolver, key string, compute func() (T, error)) (T, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if v, ok := s.kept[key]; ok {
		return v.(T), nil
	}
	v, err := compute()
	if err == nil {
		s.kept[key] = v
	}
	return v, err
}

func (s *keptSolver) Board(
	ctx context.Context, b heat.Board, sources []heat.Source, probes []heat.Probe, o heat.Options,
) (*heat.Response, error) {
	key := fmt.Sprint("board", len(sources), len(probes), b.TopFilmWm2K > 0, b.BackFilmWm2K > 0)
	for _, l := range b.Layers {
		key += l.Name
	}
	return keep(s, key, func() (*heat.Response, error) {
		o.RelErr = 0.2
		return s.Direct.Board(ctx, b, sources, probes, o)
	})
}

func (s *keptSolver) SinkBase(p heat.Plate, feet []geom.Rect) ([][]float64, error) {
	return keep(s, fmt.Sprint("base", len(feet)), func() ([][]float64, error) { return s.Direct.SinkBase(p, feet) })
}

func (s *keptSolver) Light(ctx context.Context, in engine.LightInputs) (*engine.UnitLight, error) {
	key := fmt.Sprint("light", in.Types, len(in.Tank.Bands), in.Tank.HeightM > 0, in.Tank.WaterDepthM > 0)
	return keep(s, key, func() (*engine.UnitLight, error) { return s.Direct.Light(ctx, in) })
}

func (s *keptSolver) LightChanges(
	ctx context.Context, in engine.LightChangesInputs,
) ([]engine.LightChange, error) {
	key := fmt.Sprint("changes", len(in.Nominal.Emitters), len(in.Variants), in.Grid.NX, in.Grid.NY,
		in.Nominal.Tank.WaterDepthM > 0)
	return keep(s, key, func() ([]engine.LightChange, error) { return s.Direct.LightChanges(ctx, in) })
}

func (s *keptSolver) Lens(d intensity.LensData) (intensity.Distribution, intensity.LensFit, error) {
	type lens struct {
		intensity.Distribution
		intensity.LensFit
	}
	l, err := keep(s, fmt.Sprint("lens", d), func() (lens, error) {
		p, fit, err := s.Direct.Lens(d)
		fit.Notes = slices.Clip(fit.Notes) // others append theirs
		return lens{p, fit}, err
	})
	return l.Distribution, l.LensFit, err
}

func (s *keptSolver) Section(
	ctx context.Context, in engine.SectionInputs, progress func(done, total int),
) ([]light.Response, error) {
	key := fmt.Sprint("section", len(in.Light.Emitters), len(in.Planes), in.Grid.NX, in.Grid.NY)
	return keep(s, key, func() ([]light.Response, error) { return s.Direct.Section(ctx, in, progress) })
}

// The lamps that FuzzEvaluate changes: the first byte of its input selects one.
var fuzzLamps = []lampVariant{
	{},
	lampVariant{}.with(edit{
		"kind: bench\n  inside: {length: 400 mm, width: 400 mm}",
		"kind: tank\n  glass: 6 mm\n  water_depth: 250 mm\n  inside: {length: 400 mm, width: 400 mm, height: 300 mm}",
	}),
	lampVariant{}.with(
		edit{"    driver: down\n", "    driver: down\n    level: 40 %\n    wire: {part: lead, length: 3 m}\n"},
		edit{"dimming: none", "dimming: pwm, dimming_frequency: 1 kHz"},
	),
	withFan(lampVariant{}),
}

// value finds the numbers of a file that are values, and no parts of names.
var value = regexp.MustCompile(`[ \[{](-?\d+(?:\.\d+)?)`)

// fuzzText is a file in pieces: texts and the numbers between them.
type fuzzText struct {
	texts, numbers []string
}

func newFuzzText(text string) (out fuzzText) {
	last := 0
	for _, at := range value.FindAllStringSubmatchIndex(text, -1) {
		out.texts, out.numbers = append(out.texts, text[last:at[2]]), append(out.numbers, text[at[2]:at[3]])
		last = at[3]
	}
	out.texts = append(out.texts, text[last:])
	return out
}

func (f *fuzzText) with(changed map[int]string) string {
	var b strings.Builder
	for i, text := range f.texts {
		b.WriteString(text)
		if i == len(f.numbers) {
			break
		}
		if s, ok := changed[i]; ok {
			b.WriteString(s)
		} else {
			b.WriteString(f.numbers[i])
		}
	}
	return b.String()
}

// changedNumber returns a number that a byte makes of another: a factor from 1/8 to 8, or one of the ends of what
// files hold.
func changedNumber(old string, by byte) string {
	if ends := []string{"0", "-1", "1e-9", "1e9", "0.001", "1000", "1", "100000"}; by >= 0xf0 {
		return ends[by%8]
	}
	v, err := strconv.ParseFloat(old, 64)
	if err != nil {
		return old
	}
	return strconv.FormatFloat(v*math.Exp2(float64(by)/40-3), 'g', 4, 64)
}

// numberFuzz changes numbers of small lamps.
type numberFuzz struct {
	designs   []fuzzText
	parts     [][]fuzzText       // by lamp and kind
	unchanged []*project.Library // by lamp
	solver    *keptSolver
}

func newNumberFuzz(f testing.TB) *numberFuzz {
	z := &numberFuzz{solver: &keptSolver{kept: map[string]any{}}}
	for _, l := range fuzzLamps {
		design, own := baseLamp, baseParts+l.parts
		for _, e := range l.edits {
			design, own = strings.Replace(design, e.old, e.now, 1), strings.Replace(own, e.old, e.now, 1)
		}
		z.designs, z.parts = append(z.designs, newFuzzText(design)), append(z.parts, kindsOf(own))
		library, problems := project.LoadLibrary(nil, ownParts(own)) // as if built in: own parts take precedence
		if len(problems) > 0 {
			f.Fatal(problems.Error())
		}
		z.unchanged = append(z.unchanged, library)
	}
	return z
}

// kindsOf divides a file of parts by kinds: reading one takes longer than computing a lamp.
func kindsOf(own string) (out []fuzzText) {
	for _, text := range strings.SplitAfter(own, "\n") {
		switch {
		case strings.TrimSpace(text) == "" || strings.HasPrefix(text, "fictitious"):
		case text[0] != ' ':
			out = append(out, newFuzzText("fictitious: true\n"+text))
		default:
			last := &out[len(out)-1]
			more := newFuzzText(text)
			last.texts[len(last.texts)-1] += more.texts[0]
			last.texts, last.numbers = append(last.texts, more.texts[1:]...), append(last.numbers, more.numbers...)
		}
	}
	return out
}

func ownParts(text string) fstest.MapFS { return fstest.MapFS{"parts/own.yaml": {Data: []byte(text)}} }

// load reads the lamp that bytes select, with the numbers that they change.
func (z *numberFuzz) load(data []byte) (*project.Project, source.Problems) {
	i := int(data[0]) % len(z.designs)
	texts := append([]fuzzText{z.designs[i]}, z.parts[i]...)
	changed := make([]map[int]string, len(texts))
	for k := 1; k+1 < len(data); k += 2 {
		at := int(data[k]) % numbersIn(texts)
		file := 0
		for ; at >= len(texts[file].numbers); file++ {
			at -= len(texts[file].numbers)
		}
		if changed[file] == nil {
			changed[file] = map[int]string{}
		}
		changed[file][at] = changedNumber(texts[file].numbers[at], data[k+1])
	}
	library := z.unchanged[i]
	for file := 1; file < len(texts); file++ {
		if changed[file] == nil {
			continue
		}
		var problems source.Problems
		if library, problems = library.With(ownParts(texts[file].with(changed[file]))); len(problems) > 0 {
			return nil, problems
		}
	}
	return project.LoadTextOn(project.DesignFile, []byte(texts[0].with(changed[0])), nil, library)
}

func numbersIn(texts []fuzzText) (n int) {
	for i := range texts {
		n += len(texts[i].numbers)
	}
	return n
}

// TestNumberFuzz: every number of the lamps of FuzzEvaluate loads as it is, so that its changes are tried.
func TestNumberFuzz(t *testing.T) {
	z := newNumberFuzz(t)
	for i := range z.designs {
		for at := range numbersIn(append(z.parts[i], z.designs[i])) {
			if p, problems := z.load([]byte{byte(i), byte(at), 120}); p == nil {
				t.Errorf("lamp %d, number %d: %s", i, at, problems.Error())
			}
		}
	}
}

// FuzzEvaluate changes numbers of small lamps, two bytes a number, and checks the coupled solution, its figures, and
// the review: figures are finite and ordered, energy is conserved, the result reads back as it was written, and every
// finding says what it is about. The fields of board and light are kept, so that it tries hundreds of lamps a second of
// a core.
func FuzzEvaluate(f *testing.F) {
	z := newNumberFuzz(f)
	for i := range z.designs {
		f.Add([]byte{byte(i)})
		f.Add([]byte{0xfc + byte(i)})
		for at := 0; at < numbersIn(append(z.parts[i], z.designs[i])); at += 7 {
			f.Add([]byte{byte(i), byte(at), byte(37 * at)})
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) == 0 || len(data) > 13 {
			return // more changes than six hide each other
		}
		p, problems := z.load(data)
		if p == nil {
			if len(problems) == 0 {
				t.Fatal("neither a project nor a problem")
			}
			return
		}
		o := engine.Options{Samples: -1, CellM: 0.1, Solver: z.solver, Preview: true}
		if data[0] >= 0xfc && len(data) <= 3 { // ranges take longer than the rest
			o.Samples = 100
		}
		checkEvaluation(t, p, o)
	})
}

// checkEvaluation evaluates and reviews a lamp, and complains of what no lamp may show.
func checkEvaluation(t testing.TB, p *project.Project, o engine.Options) {
	r, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		if err.Error() == "" || strings.Contains(err.Error(), "NaN") || strings.HasSuffix(err.Error(), ".") {
			t.Fatalf("the error says %q", err)
		}
		return
	}
	for _, f := range r.Figures {
		switch {
		case !finite(f.Value) || !finite(f.Lo) || !finite(f.Hi):
			t.Fatalf("figure %s is %g (%g to %g)", f.Key, f.Value, f.Lo, f.Hi)
		case f.Lo > f.Hi:
			t.Fatalf("figure %s: P10 %g above P90 %g", f.Key, f.Lo, f.Hi)
		case f.Withheld != "" && f.Value != 0:
			t.Fatalf("figure %s is withheld and %g", f.Key, f.Value)
		case f.Basis.Formula == "" || strings.Contains(f.Basis.Numbers, "NaN"):
			t.Fatalf("figure %s is derived by %q, %q", f.Key, f.Basis.Formula, f.Basis.Numbers)
		}
	}
	if o.Samples > 0 {
		checkRoundTrip(t, r.Result) // it takes longer than the rest
	}
	last, beyond := finding.Stop, false
	for _, f := range Review(context.Background(), r) {
		// Light of a part that gives more than it gets is from nowhere, and stops the review.
		beyond = beyond || strings.HasPrefix(f.Title, "Radiant efficiency") && f.Severity == finding.Stop
		if f.Check == "" || f.Subject == "" || f.Title == "" || f.Why == "" || f.Severity < last {
			t.Fatalf("a finding says too little, or is after one that is less bad: %+v", f)
		}
		last = f.Severity
		if _, ok := r.Figure(f.Figure); f.Figure != "" && !ok {
			t.Fatalf("%s of %s names the figure %q, which does not exist", f.Check, f.Subject, f.Figure)
		}
		for _, text := range []string{f.Title, f.Value, f.Limit, f.Margin, fixes(f), f.Why} {
			if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || strings.Contains(text, "%!") {
				t.Fatalf("%s of %s prints %q", f.Check, f.Subject, text)
			}
		}
	}
	if !beyond {
		checkFlows(t, r)
	}
}

// checkRoundTrip checks that a result reads back as it was written.
func checkRoundTrip(t testing.TB, r *figure.Result) {
	written, err := json.Marshal(r)
	if err != nil {
		t.Fatalf("the result does not write: %v", err)
	}
	var back figure.Result
	if err := json.Unmarshal(written, &back); err != nil {
		t.Fatalf("the result does not read: %v", err)
	}
	if again, err := json.Marshal(&back); err != nil || !bytes.Equal(again, written) {
		t.Fatalf("the result reads back as another, %v:\n%s\n%s", err, written, again)
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// checkFlows checks that what enters a part of the lamp leaves it, and that the mains feed it all, within 1e-8 of that.
func checkFlows(t testing.TB, r *figure.Evaluation) {
	in, out := map[string]float64{}, map[string]float64{}
	for _, f := range r.EnergyFlows {
		if !(f.Watts > 0) || !finite(f.Watts) {
			t.Fatalf("%s → %s: %g W", f.From, f.To, f.Watts)
		}
		out[f.From] += f.Watts
		in[f.To] += f.Watts
	}
	mains, _ := r.Figure("mains.power")
	if mains.Withheld != "" {
		return // there is no state to balance, and a note says so
	}
	all := mains.Value
	tolerance := 1e-8 * math.Max(1, all)
	for node, w := range out {
		if node == figure.AtMains {
			in[node] = all
		}
		if math.Abs(in[node]-w) > tolerance {
			t.Fatalf("%.12g W enter %s, %.12g W leave it", in[node], node, w)
		}
	}
}
