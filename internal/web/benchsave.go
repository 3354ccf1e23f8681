package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"lampwright/internal/project"
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
	if err := s.work.beginReadings(&in); err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, s.work.state())
}

// beginReadings writes a readings file where there is none.
func (w *workspace) beginReadings(in *benchStart) error {
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
	case !w.exists || in.Base != w.hash:
		return errConflict
	}
	p, problems := w.load(w.text, nil)
	if p == nil {
		return problems
	}
	var channels []string
	if len(p.Design.Channels) > 1 {
		for i := range p.Design.Channels {
			channels = append(channels, p.Design.Channels[i].Name.S)
		}
	}
	text := []byte(in.startText(channels))
	if _, problems := project.LoadReadingsText(project.ReadingsFile, text, p); len(problems) > 0 {
		return errors.New(problems[0].Msg + "; " + problems[0].Hint)
	}
	return w.put(texts{project.ReadingsFile: text})
}
