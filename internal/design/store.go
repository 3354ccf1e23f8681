package design

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"fmt"
	"sync"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
	"lampwright/internal/light"
)

// Store keeps unit responses by the hash of just what they depend on. Whatever it loses is solved again.
type Store interface {
	Get(key string) (data []byte, ok bool)
	Put(key string, data []byte)
}

// noStore keeps nothing.
type noStore struct{}

func (noStore) Get(string) ([]byte, bool) { return nil, false }
func (noStore) Put(string, []byte)        {}

// HeatMemory keeps the last unit responses of boards in memory, ready for use: reading one out of a Store takes some
// milliseconds, which a slider feels. The zero HeatMemory is ready, and several evaluations may share it.
type HeatMemory struct {
	mu    sync.Mutex
	kept  recent[string, *heat.Response]
	bases recent[baseInputs, [][]float64]
	cools coolMemory
}

// baseInputs is what the exact series of a sink's base depends on.
type baseInputs struct {
	plate heat.Plate
	feet  []geom.Rect
}

// rememberedHeats bounds a HeatMemory; a response has some hundred kilobytes.
const rememberedHeats = 4

func (m *HeatMemory) get(key string) *heat.Response {
	if m == nil {
		return nil
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	r, _ := m.kept.get(key)
	return r
}

func (m *HeatMemory) put(key string, r *heat.Response) {
	if m == nil {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.kept.put(key, r, rememberedHeats)
}

// base returns the unit responses of a sink's base with baseModes waves an axis.
func (m *HeatMemory) base(p heat.Plate, feet []geom.Rect) ([][]float64, error) {
	if m == nil {
		return p.Unit(feet, baseModes)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	in := baseInputs{p, feet}
	if unit, ok := m.bases.get(in); ok {
		return unit, nil
	}
	unit, err := p.Unit(feet, baseModes)
	if err != nil {
		return nil, err
	}
	m.bases.put(in, unit, rememberedHeats)
	return unit, nil
}

// unitHeat returns the board's unit responses, from the memory or the store where they stand there.
func unitHeat(ctx context.Context, store Store, memory *HeatMemory, b heat.Board, sources []heat.Source, probes []heat.Probe, o heat.Options) (*heat.Response, error) {
	if store == nil && memory == nil {
		return heat.Unit(ctx, b, sources, probes, o)
	}
	key := "heat-" + heat.Key(b, sources, probes, o)
	named := func(r heat.Response) *heat.Response {
		r.Names = nil // names are not part of the key
		for _, s := range sources {
			r.Names = append(r.Names, s.Name)
		}
		return &r
	}
	if r := memory.get(key); r != nil {
		return named(*r), nil
	}
	if store == nil {
		store = noStore{}
	}
	if data, ok := store.Get(key); ok {
		var r heat.Response
		if body, ok := unseal(data); ok && gob.NewDecoder(bytes.NewReader(body)).Decode(&r) == nil && len(r.MeanKW) == len(sources) && r.Sink != nil {
			memory.put(key, &r)
			return named(r), nil
		}
	}
	r, err := heat.Unit(ctx, b, sources, probes, o)
	if err != nil {
		return nil, err
	}
	var buf bytes.Buffer
	if gob.NewEncoder(&buf).Encode(r) == nil {
		store.Put(key, seal(buf.Bytes()))
	}
	memory.put(key, r)
	return r, nil
}

// lightVersion is part of the key of stored light: raise it whenever the same lamp gets other maps (TestLightVersion).
const lightVersion = 1

// lightKey returns the name under which the light of a lamp is stored: the hash of what it depends on, and of the emitters'
// names, which its notes may tell.
func (l *Lamp) lightKey(in lightInputs) string {
	h := sha256.New()
	fmt.Fprintf(h, "light %d, %#v", lightVersion, in)
	for i := range l.Emitters {
		fmt.Fprintf(h, "%q", l.Emitters[i].Label)
	}
	return "light-" + hex.EncodeToString(h.Sum(nil))
}

// lightKept is unitLight as it is stored.
type lightKept struct {
	Target, Surface *mapKept
	Shares          []light.Fractions
	Meets, Reaches  []float64
	Notes           []string
}

type mapKept struct {
	LengthM, WidthM, AreaM2 float64
	NX, NY                  int
	PPFD, Lux, BandMean     [][]float64
}

func (m *unitMap) keep() *mapKept {
	if m == nil {
		return nil
	}
	return &mapKept{m.lengthM, m.widthM, m.areaM2, m.nx, m.ny, m.ppfd, m.lux, m.bandMean}
}

func (k *mapKept) unit() *unitMap {
	if k == nil {
		return nil
	}
	return &unitMap{k.LengthM, k.WidthM, k.AreaM2, k.NX, k.NY, k.PPFD, k.Lux, k.BandMean}
}

// fits says that stored light is of a lamp of so many emitters.
func (k *lightKept) fits(emitters int) bool {
	if k.Target == nil || len(k.Shares) != emitters || len(k.Meets) != emitters || len(k.Reaches) != emitters {
		return false
	}
	for _, m := range []*mapKept{k.Target, k.Surface} {
		if m != nil && (len(m.PPFD) != emitters || len(m.Lux) != emitters || len(m.BandMean) != emitters) {
			return false
		}
	}
	return true
}

// storedLight returns the unit responses of the light, from the store where they stand there.
func (l *Lamp) storedLight(ctx context.Context, o Options, in lightInputs) (*unitLight, error) {
	if o.Store == nil {
		return l.solveLight(ctx, o)
	}
	key := l.lightKey(in)
	if data, ok := o.Store.Get(key); ok {
		var k lightKept
		if body, ok := unseal(data); ok && gob.NewDecoder(bytes.NewReader(body)).Decode(&k) == nil && k.fits(len(l.Emitters)) {
			return &unitLight{k.Target.unit(), k.Surface.unit(), k.Shares, k.Meets, k.Reaches, k.Notes}, nil
		}
	}
	u, err := l.solveLight(ctx, o)
	if err != nil {
		return nil, err
	}
	var buf bytes.Buffer
	if gob.NewEncoder(&buf).Encode(lightKept{u.target.keep(), u.surface.keep(), u.shares, u.meets, u.reaches, u.notes}) == nil {
		o.Store.Put(key, seal(buf.Bytes()))
	}
	return u, nil
}

// seal puts a checksum before data, so that a file that was cut or changed is solved again and not believed.
func seal(data []byte) []byte {
	sum := sha256.Sum256(data)
	return append(sum[:], data...)
}

// unseal returns the data behind its checksum, and whether the two agree.
func unseal(sealed []byte) (data []byte, ok bool) {
	if len(sealed) < sha256.Size {
		return nil, false
	}
	data = sealed[sha256.Size:]
	sum := sha256.Sum256(data)
	return data, bytes.Equal(sum[:], sealed[:sha256.Size])
}
