package design

import (
	"context"
	"reflect"
	"slices"
	"sync"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
	"lampwright/internal/sink"
	"lampwright/internal/spectrum"
)

// recent keeps the last things that were computed, each with what it was computed of; the longest unused goes first.
// Nobody writes to what is kept. It is not safe for several goroutines.
type recent[K, V any] []recentOne[K, V]

type recentOne[K, V any] struct {
	of  K
	got V
}

func (r *recent[K, V]) get(of K) (got V, ok bool) {
	list := *r
	for i := len(list) - 1; i >= 0; i-- {
		if k := list[i]; reflect.DeepEqual(k.of, of) {
			*r = append(append(list[:i:i], list[i+1:]...), k)
			return k.got, true
		}
	}
	return got, false
}

func (r *recent[K, V]) put(of K, got V, atMost int) {
	if len(*r) >= atMost {
		*r = append(recent[K, V](nil), (*r)[1:]...)
	}
	*r = append(*r, recentOne[K, V]{of, got})
}

// rememberedLights bounds a LightMemory: a step forth and back between two heights needs two.
const rememberedLights = 4

// LightMemory keeps the last unit responses of the light in memory, so that a lamp whose place, lenses and spectra are
// as they were is evaluated without its rays. The zero LightMemory is ready, and several evaluations may share it.
type LightMemory struct {
	mu   sync.Mutex
	kept recent[lightKnown, *unitLight]
	cuts recent[cutInputs, []light.Response]
	lens recent[intensity.LensData, lensPattern]

	thrown light.Interreflection
}

// thrownTo returns where light keeps what a tank throws to and fro.
func (m *LightMemory) thrownTo() *light.Interreflection {
	if m == nil {
		return nil
	}
	return &m.thrown
}

// rememberedLenses bounds the patterns that a LightMemory keeps: those of a lamp's lenses, and of some that are tried.
const rememberedLenses = 8

// lensPattern is what intensity.FromLens makes of a sheet.
type lensPattern struct {
	pattern intensity.Distribution
	fit     intensity.LensFit
}

// lensOf is intensity.FromLens.
func (m *LightMemory) lensOf(d intensity.LensData) (intensity.Distribution, intensity.LensFit, error) {
	if m == nil {
		return intensity.FromLens(d)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if k, ok := m.lens.get(d); ok {
		return k.pattern, k.fit, nil
	}
	p, fit, err := intensity.FromLens(d)
	if err == nil {
		fit.Notes = slices.Clip(fit.Notes) // others append theirs
		m.lens.put(d, lensPattern{p, fit}, rememberedLenses)
	}
	return p, fit, err
}

// lightInputs is just what unit responses of the light depend on; see lightKnown.
type lightInputs struct {
	tank     light.Tank
	emitters []light.Emitter // without names
	kinds    []int           // by emitter
	weights  []bandWeights   // by kind
	cellM    float64
	notes    []string // on the water, and on what the maps leave out
}

// lightKnown is lightInputs with the spectra in place of the weights that are sums over them: to sum takes longer than to
// look whether the spectra are those of before.
type lightKnown struct {
	lightInputs
	units []spectrum.Spectrum // by kind
}

// weighted puts the weights into what is known of the light.
func (l *Lamp) weighted(k lightKnown) lightInputs {
	k.weights = l.bandWeights(max(len(k.tank.Bands), 1))
	return k.lightInputs
}

// lightKnown returns what the light of this lamp depends on, without the weights.
func (l *Lamp) lightKnown(o Options) (lightKnown, error) {
	t, err := l.tank()
	if err != nil {
		return lightKnown{}, err
	}
	in := lightKnown{lightInputs: lightInputs{tank: t, emitters: l.sources(), cellM: o.cellM(l), notes: append(l.waterNotes(), l.LeftOut()...)}}
	for i := range l.Kinds {
		in.units = append(in.units, l.Kinds[i].Unit)
	}
	for i := range in.emitters {
		in.emitters[i].Name = ""
		in.kinds = append(in.kinds, l.Emitters[i].Kind)
	}
	return in, nil
}

// unitLight returns the unit responses of the light, from the memory or the store where they have them.
func (l *Lamp) unitLight(ctx context.Context, o Options) (*unitLight, error) {
	if o.Light == nil && o.Store == nil {
		return l.solveLight(ctx, o)
	}
	in, err := l.lightKnown(o)
	if err != nil {
		return l.solveLight(ctx, o) // which says what is wrong
	}
	if o.Light != nil {
		if u := o.Light.get(in); u != nil {
			return u, nil
		}
	}
	u, err := l.storedLight(ctx, o, l.weighted(in))
	if err == nil && o.Light != nil {
		o.Light.put(in, u)
	}
	return u, err
}

func (m *LightMemory) get(in lightKnown) *unitLight {
	m.mu.Lock()
	defer m.mu.Unlock()
	u, _ := m.kept.get(in)
	return u
}

func (m *LightMemory) put(in lightKnown, u *unitLight) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.kept.put(in, u, rememberedLights)
}

// rememberedCools bounds a coolMemory: a lamp asks for five, and a step forth and back between two fan speeds for seven.
const rememberedCools = 16

// coolMemory keeps how the last sinks cool: a fan that is set against fins takes as long to find as all junctions. The zero
// coolMemory is ready, and several goroutines may share it.
type coolMemory struct {
	mu   sync.Mutex
	kept recent[coolInputs, cooling]
}

// coolInputs is what the cooling of a sink of fins or pins depends on.
type coolInputs struct {
	shape            geometry
	orientation      sink.Orientation
	tiltRad          float64
	airK, pressurePa float64
	blown            bool
	fan              sink.FanDrive // where it is blown
	shareStated      bool
}

func (m *coolMemory) get(in coolInputs) (cooling, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.kept.get(in)
}

func (m *coolMemory) put(in coolInputs, c cooling) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.kept.put(in, c, rememberedCools)
}
