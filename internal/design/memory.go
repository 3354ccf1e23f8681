package design

import (
	"context"
	"reflect"
	"sync"

	"lampwright/internal/light"
)

// rememberedLights bounds a LightMemory: a step forth and back between two heights needs two.
const rememberedLights = 4

// LightMemory keeps the last unit responses of the light in memory, so that a lamp whose place, lenses and spectra are
// as they were is evaluated without its rays. The zero LightMemory is ready, and several evaluations may share it.
type LightMemory struct {
	mu   sync.Mutex
	kept []rememberedLight
	cuts []rememberedCut
}

type rememberedLight struct {
	of   lightInputs
	unit *unitLight
}

// lightInputs is just what unit responses of the light depend on.
type lightInputs struct {
	tank     light.Tank
	emitters []light.Emitter // without names
	kinds    []int           // by emitter
	weights  []bandWeights   // by kind
	cellM    float64
	notes    []string // on the water, and on what the maps leave out
}

// lightInputs returns what the light of this lamp depends on.
func (l *Lamp) lightInputs(o Options) (lightInputs, error) {
	t, err := l.tank()
	if err != nil {
		return lightInputs{}, err
	}
	in := lightInputs{tank: t, emitters: l.sources(), weights: l.bandWeights(max(len(t.Bands), 1)), cellM: o.cellM(l), notes: append(l.waterNotes(), l.LeftOut()...)}
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
	in, err := l.lightInputs(o)
	if err != nil {
		return l.solveLight(ctx, o) // which says what is wrong
	}
	if o.Light != nil {
		if u := o.Light.get(in); u != nil {
			return u, nil
		}
	}
	u, err := l.storedLight(ctx, o, in)
	if err == nil && o.Light != nil {
		o.Light.put(in, u)
	}
	return u, err
}

func (m *LightMemory) get(in lightInputs) *unitLight {
	m.mu.Lock()
	defer m.mu.Unlock()
	for i := len(m.kept) - 1; i >= 0; i-- {
		if k := m.kept[i]; reflect.DeepEqual(k.of, in) {
			m.kept = append(append(m.kept[:i:i], m.kept[i+1:]...), k)
			return k.unit
		}
	}
	return nil
}

func (m *LightMemory) put(in lightInputs, u *unitLight) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.kept) >= rememberedLights {
		m.kept = append([]rememberedLight(nil), m.kept[1:]...)
	}
	m.kept = append(m.kept, rememberedLight{in, u})
}
