package project

import (
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"lampwright/internal/inputfile"
	"lampwright/internal/sampling"
	"lampwright/internal/source"
)

// CalibrationFile is the name of the file of learned parameters in a project folder.
const CalibrationFile = "calibration.yaml"

// Calibration is the parameters of a built lamp that were learned from readings of it.
type Calibration struct {
	Made       string   // date, year-month-day
	From       []string // campaigns of readings
	Readings   int      // readings that were used
	Checksum   string   // of the file of readings
	Parameters []Learned
	// Correlations is the lower triangle of the correlation matrix of the parameters without its diagonal: row i has i
	// coefficients, with the parameters before it. It is positive definite.
	Correlations [][]float64
}

// Learned is one parameter: normal with mean Value and standard deviation SD, in the unit of lamp.Params; Prior and
// PriorSD are those before the readings.
type Learned struct {
	Name           string
	Value, SD      float64
	Prior, PriorSD float64
	Basis          string // the parts and settings for which it holds, as lamp.Lamp.Basis states them
}

// maxLearned is the number of parameters that a file may have.
const maxLearned = 400

// CalibrationText is the file of a Calibration as it is written.
type CalibrationText struct {
	Version    source.Whole  `yaml:"lampwright_calibration" need:"yes" min:">=1" max:"<=1" doc:"file format; 1" eg:"1"`
	Made       source.Text   `yaml:"made" need:"yes" doc:"date, year-month-day" eg:"2031-09-13"`
	From       []source.Text `yaml:"from" need:"yes" doc:"campaigns of readings" eg:"[first light]"`
	Readings   source.Whole  `yaml:"readings" need:"yes" min:">=1" doc:"readings that were used" eg:"38"`
	Checksum   source.Text   `yaml:"checksum" doc:"of the file of readings" eg:"8f2c41d0"`
	Parameters []LearnedText `yaml:"parameters" need:"yes" doc:"the parameters with their values"`
}

// LearnedText is one parameter of the file.
type LearnedText struct {
	Name    source.Text  `yaml:"name" need:"yes" doc:"parameter of the lamp" eg:"emitter.white-3000.flux"`
	Value   source.Value `yaml:"value" dim:"none" need:"yes" doc:"mean, in SI units or as a factor" eg:"0.962"`
	SD      source.Value `yaml:"sd" dim:"none" need:"yes" min:">0" doc:"standard deviation" eg:"0.021"`
	Prior   source.Value `yaml:"prior" dim:"none" doc:"mean before the readings" eg:"1"`
	PriorSD source.Value `yaml:"prior_sd" dim:"none" min:">0" doc:"its standard deviation" eg:"0.04"`
	Basis   source.Text  `yaml:"basis" need:"yes" doc:"parts and settings for which it holds" eg:"emitter white-3000"`

	Correlations []source.Value `yaml:"correlations" dim:"none" min:">-1" max:"<1" doc:"with those above" eg:"[-0.61]"`
}

// LoadCalibration reads the learned parameters of a project folder. Both results are nil where there is no such file.
func LoadCalibration(folder fs.FS) (*Calibration, source.Problems) {
	data, err := inputfile.Read(folder, CalibrationFile, maxFileBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		what := "cannot read the file: " + inputfile.Reason(err)
		return nil, source.Problems{fileProblem(CalibrationFile, what, "")}
	}
	return parseCalibration(data)
}

func parseCalibration(data []byte) (*Calibration, source.Problems) {
	file, problems := source.Read(CalibrationFile, data)
	if file == nil {
		return nil, problems
	}
	problems = file.Problems()
	var text CalibrationText
	decoded, doubts := file.DecodeDoubting(&text)
	problems = append(append(problems, decoded...), doubts...)
	c := &checker{}
	out := text.calibration(c)
	for _, w := range c.found {
		problems = append(problems, problem(file, w))
	}
	if len(problems) > 0 {
		problems.Sort()
		return nil, problems
	}
	return out, nil
}

// calibration returns the values of the file, and complains of what contradicts itself.
func (t *CalibrationText) calibration(c *checker) *Calibration {
	c.dayDate(t.Made)
	out := &Calibration{Made: t.Made.S, Readings: t.Readings.N, Checksum: t.Checksum.S}
	for _, campaign := range t.From {
		out.From = append(out.From, campaign.S)
	}
	if len(t.Parameters) > maxLearned {
		c.add(t.Parameters[maxLearned].Name.At, "", "the file has %d parameters; %d is the most", len(t.Parameters),
			maxLearned)
		return nil
	}
	names, whole := map[string]bool{}, true
	for i := range t.Parameters {
		p := &t.Parameters[i]
		c.distinct(names, p.Name, "parameter", "keep one of them")
		for _, v := range []source.Value{p.Value, p.SD, p.Prior, p.PriorSD} {
			if v.Set && v.Lo != v.Hi {
				c.add(v.At, "write its standard deviation as sd", "%q has a tolerance; this field takes a number",
					v.Text)
			}
		}
		out.Parameters = append(out.Parameters, Learned{
			Name: p.Name.S, Value: p.Value.SI, SD: p.SD.SI, Prior: p.Prior.SI, PriorSD: p.PriorSD.SI, Basis: p.Basis.S,
		})
		row, ok := p.correlations(c, i)
		whole = whole && ok
		out.Correlations = append(out.Correlations, row)
	}
	if whole {
		t.consistent(c, out)
	}
	return out
}

// correlations returns the coefficients of a parameter with those before it; false where there is not one for each.
func (p *LearnedText) correlations(c *checker, before int) (row []float64, ok bool) {
	row, ok = make([]float64, before), true
	if n := len(p.Correlations); n > 0 && n != before {
		c.add(p.Correlations[0].At, "give one for each parameter above it, in their order",
			"%q has %d correlation coefficients; required %d", p.Name.S, n, before)
		return row, false
	}
	for i, v := range p.Correlations {
		row[i] = v.SI
		ok = ok && v.Set
		if v.Set && v.Lo != v.Hi {
			c.add(v.At, "write the coefficient alone", "%q has a tolerance; this field takes a number", v.Text)
		}
	}
	return row, ok
}

// consistent complains of a correlation matrix that is not positive definite.
func (t *CalibrationText) consistent(c *checker, out *Calibration) {
	var not *sampling.NotPositiveDefinite
	if _, err := sampling.NewGroup(make([]int, len(out.Parameters)), out.Correlations); errors.As(err, &not) {
		p := &t.Parameters[not.Input]
		at := p.Name.At
		if len(p.Correlations) > 0 {
			at = p.Correlations[0].At
		}
		c.add(at, "learn the parameters again from the readings", "the correlations of %q contradict those above it: "+
			"the matrix is not positive definite", p.Name.S)
	}
}

const (
	valueDigits       = 6 // of a learned value: a thousandth of its standard deviation
	correlationDigits = 8 // so that the matrix stays positive definite
)

// Text returns the file of the calibration.
func (c *Calibration) Text() []byte {
	var b strings.Builder
	number := func(v float64, digits int) string { return strconv.FormatFloat(v, 'g', digits, 64) }
	list := func(texts []string) string { return "[" + strings.Join(texts, ", ") + "]" }
	from := make([]string, len(c.From))
	for i, campaign := range c.From {
		from[i] = source.FlowText(campaign)
	}
	fmt.Fprintf(&b, "lampwright_calibration: 1\nmade: %s\nfrom: %s\nreadings: %d\n", c.Made, list(from), c.Readings)
	if c.Checksum != "" {
		fmt.Fprintf(&b, "checksum: %s\n", source.FlowText(c.Checksum))
	}
	b.WriteString("parameters:\n")
	for i := range c.Parameters {
		p := &c.Parameters[i]
		fmt.Fprintf(&b, "  - name: %s\n    value: %s\n    sd: %s\n", source.FlowText(p.Name),
			number(p.Value, valueDigits), number(p.SD, valueDigits))
		if p.PriorSD > 0 {
			fmt.Fprintf(&b, "    prior: %s\n    prior_sd: %s\n", number(p.Prior, valueDigits),
				number(p.PriorSD, valueDigits))
		}
		fmt.Fprintf(&b, "    basis: %s\n", source.FlowText(p.Basis))
		row := make([]string, i)
		for j := range row {
			row[j] = number(c.Correlations[i][j], correlationDigits)
		}
		if i > 0 {
			fmt.Fprintf(&b, "    correlations: %s\n", list(row))
		}
	}
	return []byte(b.String())
}
