package web

import (
	"encoding/base64"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// TestShortNumbers rounds numbers, and nothing else.
func TestShortNumbers(t *testing.T) {
	for in, want := range map[string]string{
		`{"a":0.1234567890123,"b":[-1.00000049,2]}`: `{"a":0.123457,"b":[-1,2]}`,
		`1795963497123`:                        `1795963497123`, // whole, such as the number of a lamp
		`-1795963497`:                          `-1795963497`,
		`"0.1234567890123 \" 0.1234567890123"`: `"0.1234567890123 \" 0.1234567890123"`,
		`"\\",0.12345678`:                      `"\\",0.123457`,
		`12345678.9`:                           `1.23457e+07`,
		`1.23456789e-9`:                        `1.23457e-09`,
		`0.001234`:                             `0.001234`,
		`123.456`:                              `123.456`,
		``:                                     ``,
	} {
		if got := string(shortNumbers([]byte(in))); got != want {
			t.Errorf("shortNumbers(%s) = %s, want %s", in, got, want)
		}
	}
	random := rand.New(rand.NewPCG(3, 4))
	for range 1000 {
		v := math.Exp(40*random.Float64()-20) * (random.Float64() - 0.5)
		data, err := shortJSON(v)
		if err != nil {
			t.Fatal(err)
		}
		if got := read[float64](t, data); math.Abs(got-v) > 0.5e-5*math.Abs(v) {
			t.Errorf("%g is written %s", v, data)
		}
	}
}

// unpackCells is the inverse of packCells, as in ui/src/merge.ts.
func unpackCells(p packedCells) []float64 {
	b, err := base64.StdEncoding.DecodeString(p.Cells)
	if err != nil {
		panic(err)
	}
	var steps []int
	at := func(i, j int) int {
		if i < 0 || j < 0 {
			return 0
		}
		return steps[j*p.NX+i]
	}
	for len(b) > 0 {
		u, shift := 0, 0
		for ; b[0] >= 0x80; b = b[1:] {
			u |= int(b[0]&0x7f) << shift
			shift += 7
		}
		u |= int(b[0]) << shift
		b = b[1:]
		d := u / 2
		if u%2 == 1 {
			d = -(u + 1) / 2
		}
		i, j := len(steps)%p.NX, len(steps)/p.NX
		steps = append(steps, at(i-1, j)+at(i, j-1)-at(i-1, j-1)+d)
	}
	out := make([]float64, len(steps))
	for i, s := range steps {
		out[i] = float64(s) * p.Max / cellSteps
	}
	return out
}

// TestPackCells packs maps and unpacks them: every cell is within half a step. With -update it writes the map that the
// page's own test unpacks.
func TestPackCells(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	smooth := func(nx, ny int) []float64 {
		out := make([]float64, nx*ny)
		for k := range out {
			x, y := float64(k%nx)/float64(nx), float64(k/nx)/float64(ny)
			out[k] = 120 * math.Exp(-3*(x-0.4)*(x-0.4)-5*(y-0.5)*(y-0.5))
		}
		return out
	}
	noise := make([]float64, 13*7)
	for i := range noise {
		noise[i] = 1e4 * random.Float64()
	}
	for _, tt := range []struct {
		name   string
		values []float64
		nx     int
	}{
		{"smooth", smooth(9, 5), 9},
		{"noise", noise, 13},
		{"dark", make([]float64, 12), 4},
		{"one row", []float64{0, 1, 0, 1}, 4},
		{"one column", []float64{1, 0, 1}, 1},
		{"none", nil, 4},
	} {
		p := packCells(tt.values, tt.nx)
		got := unpackCells(p)
		if len(got) != len(tt.values) {
			t.Fatalf("%s: %d cells of %d", tt.name, len(got), len(tt.values))
		}
		for i, v := range tt.values {
			if math.Abs(got[i]-v) > p.Max*(0.5/cellSteps+1e-12) {
				t.Errorf("%s: cell %d is %g, want %g", tt.name, i, got[i], v)
			}
		}
	}
	text, err := json.MarshalIndent(map[string]any{"values": noise, "packed": packCells(noise, 13)}, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	const name = "ui/test/cells.json"
	if *update {
		if err := os.WriteFile(name, append(text, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if data, err := os.ReadFile(name); err != nil || string(data) != string(text)+"\n" {
		t.Errorf("%s is not what this test makes (%v); run go generate ./internal/web", name, err)
	}
}
