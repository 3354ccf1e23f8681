package colour

import (
	"embed" // samples, observers and action spectra
	"fmt"
	"math"
	"sync"

	"lampwright/internal/spectrum"
)

//go:embed data/*.csv
var data embed.FS

var testColours = sync.OnceValue(func() *[15]spectrum.Weights {
	t := spectrum.MustTable(data, "data/test_colour_samples_5nm.csv")
	var out [15]spectrum.Weights
	for i := range out {
		out[i] = t.Weights(fmt.Sprintf("TCS%02d", i+1))
	}
	return &out
})

// TestColour returns the radiance factor, 0 to 1, of test-colour sample n of CIE 13.3, 1 to 15, on the lamp grid.
// Sample 14 is the green of leaves. Another n is a mistake of the programmer. Source: CIE13.3-1995, Tables 1 and 2;
// sample 15 JIS Z 8726:1990.
func TestColour(n int) spectrum.Weights {
	if n < 1 || n > 15 {
		panic(fmt.Sprintf("colour: test-colour sample %d", n))
	}
	return testColours()[n-1]
}

// UVW are coordinates in the uniform space of CIE 1964.
type UVW struct{ W, U, V float64 }

// Rendering is how a source renders the samples of CIE 13.3 beside a reference of the same colour temperature.
type Rendering struct {
	Ra         float64     // general index, mean of R1 to R8, not rounded
	R          [15]float64 // special indices R1 to R15, not rounded; may lie far below zero
	DeltaE     [15]float64 // colour difference of each sample in CIE 1964 U*V*W*
	Reference  [15]UVW     // each sample under the reference
	Test       [15]UVW     // each sample under the source, adapted to the reference
	ReferenceK float64     // colour temperature of the source and of its reference
	Notes      []string    // where the standard says that the method loses accuracy
}

// cieMaxDuvCRI is how far a source may lie from the reference before CIE 13.3 doubts its own result.
// Source: CIE13.3-1995, §5.3: 5.4e-3 in CIE 1960 (u, v).
const cieMaxDuvCRI = 0.0054

// RenderingIndices returns the colour rendering indices after CIE 13.3-1995.
//
// The reference is a black body below 5000 K and daylight from 5000 K up, at the source's own colour temperature, so Ra
// steps by 0.2 to 0.4 there. Sums run over the samples of s, sample reflectances being straight lines between their
// 5 nm values; a spectrum that breaks off within 380 nm to 780 nm is carried on to there. It is an error if the source
// has no valid colour temperature. Source: CIE13.3-1995, §§5 to 7.
func RenderingIndices(s spectrum.Spectrum) (Rendering, error) {
	s = s.CarriedOn(standardFromNM, standardToNM)
	xy, ok := Chromaticity(s)
	if !ok {
		return Rendering{}, fmt.Errorf("colour rendering: there is no light")
	}
	return rendering(s, CCT(xy))
}

func rendering(s spectrum.Spectrum, t Temperature) (Rendering, error) {
	if !t.Valid {
		return Rendering{}, fmt.Errorf("colour rendering: %s", t.Note)
	}
	ref, err := criReference(t.K)
	if err != nil {
		return Rendering{}, fmt.Errorf("colour rendering: %w", err)
	}
	out := Rendering{ReferenceK: t.K}
	o := spectrum.Observer2Deg()
	test, refs := newSampler(s, o), newSampler(onGridOf(ref, s), o)
	wk, wr := test.white(), refs.white()
	kK, kR := 100/wk.Y, 100/wr.Y
	uvK, uvR := uvOf(wk), uvOf(wr)
	cK, dK := cdOf(uvK)
	cR, dR := cdOf(uvR)
	samples := testColours()
	for i := range samples {
		a, b := test.sample(&samples[i]), refs.sample(&samples[i])
		c, d := cdOf(uvOf(a))
		den := 16.518 + 1.481*cR/cK*c - dR/dK*d
		adapted := UV{(10.872 + 0.404*cR/cK*c - 4*dR/dK*d) / den, 5.520 / den}
		// The white of the source, adapted, is the white of the reference.
		out.Test[i] = uvwOf(a.Y*kK, adapted, uvR)
		out.Reference[i] = uvwOf(b.Y*kR, uvOf(b), uvR)
		p, q := out.Test[i], out.Reference[i]
		out.DeltaE[i] = math.Sqrt(sq(p.W-q.W) + sq(p.U-q.U) + sq(p.V-q.V))
		out.R[i] = IndexOf(out.DeltaE[i])
		if i < 8 {
			out.Ra += out.R[i] / 8
		}
	}
	if math.Abs(t.Duv) > cieMaxDuvCRI {
		out.Notes = append(out.Notes, fmt.Sprintf("Duv is %+.4f; beyond ±0.0054 CIE 13.3 says that its indices lose "+
			"accuracy", t.Duv))
	}
	return out, nil
}

// IndexOf returns the index of a colour difference in CIE 1964 U*V*W*, or of a mean of some. Source: CIE13.3-1995, §7.
func IndexOf(deltaE float64) float64 { return 100 - 4.6*deltaE }

// Difference returns the colour difference of a sample from that under the reference, counted from 0.
func (r *Rendering) Difference(sample int) UVW {
	p, q := r.Test[sample], r.Reference[sample]
	return UVW{p.W - q.W, p.U - q.U, p.V - q.V}
}

// criReference returns the reference of CIE 13.3 for a colour temperature.
func criReference(tempK float64) (spectrum.Spectrum, error) {
	if tempK < 5000 {
		return spectrum.Planck(tempK), nil
	}
	return spectrum.Daylight(tempK)
}

// onGridOf returns s at the samples of like; s is on the lamp grid.
func onGridOf(s, like spectrum.Spectrum) spectrum.Spectrum {
	lo, hi, step := like.Grid()
	out, err := s.Pick(lo, hi, step)
	if err != nil {
		panic("colour: " + err.Error())
	}
	return out
}

// sampler contains the products of a spectrum with an observer's functions, by which many samples are summed fast.
type sampler struct {
	loNM, stepNM int
	x, y, z      []float64
}

// newSampler returns the products of s and the observer.
func newSampler(s spectrum.Spectrum, o *spectrum.Observer) sampler {
	lo, _, step := s.Grid()
	v := s.Values()
	p := sampler{loNM: lo, stepNM: step, x: v, y: make([]float64, len(v)), z: make([]float64, len(v))}
	for i, w := range v {
		k := lo - spectrum.LoNM + i*step
		p.x[i], p.y[i], p.z[i] = w*o.X[k], w*o.Y[k], w*o.Z[k]
	}
	return p
}

// white returns the tristimulus values of the source itself, on no particular scale.
func (p sampler) white() XYZ {
	var c XYZ
	for i := range p.x {
		c.X += p.x[i]
		c.Y += p.y[i]
		c.Z += p.z[i]
	}
	return c
}

// sample returns the tristimulus values of a reflecting sample, on the scale of white.
func (p sampler) sample(r *spectrum.Weights) XYZ {
	var c XYZ
	k := p.loNM - spectrum.LoNM
	y, z := p.y[:len(p.x)], p.z[:len(p.x)]
	for i, x := range p.x {
		w := r[k]
		k += p.stepNM
		c.X += w * x
		c.Y += w * y[i]
		c.Z += w * z[i]
	}
	return c
}

func uvOf(c XYZ) UV {
	d := c.X + 15*c.Y + 3*c.Z
	return UV{4 * c.X / d, 6 * c.Y / d}
}

// cdOf returns the coordinates in which CIE 13.3 adapts. Source: CIE13.3-1995, eq. 4.
func cdOf(p UV) (c, d float64) {
	return (4 - p.U - 10*p.V) / p.V, (1.708*p.V + 0.404 - 1.481*p.U) / p.V
}

// uvwOf returns the coordinates of CIE 1964 of a colour of luminance factor Y in percent. Source: CIE13.3-1995, eq. 6.
func uvwOf(bigY float64, p, white UV) UVW {
	w := 25*math.Cbrt(bigY) - 17
	return UVW{W: w, U: 13 * w * (p.U - white.U), V: 13 * w * (p.V - white.V)}
}

func sq(v float64) float64 { return v * v }
