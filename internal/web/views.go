package web

import (
	"reflect"
	"slices"
	"strings"
)

// viewDef is one view of the page.
type viewDef struct {
	Key   string // in the address: #/board
	Title string // in the navigation
	Wide  bool   // its cards stand in two columns on a very wide screen
	// Sections are the sections of a lamp that the view shows, by their JSON keys; an answer to a preview holds no
	// others. Nil means all of them.
	Sections []string
	Pictures []string // beginnings of the names of the pictures that it shows; used where Sections are given
}

// views declares every view of the page, in the order of the navigation. The server selects data by it, and
// ui/src/generated.ts is made from it. To add a view, add a line here, draw it in ui/src, name its component in
// ui/src/app.tsx, and run go generate ./internal/web.
var views = []viewDef{
	{Key: "review", Title: "Review", Sections: []string{"findings"}},
	{Key: "light", Title: "Light", Wide: true, Sections: []string{
		"maps", "installation", "board", "emitters",
		"channels",
	}, Pictures: []string{"installation"}},
	{
		Key: "channels", Title: "Channels", Wide: true, Sections: []string{"channels", "emitters"},
		Pictures: []string{"windows"},
	},
	{
		Key: "board", Title: "Board", Wide: true,
		Sections: []string{"board", "board_heat", "layout", "emitters", "channels", "stack", "cases"},
		Pictures: []string{"layers", "temperature"},
	},
	{
		Key: "colour", Title: "Colour", Wide: true, Sections: []string{"spectrum", "channels", "colour_preview"},
		Pictures: []string{"chroma", "rendering", "hues"},
	},
	{
		Key: "power", Title: "Power & cost", Wide: true, Sections: []string{"energy_flows", "bom"},
		Pictures: []string{"energy-flow"},
	},
	{Key: "transients", Title: "Transients", Sections: []string{"cases"}},
	{Key: "alternatives", Title: "Alternatives"},
	{Key: "compare", Title: "Compare"},
	{Key: "figures", Title: "Results", Wide: true, Sections: []string{}},
	{Key: "parts", Title: "Parts", Sections: []string{}},
	{Key: "file", Title: "Files", Sections: []string{}},
}

// viewOf returns a view by its key; of an unknown one, a view that shows all.
func viewOf(key string) viewDef {
	for _, v := range views {
		if v.Key == key {
			return v
		}
	}
	return viewDef{Key: key}
}

// ViewKeys returns the keys of all views, in the order of the navigation.
func ViewKeys() []string {
	keys := make([]string, len(views))
	for i, v := range views {
		keys[i] = v.Key
	}
	return keys
}

// lampSection is a section of a lampView: a field with the tag section:"view", which views name, or section:"always",
// which all of them show.
type lampSection struct {
	key    string // in JSON
	index  int    // of the field
	always bool
}

// lampSections are the sections of a lampView, by their JSON keys.
var lampSections = func() map[string]lampSection {
	out := map[string]lampSection{}
	t := reflect.TypeFor[lampView]()
	for i := range t.NumField() {
		f := t.Field(i)
		if when, ok := f.Tag.Lookup("section"); ok {
			key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			out[key] = lampSection{key, i, when == "always"}
		}
	}
	return out
}()

// sectionsOf returns the keys of the sections that a view shows, in order.
func sectionsOf(view string) []string {
	shown := viewOf(view).Sections
	var keys []string
	for key, s := range lampSections {
		if s.always || shown == nil || slices.Contains(shown, key) {
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	return keys
}

// section returns the items of a section of a lamp, and whether it is a list; one that is none has one item.
func (v *lampView) section(key string) (items []any, many bool) {
	f := reflect.ValueOf(v).Elem().Field(lampSections[key].index)
	if f.Kind() != reflect.Slice {
		return []any{f.Interface()}, false
	}
	items = make([]any, f.Len())
	for i := range items {
		items[i] = f.Index(i).Interface()
	}
	return items, true
}
