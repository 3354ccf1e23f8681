// Package sheetfile recognises a file that belongs to a datasheet and says what it contains, so that a person sees it
// before it is used.
//
// In: the bytes of a file. Out: its kind, and for a luminous intensity distribution (LM-63), spectra (columns, TM-27)
// or a board outline (corners, DXF) the curve to draw and its key figures; or all problems with their lines.
// Assumes: nothing of the bytes.
// Leaves to others: the readers of each format, where a file is stored, and what a lamp makes of it.
package sheetfile

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"

	"lampwright/internal/colour"
	"lampwright/internal/intensity"
	"lampwright/internal/outlinefile"
	"lampwright/internal/photometry"
	"lampwright/internal/spectrum"
)

// Kind is what a file contains.
type Kind string

// The kinds.
const (
	Unknown      Kind = ""
	Distribution Kind = "intensity"
	Spectra      Kind = "spectrum"
	Outline      Kind = "outline"
)

// MaxBytes is the size of the largest file that is looked at.
const MaxBytes = 8 << 20

// maxDrawn is the number of points of a curve that is drawn.
const maxDrawn = 181

// Contents is what a file contains: the field of its kind is set.
type Contents struct {
	Kind         Kind
	Distribution *LID
	Spectra      []Spectrum
	Outline      *outlinefile.Outline
}

// LID is a luminous intensity distribution.
type LID struct {
	Edition  int      `json:"edition"` // of LM-63
	FluxLm   float64  `json:"flux_lm"`
	StatedLm float64  `json:"stated_lm"` // of the lamps, as the file states it; 0 in absolute photometry
	PeakCd   float64  `json:"peak_cd"`
	BeamDeg  float64  `json:"beam_deg"`
	FieldDeg float64  `json:"field_deg"`
	Axial    bool     `json:"axial"`
	Planes   []Plane  `json:"planes"`
	Warnings []string `json:"warnings"`
}

// Plane is intensities in a half plane about the optical axis.
type Plane struct {
	PhiDeg   float64   `json:"phi_deg"`
	ThetaDeg []float64 `json:"theta_deg"`
	Candela  []float64 `json:"candela"`
}

// Spectrum is a spectrum with its key figures.
type Spectrum struct {
	Name     string    `json:"name"`
	NM       []float64 `json:"nm"`
	Relative []float64 `json:"relative"` // to its maximum
	PeakNM   float64   `json:"peak_nm"`
	FWHMNM   float64   `json:"fwhm_nm"` // 0 where it has no one width
	LERLmW   float64   `json:"ler_lm_w"`
	CCTK     float64   `json:"cct_k"` // 0 where it is not white
	Duv      float64   `json:"duv"`
	Notes    []string  `json:"notes"`
}

// Of recognises a file by its content. A text of two columns is a spectrum where its first column can only be
// wavelengths, and an outline otherwise.
func Of(data []byte) Kind {
	head := bytes.TrimSpace(bytes.TrimPrefix(data[:min(len(data), 4096)], []byte("\xef\xbb\xbf")))
	switch {
	case bytes.HasPrefix(head, []byte("IESNA")), bytes.HasPrefix(head, []byte("IES:LM-63")),
		bytes.Contains(data[:min(len(data), 1<<16)], []byte("TILT=")):
		return Distribution
	case bytes.HasPrefix(head, []byte("<")):
		return Spectra
	case bytes.HasPrefix(head, []byte("0\n")),
		bytes.HasPrefix(head, []byte("0\r\n")),
		bytes.HasPrefix(head, []byte("999")):
		return Outline
	case bytes.IndexByte(head, 0) >= 0 || !bytes.ContainsAny(head, "0123456789"):
		return Unknown
	}
	if _, err := spectrum.Read(data); err == nil || wavelengths(data) {
		return Spectra
	}
	if _, err := outlinefile.Read(data); err == nil {
		return Outline
	}
	return Unknown
}

// wavelengths reports whether the first column of a text rises from line to line within the wavelengths of light, as
// the corners of an outline seldom do.
func wavelengths(data []byte) bool {
	const loNM, hiNM = 200, 3000
	last, n := 0.0, 0
	for line := range bytes.Lines(data) {
		fields := bytes.FieldsFunc(line, func(r rune) bool { return r == ',' || r == ';' || r == '\t' || r == ' ' })
		if len(fields) == 0 {
			continue
		}
		v, err := strconv.ParseFloat(string(bytes.TrimSpace(fields[0])), 64)
		switch {
		case err != nil && n == 0: // a header
		case err != nil || !(v > last && v >= loNM && v <= hiNM):
			return false
		default:
			last, n = v, n+1
		}
	}
	return n > 2
}

// Read returns what a file of a kind contains. Errors are textpos.Problems, or one of them.
func Read(kind Kind, data []byte) (*Contents, error) {
	c := &Contents{Kind: kind}
	var err error
	switch kind {
	case Distribution:
		c.Distribution, err = readLID(data)
	case Spectra:
		c.Spectra, err = readSpectra(data)
	case Outline:
		c.Outline, err = outlinefile.Read(data)
	default:
		err = fmt.Errorf("it is none of the kinds that are read")
	}
	if err != nil {
		return nil, err
	}
	return c, nil
}

// A spectrum with more than oneColourPart of its power within besideNM of its peak is that of one colour, which has no
// colour temperature. Rule of thumb (no source).
const besideNM, oneColourPart = 35, 0.85

const degrees = 180 / math.Pi

func readLID(data []byte) (*LID, error) {
	f, err := photometry.Read(data)
	if err != nil {
		return nil, err
	}
	d, err := f.Distribution()
	if err != nil {
		return nil, err
	}
	beam := intensity.BeamOf(d)
	out := &LID{
		Edition: int(f.Edition), FluxLm: f.FluxLm(), BeamDeg: beam.BeamRad * degrees, FieldDeg: beam.FieldRad * degrees,
		Axial: d.Axial(), Warnings: f.Warnings,
	}
	if !f.Absolute() {
		out.StatedLm = float64(f.Lamps) * f.LumensPerLamp
	}
	if !(out.FluxLm > 0) || math.IsInf(out.FluxLm, 0) {
		return nil, fmt.Errorf("the file contains no light")
	}
	out.PeakCd = intensity.PeakPerFlux(d) * out.FluxLm
	for _, phi := range []float64{0, 90, 180, 270} {
		p := Plane{PhiDeg: phi}
		for i := range maxDrawn {
			theta := 180 * float64(i) / (maxDrawn - 1)
			cd := d.PerFlux(math.Cos(theta/degrees), phi/degrees) * out.FluxLm
			p.ThetaDeg, p.Candela = append(p.ThetaDeg, theta), append(p.Candela, cd)
		}
		if out.Planes = append(out.Planes, p); out.Axial {
			break
		}
	}
	return out, nil
}

func readSpectra(data []byte) (out []Spectrum, err error) {
	all, err := spectrum.Read(data)
	if err != nil {
		return nil, err
	}
	for _, n := range all {
		s := n.Spectrum
		one := Spectrum{Name: n.Name, PeakNM: s.PeakNM(), FWHMNM: s.FWHMNM(), LERLmW: s.LERlmW(), Notes: n.Notes}
		if !(s.RadiantW() > 0) {
			return nil, fmt.Errorf("the spectrum %q is dark", n.Name)
		}
		oneColour := s.BandW(one.PeakNM-besideNM, one.PeakNM+besideNM) > oneColourPart*s.RadiantW()
		if xy, ok := colour.Chromaticity(s); ok && !oneColour {
			if t := colour.CCT(xy); t.Valid {
				one.CCTK, one.Duv = t.K, t.Duv
			}
		}
		values := s.Values()
		lo, _, step := s.Grid()
		most, stride := slices.Max(values), max(1, len(values)/maxDrawn)
		for i := 0; i < len(values); i += stride {
			one.NM, one.Relative = append(one.NM, float64(lo+i*step)), append(one.Relative, values[i]/most)
		}
		out = append(out, one)
	}
	return out, nil
}
