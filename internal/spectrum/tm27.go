package spectrum

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"

	"lampwright/internal/textpos"
)

// readXML reads a file after IES TM-27: SpectralData elements, each with its wavelength as an attribute.
//
// Quantities that describe a material and not a source are refused.
// Source: TM27-20, §4; element names cited from memory.
func readXML(text []byte) ([]Named, error) {
	d := xml.NewDecoder(bytes.NewReader(text))
	encoding := ""
	d.CharsetReader = func(charset string, _ io.Reader) (io.Reader, error) {
		encoding = charset
		return nil, errEncoding
	}
	var (
		t         columns
		problems  Problems
		path      []string
		value     strings.Builder
		nm        string
		line      int
		begin     int64 // of the SpectralData element
		name      string
		quantity  string
		corrected string
		bandwidth string
	)
	t.power, t.text = [][]float64{nil}, linesOf(text)
	place := func(offset int64, format string, args ...any) Problem {
		return textpos.At(string(text), int(offset), fmt.Sprintf(format, args...))
	}
	for len(problems) < maxProblems {
		at := d.InputOffset()
		number, _ := d.InputPos()
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			why, whole := syntaxError(err, encoding)
			if !whole {
				at = d.InputOffset()
			}
			problems = append(problems, place(at, "%s", why))
			break
		}
		switch e := token.(type) {
		case xml.StartElement:
			if len(path) > 32 {
				return nil, Problems{place(at, "elements are nested more than 32 deep")}
			}
			path = append(path, e.Name.Local)
			value.Reset()
			if e.Name.Local == "SpectralData" {
				nm, line, begin = "", number, at
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
					problems = append(problems, place(begin, "wavelength %.40q is not a number", nm))
				case !okV:
					problems = append(problems, place(begin, "%.40q at %s nm is not a number", text, nm))
				case len(t.nm) >= maxRows:
					return nil, Problems{place(begin, "there are more than %d values", maxRows)}
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
		return nil, Problems{{Text: "this XML contains no SpectralData elements with a wavelength; spectra come as " +
			"IES TM-27 or as text in columns"}}
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
		out[0].Notes = append(out[0].Notes, fmt.Sprintf("the instrument's bandwidth of %g nm was not corrected for; "+
			"narrow peaks look wider than they are", b))
	}
	return out, nil
}

// errEncoding stops the reading of XML in an encoding other than UTF-8.
var errEncoding = errors.New("encoding")

const notXML = "this is not well-formed XML"

// closed is how the XML library words an end tag that does not fit.
var closed = regexp.MustCompile(`^element <(.*)> closed by </(.*)>$`)

// syntaxError returns what is wrong with XML in our words, and whether it is the token as a whole.
func syntaxError(err error, encoding string) (why string, whole bool) {
	var syntax *xml.SyntaxError
	switch {
	case encoding != "":
		return fmt.Sprintf("the encoding is %.40q; save the file as UTF-8", encoding), true
	case !errors.As(err, &syntax):
	case syntax.Msg == "unexpected EOF":
		return notXML + ": the file ends within an element, it is cut off", false
	case syntax.Msg == "invalid UTF-8":
		return notXML + ": this character is not UTF-8", false
	default:
		if m := closed.FindStringSubmatch(syntax.Msg); m != nil {
			return fmt.Sprintf("%s: the element %.40q ends as %.40q", notXML, m[1], m[2]), true
		}
	}
	return notXML, false
}

func numberOnly(text string) (float64, bool) {
	v, kind := number(text, false)
	return v, (kind == whole || kind == withPoint) && !math.IsNaN(v)
}
