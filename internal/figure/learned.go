package figure

import (
	"fmt"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// Calibration states which learned parameters are in the results.
type Calibration struct {
	Made       string             `json:"made"` // date, year-month-day
	From       []string           `json:"from"` // campaigns of readings
	Readings   int                `json:"readings"`
	Parameters []LearnedParameter `json:"parameters"`
	Dropped    []DroppedParameter `json:"dropped,omitempty"`
}

// LearnedParameter is a parameter that was learned from readings, in the unit of lamp.Params.
type LearnedParameter struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
	SD    float64 `json:"sd"`
	Basis string  `json:"basis"`
}

// DroppedParameter is a learned parameter that is not applied.
type DroppedParameter struct {
	Name string `json:"name"`
	Why  string `json:"why"`
}

// calibration states the learned parameters of the lamp; nil where none are applied.
func (r *Evaluation) calibration() *Calibration {
	c := r.Lamp.Calibration
	if c == nil {
		return nil
	}
	out := &Calibration{Made: c.Made, From: c.From, Readings: c.Readings}
	for _, at := range c.Applied {
		p := &r.Lamp.Params[at]
		out.Parameters = append(out.Parameters,
			LearnedParameter{p.Name, p.Learned.Mean, p.Learned.SD, r.Lamp.Basis(at)})
	}
	for _, d := range c.Dropped {
		out.Dropped = append(out.Dropped, DroppedParameter(d))
	}
	return out
}

// CalibrationText states the learned parameters in one line; empty where none are applied.
func (r *Result) CalibrationText() string {
	c := r.Calibration
	if c == nil {
		return ""
	}
	count := func(n int, what string) string {
		if n == 1 {
			return "1 " + what
		}
		return fmt.Sprintf("%d %ss", n, what)
	}
	text := fmt.Sprintf("Calibrated with %s of %s: %s", count(c.Readings, "reading"), c.Made,
		count(len(c.Parameters), "parameter"))
	if n := len(c.Dropped); n > 0 {
		text += fmt.Sprintf(", %d dropped", n)
	}
	return text
}

// Learned returns the calibration that was applied; nil where none was.
func (r *Evaluation) Learned() *project.Calibration {
	if c := r.Lamp.Calibration; c != nil {
		return c.Calibration
	}
	return nil
}

// orLearned returns an input of a derivation, or the learned value of its parameter where readings told it.
func (r *Evaluation) orLearned(in Input, param int, dim quantity.Dim) Input {
	from := r.Lamp.LearnedFrom(param)
	if from == "" {
		return in
	}
	v := r.Lamp.Params[param].Learned
	value := quantity.FormatError(v.Mean, v.SD, dim)
	if dim == quantity.None {
		value = num(v.Mean) + " ± " + num(v.SD)
	}
	return Input{Name: in.Name, Value: value, Source: from}
}

// learned returns the learned value of a parameter as an input, for those that a derivation has only then; none where
// readings did not tell it.
func (r *Evaluation) learned(name string, param int, dim quantity.Dim) []Input {
	if r.Lamp.LearnedFrom(param) == "" {
		return nil
	}
	return []Input{r.orLearned(Input{Name: name}, param, dim)}
}
