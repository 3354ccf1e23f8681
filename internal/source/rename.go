package source

import "reflect"

// Rename is a key, or a value of a key, that an earlier version of the format called by another name.
type Rename struct {
	In    reflect.Type // struct that has the key
	Key   string       // the old key; for a value, the key as it is called today
	Value string       // the old value; empty where the key was renamed
	New   string       // key or value to use
	Hint  string
}

// renames finds a Rename by what the file says.
type renames map[Rename]Rename

func newRenames(list []Rename) renames {
	out := make(renames, len(list))
	for _, r := range list {
		out[Rename{In: r.In, Key: r.Key, Value: r.Value}] = r
	}
	return out
}

// find returns the Rename of a key, or of its value, of one of the structs.
func (r renames) find(in []reflect.Type, key, value string) (Rename, bool) {
	for _, t := range in {
		if found, ok := r[Rename{In: t, Key: key, Value: value}]; ok {
			return found, true
		}
	}
	return Rename{}, false
}
