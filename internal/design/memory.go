package design

import (
	"context"
	"reflect"
	"sync"

	"lampwright/internal/light"
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
	kept recent[lightInputs, *unitLight]
	cuts recent[cutInputs, []light.Response]
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
	u, _ := m.kept.get(in)
	return u
}

func (m *LightMemory) put(in lightInputs, u *unitLight) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.kept.put(in, u, rememberedLights)
}
