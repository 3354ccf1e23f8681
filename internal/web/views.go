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
	// Path says that the view is part of the energy flow, and Figure is its key result in the navigation.
	Path   bool
	Figure string
	// Sections are the sections of a lamp that the view shows, by their JSON keys; an answer to a preview holds no
	// others. Nil means all of them.
	Sections []string
	Pictures []string // beginnings of the names of the pictures that it shows; used where Sections are given
}

// views declares every view of the page, in the order of the navigation. The server selects data by it, and
// ui/src/generated.ts is made from it. To add a view, add a line here, draw it in ui/src, name its component in
// ui/src/app.tsx, and run go generate ./internal/web.
var views = []viewDef{
	{Key: "review", Title: "Overview", Path: true, Sections: []string{
		"findings", "installation", "board", "emitters", "channels", "energy_flows",
	}},
	{
		Key: "power", Title: "Power", Wide: true, Path: true, Figure: "mains.power",
		Sections: []string{"energy_flows", "bom", "power", "findings", "channels"}, Pictures: []string{"energy-flow"},
	},
	{
		Key: "channels", Title: "Channels", Wide: true, Path: true, Figure: "lamp.flux",
		Sections: []string{"channels", "emitters"}, Pictures: []string{"windows"},
	},
	{
		Key: "board", Title: "Board", Wide: true, Path: true, Figure: "lamp.junction-max-ambient",
		Sections: []string{"board", "board_heat", "layout", "emitters", "channels", "stack", "cases"},
		Pictures: []string{"layers", "temperature"},
	},
	{
		Key: "light", Title: "Light", Wide: true, Path: true, Figure: "target.ppfd",
		Sections: []string{"maps", "installation", "board", "emitters", "channels"}, Pictures: []string{"installation"},
	},
	{
		Key: "colour", Title: "Colour", Wide: true, Path: true, Figure: "lamp.cct",
		Sections: []string{"spectrum", "channels", "colour_preview"}, Pictures: []string{"chroma", "rendering", "hues"},
	},
	{Key: "day", Title: "Day", Path: true, Figure: "target.dli", Sections: []string{"cases", "channels"}},
	{Key: "bench", Title: "Bench", Path: true, Sections: []string{"maps", "installation", "channels"}},
	{Key: "transients", Title: "Over time", Sections: []string{"cases", "channels"}},
	{Key: "parts", Title: "Parts", Sections: []string{}},
	{Key: "alternatives", Title: "Heights"},
	{Key: "compare", Title: "Variants"},
	{Key: "figures", Title: "Results", Wide: true, Sections: []string{}},
	{Key: "values", Title: "All values", Sections: []string{}},
	{Key: "file", Title: "Files", Sections: []string{}},
}

// checkViews names the view in which the findings of a check stand, besides the overview.
var checkViews = map[string]string{
	"die-current": "channels", "derating": "channels", "radiant-efficiency": "channels", "dimming": "channels",
	"flicker": "channels", "parallel-strings": "channels", "polarity": "channels", "esd": "channels",
	"boot-light": "channels", "night-glow": "channels", "dimming-signal": "channels", "dimming-step": "channels",
	"first-light": "channels", "dither-flicker": "channels", "power-limit": "channels",

	"driver-output-range": "power", "driver-input": "power", "driver-headroom": "power", "linear-heat": "power",
	"driver-current": "power", "driver-power": "power", "supply-peak": "power", "supply-load": "power",
	"supply-derating": "power", "touch-voltage": "power", "wire-drop": "power", "ampacity": "power",
	"fault-current": "power", "fuse": "power", "fuse-voltage": "power", "inrush-switch": "power",
	"inrush-breaker": "power", "protective-earth": "power", "touch-current": "power", "off-leakage": "power",
	"standby": "power", "rcd": "power", "drip-loop": "power", "ip-code": "power", "mains": "power",
	"fan-supply": "power", "controller-supply": "power", "controller-data": "power", "controller-clock": "power",
	"fan-monitor": "board", "sensor-input": "board",
	"selv": "power", "hot-plug": "power", "connector": "power", "supply-wire": "power", "budget": "power",
	"bom":         "power",
	"wire-solder": "power",

	"junction": "board", "junction-wanted": "board", "solder-joint": "board", "solder-fatigue": "board",
	"laminate-temperature": "board", "tim-temperature": "board", "mounting": "board", "pad-potential": "board",
	"insulation-voltage": "board", "lens-fit": "board", "lens-temperature": "board", "lens-material": "board",
	"footprint": "board", "air-limits": "board", "lamp-metal": "board", "galvanic": "board", "condensation": "board",
	"coating": "board", "breathing": "board", "sink-contact": "board", "fan-speed": "board",
	"natural-convection": "board",
	"fan-failure":        "board", "sensor-place": "board", "infrared-spot": "board", "housing": "board",
	"burn-threshold": "board", "altitude": "board",

	"lens-data": "light", "lens-loss": "light", "suspension": "light", "lens-height": "light", "rim": "light",
	"water-level": "light", "ice": "light", "ppfd": "light", "evaporation": "light", "panes": "light",
	"uniformity": "light", "not-modelled": "light", "spill": "light",

	"cct": "colour", "ra": "colour", "duv": "colour", "rf": "colour", "r9": "colour", "blue-light": "colour",

	"dli": "day", "programme": "day", "darkness": "day", "day-colour": "day", "day-foldback": "day",

	"foldback": "transients", "cutout": "transients", "runaway": "transients",
	"day-supply":   "power",
	"emitter-life": "transients", "colour-maintenance": "transients",
	"maintenance": "transients", "part-life": "transients", "replaced-lamp": "transients",

	"typed-values": "parts", "not-stated": "parts", "curve-reference": "parts", "extrapolation": "parts",

	"caution": "review", "acknowledged": "review",
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
