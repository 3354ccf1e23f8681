package cli

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/alecthomas/kong"

	"lampwright/internal/project"
	"lampwright/internal/source"
)

// pages returns the text of every page of the docs by its path from the module's folder.
func pages(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, glob := range []string{"README.md", "CONTRIBUTING.md", "docs/*.md", "docs/handbook/*.md"} {
		names, err := filepath.Glob(filepath.Join("../..", glob))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			out[filepath.ToSlash(strings.TrimPrefix(name, filepath.Join("../..")+"/"))] = string(text)
		}
	}
	if len(out) < 20 {
		t.Fatalf("read %d pages; there are more", len(out))
	}
	return out
}

// fenced is one block of code of a page.
type fenced struct {
	language, text string
	line           int // of its first line
}

func blocks(page string) (out []fenced) {
	in := false
	for i, line := range strings.Split(page, "\n") {
		switch {
		case strings.HasPrefix(line, "```"):
			if in = !in; in {
				out = append(out, fenced{language: strings.TrimPrefix(line, "```"), line: i + 2})
			}
		case in:
			out[len(out)-1].text += line + "\n"
		}
	}
	return out
}

var (
	fence    = regexp.MustCompile("(?s)\n```.*?\n```")
	inlined  = regexp.MustCompile("`([^`\n]+)`")
	spoken   = regexp.MustCompile(`\s{2,}.*$`) // what a command line is told to do, beside it
	argument = regexp.MustCompile(`"[^"]*"|\S+`)
)

// inline returns the code that stands in the running text of a page.
func inline(page string) (out []string) {
	for _, m := range inlined.FindAllStringSubmatch(fence.ReplaceAllString(page, "\n"), -1) {
		out = append(out, m[1])
	}
	return out
}

// lines returns the command lines of a page's blocks, without what is said of them, and with it.
func lines(page string) (commands, said []string) {
	for _, b := range blocks(page) {
		for _, line := range strings.Split(b.text, "\n") {
			if strings.HasPrefix(line, "lampwright ") {
				commands, said = append(commands, spoken.ReplaceAllString(line, "")), append(said, line)
			}
		}
	}
	return commands, said
}

// words parts a command line as a shell does; quotes hold words together.
func words(line string) (out []string) {
	for _, w := range argument.FindAllString(line, -1) {
		out = append(out, strings.Trim(w, `"`))
	}
	return out[1:]
}

func grammar(t *testing.T) *kong.Kong {
	t.Helper()
	parser, err := kong.New(&commands{}, kong.Name("lampwright"), kong.Writers(io.Discard, io.Discard), kong.Exit(func(int) {}))
	if err != nil {
		t.Fatal(err)
	}
	return parser
}

// TestDocsCommandLines wants every command line of the docs to be one that the program takes, and every flag to be a flag.
func TestDocsCommandLines(t *testing.T) {
	parser := grammar(t)
	names, flags := map[string]bool{}, map[string]bool{"help": true}
	for _, f := range parser.Model.Flags {
		flags[f.Name] = true
	}
	for _, n := range parser.Model.Leaves(true) {
		names[n.Name] = true
		for _, f := range n.Flags {
			flags[f.Name] = true
			if f.Tag.Negatable != "" {
				flags["no-"+f.Name] = true
			}
		}
	}
	found := 0
	for name, page := range pages(t) {
		whole, _ := lines(page)
		for _, code := range inline(page) {
			if strings.HasPrefix(code, "lampwright ") {
				whole = append(whole, code)
			}
			for _, m := range regexp.MustCompile(`(?:^|\s)--([a-z-]+)`).FindAllStringSubmatch(code, -1) {
				if !flags[m[1]] {
					t.Errorf("%s: no command has the flag --%s of `%s`", name, m[1], code)
				}
			}
		}
		for _, line := range whole {
			found++
			// In running text [DIR] may be left out, and a word of `a|b` be chosen.
			line := regexp.MustCompile(`\[(\w+)[^]]*\]`).ReplaceAllString(strings.ReplaceAll(line, `\|`, "|"), "$1")
			args := words(line)
			for i, a := range args {
				args[i], _, _ = strings.Cut(a, "|")
			}
			if len(args) == 1 && names[args[0]] || slices.Contains([]string{"--help", "--version"}, args[len(args)-1]) {
				continue // the name of a command, or of any
			}
			if _, err := parser.Parse(joinNegative(args)); err != nil {
				t.Errorf("%s: `%s` is no command line: %v", name, line, err)
			}
		}
	}
	if found < 50 {
		t.Errorf("found %d command lines; there are more", found)
	}
}

// TestReadmeNamesEveryCommand holds the table of commands in README.md to the commands that there are.
func TestReadmeNamesEveryCommand(t *testing.T) {
	text := pages(t)["README.md"]
	for _, n := range grammar(t).Model.Leaves(true) {
		if !regexp.MustCompile("(?m)^\\| (.*`, )?`(lampwright )?" + fullName(n) + "\\b").MatchString(text) {
			t.Errorf("README.md has no row for `lampwright %s`", fullName(n))
		}
	}
}

// TestHandbookRuns types every command line of the handbook's blocks, in its order, in an empty folder with the demos. One
// that the page says to end with 1 does so; none finds its input wanting.
func TestHandbookRuns(t *testing.T) {
	if testing.Short() {
		t.Skip("it reviews, mixes and verifies for seconds")
	}
	all := pages(t)
	demos, err := filepath.Abs("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if err := os.CopyFS("examples", os.DirFS(demos)); err != nil {
		t.Fatal(err)
	}
	for _, name := range slices.Sorted(maps.Keys(all)) {
		commands, said := lines(all[name])
		for i, line := range commands {
			args := words(line)
			if args[0] == "serve" || !strings.HasPrefix(name, "docs/handbook/") {
				continue // it waits for a browser
			}
			want := statusOK
			if strings.Contains(said[i], "status 1") {
				want = statusFound
			}
			var out, errOut bytes.Buffer
			if got := Main(args, &out, &errOut); got != want {
				t.Errorf("%s: `%s` ends with %d, want %d; it says %s", name, line, got, want, errOut.String())
			}
		}
	}
}

// formatKeys returns the keys that a design or a part may have, with the types that stand there, wherever they stand.
func formatKeys() map[string][]reflect.StructField {
	out, seen := map[string][]reflect.StructField{}, map[reflect.Type]bool{}
	var walk func(t reflect.Type)
	walk = func(t reflect.Type) {
		for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct || seen[t] {
			return
		}
		seen[t] = true
		for f := range t.Fields() {
			key, _, _ := strings.Cut(f.Tag.Get("yaml"), ",")
			if key != "" && key != "-" {
				out[key] = append(out[key], f)
			}
			if f.Tag.Get("yaml") != "" {
				walk(f.Type)
			}
		}
	}
	walk(reflect.TypeOf(project.Design{}))
	walk(reflect.TypeOf(project.PartsFile{}))
	walk(reflect.TypeOf(project.Readings{}))
	return out
}

// readsAs says why a text of one key and its value is none that the format has at any place; nil where it is.
func readsAs(keys map[string][]reflect.StructField, key, text string) error {
	file, problems := source.Read("snippet.yaml", []byte(text))
	for _, f := range keys[key] {
		if file == nil {
			break
		}
		one := reflect.New(reflect.StructOf([]reflect.StructField{{Name: f.Name, Type: f.Type, Tag: f.Tag}}))
		if problems = file.Decode(one.Interface()); len(problems) == 0 {
			return nil
		}
	}
	if len(problems) == 0 {
		return fmt.Errorf("%q is no key of the format", key)
	}
	return problems[0]
}

// TestHandbookSnippets wants every piece of YAML in the handbook to be read, and every key that it names to exist.
func TestHandbookSnippets(t *testing.T) {
	keys := formatKeys()
	begins := regexp.MustCompile(`(?m)^([a-z_]+):`)
	told := regexp.MustCompile(`^(?:[a-z_]+\.)*([a-z_]+): (.+)$`)
	read := 0
	for name, page := range pages(t) {
		if !strings.HasPrefix(name, "docs/handbook/") {
			continue
		}
		for _, b := range blocks(page) {
			if b.language != "yaml" {
				continue
			}
			at := begins.FindAllStringSubmatchIndex(b.text, -1)
			for i, m := range at {
				end := len(b.text)
				if i+1 < len(at) {
					end = at[i+1][0]
				}
				key, text := b.text[m[2]:m[3]], b.text[m[0]:end]
				read++
				if value, _, _ := strings.Cut(text[len(key)+1:], "#"); strings.TrimSpace(value) == "" && len(keys[key]) > 0 {
					continue // a key with what it is for
				}
				if err := readsAs(keys, key, text); err != nil {
					t.Errorf("%s:%d: %v", name, b.line+strings.Count(b.text[:m[0]], "\n"), err)
				}
			}
		}
		for _, code := range inline(page) {
			m := told.FindStringSubmatch(code)
			bare := regexp.MustCompile(`^[a-z]+(_[a-z0-9]+)+$`).MatchString(code)
			switch {
			case bare && len(keys[code]) == 0:
				t.Errorf("%s: `%s` is no key of the format", name, code)
			case m == nil || m[1] == "see" || m[1] == "limit" || strings.Contains(code, "…"):
			case regexp.MustCompile(`^\[?\{[a-z_, ]+\}\]?$`).MatchString(m[2]): // keys without values
				for _, k := range append(regexp.MustCompile(`[a-z_]+`).FindAllString(m[2], -1), m[1]) {
					if len(keys[k]) == 0 {
						t.Errorf("%s: `%s`: %q is no key of the format", name, code, k)
					}
				}
			default:
				read++
				if err := readsAs(keys, m[1], m[1]+": "+m[2]); err != nil {
					t.Errorf("%s: `%s`: %v", name, code, err)
				}
			}
		}
	}
	if read < 40 {
		t.Errorf("read %d pieces; there are more", read)
	}
}

// TestHandbookReadings reads the readings file of chapter 18 beside the demo of its commands: its readings agree.
func TestHandbookReadings(t *testing.T) {
	text := ""
	for _, b := range blocks(pages(t)["docs/handbook/18-measurement.md"]) {
		if strings.HasPrefix(b.text, "lampwright_readings:") {
			text = b.text
		}
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples/long-tank")); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, project.ReadingsFile), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, errOut bytes.Buffer
	if status := Main([]string{"bench", "review", dir}, &out, &errOut); status != statusOK {
		t.Errorf("the review ends with %d: %s%s", status, out.String(), errOut.String())
	}
	for _, wrong := range []string{"questionable: ", "differs: ", "Doubts"} {
		if strings.Contains(out.String(), wrong) {
			t.Errorf("the review has %q: %s", wrong, out.String())
		}
	}
}

// TestDocsFigures wants every key of a figure that the docs name to be one of a demo's, or one that the code makes for others.
func TestDocsFigures(t *testing.T) {
	all := pages(t)
	known := map[string]bool{}
	for _, demo := range []string{"long-tank", "long-tank-first", "rain-wall", "moss-jar", "propagation-bench"} {
		var out bytes.Buffer
		if status := Main([]string{"figures", "--json", "../../examples/" + demo}, &out, &out); status != statusOK {
			t.Fatalf("figures of %s: %s", demo, out.String())
		}
		for _, m := range regexp.MustCompile(`"key": "([^"]+)"`).FindAllStringSubmatch(out.String(), -1) {
			known[m[1]] = true
		}
	}
	demoKeys := maps.Clone(known)
	var files []string
	for _, folder := range []string{"engine", "figure", "study"} {
		found, err := filepath.Glob("../" + folder + "/*.go")
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, found...)
	}
	for _, name := range files {
		code, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`"([a-z]+\.[a-z-]+)"`).FindAllStringSubmatch(string(code), -1) {
			known[m[1]] = true
		}
	}
	// The chapter on figures names what every key begins with, and what a channel has.
	chapter := all["docs/handbook/20-results-and-ranges.md"]
	for key := range maps.Clone(known) {
		begins, rest, _ := strings.Cut(key, ".")
		rest = regexp.MustCompile(`(-max-ambient)?(-fan-failure)?(-\d)?$`).ReplaceAllString(rest, "")
		switch begins = regexp.MustCompile(`\d+$`).ReplaceAllString(begins, "N"); {
		case demoKeys[key] && slices.Contains([]string{"cool", "neutral", "cyan", "red", "white", "day", "evening"}, begins):
			if !regexp.MustCompile(`(?m)^\| a channel's name .*\b` + regexp.QuoteMeta(rest) + `\b`).MatchString(chapter) {
				t.Errorf("the chapter on figures does not tell that a channel has %q", rest)
			}
		case demoKeys[key] && !strings.Contains(chapter, "`"+begins+".`"):
			t.Errorf("the chapter on figures does not tell of keys that begin with %s.", begins)
		}
	}
	of := regexp.MustCompile(`^(lamp|sink|housing|fan|board|sensor|target|surface|light|supply1|mains|cost|viewer|replaced|cool|neutral|cyan|red|white)\.([a-z0-9-]+)$`)
	notes := map[string]bool{"lamp.yaml": true}
	found := 0
	for name, page := range all {
		if !strings.HasPrefix(name, "docs/handbook/") {
			continue
		}
		for _, code := range inline(page) {
			if m := of.FindStringSubmatch(code); m != nil && !notes[code] {
				found++
				if !known[code] {
					t.Errorf("%s: there is no figure `%s`", name, code)
				}
			}
		}
		commands, _ := lines(page)
		for _, code := range append(inline(page), commands...) {
			if m := regexp.MustCompile(`^(?:lampwright )?explain ([a-z0-9.-]+)`).FindStringSubmatch(code); m != nil {
				found++
				if !known[m[1]] {
					t.Errorf("%s: `%s`: there is no such figure", name, code)
				}
			}
		}
	}
	if found < 50 {
		t.Errorf("found %d keys; there are more", found)
	}
}

// TestStarterComments wants what the starter has commented out to be read, and the lamp with all of it to be reviewed without a
// stop.
func TestStarterComments(t *testing.T) {
	t.Chdir(t.TempDir())
	var out bytes.Buffer
	if status := Main([]string{"new", "mine"}, &out, &out); status != statusOK {
		t.Fatal(out.String())
	}
	commented := regexp.MustCompile(`(?m)^# ([a-z_]+:(?: [^A-Z].*)?|  .*)$`)
	for _, name := range []string{"mine/lamp.yaml", "mine/parts/own.yaml"} {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(commented.FindAll(text, -1)); n < 5 {
			t.Errorf("%s has %d lines that are commented out; it has more", name, n)
		}
		if err := os.WriteFile(name, commented.ReplaceAll(text, []byte("$1")), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	out.Reset()
	if status := Main([]string{"review", "mine"}, &out, &out); status != statusOK {
		t.Errorf("with all that is commented out the review ends with %d: %s", status, out.String())
	}
}

// TestHandbookParts puts the parts that chapter 2 writes into a new project, each in place of one of the library.
func TestHandbookParts(t *testing.T) {
	page := pages(t)["docs/handbook/02-design-file.md"]
	t.Chdir(t.TempDir())
	var out bytes.Buffer
	if status := Main([]string{"new", "mine"}, &out, &out); status != statusOK {
		t.Fatal(out.String())
	}
	design, err := os.ReadFile("mine/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text, found := string(design), 0
	for _, b := range blocks(page) {
		name, _, _ := strings.Cut(b.text, "\n")
		if name, ok := strings.CutPrefix(name, "# parts/"); ok {
			found++
			if err := os.WriteFile("mine/parts/"+name, []byte(b.text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, swap := range [][2]string{{"white-5700", "my-white"}, {"lens-52", "my-lens"}, {"buck-1a", "my-driver"}, {"fins-150", "my-sink"}} {
		if found++; strings.Count(text, swap[0]) != 1 {
			t.Errorf("the starter names %s %d times", swap[0], strings.Count(text, swap[0]))
		}
		text = strings.Replace(text, swap[0], swap[1], 1)
	}
	if err := os.WriteFile("mine/lamp.yaml", []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	out.Reset()
	if status := Main([]string{"review", "mine"}, &out, &out); status != statusOK || found != 6 {
		t.Errorf("the lamp of own parts ends with %d, from %d swaps and files: %s", status, found, out.String())
	}
}

// TestHandbookTrace holds the figures of the traced demo that the chapter on water prints to what the command prints.
func TestHandbookTrace(t *testing.T) {
	page := pages(t)["docs/handbook/05-light-in-the-tank.md"]
	t.Setenv("COLUMNS", "200") // no row is wrapped
	var out, errOut bytes.Buffer
	if status := Main([]string{"trace", "../../examples/long-tank-first", "--std-error", "0.1"}, &out, &errOut); status != statusOK {
		t.Fatal(errOut.String())
	}
	losses, comparison, ok := strings.Cut(out.String(), "Deterministic maps")
	if !ok {
		t.Fatal("the trace has no comparison with the maps")
	}
	printed := map[string]string{} // a row by its name: that of the comparison where both parts have it
	for _, line := range strings.Split(comparison+"\n"+losses, "\n") {
		if name, rest, ok := strings.Cut(line, "  "); ok && printed[name] == "" {
			printed[name] = strings.ReplaceAll(rest, "-", "−")
		}
	}
	row := func(name string) []string {
		m := regexp.MustCompile(`(?m)^\| ` + regexp.QuoteMeta(name) + ` \| (.*) \|$`).FindStringSubmatch(page)
		if m == nil {
			t.Fatalf("the chapter has no row %q", name)
		}
		return strings.Split(m[1], " | ")
	}
	for name, of := range map[string]string{
		"substrate, direct, mean": "substrate, direct, mean", "substrate, all paths, mean": "substrate, all, mean",
		"water surface, direct, mean": "water surface, direct, mean", "water surface, all paths, mean": "water surface, all, mean",
		"spill light": "spill light",
	} {
		cells := row(name)
		for _, want := range []string{cells[0], cells[2]} { // of the map, and how far apart
			if !strings.Contains(printed[of], want) {
				t.Errorf("row %q says %q; the command prints %q", name, want, printed[of])
			}
		}
	}
	last := regexp.MustCompile(`([0-9.]+) ± [0-9.]+ %\s*$`)
	for name, of := range map[string]string{
		"beside the opening": "beside the opening", "out of the glass above water": "out of glass above water", "out of the glass below water, after the substrate": "out of glass below water, after the substrate",
		"up through the rim, after the substrate": "up through the rim, after the substrate", "incident on the substrate, all reflections": "substrate, all reflections",
	} {
		m := last.FindStringSubmatch(printed[of])
		if m == nil {
			t.Errorf("the command prints no row %q", of)
			continue
		}
		share, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if want := row(name)[0]; fmt.Sprintf("%.1f %%", share) != want {
			t.Errorf("row %q says %s; the command prints %s %%", name, want, m[1])
		}
	}
}

// TestHandbookFinding holds the finding that the chapter on reviews takes apart to the one that the demo has.
func TestHandbookFinding(t *testing.T) {
	page := pages(t)["docs/handbook/03-reading-a-review.md"]
	t.Chdir("../..")
	var out, errOut bytes.Buffer
	if status := Main([]string{"review", "examples/long-tank-first"}, &out, &errOut); status != statusFound {
		t.Fatal(errOut.String())
	}
	flat := strings.Join(strings.Fields(out.String()), " ")
	for line := range strings.Lines(blocks(page)[0].text) {
		if want := strings.Join(strings.Fields(strings.TrimSuffix(strings.TrimSpace(line), "…")), " "); !strings.Contains(flat, want) {
			t.Errorf("the review of the demo does not say %q", want)
		}
	}
}
