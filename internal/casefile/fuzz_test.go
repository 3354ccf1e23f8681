package casefile

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lampwright/internal/heat"
)

// FuzzHeat: whatever a case holds, there is an answer with finite figures or an error in words, within seconds, and
// never a panic. The board is solved on small grids, so that the reader gets most of the time.
func FuzzHeat(f *testing.F) {
	f.Add(
		[]byte(
			`{"board":{"shape":"disc","radius":0.01,"holes":[{"x":0.005,"radius":0.001}]},"layers":[{"t":0.001,"k":100,"rho":2700,"cp":900}],"back":{"patches":[{"wx":0.01,"wy":0.01,"h_contact":100}]},"sink":{"G":1,"C":10},"times":[1,5],"sources":[{"wx":0.003,"wy":0.003,"P":1}]}`,
		),
	)
	f.Add(
		[]byte(
			`{"board":{"shape":"polygon","points":[[0,0],[0.02,0],[0.02,0.01],[0,0.02]]},"layers":[{"t":0.001,"k_xy":1,"k_z":0.3},{"t":0.0001,"k":385,"region":[{"x":0.005,"y":0.005,"wx":0.004,"wy":0.004}],"rest":0.1,"r_below":1e-6}],"back":{"h":10},"top":{"h":5,"patch":{"x":0.01,"y":0.005,"wx":0.002,"wy":0.002,"h":100}},"sources":[{"name":"a","x":0.005,"y":0.005,"wx":0.003,"wy":0.003,"P":1}],"probes":[{"name":"p","x":0.001,"y":0.001,"z":0.0005}]}`,
		),
	)
	f.Add(
		[]byte(
			`{"board":{"shape":"rect","lx":0.02,"ly":0.02},"layers":[{"t":0.001,"k":100,"vias":{"areas":[{"radius":0.001}],"k_z":5}}],"back":{"h":10},"sources":[{"wx":0.001,"wy":0.001,"P":1,"submount":{"wx":0.002,"wy":0.002,"t":0.001,"k":20}}],"probes":[{"z":0}]}`,
		),
	)
	f.Fuzz(func(t *testing.T, data []byte) {
		began := time.Now()
		ctx, cancel := context.WithTimeout(context.Background(), 4*time.Second)
		defer cancel()
		d := document{"case.json", data}
		n, err := d.parse()
		if err != nil || !isHeat(n) {
			return
		}
		r, err := runHeat(ctx, d, n, heat.Options{RelErr: 0.1, Across: 2, Grids: 1, MaxCells: 4000})
		if took := time.Since(began); took > 20*time.Second {
			t.Fatalf("%v for %d bytes", took, len(data))
		}
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		check := func(g HeatFigures) {
			all := []float64{g.TMax}
			for _, v := range g.MeanSource {
				all = append(all, v)
			}
			for _, v := range g.Probes {
				all = append(all, v)
			}
			for _, v := range all {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%g among the figures of %s", v, data)
				}
			}
		}
		switch v := r.Results.(type) {
		case HeatFigures:
			check(v)
		case []HeatMoment:
			for _, m := range v {
				check(m.HeatFigures)
			}
		}
	})
}

// FuzzRead: whatever a text holds, it is read or refused with a position, and never a panic; nothing is computed.
func FuzzRead(f *testing.F) {
	files, err := filepath.Glob("testdata/*/*/*.json")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range append(files, "testdata/heat/open-2.json") {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add(
		[]byte(
			`{"tank":{"inner_length_m":1e308},"pattern":{"kind":"table","points":[[0,1],[90,1]]},"sources":[{"pattern":null}]}`,
		),
	)
	f.Add([]byte(`{"model":"LC1","ticks":9,"config":{"fold":[[1,2]],"fan":{"has_tach":1}},"signals":{"adc":[[0,1]]}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		d := document{"case.json", data}
		n, err := d.parse()
		if err == nil {
			switch {
			case isController(n):
				var c controllerCase
				if c, err = decodeController(d, n); err == nil {
					_, err = c.trace(d, n)
				}
			case isHeat(n):
				var c *heatCase
				if c, err = decodeHeat(d, n); err == nil {
					if _, err = c.prepare(); err != nil {
						err = d.placed(n, err)
					}
				}
			case isLight(n) && n.kind == object:
				var c tankCase
				if c, _, err = decodeTank(d, n); err == nil {
					if _, err = c.prepare(); err != nil {
						err = d.placed(n, err)
					}
				}
			}
		}
		if err != nil && !strings.HasPrefix(err.Error(), "case.json:") {
			t.Fatalf("an error without a position: %v", err)
		}
	})
}

// FuzzProgramme: whatever a case of a programme or of the sky holds, there is an answer that is JSON or an error in
// words, within seconds, and never a panic.
func FuzzProgramme(f *testing.F) {
	for _, name := range []string{"P_autumn", "S_open"} {
		data, err := os.ReadFile("testdata/topics/" + name + ".json")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte(`{"topic":"programme","inputs":{"zone":"Europe/Berlin","year":2028,"standard_time":true,"channels":[` +
		`{"name":"a","shape":"L*","points":[["22:00",0.5],{"minute":90,"setting":0}],"moon":true},` +
		`{"name":"b","sun":{"lat":50,"lon":9,"noon":"13:00","h_ref":40}}],"clouds":{"amount":0.4,"mean":0.7},` +
		`"siesta":{"window":[720,800],"factor":0.3},"acclimation":{"start_day":9900,"days":9,"from":0.4},` +
		`"led_limit_W":3,"system":{"tariff":[[360,1320,0.4],{"from":1320,"to":360,"price":0.2}]}}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		d := document{"case.json", data}
		n, err := d.parse()
		if err != nil || !isTopic(n) || n.get("topic").scalar != "programme" && n.get("topic").scalar != "sky" {
			return
		}
		began := time.Now()
		out, err := runTopic(context.Background(), d, n)
		if took := time.Since(began); took > 60*time.Second {
			t.Fatalf("%v for %d bytes", took, len(data))
		}
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		if _, err := json.Marshal(out); err != nil {
			t.Fatal(err)
		}
	})
}
