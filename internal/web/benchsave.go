package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"lampwright/internal/bench"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/report"
	"lampwright/internal/source"
)

// saveReadings writes changes into the readings file.
func (s *Server) saveReadings(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Base     string   `json:"base"`     // of the project, which the page always sends
		Readings string   `json:"readings"` // hash of the file that the changes are of
		Edits    []change `json:"edits"`
	}
	if !decode(w, r, &in) {
		return
	}
	if err := s.work.putReadings(in.Readings, in.Edits); err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, s.work.state())
}

// putReadings puts changes into the readings file with a hash, as one step that can be undone.
func (w *workspace) putReadings(hash string, edits []change) error {
	unlock, err := w.lockFolder()
	if err != nil {
		return err
	}
	defer unlock()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.reloadLocked()
	if w.readings == nil || hash != hashOf(w.readings) {
		return errConflict
	}
	file, problems := w.files.read(project.ReadingsFile, w.readings)
	if file == nil {
		return problems
	}
	if file, err = editedReadings(file, edits); err != nil {
		return err
	}
	changed := texts{project.ReadingsFile: file.Text()}
	if _, problems := w.load(w.text, changed); len(problems) > 0 {
		return problems
	}
	return w.put(changed)
}

// benchStart is the answers from which a readings file begins.
type benchStart struct {
	Base   string   `json:"base"`
	Name   string   `json:"name"`
	Date   string   `json:"date"`
	Room   string   `json:"room"`
	Meters []string `json:"meters"` // kinds of instruments, of startMeters
	Plan   bool     `json:"plan"`   // with the readings of the plan
}

// startMeters is the instruments that a readings file can begin with, by what the page calls them.
var startMeters = []struct{ key, text string }{
	{"lux meter", "{name: lux meter, kind: lux meter, class: C, resolution: 1 lx}"},
	{"quantum sensor", "{name: quantum sensor, kind: quantum sensor}"},
	{"multimeter, volts", "{name: volts, kind: multimeter, accuracy: 0.5 %, resolution: 10 mV}"},
	{"multimeter, amps", "{name: amps, kind: multimeter, accuracy: 1 %, resolution: 1 mA}"},
	{"wattmeter", "{name: wattmeter, kind: wattmeter, resolution: 0.1 W}"},
	{"thermocouple", "{name: thermocouple, kind: thermocouple, resolution: 0.1 K}"},
	{"infrared thermometer", "{name: infrared, kind: infrared thermometer, resolution: 0.1 K}"},
}

// startText returns a readings file without readings.
func (in *benchStart) startText(channels []string) string {
	var b strings.Builder
	b.WriteString("# Readings of the built lamp. State class or accuracy of each instrument as its datasheet does.\n" +
		"lampwright_readings: 1\n")
	wrote := false
	for _, m := range startMeters {
		for _, key := range in.Meters {
			if key == m.key {
				if !wrote {
					b.WriteString("instruments:\n")
				}
				wrote = true
				b.WriteString("  - " + m.text + "\n")
			}
		}
	}
	fmt.Fprintf(&b, "campaigns:\n  - name: %s\n    date: %s\n    room: %s\n    states:\n      - {name: full}\n",
		strconv.Quote(in.Name), strconv.Quote(in.Date), strconv.Quote(in.Room))
	for _, c := range channels {
		fmt.Fprintf(&b, "      - {name: %s, levels: [{channel: %s, level: 100 %%}]}\n", strconv.Quote("only "+c),
			strconv.Quote(c))
	}
	return b.String()
}

// startReadings begins the readings file.
func (s *Server) startReadings(w http.ResponseWriter, r *http.Request) {
	var in benchStart
	if !decode(w, r, &in) {
		return
	}
	result, _, err := s.work.resultOf(w, r, in.Base, nil)
	if err != nil {
		s.fail(w, err)
		return
	}
	ctx, done, err := s.work.brief(w, r)
	if err != nil {
		s.fail(w, err)
		return
	}
	text, err := guarded(func() (any, error) { return in.text(ctx, result) })
	done()
	if err == nil {
		err = s.work.beginReadings(in.Base, text.([]byte))
	}
	if err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, s.work.state())
}

// text returns the readings file that the answers begin: with the plan it has the readings that determine the results
// of the lamp best with the instruments at hand.
func (in *benchStart) text(ctx context.Context, result *figure.Evaluation) ([]byte, error) {
	var channels []string
	if l := result.Lamp; len(l.Channels) > 1 {
		for i := range l.Channels {
			channels = append(channels, l.Channels[i].Name)
		}
	}
	text := []byte(in.startText(channels))
	r, problems := project.LoadReadingsText(project.ReadingsFile, text, result.Lamp.Project)
	if len(problems) > 0 {
		return nil, errors.New(problems[0].Msg + "; " + problems[0].Hint)
	}
	if !in.Plan {
		return text, nil
	}
	cold := result.Sys.BenchAt(&result.Sol, bench.RoomOf(result.Sys, r), bench.FirstFractions())
	sheet, err := bench.Plan(ctx, result.Sys, r, report.BenchFigures(result), cold)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := report.BenchPlanReadings(&b, result.Name, in.Date, sheet); err != nil {
		return nil, err
	}
	file, problems := source.Read(project.ReadingsFile, b.Bytes())
	if file == nil {
		return nil, problems
	}
	if file, err = file.Spliced("campaigns[0].name", in.Name); err != nil {
		return nil, err
	}
	return file.Text(), nil
}

// beginReadings writes a readings file where there is none.
func (w *workspace) beginReadings(base string, text []byte) error {
	unlock, err := w.lockFolder()
	if err != nil {
		return err
	}
	defer unlock()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.reloadLocked()
	switch {
	case w.readings != nil || w.unread != "":
		return fmt.Errorf("%s already exists; nothing was written", project.ReadingsFile)
	case !w.exists || base != w.hash:
		return errConflict
	}
	changed := texts{project.ReadingsFile: text}
	if _, problems := w.load(w.text, changed); len(problems) > 0 {
		return problems
	}
	return w.put(changed)
}
