package spectrum

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
)

// readXML reads a file after IES TM-27: SpectralData elements, each with its wavelength as an attribute.
//
// Quantities that describe a material and not a source are refused.
// Source: TM27-20, §4; element names cited from memory.
func readXML(text []byte) ([]Named, error) {
	d := xml.NewDecoder(bytes.NewReader(text))
	d.CharsetReader = func(charset string, _ io.Reader) (io.Reader, error) {
		return nil, fmt.Errorf("the encoding is %s; save the file as UTF-8", charset)
	}
	var (
		t         columns
		problems  Problems
		path      []string
		value     strings.Builder
		nm        string
		line      int
		name      string
		quantity  string
		corrected string
		bandwidth string
	)
	t.power = [][]float64{nil}
	for len(problems) < maxProblems {
		at, _ := d.InputPos()
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			problems = append(problems, Problem{at, fmt.Sprintf("this is not well-formed XML: %v", err)})
			break
		}
		switch e := token.(type) {
		case xml.StartElement:
			if len(path) > 32 {
				return nil, Problems{{at, "elements are nested more than 32 deep"}}
			}
			path = append(path, e.Name.Local)
			value.Reset()
			if e.Name.Local == "SpectralData" {
				nm, line = "", at
				for _, a := range e.Attr {
					if a.Name.Local == "wavelength" {
						nm = strings.TrimSpace(a.Value)
					}
				}
			}
		case xml.CharData:
			if value.Len() < 4096 {
				value.Write(e)
			}
		case xml.EndElement:
			text := strings.TrimSpace(value.String())
			switch e.Name.Local {
			case "SpectralData":
				w, okW := numberOnly(nm)
				v, okV := numberOnly(text)
				switch {
				case !okW:
					problems = append(problems, Problem{line, fmt.Sprintf("wavelength %.40q is not a number", nm)})
				case !okV:
					problems = append(problems, Problem{line, fmt.Sprintf("%.40q at %s nm is not a number", text, nm)})
				case len(t.nm) >= maxRows:
					return nil, Problems{{line, fmt.Sprintf("there are more than %d values", maxRows)}}
				default:
					t.nm, t.lines, t.power[0] = append(t.nm, w), append(t.lines, line), append(t.power[0], v)
				}
			case "SpectralQuantity":
				quantity = text
			case "Description":
				name = label(text)
			case "BandwidthFWHM":
				bandwidth = text
			case "BandwidthCorrected":
				corrected = text
			}
			path = path[:max(len(path)-1, 0)]
			value.Reset()
		}
	}
	if len(problems) > 0 {
		return nil, problems
	}
	if len(t.nm) == 0 {
		return nil, Problems{{Text: "this XML contains no SpectralData elements with a wavelength; spectra come as IES TM-27 or as text in columns"}}
	}
	switch strings.ToLower(quantity) {
	case "", "flux", "radiance", "irradiance", "intensity", "exitance", "relative", "other":
	default:
		return nil, Problems{{Text: fmt.Sprintf("its quantity is %.40q, which is not the light of a source", quantity)}}
	}
	if name == "" {
		name = "spectrum"
	}
	t.names = []string{name}
	out, err := t.spectra()
	if err != nil {
		return nil, err
	}
	out[0].Quantity = strings.ToLower(label(quantity))
	if b, ok := numberOnly(bandwidth); ok && b > 5 && !strings.EqualFold(corrected, "true") {
		out[0].Notes = append(out[0].Notes, fmt.Sprintf("the instrument's bandwidth of %g nm was not corrected for; narrow peaks look wider than they are", b))
	}
	return out, nil
}

func numberOnly(text string) (float64, bool) {
	v, kind := number(text, false)
	return v, (kind == whole || kind == withPoint) && !math.IsNaN(v)
}
