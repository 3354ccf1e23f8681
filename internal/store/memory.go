// Package store keeps unit responses in memory and on disk, behind the Solver interface of package engine.
//
// In: the inputs of an engine.Solver, and a Store for files.
// Out: the same answers, computed once.
// Assumes: answers depend on nothing but their inputs.
// Leaves to others: where files are kept (cli), and what is computed (engine).
package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"fmt"
	"reflect"
	"slices"
	"sync"

	"lampwright/internal/engine"
	"lampwright/internal/geom"
	"lampwright/internal/heat"
	"lampwright/internal/light"
)

// Store keeps unit responses by the hash of just what they depend on. Whatever it loses is solved again.
type Store interface {
	Get(key string) (data []byte, ok bool)
	Put(key string, data []byte)
}

// recent keeps the last things that were computed, each with what it was computed of; the longest unused goes first.
// Nobody writes to what is kept. It is not safe for several goroutines.
type recent[K, V any] []recentOne[K, V]

type recentOne[K, V any] struct {
	Of  K
	Got V
}

func (r *recent[K, V]) Get(of K) (got V, ok bool) {
	list := *r
	for i := len(list) - 1; i >= 0; i-- {
		if k := list[i]; reflect.DeepEqual(k.Of, of) {
			*r = append(append(list[:i:i], list[i+1:]...), k)
			return k.Got, true
		}
	}
	return got, false
}

func (r *recent[K, V]) Put(of K, got V, atMost int) {
	if len(*r) >= atMost {
		*r = append(recent[K, V](nil), (*r)[1:]...)
	}
	*r = append(*r, recentOne[K, V]{of, got})
}

// What a Memory keeps of each kind: a step forth and back between two values, with its variants, and some that are tried.
const (
	RememberedLights = 4
	rememberedBoards = 16 // a response has some hundred kilobytes
	rememberedCools  = 16 // a lamp asks for five
	rememberedLenses = 8
	rememberedCuts   = 12
)

// Memory is a Solver that returns what it has computed before, from memory and from a Store. The zero Memory is ready; it
// may be shared by several evaluations and goroutines.
type Memory struct {
	Store Store // on disk; nil keeps nothing there

	Mu     sync.Mutex
	Boards recent[string, *heat.Response]
	Bases  recent[baseInputs, [][]float64]
	Cools  recent[engine.CoolingInputs, engine.Cooling]
	Lights recent[engine.LightInputs, *engine.UnitLight]
	Cuts   recent[engine.SectionInputs, []light.Response]
	Lenses recent[light.LensData, lensPattern]

	Interreflection light.Thrown
}

var _ engine.Solver = (*Memory)(nil)

// baseInputs is what the exact series of a sink's base depends on.
type baseInputs struct {
	plate heat.Plate
	feet  []geom.Rect
}

// lensPattern is what light.Lens makes of a datasheet.
type lensPattern struct {
	Pattern light.Pattern
	Fit     light.LensFit
}

func (m *Memory) Direct() engine.Direct { return engine.Direct{Interreflection: &m.Interreflection} }

// remember returns what is kept under in, or computes it outside the lock and keeps it.
func remember[K, V any](m *Memory, list *recent[K, V], atMost int, in K, compute func() (V, error)) (V, error) {
	m.Mu.Lock()
	got, ok := list.Get(in)
	m.Mu.Unlock()
	if ok {
		return got, nil
	}
	got, err := compute()
	if err == nil {
		m.Mu.Lock()
		list.Put(in, got, atMost)
		m.Mu.Unlock()
	}
	return got, err
}

// Lens is Direct.Lens with a memory.
func (m *Memory) Lens(d light.LensData) (light.Pattern, light.LensFit, error) {
	k, err := remember(m, &m.Lenses, rememberedLenses, d, func() (lensPattern, error) {
		p, fit, err := m.Direct().Lens(d)
		fit.Notes = slices.Clip(fit.Notes) // others append theirs
		return lensPattern{p, fit}, err
	})
	return k.Pattern, k.Fit, err
}

// Cooling is Direct.Cooling with a memory.
func (m *Memory) Cooling(in engine.CoolingInputs) (engine.Cooling, error) {
	return remember(m, &m.Cools, rememberedCools, in, func() (engine.Cooling, error) {
		c, err := m.Direct().Cooling(in)
		c.Notes = slices.Clip(c.Notes) // others append theirs
		return c, err
	})
}

// SinkBase is Direct.SinkBase with a memory.
func (m *Memory) SinkBase(p heat.Plate, feet []geom.Rect) ([][]float64, error) {
	return remember(m, &m.Bases, rememberedBoards, baseInputs{p, feet}, func() ([][]float64, error) {
		return m.Direct().SinkBase(p, feet)
	})
}

// Section is Direct.Section with a memory.
func (m *Memory) Section(ctx context.Context, in engine.SectionInputs, progress func(done, total int)) ([]light.Response, error) {
	return remember(m, &m.Cuts, rememberedCuts, in, func() ([]light.Response, error) {
		return m.Direct().Section(ctx, in, progress)
	})
}

// Board is Direct.Board with a memory and the store.
func (m *Memory) Board(ctx context.Context, b heat.Board, sources []heat.Source, probes []heat.Probe, o heat.Options) (*heat.Response, error) {
	key := "heat-" + heat.Key(b, sources, probes, o)
	r, err := remember(m, &m.Boards, rememberedBoards, key, func() (*heat.Response, error) {
		var kept heat.Response
		if m.Load(key, &kept) && len(kept.MeanKW) == len(sources) && kept.Sink != nil {
			return &kept, nil
		}
		r, err := m.Direct().Board(ctx, b, sources, probes, o)
		if err == nil {
			m.Save(key, r)
		}
		return r, err
	})
	if err != nil {
		return nil, err
	}
	named := *r // names are not part of the key
	named.Names = nil
	for _, s := range sources {
		named.Names = append(named.Names, s.Name)
	}
	return &named, nil
}

// lightVersion is part of the key of stored light: raise it whenever the same lamp gets other maps (TestLightVersion).
const LightVersion = 2

// lightKey returns the name under which light is stored: the hash of what it depends on.
func lightKey(in engine.LightInputs) string {
	h := sha256.New()
	fmt.Fprintf(h, "light %d, %#v", LightVersion, in)
	return "light-" + hex.EncodeToString(h.Sum(nil))
}

// Light is Direct.Light with a memory and the store.
func (m *Memory) Light(ctx context.Context, in engine.LightInputs) (*engine.UnitLight, error) {
	return remember(m, &m.Lights, RememberedLights, in, func() (*engine.UnitLight, error) {
		key := ""
		if m.Store != nil {
			key = lightKey(in)
		}
		var k lightKept
		if m.Load(key, &k) && k.Fits(len(in.Emitters)) {
			return &engine.UnitLight{k.Target.Unit(), k.Surface.Unit(), k.Shares, k.Meets, k.Reaches, k.Notes}, nil
		}
		u, err := m.Direct().Light(ctx, in)
		if err == nil {
			m.Save(key, lightKept{keepMap(u.Target), keepMap(u.Surface), u.Shares, u.Incident, u.Direct, u.Notes})
		}
		return u, err
	})
}

// load reads a value from the store; it is false where there is none that can be believed.
func (m *Memory) Load(key string, to any) bool {
	if m.Store == nil {
		return false
	}
	data, ok := m.Store.Get(key)
	if !ok {
		return false
	}
	body, ok := unseal(data)
	return ok && gob.NewDecoder(bytes.NewReader(body)).Decode(to) == nil
}

// save writes a value to the store.
func (m *Memory) Save(key string, value any) {
	if m.Store == nil {
		return
	}
	var buf bytes.Buffer
	if gob.NewEncoder(&buf).Encode(value) == nil {
		m.Store.Put(key, Seal(buf.Bytes()))
	}
}

// lightKept is unitLight as it is stored.
type lightKept struct {
	Target, Surface *mapKept
	Shares          []light.Shares
	Meets, Reaches  []float64
	Notes           []string
}

type mapKept struct {
	LengthM, WidthM, AreaM2 float64
	NX, NY                  int
	PPFD, Lux, BandMean     [][]float64
}

func keepMap(m *engine.UnitMap) *mapKept {
	if m == nil {
		return nil
	}
	return &mapKept{m.LengthM, m.WidthM, m.AreaM2, m.Nx, m.Ny, m.Ppfd, m.Lux, m.BandMean}
}

func (k *mapKept) Unit() *engine.UnitMap {
	if k == nil {
		return nil
	}
	return &engine.UnitMap{k.LengthM, k.WidthM, k.AreaM2, k.NX, k.NY, k.PPFD, k.Lux, k.BandMean}
}

// fits says that stored light is of a lamp of so many emitters.
func (k *lightKept) Fits(emitters int) bool {
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

// seal puts a checksum before data, so that a file that was cut or changed is solved again and not believed.
func Seal(data []byte) []byte {
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
