package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/foldback"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/study"
)

// tableView is a table as the command line prints it.
type tableView struct {
	Head []string   `json:"head"`
	Rows [][]string `json:"rows"`
}

func tableOf(t report.Table) tableView {
	v := tableView{Head: t.Head}
	for _, row := range t.Rows {
		cells := make([]string, len(row))
		for i := range row {
			cells[i] = trueMinus(row[i])
		}
		v.Rows = append(v.Rows, cells)
	}
	fillLists(&v)
	return v
}

// maxSunrise bounds the mixes of a sunrise: each is a search.
const maxSunrise = 60

// sunriseView is the steps from off to full level.
type sunriseView struct {
	study.Sunrise
	Says  []string  `json:"says"`
	Table tableView `json:"table"`
}

// sunriseAsked is a sunrise as a person types it.
type sunriseAsked struct {
	Full   string `json:"full"` // CCT at full level, with the light level and rendering required; empty: the design
	First  string `json:"first"`
	Steps  int    `json:"steps"`
	Ramp   string `json:"ramp"`   // time; empty means that of the design
	Change string `json:"change"` // empty means twice an even rise
}

// read parses the texts for a design. An error names its field.
func (in *sunriseAsked) read(want *project.Requirements) (out study.SunriseRequirement, err error) {
	number := func(field, text string, dim quantity.Dim, to *float64) {
		if err != nil || strings.TrimSpace(text) == "" {
			return
		}
		if *to, err = quantity.ParseUnambiguous(text, dim); err == nil && *to <= 0 {
			err = fmt.Errorf("%s must be above zero", text)
		}
		if err != nil {
			err = &badChange{field, err}
		}
	}
	if out.Steps = in.Steps; in.Steps < 2 || in.Steps > maxSunrise {
		err = &badChange{"steps", fmt.Errorf("%d steps; enter 2 to %d", in.Steps, maxSunrise)}
	}
	if strings.TrimSpace(in.First) == "" {
		in.First = "2200 K"
	}
	number("first", in.First, quantity.CCT, &out.StartK)
	number("ramp", in.Ramp, quantity.Time, &out.RampS)
	number("change", in.Change, quantity.Ratio, &out.Change)
	if err != nil || strings.TrimSpace(in.Full) == "" {
		return out, err
	}
	full, err := mixRequirement{CCT: in.Full}.read()
	if err != nil {
		return out, &badChange{"full", errors.New(err.Error())}
	}
	full.PPFD, full.MinRa, full.MinRf = want.PPFD.SI, want.Ra.SI, want.Rf.SI
	if want.Duv.Set {
		duv, _ := want.Whiteness()
		full.Duv = colour.Band{Lo: duv.Lo, Hi: duv.Hi}
	}
	out.Full = &full
	return out, nil
}

// sunrise answers with the steps from off to full level.
func (s *Server) sunrise(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		sunriseAsked
	}
	if !decode(w, r, &in) {
		return
	}
	if _, err := in.read(&project.Requirements{}); err != nil {
		s.fail(w, err)
		return
	}
	work := func(_ context.Context, result *figure.Evaluation, _ engine.Options) (any, error) {
		required, err := in.read(&result.Lamp.Design.Requirements)
		if err != nil {
			return nil, err
		}
		path, err := study.FindSunrise(result, required)
		if err != nil {
			return nil, err
		}
		t := report.SunriseTable(&path)
		v := sunriseView{Sunrise: path, Says: t.Notes, Table: tableOf(t)}
		for i := range v.Steps {
			finiteMix(&v.Steps[i].Mix)
		}
		fillLists(&v)
		return v, nil
	}
	s.course(w, r, "sunrise", "sunrise", in.Base, in.Changes, work)
}

// warmView is a lamp's way from a cold start.
type warmView struct {
	*study.Warmup
	Says  string    `json:"says"`
	Table tableView `json:"table"`
}

// warmup answers with the lamp's way from a cold start, in one of its cases.
func (s *Server) warmup(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		Case string `json:"case"`
	}
	if !decode(w, r, &in) {
		return
	}
	work := func(ctx context.Context, result *figure.Evaluation, o engine.Options) (any, error) {
		m, err := study.SimulateWarmup(ctx, result, engine.CaseKey(in.Case), o)
		if err != nil {
			return nil, err
		}
		t := report.WarmTable(m, nil)
		return warmView{m, report.WarmText(m), tableOf(t)}, nil
	}
	s.course(w, r, "warmup", "warm-up", in.Base, in.Changes, work)
}

// foldView is how the sensor cuts the light.
type foldView struct {
	Says    []string          `json:"says"`
	Table   tableView         `json:"table"`
	Curve   []curvePoint      `json:"curve"`
	LimitK  float64           `json:"limit_k"`
	Healthy []foldback.Sample `json:"healthy"` // the loop with a healthy sensor, in time
	Notes   []string          `json:"notes"`
}

// curvePoint is a row of the table that is no fault.
type curvePoint struct {
	SensorK float64 `json:"sensor_k"`
	Level   float64 `json:"level"`
}

// foldback answers with the table of codes and the course of the loop on the worst day.
func (s *Server) foldback(w http.ResponseWriter, r *http.Request) {
	var in previewed
	if !decode(w, r, &in) {
		return
	}
	work := func(ctx context.Context, result *figure.Evaluation, o engine.Options) (any, error) {
		f, err := study.SimulateFoldback(ctx, result, o)
		if err != nil {
			return nil, err
		}
		t := report.FoldTable(f)
		v := foldView{
			Says: report.FoldTexts(f), Table: tableOf(t), LimitK: f.LimitK, Healthy: f.Healthy.Samples,
			Notes: f.Notes,
		}
		for _, row := range f.Table {
			if row.Fault == foldback.Healthy {
				v.Curve = append(v.Curve, curvePoint{row.SensorK, row.Level})
			}
		}
		fillLists(&v)
		return v, nil
	}
	s.course(w, r, "foldback", "foldback", in.Base, in.Changes, work)
}

// courseWork is a computation on a lamp.
type courseWork = func(ctx context.Context, result *figure.Evaluation, o engine.Options) (any, error)

// course answers with a computation on a lamp, of the file or of a preview, while the page waits and gets how far
// it is; a page that no longer waits ends it.
func (s *Server) course(w http.ResponseWriter, r *http.Request, key, name, base string, changes []change,
	work courseWork,
) {
	result, _, err := s.work.resultOf(w, r, base, changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	s.longer(w, r, key, name, func(ctx context.Context, progress func(done, total int)) (any, error) {
		o := s.work.options(&s.work.memory)
		o.Progress = progress
		return work(ctx, result, o)
	})
}
