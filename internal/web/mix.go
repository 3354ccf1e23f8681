package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// mixRequirement is the requirement of a mix as a person types it; an empty field is no requirement.
type mixRequirement struct {
	CCT       string            `json:"cct"`
	Duv       string            `json:"duv"`
	XY        string            `json:"xy"` // in place of cct and duv: "0.31, 0.33"
	PPFD      string            `json:"ppfd"`
	Lux       string            `json:"lux"`
	Ra        string            `json:"ra"`
	Rf        string            `json:"rf"`
	Objective string            `json:"objective"` // power, light, ra or rf
	Min       map[string]string `json:"min"`
	Max       map[string]string `json:"max"`
}

// read parses the texts. An error names its field.
func (m mixRequirement) read() (out study.MixRequirement, err error) {
	number := func(field, text string, dim quantity.Dim, to *float64) {
		if err != nil || strings.TrimSpace(text) == "" {
			return
		}
		v, bad := quantity.ParseUnambiguous(text, dim)
		switch {
		case bad != nil:
			err = &badChange{field, bad}
		case v <= 0:
			err = &badChange{field, fmt.Errorf("%s must be above zero", text)}
		default:
			*to = v
		}
	}
	band := func(field, text string, dim quantity.Dim, to *source.Value) {
		if err != nil || strings.TrimSpace(text) == "" {
			return
		}
		var bad error
		to.Set = true
		if to.SI, to.Lo, to.Hi, bad = quantity.ParseTolerance(text, dim); bad != nil {
			err = &badChange{field, bad}
		}
	}
	var colours project.Requirements
	band("cct", m.CCT, quantity.CCT, &colours.CCT)
	band("duv", m.Duv, quantity.None, &colours.Duv)
	number("ppfd", m.PPFD, quantity.PPFD, &out.PPFD)
	number("lux", m.Lux, quantity.Illuminance, &out.Lux)
	number("ra", m.Ra, quantity.None, &out.MinRa)
	number("rf", m.Rf, quantity.None, &out.MinRf)
	if err != nil {
		return out, err
	}
	xy := strings.TrimSpace(m.XY)
	switch {
	case xy != "" && (colours.CCT.Set || colours.Duv.Set):
		return out, &badChange{"xy", fmt.Errorf("x, y replaces CCT and Duv; enter one of them")}
	case xy == "" && !colours.CCT.Set:
		return out, &badChange{"cct", fmt.Errorf("enter a colour: a CCT such as 5000 K, or x, y")}
	case out.PPFD > 0 && out.Lux > 0:
		return out, &badChange{"lux", fmt.Errorf("enter PPFD or illuminance, not both")}
	case xy != "":
		x, y, ok := strings.Cut(xy, ",")
		var errX, errY error
		out.XY.X, errX = strconv.ParseFloat(strings.TrimSpace(x), 64)
		out.XY.Y, errY = strconv.ParseFloat(strings.TrimSpace(y), 64)
		if !ok || errX != nil || errY != nil || !(out.XY.X >= 0 && out.XY.X <= 1 && out.XY.Y > 0 && out.XY.Y <= 1) {
			return out, &badChange{"xy", fmt.Errorf("%q is not a chromaticity; example: 0.31, 0.33", xy)}
		}
	}
	if colours.CCT.Set {
		cct := colours.Colour()
		duv, _ := colours.Whiteness()
		out.CCT, out.Duv = colour.Band{Lo: cct.Lo, Hi: cct.Hi}, colour.Band{Lo: duv.Lo, Hi: duv.Hi}
	}
	goals := []string{"power", "light", "ra", "rf"}
	best := slices.Index(goals, m.Objective)
	if m.Objective == "" {
		best = 0
	}
	if best < 0 {
		return out, &badChange{"objective", fmt.Errorf("%q is not one of %s", m.Objective, strings.Join(goals, ", "))}
	}
	out.Goal = []colour.Goal{colour.MinPower, colour.MaxLight, colour.BestRa, colour.BestRf}[best]
	for _, limits := range []struct {
		name string
		from map[string]string
		to   *map[string]float64
	}{{"min", m.Min, &out.Min}, {"max", m.Max, &out.Max}} {
		*limits.to = map[string]float64{}
		for name, text := range limits.from {
			if strings.TrimSpace(text) == "" {
				continue
			}
			level, bad := quantity.Parse(text, quantity.Ratio)
			if bad == nil && (level < 0 || level > 1) {
				bad = fmt.Errorf("%s is outside 0 %% to 100 %%", text)
			}
			if bad != nil {
				return out, &badChange{limits.name + "." + name, bad}
			}
			(*limits.to)[name] = level
		}
	}
	for name, least := range out.Min {
		if most, ok := out.Max[name]; ok && most < least {
			return out, &badChange{"max." + name, fmt.Errorf("the maximum of %s is below its minimum", name)}
		}
	}
	return out, nil
}

// mix answers with the levels that meet a requirement best, for the file or for a preview.
func (s *Server) mix(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		Requirement mixRequirement `json:"requirement"`
	}
	if !decode(w, r, &in) {
		return
	}
	required, err := in.Requirement.read()
	if err != nil {
		s.fail(w, err)
		return
	}
	result, _, err := s.work.resultOf(w, r, in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	_, done, err := s.work.brief(w, r)
	if err != nil {
		s.fail(w, err)
		return
	}
	defer done()
	m, err := s.work.mixed(result, required)
	if err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, m)
}

// mixed is Mix; a panic becomes errFault.
func (w *workspace) mixed(r *figure.Evaluation, required study.MixRequirement) (m study.Mix, err error) {
	defer func() {
		if recover() != nil {
			err = errFault
		}
	}()
	if m, err = study.FindMix(r, required); err != nil {
		return m, err
	}
	finiteMix(&m)
	return m, nil
}

// finiteMix puts 0 in place of what is no number in a mix.
func finiteMix(m *study.Mix) {
	for _, x := range []*float64{
		&m.StepsOff, &m.XY.X, &m.XY.Y, &m.CCTK, &m.Duv, &m.Ra, &m.Rf, &m.PPFD, &m.Lux,
		&m.WallW, &m.JunctionK,
	} {
		*x = finite(*x)
	}
}
