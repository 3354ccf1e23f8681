package web

import (
	"fmt"
	"math"
	"net/http"

	"lampwright/internal/day"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/study"
)

// dayView is the lamp over its day, with the keyframes as they are edited.
type dayView struct {
	Given bool         `json:"given"`
	Sun   bool         `json:"sun"`   // levels follow the sun of a place
	Wrong string       `json:"wrong"` // why the lamp cannot run its programme
	Day   *study.Day   `json:"day"`   // null where there is none
	Lists []frameList  `json:"lists"` // by channel
	Curve string       `json:"curve"`
	PPFD  *bandOfValue `json:"ppfd"` // required; null without a requirement
	DLI   *bandOfValue `json:"dli"`
}

// bandOfValue is the ends of a requirement.
type bandOfValue struct {
	Lo float64 `json:"lo"`
	Hi float64 `json:"hi"`
}

// frameList is the keyframes that a channel follows.
type frameList struct {
	Channel string  `json:"channel"`
	Full    float64 `json:"full"` // level of the channel at full day, to which keyframes are relative
	Path    string  `json:"path"` // of the list in the file; "day.keyframes" is shared by the channels without a list
	Shared  bool    `json:"shared"`
	// Stated says that the file has hours in place of keyframes: the first change writes the list and removes Removes.
	Stated  bool        `json:"stated"`
	Removes []string    `json:"removes"`
	Frames  []frameView `json:"frames"`
}

// frameView is one keyframe.
type frameView struct {
	TimeS float64 `json:"time_s"`
	Level float64 `json:"level"` // relative to full day; of a keyframe by light what it comes to
	// As written; empty where it is not. A keyframe by light has no level.
	Time    string `json:"time"`
	Percent string `json:"percent"`
	PPFD    string `json:"ppfd"`
	CCT     string `json:"cct"`
	Ramp    string `json:"ramp"`
}

// dayAsked is the day that the page asks for.
type dayAsked struct {
	previewed
	Date string `json:"date"`
	Case string `json:"case"`
}

// viewStepS is the longest interval of a day on the page [s].
const viewStepS = 300

// day answers with the lamp over its day, for the file or for a preview.
func (s *Server) day(w http.ResponseWriter, r *http.Request) {
	var in dayAsked
	if !decode(w, r, &in) {
		return
	}
	result, _, err := s.work.resultOf(w, r, in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	programme := &result.Lamp.Design.Day
	v := dayView{
		Given: result.Day != nil, Sun: programme.Sun != nil, Lists: frameLists(result),
		Curve: string(programme.Curve.S),
	}
	if v.Curve == "" {
		v.Curve = string(project.LinearLevel)
	}
	want := &result.Lamp.Design.Requirements
	if want.PPFD.Set {
		v.PPFD = &bandOfValue{want.PPFD.Lo, want.PPFD.Hi}
	}
	if want.DLI.Set {
		v.DLI = &bandOfValue{want.DLI.Lo, want.DLI.Hi}
	}
	if v.Given {
		q := study.DayRequest{Date: in.Date, Case: engine.CaseKey(in.Case), StepS: viewStepS}
		if v.Day, err = study.DayOf(r.Context(), result, q); err != nil {
			v.Day, v.Wrong = nil, err.Error()
		}
	}
	answer(w, http.StatusOK, v)
}

// frameLists returns the keyframes of each channel.
func frameLists(r *figure.Evaluation) (out []frameList) {
	d := &r.Lamp.Design.Day
	for i := range r.Lamp.Channels {
		name := r.Lamp.Channels[i].Name
		list := frameList{Channel: name, Full: r.Lamp.Channels[i].Level, Path: "day.keyframes", Shared: true}
		frames := d.Keyframes
		for j := range d.Channels {
			if own := &d.Channels[j]; own.Channel.S == name {
				frames, list.Path, list.Shared = own.Keyframes, fmt.Sprintf("day.channels[%d].keyframes", j), false
			}
		}
		if list.Shared && d.FullLevelTime.Set {
			list.Stated, list.Removes = true, statedPaths(d)
			for _, f := range r.Lamp.StatedFrames() {
				list.Frames = append(list.Frames, frameView{
					TimeS: f.SecondS, Time: timeOf(f.SecondS), Level: f.Level,
					Percent: quantity.Format(f.Level, quantity.Ratio),
				})
			}
		}
		for j := range frames {
			list.Frames = append(list.Frames, viewOfFrame(r, i, &frames[j]))
		}
		fillLists(&list)
		out = append(out, list)
	}
	return out
}

// timeOf writes the time of a keyframe as the file has it: to the second, midnight as 00:00.
func timeOf(second float64) string { return day.FormatClock(math.Mod(math.Round(second), day.DayS)) }

// statedPaths are the paths of the hours that a day states in place of keyframes.
func statedPaths(d *project.Day) []string {
	out := []string{d.FullLevelTime.At.Path}
	if d.RampTime.Given() {
		out = append(out, d.RampTime.At.Path)
	}
	if d.Start.Set {
		out = append(out, d.Start.At.Path)
	}
	return out
}

// viewOfFrame returns a keyframe of a channel.
func viewOfFrame(r *figure.Evaluation, channel int, k *project.Keyframe) frameView {
	s, _ := day.ParseClock(k.Time.S) // the file was loaded without problems
	f := frameView{
		TimeS: s, Time: k.Time.S, Level: k.Level.SI, Percent: k.Level.Text, PPFD: k.PPFD.Text, CCT: k.CCT.Text,
		Ramp: string(k.Ramp.S),
	}
	full := r.Lamp.Channels[channel].Level
	if !k.PPFD.Set || full == 0 {
		return f
	}
	if levels, err := r.Day.Levels(lamp.Light{PPFD: k.PPFD.SI, CCTK: k.CCT.SI}); err == nil {
		f.Level = levels[channel] / full
	}
	return f
}
