package design

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/gob"
	"sync"

	"lampwright/internal/heat"
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
	mu   sync.Mutex
	kept []rememberedHeat
}

type rememberedHeat struct {
	key      string
	response *heat.Response // nobody writes to it
}

// rememberedHeats bounds a HeatMemory; a response has some hundred kilobytes.
const rememberedHeats = 4

func (m *HeatMemory) get(key string) *heat.Response {
	if m == nil {
		return nil
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, k := range m.kept {
		if k.key == key {
			return k.response
		}
	}
	return nil
}

func (m *HeatMemory) put(key string, r *heat.Response) {
	if m == nil {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.kept) >= rememberedHeats {
		m.kept = append([]rememberedHeat(nil), m.kept[1:]...)
	}
	m.kept = append(m.kept, rememberedHeat{key, r})
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
