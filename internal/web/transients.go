package web

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/foldback"
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

// dayView is the day that the design gives.
type dayView struct {
	Given bool `json:"given"`
	study.DayCourse
}

// day answers with the light over the day, for the file or for a preview.
func (s *Server) day(w http.ResponseWriter, r *http.Request) {
	var in previewed
	if !decode(w, r, &in) {
		return
	}
	result, _, err := s.work.resultOf(w, r, in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	v := dayView{}
	v.DayCourse, v.Given = study.DailyProgramme(result)
	for i := range v.Points {
		v.Points[i].PPFD = finite(v.Points[i].PPFD)
	}
	answer(w, http.StatusOK, v)
}

// maxSunrise bounds the mixes of a sunrise: each is a search.
const maxSunrise = 60

// sunriseView is the levels from first light to noon.
type sunriseView struct {
	Steps []study.Mix `json:"steps"`
	Off   bool        `json:"off"`   // at some steps the channels cannot make the colour
	Short bool        `json:"short"` // at some they do not reach their part of the light
}

// sunrise answers with mixes from first light to noon, where all else is as the design wants it.
func (s *Server) sunrise(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		Noon  string `json:"noon"` // colour temperature; empty means the requirement of the design
		First string `json:"first"`
		Steps int    `json:"steps"`
	}
	if !decode(w, r, &in) {
		return
	}
	read := func(field, text string) (k float64, err error) {
		if k, err = quantity.Parse(text, quantity.CCT); err != nil {
			return 0, &badChange{field, err}
		}
		return k, nil
	}
	first, err := read("first", in.First)
	if err == nil && (in.Steps < 2 || in.Steps > maxSunrise) {
		err = &badChange{"steps", fmt.Errorf("%d steps; enter 2 to %d", in.Steps, maxSunrise)}
	}
	noon := 0.0
	if err == nil && strings.TrimSpace(in.Noon) != "" {
		noon, err = read("noon", in.Noon)
	}
	if err != nil {
		s.fail(w, err)
		return
	}
	s.course(w, r, in.Base, in.Changes, func(_ context.Context, result *figure.Evaluation, _ engine.Options) (any, error) {
		want := result.Lamp.Design.Requirements
		required := study.MixRequirement{
			CCTK: noon, Duv: math.NaN(), PPFD: want.PPFD.SI, MinRa: want.Ra.SI,
			MinRf: want.Rf.SI, Goal: colour.MinPower,
		}
		if noon == 0 {
			required.CCTK = want.CCT.SI
		}
		if required.CCTK == 0 {
			return nil, &badChange{
				"noon",
				errors.New("enter the CCT at full level, such as 5500 K; the design has no CCT requirement"),
			}
		}
		path, err := study.Sunrise(result, required, first, in.Steps)
		if err != nil {
			return nil, err
		}
		v := sunriseView{Steps: path}
		for i := range path {
			m := &path[i]
			v.Off, v.Short = v.Off || m.StepsOff > 0.5, v.Short || !m.AmountMet
			finiteMix(m)
		}
		fillLists(&v)
		return v, nil
	})
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
	s.course(w, r, in.Base, in.Changes, func(ctx context.Context, result *figure.Evaluation, o engine.Options) (any,
		error,
	) {
		m, err := study.SimulateWarmup(ctx, result, engine.CaseKey(in.Case), o)
		if err != nil {
			return nil, err
		}
		t := report.WarmTable(m, nil)
		return warmView{m, report.WarmText(m), tableOf(t)}, nil
	})
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
	s.course(w, r, in.Base, in.Changes, func(ctx context.Context, result *figure.Evaluation, o engine.Options) (any,
		error,
	) {
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
	})
}

// course answers with a computation on a lamp, of the file or of a preview, while the page waits and gets how far
// it is; a page that no longer waits ends it.
func (s *Server) course(w http.ResponseWriter, r *http.Request, base string, changes []change,
	work func(ctx context.Context, result *figure.Evaluation, o engine.Options) (any, error),
) {
	result, _, err := s.work.resultOf(w, r, base, changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	s.longer(w, r, "course", func(ctx context.Context, progress func(done, total int)) (any, error) {
		return work(ctx, result, engine.Options{Solver: &s.work.memory, Progress: progress})
	})
}
