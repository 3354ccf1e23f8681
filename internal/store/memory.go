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
	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// Folder is the folder of unit responses and snapshots inside a project folder. It may be deleted at any time.
const Folder = ".lampwright-cache"

// FolderIgnore is the text of the file .gitignore in it.
const FolderIgnore = "# Unit responses and snapshots that Lampwright keeps; delete them at any time.\n*\n"

// Store keeps unit responses by the hash of just what they depend on. Whatever it loses is solved again.
type Store interface {
	Get(key string) (data []byte, ok bool)
	Put(key string, data []byte)
}

// recent keeps the last things that were computed, each with what it was computed of; the longest unused goes first.
// Nobody writes to what is kept. It is not safe for several goroutines.
type recent[K, V any] []recentOne[K, V]

type recentOne[K, V any] struct {
	of  K
	got V
}

func (r *recent[K, V]) Get(of K) (got V, ok bool) {
	list := *r
	for i := len(list) - 1; i >= 0; i-- {
		if k := list[i]; reflect.DeepEqual(k.of, of) {
			*r = append(append(list[:i:i], list[i+1:]...), k)
			return k.got, true
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

// What a Memory keeps of each kind: a step forth and back between two values, with its variants, and some that are
// tried.
const (
	RememberedLights = 6  // with the tubes of a replaced lamp
	rememberedBoards = 16 // a response has some hundred kilobytes
	rememberedCools  = 16 // a lamp asks for five
	rememberedLenses = 48 // three of each lens: as stated, and at both ends of its beam angle
	rememberedCuts   = 12
	rememberedChange = 4
)

// Memory is a Solver that returns what it has computed before, from memory and from a Store. The zero Memory is ready;
// it may be shared by several evaluations and goroutines.
type Memory struct {
	Store Store // on disk; nil keeps nothing there

	mu     sync.Mutex
	boards recent[string, *heat.Response]
	bases  recent[baseInputs, [][]float64]
	cools  recent[engine.CoolingInputs, engine.Cooling]
	Lights recent[engine.LightInputs, *engine.UnitLight]
	Cuts   recent[engine.SectionInputs, []light.Response]
	change recent[engine.LightChangesInputs, []engine.LightChange]
	lenses recent[intensity.LensData, lensPattern]

	interreflection light.Interreflection
	fields          heat.Fields // so that one emitter moved is one emitter solved
}

var _ engine.Solver = (*Memory)(nil)

// baseInputs is what the exact series of a sink's base depends on.
type baseInputs struct {
	plate heat.Plate
	feet  []geom.Rect
}

// lensPattern is what intensity.FromLens makes of a datasheet.
type lensPattern struct {
	pattern intensity.Distribution
	fit     intensity.LensFit
}

func (m *Memory) direct() engine.Direct { return engine.Direct{Interreflection: &m.interreflection} }

// remember returns what is kept under in, or computes it outside the lock and keeps it.
func remember[K, V any](m *Memory, list *recent[K, V], atMost int, in K, compute func() (V, error)) (V, error) {
	m.mu.Lock()
	got, ok := list.Get(in)
	m.mu.Unlock()
	if ok {
		return got, nil
	}
	got, err := compute()
	if err == nil {
		m.mu.Lock()
		list.Put(in, got, atMost)
		m.mu.Unlock()
	}
	return got, err
}

// Lens is Direct.Lens with a memory.
func (m *Memory) Lens(d intensity.LensData) (intensity.Distribution, intensity.LensFit, error) {
	k, err := remember(m, &m.lenses, rememberedLenses, d, func() (lensPattern, error) {
		p, fit, err := m.direct().Lens(d)
		fit.Notes = slices.Clip(fit.Notes) // others append theirs
		return lensPattern{p, fit}, err
	})
	return k.pattern, k.fit, err
}

// Cooling is Direct.Cooling with a memory.
func (m *Memory) Cooling(in engine.CoolingInputs) (engine.Cooling, error) {
	return remember(m, &m.cools, rememberedCools, in, func() (engine.Cooling, error) {
		c, err := m.direct().Cooling(in)
		c.Notes = slices.Clip(c.Notes) // others append theirs
		return c, err
	})
}

// SinkBase is Direct.SinkBase with a memory.
func (m *Memory) SinkBase(p heat.Plate, feet []geom.Rect) ([][]float64, error) {
	return remember(m, &m.bases, rememberedBoards, baseInputs{p, feet}, func() ([][]float64, error) {
		return m.direct().SinkBase(p, feet)
	})
}

// Section is Direct.Section with a memory.
func (m *Memory) Section(ctx context.Context, in engine.SectionInputs,
	progress func(done, total int),
) ([]light.Response, error) {
	return remember(m, &m.Cuts, rememberedCuts, in, func() ([]light.Response, error) {
		return m.direct().Section(ctx, in, progress)
	})
}

// Board is Direct.Board with a memory and the store.
func (m *Memory) Board(ctx context.Context, b heat.Board, sources []heat.Source, probes []heat.Probe,
	o heat.Options,
) (*heat.Response, error) {
	key := "heat-" + heat.Key(b, sources, probes, o)
	r, err := remember(m, &m.boards, rememberedBoards, key, func() (*heat.Response, error) {
		var kept heat.Response
		if m.load(key, &kept) && len(kept.MeanKW) == len(sources) && kept.Sink != nil {
			return &kept, nil
		}
		o.Fields = &m.fields
		r, err := m.direct().Board(ctx, b, sources, probes, o)
		if err == nil {
			m.save(key, r)
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

// LightVersion is part of the key of stored light: raise it when the same lamp has other maps (TestLightVersion).
const LightVersion = 3

// lightKey returns the name under which light is stored: the hash of what it depends on.
func lightKey(in any) string {
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
		var kept engine.UnitLight
		if m.load(key, &kept) && fits(&kept, len(in.Emitters)) {
			return &kept, nil
		}
		u, err := m.direct().Light(ctx, in)
		if err == nil {
			m.save(key, u)
		}
		return u, err
	})
}

// LightChanges is Direct.LightChanges with a memory and the store.
func (m *Memory) LightChanges(ctx context.Context, in engine.LightChangesInputs) ([]engine.LightChange, error) {
	return remember(m, &m.change, rememberedChange, in, func() ([]engine.LightChange, error) {
		key := ""
		if m.Store != nil {
			key = lightKey(in)
		}
		var kept []engine.LightChange
		if m.load(key, &kept) && len(kept) == len(in.Variants) {
			return kept, nil
		}
		c, err := m.direct().LightChanges(ctx, in)
		if err == nil {
			m.save(key, c)
		}
		return c, err
	})
}

// load reads a value from the store; it is false where there is no valid one.
func (m *Memory) load(key string, to any) bool {
	if m.Store == nil {
		return false
	}
	data, ok := m.Store.Get(key)
	if !ok {
		return false
	}
	body, ok := unseal(key, data)
	return ok && gob.NewDecoder(bytes.NewReader(body)).Decode(to) == nil
}

// save writes a value to the store.
func (m *Memory) save(key string, value any) {
	if m.Store == nil {
		return
	}
	var buf bytes.Buffer
	if gob.NewEncoder(&buf).Encode(value) == nil {
		m.Store.Put(key, Seal(key, buf.Bytes()))
	}
}

// fits tells whether stored light is of a lamp of so many emitters.
func fits(u *engine.UnitLight, emitters int) bool {
	if u.Target == nil || len(u.Shares) != emitters || len(u.Incident) != emitters || len(u.Direct) != emitters ||
		len(u.Straight) != emitters {
		return false
	}
	for _, m := range []*engine.UnitMap{u.Target, u.Surface} {
		if m != nil && (len(m.PPFD) != emitters || len(m.Lux) != emitters || len(m.BandMean) != emitters) {
			return false
		}
	}
	return true
}

// formatVersion is part of the checksum: raise it when the types that are stored change.
const formatVersion = 2

// Seal prefixes data with a checksum of format version, key and data: a file that is truncated, changed, of another
// version, or stored under the name of another one, is computed again.
func Seal(key string, data []byte) []byte {
	sum := checksum(formatVersion, key, data)
	return append(sum[:], data...)
}

func checksum(version int, key string, data []byte) (sum [sha256.Size]byte) {
	h := sha256.New()
	fmt.Fprintf(h, "lampwright unit responses %d\n%q\n", version, key)
	h.Write(data)
	h.Sum(sum[:0])
	return sum
}

// unseal returns the data behind its checksum, and whether the two agree.
func unseal(key string, sealed []byte) (data []byte, ok bool) {
	if len(sealed) < sha256.Size {
		return nil, false
	}
	data = sealed[sha256.Size:]
	sum := checksum(formatVersion, key, data)
	return data, bytes.Equal(sum[:], sealed[:sha256.Size])
}
