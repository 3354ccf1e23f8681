package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// layoutView is where the design file states what is on the board, so that a page can add, move and take away. A path
// of a point is that of its list of two.
type layoutView struct {
	Uses     []useView         `json:"uses"`
	Channels []channelText     `json:"channels"`
	Holes    []string          `json:"holes"`            // paths of the points of the board's holes, in their order
	Corners  []string          `json:"corners"`          // of a polygon
	Sensor   string            `json:"sensor,omitempty"` // path of its point
	Part     string            `json:"sensor_part"`      // of a sensor that is put in; empty where the library has none
	Size     map[string]string `json:"size"`             // texts of lengths of outline and holes, by their paths
	Names    []namedChannel    `json:"names"`            // where supplies and switch name channels
}

// useView is emitters of one kind in a channel.
type useView struct {
	Path    string `json:"path"`
	Channel int    `json:"channel"` // index in Channels
	Part    string `json:"part"`
	Lens    string `json:"lens,omitempty"`
	YAML    string `json:"yaml"` // all but the points, as entries of a mapping
}

// channelText is a channel as the file states it.
type channelText struct {
	Path string `json:"path"`
	Name string `json:"name"`
	YAML string `json:"yaml"` // current, level, driver and wire, as entries of a mapping
}

// namedChannel is an item of a list that names a channel.
type namedChannel struct {
	Path string `json:"path"`
	Name string `json:"name"`
}

// yamlEntry writes entries of a YAML mapping on one line.
type yamlEntry struct{ strings.Builder }

func (y *yamlEntry) put(key, text string) {
	if text == "" {
		return
	}
	if y.Len() > 0 {
		y.WriteString(", ")
	}
	y.WriteString(key + ": " + text)
}

func (y *yamlEntry) value(key string, v source.Value) {
	if v.Set {
		y.put(key, source.FlowText(v.Text))
	}
}

func (y *yamlEntry) text(key string, t source.Text) {
	if t.Set {
		y.put(key, source.FlowText(t.S))
	}
}

// layoutOf returns the places of what is on the board of a lamp.
func layoutOf(l *lamp.Lamp) layoutView {
	d := l.Design
	v := layoutView{Size: map[string]string{}}
	if sensors := l.Project.Library.Sensors.IDs(); len(sensors) > 0 {
		v.Part = sensors[0]
	}
	for i := range d.Channels {
		c := &d.Channels[i]
		at := fmt.Sprintf("channels[%d]", i)
		v.Channels = append(v.Channels, channelText{at, c.Name.S, channelYAML(c)})
		for j := range c.Emitters {
			use := &c.Emitters[j]
			v.Uses = append(v.Uses, useView{
				Path: fmt.Sprintf("%s.emitters[%d]", at, j), Channel: i, Part: use.Part.S, Lens: use.Lens.S,
				YAML: useYAML(use),
			})
		}
	}
	size := func(path string, s source.Value) {
		if s.Set {
			v.Size[path] = s.Text
		}
	}
	size("board.length", d.Board.Length)
	size("board.width", d.Board.Width)
	size("board.diameter", d.Board.Diameter)
	for i := range d.Board.Holes {
		h, at := &d.Board.Holes[i], fmt.Sprintf("board.holes[%d]", i)
		size(at+".diameter", h.Diameter)
		size(at+".length", h.Length)
		size(at+".width", h.Width)
		for k := range h.At {
			v.Holes = append(v.Holes, fmt.Sprintf("%s.at[%d]", at, k))
		}
	}
	for i := range d.Board.Corners {
		v.Corners = append(v.Corners, fmt.Sprintf("board.corners[%d]", i))
	}
	if d.Sensor != nil {
		v.Sensor = "sensor.at"
	}
	v.Names = channelNames(d)
	return v
}

func useYAML(u *project.EmitterUse) string {
	var y yamlEntry
	y.text("part", u.Part)
	y.text("die_configuration", u.DieConfiguration)
	y.text("lens", u.Lens)
	y.value("rotation", u.Rotation)
	y.value("tilt", u.Tilt)
	y.value("azimuth", u.Azimuth)
	y.value("splay", u.Splay)
	return y.String()
}

func channelYAML(c *project.Channel) string {
	var y yamlEntry
	y.value("current", c.Current)
	y.value("level", c.Level)
	y.text("driver", c.Driver)
	if c.Wire != nil {
		var w yamlEntry
		w.text("part", c.Wire.Part)
		w.value("length", c.Wire.Length)
		y.put("wire", "{"+w.String()+"}")
	}
	return y.String()
}

// channelNames returns where supplies and the mains switch name channels.
func channelNames(d *project.Design) (out []namedChannel) {
	add := func(list string, names []source.Text) {
		for i, n := range names {
			if slices.ContainsFunc(d.Channels, func(c project.Channel) bool { return c.Name.S == n.S }) {
				out = append(out, namedChannel{fmt.Sprintf("%s[%d]", list, i), n.S})
			}
		}
	}
	for i := range d.Supplies {
		add(fmt.Sprintf("supplies[%d].feeds", i), d.Supplies[i].Feeds)
	}
	if d.Mains != nil && d.Mains.Switch != nil {
		add("mains.switch.switches", d.Mains.Switch.Switches)
	}
	return out
}

// keepPaths gives the layout of a lamp of which items were taken away the paths that the file has.
func (v *layoutView) keepPaths(r removals) {
	for i := range v.Uses {
		v.Uses[i].Path = r.filed(v.Uses[i].Path)
	}
	for i := range v.Channels {
		v.Channels[i].Path = r.filed(v.Channels[i].Path)
	}
	for i := range v.Holes {
		v.Holes[i] = r.filed(v.Holes[i])
	}
	for i := range v.Corners {
		v.Corners[i] = r.filed(v.Corners[i])
	}
	for i := range v.Names {
		v.Names[i].Path = r.filed(v.Names[i].Path)
	}
	sizes := make(map[string]string, len(v.Size))
	for path, text := range v.Size {
		sizes[r.filed(path)] = text
	}
	v.Size = sizes
}

// boardMap is the board in one case, and how much of it some emitters warm.
type boardMap struct {
	Case engine.CaseKey `json:"case"`
	Heat figure.HeatMap `json:"heat"`
	Rise []float64      `json:"rise_k"` // by the emitters asked for, cell by cell; 0 off the board
}

// board answers with the temperature map of the board in a case, and the part of it that some emitters cause.
func (s *Server) board(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		Case     engine.CaseKey `json:"case"`     // empty means typical
		Emitters []string       `json:"emitters"` // paths of their points
	}
	if !decode(w, r, &in) {
		return
	}
	result, _, err := s.work.resultOf(w, r, in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	if in.Case == "" {
		in.Case = engine.Typical
	}
	heat, ok := result.BoardHeatIn(in.Case)
	if !ok {
		s.fail(w, fmt.Errorf("this lamp has no case %q", in.Case))
		return
	}
	out := boardMap{Case: in.Case, Heat: heat, Rise: []float64{}}
	out.Heat.TempK = short(heat.TempK)
	if indices := emittersAt(result.Lamp, in.Emitters, removalsOf(in.Changes)); len(indices) > 0 {
		out.Rise = short(result.RiseBy(in.Case, indices))
	}
	answer(w, http.StatusOK, out)
}

// emittersAt returns the indices of emitters by the paths of their points in the file.
func emittersAt(l *lamp.Lamp, paths []string, r removals) (out []int) {
	for i := range l.Emitters {
		at := strings.TrimSuffix(r.filed(l.Emitters[i].Point.X.At.Path), "[0]")
		if slices.Contains(paths, at) {
			out = append(out, i)
		}
	}
	return out
}
