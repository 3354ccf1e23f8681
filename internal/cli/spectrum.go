package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"reflect"
	"slices"
	"strings"

	"lampwright/internal/atomicfile"
	"lampwright/internal/colour"
	"lampwright/internal/inputfile"
	"lampwright/internal/plant"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

type spectrumCmd struct {
	File   string `arg:"" help:"Text columns (wavelength, then one column per spectrum) or XML (IES TM-27); - for standard input."`
	JSON   bool   `name:"json" help:"Print as JSON; docs/spectrum.md describes the keys."`
	SVG    string `name:"svg" placeholder:"FILE" help:"Write a diagram of the hue and chroma shift (CIE 224, IES TM-30)."`
	Column string `placeholder:"NAME" help:"Spectrum to draw with --svg; default: the first."`
}

// spectrumFigures is one spectrum of a file with all its figures.
type spectrumFigures struct {
	Name     string
	Quantity string
	Colour   colour.Figures
	Plant    plant.Figures
	Notes    []string          // of the reading and of the figures
	NotGiven map[string]string // of both rooms
}

// MarshalJSON writes one flat object, in the order in which docs/spectrum.md explains the keys.
func (s spectrumFigures) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	var failed error
	put := func(key string, v any) {
		data, err := json.Marshal(v)
		failed = errors.Join(failed, err)
		if b.Len() > 1 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, "%q:%s", key, data)
	}
	put("name", s.Name)
	put("quantity", s.Quantity)
	s.each(func(k colour.Key, v any) { put(k.Name, v) })
	put("notes", s.Notes)
	put("not_given", s.NotGiven)
	b.WriteByte('}')
	return b.Bytes(), failed
}

// each visits every figure in the order of spectrumKeys.
func (s spectrumFigures) each(visit func(k colour.Key, v any)) {
	for _, figures := range []any{s.Colour, s.Plant} {
		v := reflect.ValueOf(figures)
		for i, k := range colour.KeysOf(figures) {
			if isFigure(k) {
				visit(k, v.Field(i).Interface())
			}
		}
	}
}

// isFigure leaves out the keys that tell of figures.
func isFigure(k colour.Key) bool { return k.Name != "notes" && k.Name != "not_given" }

// Run prints all figures of every spectrum in a file.
func (c *spectrumCmd) Run(r *run) error {
	data, err := readSpectra(c.File)
	if err != nil {
		return err
	}
	named, err := spectrum.Read(data)
	if err != nil {
		return r.unreadable(c.File, err)
	}
	all := []spectrumFigures{}
	for _, n := range named {
		n.Name = source.Visible(n.Name) // a name in XML may contain line ends
		all = append(all, figuresOf(n))
	}
	if err := c.draw(all); err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, struct {
			File    string            `json:"file"`
			Spectra []spectrumFigures `json:"spectra"`
		}{c.File, all})
	}
	printSpectra(r, all)
	if c.SVG != "" {
		r.println("wrote " + c.SVG)
	}
	return nil
}

// draw writes the picture of one spectrum, where one is asked for.
func (c *spectrumCmd) draw(all []spectrumFigures) error {
	if c.SVG == "" {
		if c.Column != "" {
			return fmt.Errorf("--column says which spectrum to draw; use it with --svg")
		}
		return nil
	}
	at := 0
	if c.Column != "" {
		if at = slices.IndexFunc(all, func(s spectrumFigures) bool { return s.Name == c.Column }); at < 0 {
			var names []string
			for i := range all {
				names = append(names, all[i].Name)
			}
			return fmt.Errorf("%s has no spectrum %q; it has %s", c.File, c.Column, strings.Join(names, ", "))
		}
	}
	f := &all[at].Colour
	if f.Bins == nil {
		return fmt.Errorf("no hue and chroma shift to draw for %s: %s", all[at].Name, all[at].NotGiven["hue_bins"])
	}
	return atomicfile.Save(c.SVG, report.HuesPicture(f.Bins, *f.Rf, *f.Rg, "hues", 0).File())
}

// readSpectra reads a file, or standard input, up to one byte over what package spectrum takes, so that it can say that
// there is too much.
func readSpectra(path string) ([]byte, error) {
	if path == "-" {
		return io.ReadAll(io.LimitReader(os.Stdin, spectrum.MaxFileBytes+1))
	}
	data, err := inputfile.ReadPath(path, spectrum.MaxFileBytes)
	if err != nil {
		return nil, fmt.Errorf("read spectrum %s: %s; give a file, or - for standard input", path,
			inputfile.Reason(err))
	}
	return data, nil
}

func figuresOf(n spectrum.Named) spectrumFigures {
	out := spectrumFigures{
		Name: n.Name, Quantity: n.Quantity, Colour: colour.All(n.Spectrum), Plant: plant.All(n.Spectrum),
		NotGiven: map[string]string{},
	}
	out.Notes = append(append([]string{}, n.Notes...), out.Colour.Notes...)
	for _, why := range []map[string]string{out.Colour.NotGiven, out.Plant.NotGiven} {
		for k, v := range why {
			out.NotGiven[k] = v
		}
	}
	return out
}

// spectrumKeys returns every figure of a spectrum with its meaning, without those that tell why others are missing.
func spectrumKeys() []colour.Key {
	var keys []colour.Key
	spectrumFigures{}.each(func(k colour.Key, _ any) { keys = append(keys, k) })
	return keys
}

// printSpectra prints a table with a row a figure and a column a spectrum.
func printSpectra(r *run, all []spectrumFigures) {
	const (
		columns  = 4 // more do not fit a terminal
		docWidth = 50
	)
	values := make([]map[string]string, len(all))
	for i := range all {
		values[i] = spectrumTexts(&all[i])
	}
	for from := 0; from < len(all); from += columns {
		group := all[from:min(from+columns, len(all))]
		head := []string{"figure"}
		for i, s := range group {
			name := s.Name
			if name == "" {
				name = fmt.Sprintf("spectrum %d", from+i+1)
			}
			head = append(head, name)
		}
		t := r.table(append(head, "unit", "description")...)
		for _, k := range spectrumKeys() {
			row := []string{k.Name}
			for i := range group {
				row = append(row, values[from+i][k.Name])
			}
			t.row(append(row, k.Unit, wrap(k.Doc, docWidth, 0))...)
		}
		t.print()
	}
	for i := range all {
		s := &all[i]
		label := ""
		if len(all) > 1 {
			label = s.Name + ": "
		}
		for _, n := range s.Notes {
			r.prose("note: ", label+n)
		}
		why := map[string][]string{}
		var order []string
		for _, k := range spectrumKeys() {
			if text, none := s.NotGiven[k.Name]; none {
				if why[text] == nil {
					order = append(order, text)
				}
				why[text] = append(why[text], k.Name)
			}
		}
		for _, text := range order {
			r.prose("not given: ", label+strings.Join(why[text], ", ")+": "+text)
		}
	}
}

// spectrumTexts returns the figures of a spectrum as text, by key.
func spectrumTexts(s *spectrumFigures) map[string]string {
	out := map[string]string{}
	s.each(func(k colour.Key, v any) { out[k.Name] = spectrumText(v) })
	return out
}

func spectrumText(v any) string {
	short := func(x float64) string { return quantity.Format(x, quantity.None) }
	switch x := v.(type) {
	case float64:
		return short(x)
	case *float64:
		if x == nil {
			return "–"
		}
		return short(*x)
	case *[15]float64:
		if x == nil {
			return "–"
		}
		var list []string
		for i, ri := range x {
			list = append(list, fmt.Sprintf("R%d %.0f", i+1, ri))
		}
		return strings.Join([]string{strings.Join(list[:5], " "), strings.Join(list[5:10], " "), strings.Join(list[10:], " ")}, "\n")
	case []colour.BinFigures:
		if x == nil {
			return "–"
		}
		lines := make([]string, 0, 4)
		for i := 0; i < len(x); i += 4 {
			var list []string
			for j := i; j < min(i+4, len(x)); j++ {
				list = append(list, fmt.Sprintf("%.0f (%+.0f %%)", x[j].Rf, 100*x[j].ChromaShift))
			}
			lines = append(lines, strings.Join(list, " "))
		}
		return strings.Join(lines, "\n")
	case *colour.EDIFigures:
		if x == nil {
			return "–"
		}
		return fmt.Sprintf("S %.3f M %.3f L %.3f\nrods %.3f", x.SCone, x.MCone, x.LCone, x.Rod)
	}
	return ""
}
