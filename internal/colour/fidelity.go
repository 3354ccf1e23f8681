package colour

import (
	"fmt"
	"math"
	"sync"

	"lampwright/internal/spectrum"
)

var evaluationColours = sync.OnceValue(func() *[99]spectrum.Weights {
	t := spectrum.MustTable(data, "data/colour_evaluation_samples_5nm.csv")
	out := new([99]spectrum.Weights)
	for i := range out {
		out[i] = t.SmoothWeights(fmt.Sprintf("CES%02d", i+1))
	}
	return out
})

// observer10Deg is the CIE 1964 observer between 380 nm and 780 nm, the range of the samples.
var observer10Deg = sync.OnceValue(func() *spectrum.Observer {
	t := spectrum.MustTable(data, "data/observer10deg_1nm.csv")
	o := &spectrum.Observer{X: t.Weights("xbar10"), Y: t.Weights("ybar10"), Z: t.Weights("zbar10")}
	for i := range o.X {
		if nm := spectrum.LoNM + i; nm < 380 || nm > 780 {
			o.X[i], o.Y[i], o.Z[i] = 0, 0, 0
		}
	}
	return o
})

// HueBins is the number of hue-angle bins of TM-30.
const HueBins = 16

// HueBin is what happens to the samples of one range of hue, 22.5° wide, the first from 0° (red) up.
type HueBin struct {
	Samples     int     // how many of the 99 samples fall into it under the reference
	Rf          float64 // fidelity of the bin
	ChromaShift float64 // mean relative change of chroma: 0.1 is 10 % more saturated
	HueShift    float64 // mean change of hue in radians, positive counter-clockwise
	// Means in the a′b′ plane of CAM02-UCS, for the colour vector graphic.
	RefA, RefB, TestA, TestB float64
}

// Fidelity is how a source renders the 99 samples of CIE 224 and IES TM-30 beside a reference of the same colour
// temperature.
type Fidelity struct {
	Rf         float64         // fidelity index, 0 to 100
	Rg         float64         // gamut index; 100 is the saturation of the reference
	Rs         [99]float64     // fidelity of each sample
	Bins       [HueBins]HueBin // by hue under the reference
	ReferenceK float64         // colour temperature of the source and of its reference
	Notes      []string
}

// FidelityIndices returns the fidelity index Rf after CIE 224:2017 and the gamut index Rg and hue-bin figures after IES
// TM-30-20, whose Rf is the same.
//
// Samples are seen by the CIE 1964 observer over 380 nm to 780 nm, in CAM02-UCS with full adaptation (D = 1), 100 cd/m²
// and a 20 % background. Between their 5 nm values sample reflectances follow Sprague's interpolation. The reference is a black body up to 4000 K, daylight from 5000 K, and a mix between.
//
//	Rf = 10·ln(1 + exp((100 − 6.73·mean ΔE′)/10))
//
// It is an error if the source has no valid colour temperature.
// Source: CIE224-2017, §§4 and 5; TM30-20, §§3 to 4.
func FidelityIndices(s spectrum.Spectrum) (Fidelity, error) {
	s = s.CarriedOn(standardFromNM, standardToNM)
	xy, ok := Chromaticity(s)
	if !ok {
		return Fidelity{}, fmt.Errorf("colour fidelity: there is no light")
	}
	return fidelity(s, CCT(xy))
}

func fidelity(s spectrum.Spectrum, t Temperature) (Fidelity, error) {
	if !t.Valid {
		return Fidelity{}, fmt.Errorf("colour fidelity: %s", t.Note)
	}
	if lo, hi, _ := s.Grid(); lo > 700 || hi < 450 {
		return Fidelity{}, fmt.Errorf("colour fidelity: samples from %d nm to %d nm are too few", lo, hi)
	}
	o := observer10Deg()
	ref, err := fidelityReference(t.K, s, o)
	if err != nil {
		return Fidelity{}, fmt.Errorf("colour fidelity: %w", err)
	}
	out := Fidelity{ReferenceK: t.K}
	test, refs := newSampler(s, o), newSampler(ref, o)
	wt, wr := test.white(), refs.white()
	seenT, seenR := newViewing(wt), newViewing(wr)
	var meanDE float64
	var binDE [HueBins]float64
	samples := evaluationColours()
	for i := range samples {
		a := seenT.appearance(test.sample(&samples[i]).times(100 / wt.Y))
		b := seenR.appearance(refs.sample(&samples[i]).times(100 / wr.Y))
		de := math.Sqrt(sq(a.J-b.J) + sq(a.A-b.A) + sq(a.B-b.B))
		out.Rs[i] = fidelityOf(de)
		meanDE += de / float64(len(samples))

		h := math.Atan2(b.B, b.A)
		if h < 0 {
			h += 2 * math.Pi
		}
		k := min(int(h/(2*math.Pi/HueBins)), HueBins-1)
		bin := &out.Bins[k]
		bin.Samples++
		bin.RefA, bin.RefB = bin.RefA+b.A, bin.RefB+b.B
		bin.TestA, bin.TestB = bin.TestA+a.A, bin.TestB+a.B
		binDE[k] += de
	}
	out.Rf = fidelityOf(meanDE)
	for k := range out.Bins {
		out.Bins[k].finish(k, binDE[k])
	}
	out.Rg = gamutIndex(&out.Bins)
	if math.Abs(t.Duv) > cieMaxDuvCRI {
		out.Notes = append(out.Notes, fmt.Sprintf("Duv is %+.4f; Rf and Rg compare with a reference on the white line and lose meaning far from it", t.Duv))
	}
	return out, nil
}

// fidelityOf returns the fidelity of a colour difference. Source: CIE224-2017, eqs 13 and 14; c = 6.73.
func fidelityOf(deltaE float64) float64 {
	x := (100 - 6.73*deltaE) / 10
	return 10 * (math.Max(x, 0) + math.Log1p(math.Exp(-math.Abs(x))))
}

// finish turns the sums of bin k into means and shifts.
func (b *HueBin) finish(k int, sumDE float64) {
	if b.Samples == 0 {
		return
	}
	n := float64(b.Samples)
	b.RefA, b.RefB, b.TestA, b.TestB = b.RefA/n, b.RefB/n, b.TestA/n, b.TestB/n
	b.Rf = fidelityOf(sumDE / n)
	chroma := math.Hypot(b.RefA, b.RefB)
	da, db := (b.TestA-b.RefA)/chroma, (b.TestB-b.RefB)/chroma
	sin, cos := math.Sincos((float64(k) + 0.5) * 2 * math.Pi / HueBins)
	b.ChromaShift = da*cos + db*sin
	b.HueShift = db*cos - da*sin
}

// gamutIndex returns 100 times the area of the polygon of bin means under the source over that under the reference.
// Empty bins are left out of both. Source: TM30-20, §4.5.
func gamutIndex(bins *[HueBins]HueBin) float64 {
	var test, ref float64
	last := -1
	for k := range bins {
		if bins[k].Samples > 0 {
			last = k
		}
	}
	if last < 0 {
		return 0
	}
	prev := bins[last]
	for _, b := range bins {
		if b.Samples == 0 {
			continue
		}
		test += prev.TestA*b.TestB - b.TestA*prev.TestB
		ref += prev.RefA*b.RefB - b.RefA*prev.RefB
		prev = b
	}
	return 100 * test / ref
}

// fidelityReference returns the reference of CIE 224 at the samples of s.
func fidelityReference(tempK float64, s spectrum.Spectrum, o *spectrum.Observer) (spectrum.Spectrum, error) {
	if tempK <= 4000 {
		return onGridOf(spectrum.Planck(tempK), s), nil
	}
	day, err := spectrum.Daylight(tempK)
	if err != nil {
		return spectrum.Spectrum{}, err
	}
	day = onGridOf(day, s)
	if tempK >= 5000 {
		return day, nil
	}
	body := onGridOf(spectrum.Planck(tempK), s)
	share := (5000 - tempK) / 1000
	return spectrum.Mix(
		[]float64{share / body.Weighted(&o.Y), (1 - share) / day.Weighted(&o.Y)},
		[]spectrum.Spectrum{body, day},
	), nil
}

func (c XYZ) times(k float64) XYZ { return XYZ{c.X * k, c.Y * k, c.Z * k} }

// appearance is a colour in CAM02-UCS.
type appearance struct{ J, A, B float64 }

// viewing contains what CIECAM02 needs to know of the surroundings: white of Y = 100, adaptation complete.
type viewing struct {
	gain   [3]float64 // adaptation of the sharpened cone signals
	fl     float64    // luminance-level adaptation
	n, nbb float64
	z, aW  float64
	// Factors of chroma and colourfulness that no sample changes.
	chroma, fl4 float64
}

// Conditions of CIE 224: average surround, L_A = 100 cd/m², Y_b = 20, D = 1. Source: CIE224-2017, §4.4.
const (
	adaptingCdM2 = 100.0
	backgroundY  = 20.0
	surroundC    = 0.69
	surroundNc   = 1.0
)

// cat02 takes X, Y, Z to sharpened cone signals; hpeFromCat02 goes on to Hunt-Pointer-Estevez cones.
// Source: CIE159-2004, eqs 4 and 11; the product M_HPE·M_CAT02⁻¹ is formed once.
var (
	cat02 = mat3{{0.7328, 0.4296, -0.1624}, {-0.7036, 1.6975, 0.0061}, {0.0030, 0.0136, 0.9834}}
	hpe   = mat3{{0.38971, 0.68898, -0.07868}, {-0.22981, 1.18340, 0.04641}, {0, 0, 1}}
)

var hpeFromCat02 = sync.OnceValue(func() mat3 { return hpe.mul(cat02.inverse()) })

func newViewing(white XYZ) viewing {
	w := white.times(100 / white.Y)
	rgb := cat02.apply([3]float64{w.X, w.Y, w.Z})
	var v viewing
	for i := range rgb {
		v.gain[i] = 100 / rgb[i] // D = 1
	}
	k := 1 / (5*adaptingCdM2 + 1)
	k4 := k * k * k * k
	v.fl = 0.2*k4*5*adaptingCdM2 + 0.1*sq(1-k4)*math.Cbrt(5*adaptingCdM2)
	v.n = backgroundY / 100
	v.nbb = 0.725 * math.Pow(1/v.n, 0.2)
	v.z = 1.48 + math.Sqrt(v.n)
	r, g, b := v.cones(w)
	v.aW = (2*r + g + b/20 - 0.305) * v.nbb
	v.chroma, v.fl4 = math.Pow(1.64-math.Pow(0.29, v.n), 0.73), math.Pow(v.fl, 0.25)
	return v
}

// cones returns the compressed cone signals of a colour. Source: CIE159-2004, eqs 9 to 15.
func (v viewing) cones(c XYZ) (r, g, b float64) {
	rgb := cat02.apply([3]float64{c.X, c.Y, c.Z})
	for i := range rgb {
		rgb[i] *= v.gain[i]
	}
	rgb = hpeFromCat02().apply(rgb)
	for i, s := range rgb {
		p := math.Pow(v.fl*math.Abs(s)/100, 0.42)
		rgb[i] = math.Copysign(400*p/(p+27.13), s) + 0.1
	}
	return rgb[0], rgb[1], rgb[2]
}

// appearance returns the CAM02-UCS coordinates of a colour relative to a white of Y = 100.
// Source: CIE159-2004, eqs 16 to 29; Luo2006, eqs 5 and 6 (uniform space).
func (v viewing) appearance(c XYZ) appearance {
	r, g, b := v.cones(c)
	a, bb := r-12*g/11+b/11, (r+g-2*b)/9
	h := math.Atan2(bb, a)
	e := (math.Cos(h+2) + 3.8) / 4
	bigA := (2*r + g + b/20 - 0.305) * v.nbb
	j := 100 * math.Pow(math.Max(bigA, 0)/v.aW, surroundC*v.z)
	t := 50000.0 / 13 * surroundNc * v.nbb * e * math.Hypot(a, bb) / (r + g + 21*b/20)
	chroma := math.Pow(t, 0.9) * math.Sqrt(j/100) * v.chroma
	m := chroma * v.fl4
	mUCS := math.Log1p(0.0228*m) / 0.0228
	sin, cos := math.Sincos(h)
	return appearance{J: 1.7 * j / (1 + 0.007*j), A: mUCS * cos, B: mUCS * sin}
}

// mat3 is a 3×3 matrix by rows.
type mat3 [3][3]float64

func (m mat3) apply(v [3]float64) (out [3]float64) {
	for i := range m {
		out[i] = m[i][0]*v[0] + m[i][1]*v[1] + m[i][2]*v[2]
	}
	return out
}

func (m mat3) mul(n mat3) (out mat3) {
	for i := range m {
		for j := range m {
			out[i][j] = m[i][0]*n[0][j] + m[i][1]*n[1][j] + m[i][2]*n[2][j]
		}
	}
	return out
}

func (m mat3) inverse() (out mat3) {
	det := 0.0
	for j := range m {
		det += m[0][j] * (m[1][(j+1)%3]*m[2][(j+2)%3] - m[1][(j+2)%3]*m[2][(j+1)%3])
	}
	for i := range m {
		for j := range m {
			out[j][i] = (m[(i+1)%3][(j+1)%3]*m[(i+2)%3][(j+2)%3] - m[(i+1)%3][(j+2)%3]*m[(i+2)%3][(j+1)%3]) / det
		}
	}
	return out
}
