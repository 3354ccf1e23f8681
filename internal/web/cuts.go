package web

import (
	"context"
	"errors"
	"net/http"

	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/study"
)

// sinkView is the shape of the lamp's sink, and of upright faces of a housing about it.
type sinkView struct {
	LengthM float64      `json:"length_m"` // along which its fins run
	WidthM  float64      `json:"width_m"`
	BaseM   float64      `json:"base_m"`
	Fins    *finsView    `json:"fins,omitempty"`
	Pins    *pinsView    `json:"pins,omitempty"`
	Housing *housingView `json:"housing,omitempty"`
}

type finsView struct {
	Count      int     `json:"count"`
	HeightM    float64 `json:"height_m"`
	ThicknessM float64 `json:"thickness_m"`
}

type pinsView struct {
	DiameterM float64 `json:"diameter_m"`
	HeightM   float64 `json:"height_m"`
	AcrossM   float64 `json:"across_m"`
	AlongM    float64 `json:"along_m"`
	Staggered bool    `json:"staggered"`
}

type housingView struct {
	AreaM2  float64 `json:"area_m2"`
	HeightM float64 `json:"height_m"`
}

// plateM is how thick the base of a sink is drawn whose sheet does not say it.
const plateM = 5e-3

func sinkOf(l *lamp.Lamp) sinkView {
	s := l.Sink
	v := sinkView{LengthM: s.Base.Length.SI, WidthM: s.Base.Width.SI, BaseM: plateM}
	if s.BaseThickness.Set {
		v.BaseM = s.BaseThickness.SI
	}
	if f := s.Fins; f != nil {
		v.Fins = &finsView{f.Count.N, f.Height.SI, f.Thickness.SI}
	}
	if p := s.Pins; p != nil {
		v.Pins = &pinsView{p.Diameter.SI, p.Height.SI, p.TransversePitch.SI, p.LongitudinalPitch.SI, p.Staggered.On}
	}
	if h := l.Design.Housing; h != nil && h.Height.Set && (!h.Faces.Set || h.Faces.S == project.FacesUpright) {
		v.Housing = &housingView{h.Area.SI, h.Height.SI}
	}
	return v
}

// cutView is the light on a plane through the place.
type cutView struct {
	*study.SectionMap
	MinM float64 `json:"min_m"` // between which places such a plane can lie
	MaxM float64 `json:"max_m"`
}

// cutRequest is a question on the light on a plane, of the file or of a preview.
type cutRequest struct {
	previewed
	Cut   study.Section `json:"cut"`
	Clamp bool          `json:"clamp"` // move a position outside the range to its limit, as after the installation became smaller
}

// cut answers with the light on a plane, for the file or for a preview.
func (s *Server) cut(w http.ResponseWriter, r *http.Request) {
	var in cutRequest
	if !decode(w, r, &in) {
		return
	}
	s.onPlanes(w, r, in.previewed, func(ctx context.Context, result *figure.Evaluation) (any, error) {
		m, err := study.MapSection(ctx, result, in.section(result), nil)
		if err != nil {
			return nil, err
		}
		return newCutView(result, m), nil
	})
}

// section returns the plane that is asked for.
func (in *cutRequest) section(r *figure.Evaluation) study.Section {
	c := in.Cut
	if in.Clamp {
		lo, hi := study.CutRange(r, c.Kind)
		c.AtM = min(max(c.AtM, lo), hi)
	}
	return c
}

func newCutView(r *figure.Evaluation, m *study.SectionMap) cutView {
	m.PPFD, m.Lux = short(m.PPFD), short(m.Lux)
	lo, hi := study.CutRange(r, m.Kind)
	return cutView{m, lo, hi}
}

// onPlanes answers with the light on planes of a lamp, computed while the page waits.
func (s *Server) onPlanes(w http.ResponseWriter, r *http.Request, in previewed,
	of func(ctx context.Context, result *figure.Evaluation) (any, error),
) {
	result, _, err := s.work.resultOf(w, r, in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	ctx, done, err := s.work.brief(w, r)
	if err != nil {
		s.fail(w, err)
		return
	}
	defer done()
	v, err := guarded(func() (any, error) { return of(ctx, result) })
	if err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, v)
}

// levelCount is the number of levels that stand side by side.
const levelCount = 4

// levelsView is the light on level planes, from the highest to the lowest.
type levelsView struct {
	Levels []cutView `json:"levels"`
}

// levels answers with the light on level planes, for the file or for a preview.
func (s *Server) levels(w http.ResponseWriter, r *http.Request) {
	var in previewed
	if !decode(w, r, &in) {
		return
	}
	s.onPlanes(w, r, in, func(ctx context.Context, result *figure.Evaluation) (any, error) {
		maps, err := study.MapLevels(ctx, result, levelCount)
		if err != nil {
			return nil, err
		}
		v := levelsView{}
		for _, m := range maps {
			v.Levels = append(v.Levels, newCutView(result, m))
		}
		return v, nil
	})
}

// channelLightView is the light of each channel on a plane.
type channelLightView struct {
	Channels []study.ChannelMap `json:"channels"`
}

// channelLight answers with the light of each channel on a plane, for the file or for a preview: the page adds those
// that are switched on.
func (s *Server) channelLight(w http.ResponseWriter, r *http.Request) {
	var in cutRequest
	if !decode(w, r, &in) {
		return
	}
	s.onPlanes(w, r, in.previewed, func(ctx context.Context, result *figure.Evaluation) (any, error) {
		maps, err := study.ChannelMaps(ctx, result, in.section(result))
		if err != nil {
			return nil, err
		}
		for i := range maps {
			m := &maps[i]
			m.PPFD, m.Lux = short(m.PPFD), short(m.Lux)
		}
		return channelLightView{maps}, nil
	})
}

// roomSurfaces answers with the light on floor and walls. It is traced while the page waits and gets its progress; a
// page that no longer waits ends it.
func (s *Server) roomSurfaces(w http.ResponseWriter, r *http.Request) {
	var in previewed
	if !decode(w, r, &in) {
		return
	}
	k := s.work
	result, hash, err := k.resultOf(w, r, in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	k.mu.Lock()
	known := k.traced
	k.mu.Unlock()
	if known.around != nil && known.of == hash {
		answer(w, http.StatusOK, known.around)
		return
	}
	name := "light on floor and walls"
	s.longer(w, r, "trace", name, func(ctx context.Context, progress func(done, total int)) (any, error) {
		a, err := study.LightRoomSurfaces(ctx, result, study.TraceOptions{Progress: progress})
		if err != nil {
			return nil, err
		}
		for i := range a.Faces {
			a.Faces[i].Lux, a.Faces[i].Err = short(a.Faces[i].Lux), short(a.Faces[i].Err)
		}
		k.mu.Lock()
		k.traced = traced{hash, a}
		k.mu.Unlock()
		return a, nil
	})
}

// traced is the light about the place for one text, with the parts beside it.
type traced struct {
	of     string
	around *study.RoomSurfaces
}

// computedOf is a Result for one text, with the parts beside it.
type computedOf struct {
	of     string
	result *figure.Evaluation
}

// guarded runs work; a panic becomes errFault.
func guarded(work func() (any, error)) (v any, err error) {
	defer func() {
		if recover() != nil {
			v, err = nil, errFault
		}
	}()
	return work()
}

// edited returns the project that a request is about; it answers itself, with nil, where there is none.
func (s *Server) edited(w http.ResponseWriter, of previewed) *project.Project {
	p, _, err := s.work.edited(of.Base, of.Changes)
	if err != nil {
		s.fail(w, err)
		return nil
	}
	return p
}

// edited returns the project with changes, and its identity: a hash of its texts and of the files beside its parts,
// from before it was read.
func (w *workspace) edited(base string, changes []change) (*project.Project, string, error) {
	text, changed, err := w.spliced(base, changes)
	if err != nil {
		return nil, "", err
	}
	w.mu.Lock()
	of, stands := w.hashWith(changed)+w.parts, w.hash == base
	w.mu.Unlock()
	if !stands {
		return nil, "", errConflict
	}
	p, problems := w.load(text, changed)
	if p == nil {
		return nil, "", removalsOf(changes).problems(problems)
	}
	return p, of, nil
}

// resultOf returns the Result of the file with changes, and what it is known by: the one that was computed last, where
// it is the same.
func (w *workspace) resultOf(rw http.ResponseWriter, r *http.Request, base string,
	changes []change,
) (*figure.Evaluation, string, error) {
	text, changed, err := w.spliced(base, changes)
	if err != nil {
		return nil, "", err
	}
	w.mu.Lock()
	hash := w.hashWith(changed)
	of := hash + w.parts
	if w.hash != base {
		w.mu.Unlock()
		return nil, "", errConflict
	}
	var result *figure.Evaluation
	switch {
	case w.shown != nil && w.shown.of == hash && w.job == nil && len(w.problems) == 0 && w.failed == "":
		result = w.shown.result
	case w.last.of == of:
		result = w.last.result
	}
	w.mu.Unlock()
	if result != nil {
		return result, of, nil
	}
	p, problems := w.load(text, changed)
	if p == nil {
		return nil, "", removalsOf(changes).problems(problems)
	}
	if result, _, err = w.trial(rw, r, p, false); err != nil {
		return nil, "", err
	}
	w.remember(of, result)
	return result, of, nil
}

func (w *workspace) remember(of string, result *figure.Evaluation) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.last = computedOf{of, result}
}

// errNoFigure says that a figure that was asked for is none.
var errNoFigure = errors.New("there is no such figure")

// why answers with the derivation of a figure, for the file or for a preview.
func (s *Server) why(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		Key string `json:"key"`
	}
	if !decode(w, r, &in) {
		return
	}
	result, _, err := s.work.resultOf(w, r, in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	f, ok := result.Figure(in.Key)
	if !ok {
		s.fail(w, errNoFigure)
		return
	}
	answer(w, http.StatusOK, f.Basis)
}
