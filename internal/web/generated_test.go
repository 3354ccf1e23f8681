package web

import (
	"encoding"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/handbook"
	"lampwright/internal/project"
	"lampwright/internal/review"
	"lampwright/internal/sheetfile"
	"lampwright/internal/source"
	"lampwright/internal/start"
	"lampwright/internal/study"
)

// sentTypes are the types of the answers of the server; those that they contain follow from them.
var sentTypes = []reflect.Type{
	reflect.TypeFor[stateView](), reflect.TypeFor[previewDiff](), reflect.TypeFor[packedCells](),
	reflect.TypeFor[picturesView](), reflect.TypeFor[job](), reflect.TypeFor[failure](),
	reflect.TypeFor[change](),
	reflect.TypeFor[figure.Basis](), reflect.TypeFor[cutView](), reflect.TypeFor[study.RoomSurfaces](),
	reflect.TypeFor[levelsView](), reflect.TypeFor[channelLightView](),
	reflect.TypeFor[choiceView](), reflect.TypeFor[planView](), reflect.TypeFor[projectsView](),
	reflect.TypeFor[variantView](), reflect.TypeFor[idView](),
	reflect.TypeFor[version](), reflect.TypeFor[difference](), reflect.TypeFor[study.Mix](),
	reflect.TypeFor[dayView](), reflect.TypeFor[sunriseView](), reflect.TypeFor[benchView](),
	reflect.TypeFor[faultsView](),
	reflect.TypeFor[warmView](), reflect.TypeFor[foldView](), reflect.TypeFor[partsView](),
	reflect.TypeFor[pickedView](), reflect.TypeFor[keysView](),
	reflect.TypeFor[boardMap](), reflect.TypeFor[fileAnswer](), reflect.TypeFor[comparedView](),
	reflect.TypeFor[checkedView](),
	reflect.TypeFor[openedSheet](), reflect.TypeFor[helpContents](), reflect.TypeFor[helpHits](),
	reflect.TypeFor[helpSection](),
	reflect.TypeFor[tableDoubts](),
	reflect.TypeFor[droppedView](),
	reflect.TypeFor[answersView](), reflect.TypeFor[startedView](),
}

// typeNames are the names in TypeScript of types whose own name would be unclear, or taken, there.
var typeNames = map[reflect.Type]string{
	reflect.TypeFor[figure.Map]():         "LightMap",
	reflect.TypeFor[source.Setting]():     "Change",
	reflect.TypeFor[change]():             "Change",
	reflect.TypeFor[tableView]():          "TableData",
	reflect.TypeFor[study.Day]():          "DayCourse",
	reflect.TypeFor[knob]():               "Knob",
	reflect.TypeFor[option]():             "KnobOption",
	reflect.TypeFor[figuresNow]():         "FigureChanges",
	reflect.TypeFor[kindView]():           "PartKind",
	reflect.TypeFor[partPlace]():          "PartPlace",
	reflect.TypeFor[droppedView]():        "Dropped",
	reflect.TypeFor[filePlace]():          "FilePlace",
	reflect.TypeFor[sheetfile.LID]():      "Distribution",
	reflect.TypeFor[sheetfile.Plane]():    "HalfPlane",
	reflect.TypeFor[sheetfile.Spectrum](): "FileSpectrum",
	reflect.TypeFor[libraryPart]():        "LibraryPart",
	reflect.TypeFor[fileView]():           "ProjectFile",
	reflect.TypeFor[fileAnswer]():         "FileText",
	reflect.TypeFor[difference]():         "Difference",
	reflect.TypeFor[warmView]():           "Warmup",
	reflect.TypeFor[foldView]():           "Foldback",
	reflect.TypeFor[choiceView]():         "Choice",
	reflect.TypeFor[planView]():           "Plan",
	reflect.TypeFor[source.Node]():        "KeyNode",
	reflect.TypeFor[causeView]():          "Cause",
	reflect.TypeFor[idView]():             "Made",
	reflect.TypeFor[start.Form]():         "LampForm",
	reflect.TypeFor[start.Note]():         "LampNote",
}

// neverNull names lists in structs of other packages, by their JSON keys, that an answer always has; see answerTypes.
var neverNull = map[reflect.Type][]string{
	reflect.TypeFor[handbook.Hit]():       {"text"},
	reflect.TypeFor[figure.Map]():         {"ppfd", "lux"},
	reflect.TypeFor[study.RoomSurfaces](): {"faces"},
	reflect.TypeFor[study.RoomSurface]():  {"lux", "standard_error"},
	reflect.TypeFor[study.Mix]():          {"channels"},
	reflect.TypeFor[study.ChannelMap]():   {"ppfd", "lux"},
	reflect.TypeFor[study.Day](): {
		"times_s", "channels", "ppfd_umol_m2_s", "dli_mol_m2", "mains_w", "sink_k", "junction_k", "cct_k", "duv", "colours",
	},
	reflect.TypeFor[study.DayChannel]():      {"levels", "ppfd_umol_m2_s", "solder_k"},
	reflect.TypeFor[study.Warmup]():          {"moments"},
	reflect.TypeFor[figure.CaseView]():       {"junction_k", "solder_k"},
	reflect.TypeFor[finding.SuggestedEdit](): {"settings"},
	reflect.TypeFor[project.TableDoubt]():    {"rows"},
	reflect.TypeFor[sheetfile.LID]():         {"planes"},
	reflect.TypeFor[sheetfile.Plane]():       {"theta_deg", "candela"},
	reflect.TypeFor[sheetfile.Spectrum]():    {"nm", "relative"},
}

// generator writes TypeScript interfaces for types of Go.
type generator struct {
	names map[string]reflect.Type
	queue []reflect.Type
	t     *testing.T
}

// name returns the name of a struct in TypeScript, and sees to it that the struct is written.
func (g *generator) name(t reflect.Type) string {
	name, ok := typeNames[t]
	if !ok {
		name = strings.TrimSuffix(strings.TrimSuffix(t.Name(), "View"), "Now")
		name = strings.ToUpper(name[:1]) + name[1:]
	}
	if was, ok := g.names[name]; ok {
		if was != t && g.fields(was) != g.fields(t) {
			g.t.Errorf("%v and %v are both called %s in TypeScript; give one of them another name in typeNames",
				was, t, name)
		}
		return name
	}
	g.names[name] = t
	g.queue = append(g.queue, t)
	return name
}

// typeOf returns the type in TypeScript of what encoding/json writes for a type. A slice is never null in a struct of
// this package, and may be null in the others.
func (g *generator) typeOf(t reflect.Type) string {
	switch {
	case t == reflect.TypeFor[finding.Severity]():
		return "Severity"
	case t == reflect.TypeFor[json.RawMessage]():
		return "unknown"
	case t.Implements(reflect.TypeFor[encoding.TextMarshaler]()):
		return "string"
	}
	switch t.Kind() {
	case reflect.Bool:
		return "boolean"
	case reflect.String:
		return "string"
	case reflect.Int, reflect.Int64, reflect.Float64:
		return "number"
	case reflect.Pointer:
		return g.typeOf(t.Elem()) + " | null"
	case reflect.Slice:
		return g.listOf(t.Elem())
	case reflect.Array:
		item := g.typeOf(t.Elem())
		return "[" + strings.Repeat(item+", ", t.Len()-1) + item + "]"
	case reflect.Map:
		return "Record<string, " + g.typeOf(t.Elem()) + ">"
	case reflect.Struct:
		return g.name(t)
	}
	g.t.Fatalf("no type in TypeScript for %v", t)
	return ""
}

func (g *generator) listOf(item reflect.Type) string {
	if s := g.typeOf(item); strings.Contains(s, "|") {
		return "(" + s + ")[]"
	} else {
		return s + "[]"
	}
}

// fields returns the body of an interface.
func (g *generator) fields(t reflect.Type) string {
	var b strings.Builder
	for i := range t.NumField() {
		f := t.Field(i)
		tag := f.Tag.Get("json")
		if f.Anonymous && tag == "" {
			in := f.Type
			if in.Kind() == reflect.Pointer {
				in = in.Elem()
			}
			b.WriteString(g.fields(in))
			continue
		}
		key, options, _ := strings.Cut(tag, ",")
		if !f.IsExported() || key == "-" {
			continue
		}
		if key == "" {
			key = f.Name
		}
		optional := strings.Contains(options, "omit")
		ft := f.Type
		if optional && ft.Kind() == reflect.Pointer {
			ft = ft.Elem()
		}
		text := g.typeOf(ft)
		if ft.Kind() == reflect.Slice && !optional && mayBeNull(t, key) {
			text += " | null"
		}
		mark := ""
		if optional {
			mark = "?"
		}
		fmt.Fprintf(&b, "  %s%s: %s;\n", key, mark, text)
	}
	return b.String()
}

// mayBeNull tells whether a list of a struct can be null in JSON. In structs of this package it cannot, see fillLists.
func mayBeNull(t reflect.Type, key string) bool {
	return t.PkgPath() != reflect.TypeFor[stateView]().PkgPath() && !slices.Contains(neverNull[t], key)
}

func generated(t *testing.T) string {
	g := &generator{names: map[string]reflect.Type{}, t: t}
	for _, s := range sentTypes {
		g.name(s)
	}
	var b strings.Builder
	b.WriteString("// Made by go generate ./internal/web from the types of the server's answers and its table of views. Do not edit.\n\n")
	var severities []string
	for s := finding.Stop; s <= finding.Pass; s++ {
		severities = append(severities, "'"+s.String()+"'")
	}
	fmt.Fprintf(&b, "export const severities = [%s] as const;\nexport type Severity = (typeof severities)[number];\n\n",
		strings.Join(severities, ", "))
	b.WriteString("export const views = [\n")
	for _, v := range views {
		fmt.Fprintf(&b, "  { key: '%s', title: '%s', wide: %v, path: %v, figure: '%s', pictures: %v },\n",
			v.Key, v.Title, v.Wide, v.Path, v.Figure, len(v.Pictures) > 0)
	}
	b.WriteString("] as const;\nexport type ViewKey = (typeof views)[number]['key'];\n")
	b.WriteString("\n/** checkViews names the view in which the findings of a check stand. */\n")
	b.WriteString("export const checkViews: Record<string, ViewKey> = {\n")
	for _, check := range slices.Sorted(maps.Keys(checkViews)) {
		fmt.Fprintf(&b, "  '%s': '%s',\n", check, checkViews[check])
	}
	b.WriteString("};\n")
	for len(g.queue) > 0 {
		next := g.queue[0]
		g.queue = g.queue[1:]
		fmt.Fprintf(&b, "\nexport interface %s {\n%s}\n", g.name(next), g.fields(next))
	}
	return b.String()
}

// TestCheckViews wants a view for each check, and no check that there is none of.
func TestCheckViews(t *testing.T) {
	var known []string
	for _, check := range review.Checks() {
		known = append(known, check)
		if !slices.Contains(ViewKeys(), checkViews[check]) {
			t.Errorf("the findings of check %q stand in no view; name one in checkViews", check)
		}
	}
	for check := range checkViews {
		if !slices.Contains(known, check) {
			t.Errorf("checkViews names %q, which is no check", check)
		}
	}
}

// TestGenerated compares ui/src/generated.ts with what the types and the views of this package make.
func TestGenerated(t *testing.T) {
	const name = "ui/src/generated.ts"
	text := generated(t)
	if *update {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if string(data) != text {
		t.Errorf("%s does not match the types of the server's answers; run go generate ./internal/web", name)
	}
}

// nulls returns the paths of nulls in JSON where the type in TypeScript does not allow them.
func nulls(t reflect.Type, v any, nullable bool, path string) (out []string) {
	if v == nil {
		if nullable || t.Kind() == reflect.Pointer {
			return nil
		}
		return []string{path}
	}
	switch t.Kind() {
	case reflect.Pointer:
		return nulls(t.Elem(), v, true, path)
	case reflect.Slice, reflect.Array:
		items, _ := v.([]any) // json.RawMessage is anything
		for i, item := range items {
			out = append(out, nulls(t.Elem(), item, false, fmt.Sprintf("%s[%d]", path, i))...)
		}
	case reflect.Map:
		for key, item := range v.(map[string]any) {
			out = append(out, nulls(t.Elem(), item, false, path+"."+key)...)
		}
	case reflect.Struct:
		fields := v.(map[string]any)
		for i := range t.NumField() {
			f := t.Field(i)
			tag := f.Tag.Get("json")
			if f.Anonymous && tag == "" {
				out = append(out, nulls(f.Type, v, false, path)...)
				continue
			}
			key, _, _ := strings.Cut(tag, ",")
			if item, there := fields[key]; there {
				out = append(out, nulls(f.Type, item, f.Type.Kind() == reflect.Slice && mayBeNull(t, key), path+"."+key)...)
			}
		}
	}
	return out
}

// answerTypes are the types of answers by their path. Wherever a test gets one, it holds no null that generated.ts
// does not have.
var answerTypes = map[string]reflect.Type{
	"/api/state": reflect.TypeFor[stateView](), "/api/save": reflect.TypeFor[stateView](),
	"/api/pictures": reflect.TypeFor[picturesView](),
	"/api/parts":    reflect.TypeFor[partsView](), "/api/check": reflect.TypeFor[checkedView](),
	"/api/drop": reflect.TypeFor[droppedView](), "/api/table": reflect.TypeFor[tableDoubts](),
	"/api/cut": reflect.TypeFor[cutView](), "/api/room-surfaces": reflect.TypeFor[study.RoomSurfaces](),
	"/api/board": reflect.TypeFor[boardMap](), "/api/why": reflect.TypeFor[figure.Basis](),
	"/api/day": reflect.TypeFor[dayView](), "/api/sunrise": reflect.TypeFor[sunriseView](),
	"/api/bench": reflect.TypeFor[benchView](), "/api/bench-faults": reflect.TypeFor[faultsView](),
	"/api/bench-save": reflect.TypeFor[stateView](), "/api/bench-start": reflect.TypeFor[stateView](),
	"/api/mix":    reflect.TypeFor[study.Mix](),
	"/api/warmup": reflect.TypeFor[warmView](), "/api/foldback": reflect.TypeFor[foldView](),
	"/api/choose": reflect.TypeFor[choiceView](), "/api/plan": reflect.TypeFor[planView](),
	"/api/keys":    reflect.TypeFor[keysView](),
	"/api/compare": reflect.TypeFor[comparedView](), "/api/projects": reflect.TypeFor[projectsView](),
	"/api/variants": reflect.TypeFor[[]variantView](), "/api/variant": reflect.TypeFor[idView](),
	"/api/project": reflect.TypeFor[idView](),
	"/api/answers": reflect.TypeFor[answersView](), "/api/new": reflect.TypeFor[startedView](),
}

// TestNulls finds a null that is not allowed.
func TestNulls(t *testing.T) {
	for text, want := range map[string]string{
		`{"files":[],"problems":[],"severities":[],"lamp":null}`:                                                 "[]",
		`{"files":null,"lamp":{"figures":[null],"board_heat":{"temp_k":null},"colour_preview":{"points":null}}}`: "[s.files s.lamp.figures[0]]",
	} {
		if got := fmt.Sprint(nulls(reflect.TypeFor[stateView](), read[any](t, []byte(text)), false, "s")); got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}
