package casefile

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/root"
	"lampwright/internal/sink"
)

// filmInputs are the inputs of the topic "film": a board of one temperature on a heat sink, with bare faces.
type filmInputs struct {
	AirC   float64    `json:"T_air_C"`
	SinkKW float64    `json:"R_sink_K_per_W"`
	HeatW  namedHeat  `json:"heat_W"`
	Faces  []filmFace `json:"faces"`
}

// filmFace is one bare face.
type filmFace struct {
	Faces      string     `json:"faces"` // down, up or side
	SizeM      [2]float64 `json:"size_m"`
	Emissivity float64    `json:"emissivity"`
}

// namedHeat is the dissipation of each case by its name [W].
type namedHeat []struct {
	name  string
	heatW float64
}

func (h *namedHeat) decode(d *decoder, n *node, path string) {
	if n.kind != object {
		d.problem(n.at, "%s is a JSON %s; it takes an object", path, n.kind)
		return
	}
	for _, m := range n.members {
		var heatW float64
		d.fill(m.value, &heatW, path+"."+m.key)
		*h = append(*h, struct {
			name  string
			heatW float64
		}{m.key, heatW})
	}
}

// celsiusK is 0 °C [K].
const celsiusK = 273.15

// maxCases bounds the work of a case of heat.
const maxCases = 100

// celsius checks a temperature of a case and returns it in kelvin.
func celsius(c float64, path string) (float64, error) {
	if !(c >= -50 && c <= 150) {
		return 0, at(path, fmt.Errorf("%g °C; give −50 °C to 150 °C", c))
	}
	return c + celsiusK, nil
}

// runFilm returns the temperature of the board, what its faces dissipate and their heat transfer coefficient.
func runFilm(_ context.Context, d document, inputs *node) (map[string]any, error) {
	var c filmInputs
	dec := decoder{document: d, guide: topicsGuide}
	dec.fill(inputs, &c, "")
	if err := dec.err(); err != nil {
		return nil, err
	}
	out, err := c.answer()
	if err != nil {
		return nil, d.placed(inputs, err)
	}
	return out, nil
}

// bareFaces returns the faces as package sink defines them.
func (c *filmInputs) bareFaces() (out []sink.BareFace, areaM2 float64, err error) {
	looks := map[string]sink.Face{"down": sink.FaceDown, "up": sink.FaceUp, "side": sink.FaceVertical}
	if len(c.Faces) == 0 || len(c.Faces) > maxCases {
		return nil, 0, at("faces", fmt.Errorf("%d faces; a case needs 1 to %d", len(c.Faces), maxCases))
	}
	for i, f := range c.Faces {
		where := fmt.Sprintf("faces[%d]", i)
		face, ok := looks[f.Faces]
		a, b := f.SizeM[0], f.SizeM[1]
		switch {
		case !ok:
			return nil, 0, at(where, fmt.Errorf("face %q is not known; use down, up or side", f.Faces))
		case !(a > 1e-4 && a <= 10) || !(b > 1e-4 && b <= 10):
			return nil, 0, at(where, fmt.Errorf("face of %g m × %g m; give 0.1 mm to 10 m", a, b))
		case !(f.Emissivity >= 0 && f.Emissivity <= 1):
			return nil, 0, at(where, fmt.Errorf("emissivity %g; give 0 to 1", f.Emissivity))
		}
		out = append(out, sink.BareFace{
			Face: face, AreaM2: a * b, PerimeterM: 2 * (a + b), HeightM: b, Emissivity: f.Emissivity,
		})
		areaM2 += a * b
	}
	return out, areaM2, nil
}

func (c *filmInputs) answer() (map[string]any, error) {
	airK, err := celsius(c.AirC, "T_air_C")
	if err != nil {
		return nil, err
	}
	faces, areaM2, err := c.bareFaces()
	switch {
	case err != nil:
		return nil, err
	case !(c.SinkKW > 0) || math.IsInf(c.SinkKW, 0):
		return nil, at("R_sink_K_per_W", fmt.Errorf("heat sink of %g K/W; give more than 0", c.SinkKW))
	case len(c.HeatW) == 0 || len(c.HeatW) > maxCases:
		return nil, at("heat_W", fmt.Errorf("%d cases; give 1 to %d by name", len(c.HeatW), maxCases))
	}
	out := map[string]any{}
	for _, one := range c.HeatW {
		if !(one.heatW >= 0 && one.heatW <= 1e5) {
			return nil, at("heat_W."+one.name, fmt.Errorf("%g W; give 0 W to 100 kW", one.heatW))
		}
		facesWK := func(rise float64) float64 {
			return sink.FacesWK(faces, airK+rise, airK, sink.StandardPressurePa)
		}
		// All the heat through the sink is the upper end.
		rise, err := root.Brent(func(rise float64) float64 {
			return rise/c.SinkKW + facesWK(rise)*rise - one.heatW
		}, 0, one.heatW*c.SinkKW, 1e-9)
		if err != nil {
			return nil, at("heat_W."+one.name, fmt.Errorf("balance the heat of the board: %w", err))
		}
		out["T_board_C."+one.name] = airK + rise - celsiusK
		out["faces_W."+one.name] = facesWK(rise) * rise
		out["film_W_per_m2K."+one.name] = facesWK(rise) / areaM2
	}
	return out, nil
}
