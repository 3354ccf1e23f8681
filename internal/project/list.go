package project

// Entry is one part in a list.
type Entry struct {
	Kind  string `json:"kind"` // emitter, lens, …
	ID    string `json:"id"`
	Name  string `json:"name"`
	Info  string `json:"info"`            // its key figures, as its file states them
	Price string `json:"price,omitempty"` // of one piece, of a metre of wire, or of the cheapest board of a stack-up
	From  string `json:"from"`            // library, or the file
	Key   string `json:"-"`               // of its kind in a file of parts: emitters
	Part  any    `json:"-"`
}

// List returns all parts in the order of Kinds, each with its key figures in one line.
func (s *Library) List() (out []Entry) {
	for _, k := range Kinds {
		out = append(out, k.list(s)...)
	}
	return out
}
