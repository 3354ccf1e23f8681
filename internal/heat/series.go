package heat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"lampwright/internal/geom"
)

// Plate is a rectangular plate of full layers, for which the field is known exactly as a Fourier series.
//
// Its centre is the origin. Edges pass no heat; each face has one heat transfer coefficient over all of it; joints
// between layers may have a resistance; sources are axis-aligned rectangles on the top face.
type Plate struct {
	WidthM, HeightM           float64 // along x and along y
	Layers                    []Layer // top first; none may have a Cover
	TopFilmWm2K, BackFilmWm2K float64
}

// PlatePoint is a place in a plate: under the first Level layers (0 is the top face, the number of layers the back).
type PlatePoint struct {
	XM, YM float64
	Level  int
}

// maxModes keeps a series bounded: 12 000² modes are a minute of work.
const maxModes = 12000

// modes chooses how many waves along an axis of length l resolve the smallest source or the top layer.
func (p Plate) modes(l, smallestM float64, asked int) int {
	if asked > 0 {
		return min(asked, maxModes)
	}
	return max(200, min(3000, int(math.Ceil(8*l/smallestM))))
}

// check reports what keeps the series from being used.
func (p Plate) check(sources []geom.Rect) error {
	if !(p.WidthM > 0) || !(p.HeightM > 0) {
		return fmt.Errorf("plate of %g m by %g m has no area", p.WidthM, p.HeightM)
	}
	if len(p.Layers) == 0 {
		return fmt.Errorf("plate has no layers")
	}
	for i, l := range p.Layers {
		if err := l.check(i); err != nil {
			return err
		}
		if l.Cover != nil || l.Vias != nil {
			return fmt.Errorf("layer %s covers the plate only in part; the series knows full layers only, use the "+
				"field solver", l.label(i))
		}
	}
	if p.TopFilmWm2K < 0 || p.BackFilmWm2K < 0 || math.IsNaN(p.TopFilmWm2K+p.BackFilmWm2K) {
		return fmt.Errorf(
			"heat transfer coefficients %g and %g W/(m²·K) must not be negative", p.TopFilmWm2K, p.BackFilmWm2K,
		)
	}
	if p.TopFilmWm2K+p.BackFilmWm2K == 0 {
		return errNoWayOut
	}
	for i, s := range sources {
		if !s.AxisAligned() {
			return fmt.Errorf("source %d is turned by %g rad; the series takes quarter turns only", i+1, s.AngleRad)
		}
		w, h := s.Span()
		if !(w > 0) || !(h > 0) {
			return fmt.Errorf("source %d of %g m by %g m has no area", i+1, w, h)
		}
		const slack = 1e-9
		if math.Abs(s.XM)+w/2 > p.WidthM/2+slack || math.Abs(s.YM)+h/2 > p.HeightM/2+slack {
			return fmt.Errorf("source %d reaches off the plate", i+1)
		}
	}
	return nil
}

// Admittance is the heat flux into a stack per kelvin of its upper face, for a cosine pattern of one wave number
// [W/(m²·K)].
//
// From the back heat transfer coefficient upwards, per layer with g = s√(kxy/kz) and B = s√(kxy kz):
//
//	Y ← B (Y + B tanh g t)/(B + Y tanh g t), Y ← Y/(1 + Y R) at a joint of resistance R
//
// s is the wave number [1/m]; s = 0 is the plain series resistance. Sources: Muzychka2003 (compound plate),
// Muzychka2004 (orthotropic layers); this bounded form is derived from them.
func Admittance(layers []Layer, backFilmWm2K, waveNumberPerM float64) float64 {
	y := backFilmWm2K
	for i := len(layers) - 1; i >= 0; i-- {
		l := &layers[i]
		if l.JointM2KW > 0 {
			y /= 1 + y*l.JointM2KW
		}
		y, _ = through(l, y, waveNumberPerM)
	}
	return y
}

// through carries an admittance up through one layer; ratio is the rise at its lower face over that at its upper face.
func through(l *Layer, y, s float64) (up, ratio float64) {
	kz := l.kz()
	if s == 0 {
		d := 1 + y*l.ThicknessM/kz
		return y / d, 1 / d
	}
	root := math.Sqrt(l.KWmK / kz)
	gt, b := s*root*l.ThicknessM, s*root*kz
	if gt > 20 { // tanh is 1 to the last bit
		return b, 2 * math.Exp(-gt) / (1 + y/b)
	}
	e := math.Exp(-gt)
	e2 := e * e
	ch, sh := (1+e2)/2, (1-e2)/2
	th := sh / ch
	return b * (y + b*th) / (b + y*th), e / (ch + y/b*sh)
}

// waves contains cosines along one axis.
type waves struct {
	n      int
	lambda []float64 // mπ/L [1/m]
}

func newWaves(n int, lengthM float64) waves {
	w := waves{n: n, lambda: make([]float64, n)}
	for m := range w.lambda {
		w.lambda[m] = float64(m) * math.Pi / lengthM
	}
	return w
}

// mean is the average of each cosine over a strip at x (from the edge) of the given width.
func (w waves) mean(x, width float64) []float64 {
	out := make([]float64, w.n)
	for m, l := range w.lambda {
		a := l * width / 2
		s := 1.0
		if a > 1e-8 {
			s = math.Sin(a) / a
		}
		out[m] = s * math.Cos(l*x)
	}
	return out
}

// at is each cosine at x times a smooth cut-off, without which point sums converge only slowly. Below 200 waves the
// plain sum is the better one.
func (w waves) at(x float64) []float64 {
	out := make([]float64, w.n)
	for m, l := range w.lambda {
		f := 1.0
		if w.n >= 200 {
			r := float64(m) / float64(w.n)
			r *= r
			r *= r
			f = math.Exp(-36 * r * r)
		}
		out[m] = f * math.Cos(l*x)
	}
	return out
}

// weight is 1 for the constant wave and 2 for the others.
func weight(m int) float64 {
	if m == 0 {
		return 1
	}
	return 2
}

// Unit gives the mean rise at each source per watt in each source [K/W], as [at][from].
//
// modes is the number of waves per axis; 0 chooses it from the smallest source. Source means converge as modes⁻².
// Sources: Muzychka2003, Muzychka2004, Ellison2003.
func (p Plate) Unit(sources []geom.Rect, modes int) ([][]float64, error) {
	if err := p.check(sources); err != nil {
		return nil, err
	}
	wx, wy, mx, my := p.prepare(sources, modes)
	xs, atX := strips(sources, func(s geom.Rect) strip { w, _ := s.Span(); return strip{s.XM, w} })
	ys, atY := strips(sources, func(s geom.Rect) strip { _, h := s.Span(); return strip{s.YM, h} })
	if len(ys) > len(xs) { // the inner sums run over pairs of the strips of one axis: take the axis that has fewer
		wx, wy, mx, my, xs, ys, atX, atY = wy, wx, my, mx, ys, xs, atY, atX
	}
	n := len(sources)
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
	}
	inv, weighted := make([]float64, wy.n), make([]float64, wy.n)
	inner := make([][]float64, len(ys)) // [strip][strip] Σ over the modes of one axis
	for a := range inner {
		inner[a] = make([]float64, len(ys))
	}
	area := p.WidthM * p.HeightM
	for m := range wx.n {
		p.inverseRow(inv, wx.lambda[m], wy.lambda)
		for a, i := range ys {
			for k, v := range inv {
				weighted[k] = v * my[i][k]
			}
			for b, j := range ys[:a+1] {
				inner[a][b] = floats.Dot(weighted, my[j])
				inner[b][a] = inner[a][b]
			}
		}
		for i := range n {
			cx, row := weight(m)*mx[i][m]/area, inner[atY[i]]
			for j := i; j < n; j++ {
				out[i][j] += cx * mx[j][m] * row[atY[j]]
			}
		}
	}
	for i := range n {
		for j := range i {
			out[i][j] = out[j][i]
		}
	}
	return out, nil
}

// strip is what a source covers along one axis.
type strip struct{ middleM, widthM float64 }

// strips returns the first source of each different strip, and for each source the index of its strip among those.
// Emitters in rows share few.
func strips(sources []geom.Rect, of func(geom.Rect) strip) (first, at []int) {
	seen := map[strip]int{}
	at = make([]int, len(sources))
	for i, s := range sources {
		k, ok := seen[of(s)]
		if !ok {
			k = len(first)
			seen[of(s)] = k
			first = append(first, i)
		}
		at[i] = k
	}
	return first, at
}

// Spreading gives how much hotter than the mean of the whole plate it is at each source, at times after all sources are
// switched on together, as [time][source]; an infinite time gives the steady state.
//
//	S_i(t) = Σ_{m,n ≠ 0,0} A_mn w_mn,i / Y_mn · (1 − exp(−t Y_mn / C))
//
// Y_mn is the admittance of a wave [W/(m²·K)], C what a square metre of plate holds, with all that is fixed to its far
// face and follows it, such as fins [J/(m²·K)]. A wave that is even over the thickness fills up with C/Y; the fine ones
// near a small source fill up in an instant and hardly count in time. Times in s, powers in W. modes as in Unit.
// Source: Muzychka2003 for the steady part; the course in time is that of a thin plate with a heat transfer
// coefficient, wave by wave: derived.
func (p Plate) Spreading(
	sources []geom.Rect, powersW, timesS []float64, heatJm2K float64, modes int,
) ([][]float64, error) {
	if err := p.check(sources); err != nil {
		return nil, err
	}
	if len(powersW) != len(sources) {
		return nil, fmt.Errorf("%d powers for %d sources", len(powersW), len(sources))
	}
	if !(heatJm2K > 0) {
		return nil, fmt.Errorf("a plate that contains %g J/(m²·K) has no course in time; give what is above zero", heatJm2K)
	}
	wx, wy, mx, my := p.prepare(sources, modes)
	out := make([][]float64, len(timesS))
	for t := range out {
		out[t] = make([]float64, len(sources))
	}
	area := p.WidthM * p.HeightM
	for m, lambda := range wx.lambda {
		for n, delta := range wy.lambda {
			if m == 0 && n == 0 {
				continue
			}
			amp := 0.0
			for j, w := range powersW {
				amp += w * mx[j][m] * my[j][n]
			}
			if amp == 0 {
				continue
			}
			admittance := Admittance(p.Layers, p.BackFilmWm2K, math.Hypot(lambda, delta)) + p.TopFilmWm2K
			amp *= weight(m) * weight(n) / (area * admittance)
			for t, s := range timesS {
				grown := -amp * math.Expm1(-s*admittance/heatJm2K)
				for i := range sources {
					out[t][i] += grown * mx[i][m] * my[i][n]
				}
			}
		}
	}
	return out, nil
}

// prepare makes the waves of both axes and each source's mean of them.
func (p Plate) prepare(sources []geom.Rect, modes int) (wx, wy waves, mx, my [][]float64) {
	smallX, smallY := p.WidthM, p.HeightM
	for _, s := range sources {
		w, h := s.Span()
		smallX, smallY = min(smallX, w), min(smallY, h)
	}
	wx, wy = newWaves(p.modes(p.WidthM, smallX/8, modes), p.WidthM), newWaves(
		p.modes(p.HeightM, smallY/8, modes), p.HeightM,
	)
	for _, s := range sources {
		w, h := s.Span()
		mx = append(mx, wx.mean(s.XM+p.WidthM/2, w))
		my = append(my, wy.mean(s.YM+p.HeightM/2, h))
	}
	return wx, wy, mx, my
}

// inverseRow fills the rise per flux of the modes (lambda, every delta), with their weights along y.
func (p Plate) inverseRow(inv []float64, lambda float64, delta []float64) {
	for n, d := range delta {
		inv[n] = weight(n) / (Admittance(p.Layers, p.BackFilmWm2K, math.Hypot(lambda, d)) + p.TopFilmWm2K)
	}
}

// Rise gives the rise at points for sources of the given watts [K].
//
// modes as in Unit; from 400 waves per axis on, the smooth cut-off makes points about as good as means.
func (p Plate) Rise(sources []geom.Rect, powersW []float64, points []PlatePoint, modes int) ([]float64, error) {
	if err := p.check(sources); err != nil {
		return nil, err
	}
	if len(powersW) != len(sources) {
		return nil, fmt.Errorf("%d powers for %d sources", len(powersW), len(sources))
	}
	for i, q := range points {
		if q.Level < 0 || q.Level > len(p.Layers) {
			return nil, fmt.Errorf("point %d lies under %d layers of %d", i+1, q.Level, len(p.Layers))
		}
		if math.Abs(q.XM) > p.WidthM/2 || math.Abs(q.YM) > p.HeightM/2 {
			return nil, fmt.Errorf("point %d at (%g, %g) m lies off the plate", i+1, q.XM, q.YM)
		}
	}
	wx, wy, mx, my := p.prepare(sources, modes)
	px, py := make([][]float64, len(points)), make([][]float64, len(points))
	for i, q := range points {
		px[i], py[i] = wx.at(q.XM+p.WidthM/2), wy.at(q.YM+p.HeightM/2)
	}
	out := make([]float64, len(points))
	levels := len(p.Layers) + 1
	amp := make([]float64, levels*wy.n) // [level][n]
	area := p.WidthM * p.HeightM
	for m := range wx.n {
		for n := range wy.n {
			flux := 0.0
			for s := range sources {
				flux += powersW[s] * mx[s][m] * my[s][n]
			}
			flux *= weight(m) * weight(n) / area
			p.levels(amp[n:], wy.n, math.Hypot(wx.lambda[m], wy.lambda[n]), flux)
		}
		for i, q := range points {
			row, sum := amp[q.Level*wy.n:(q.Level+1)*wy.n], 0.0
			for n, c := range py[i] {
				sum += row[n] * c
			}
			out[i] += px[i][m] * sum
		}
	}
	return out, nil
}

// levels fills amp[level*stride] with the amplitude at every level for a flux of one mode on the top face.
func (p Plate) levels(amp []float64, stride int, s, flux float64) {
	y := p.BackFilmWm2K
	for i := len(p.Layers) - 1; i >= 0; i-- {
		l := &p.Layers[i]
		ratio := 1.0
		if l.JointM2KW > 0 {
			ratio = 1 / (1 + y*l.JointM2KW)
			y *= ratio
		}
		up, r := through(l, y, s)
		amp[(i+1)*stride] = ratio * r
		y = up
	}
	amp[0] = flux / (y + p.TopFilmWm2K)
	for i := 1; i <= len(p.Layers); i++ {
		amp[i*stride] *= amp[(i-1)*stride]
	}
}
