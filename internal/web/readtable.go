package web

import (
	"fmt"
	"math"
	"net/http"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// maxTable bounds the points of a table.
const maxTable = 1000

// tableDoubts is what speaks against a table that was read off a diagram.
type tableDoubts struct {
	Doubts []project.TableDoubt `json:"doubts"`
}

// table checks a table that was read off a diagram of a datasheet.
func (s *Server) table(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Kind   string      `json:"kind"` // emitters
		Key    string      `json:"key"`  // forward_voltage
		Points [][2]string `json:"points"`
		TestX  string      `json:"test_x"` // at which the datasheet states a value; empty where it is not known
		TestY  string      `json:"test_y"` // that value
	}
	if !decode(w, r, &in) {
		return
	}
	key, ok := curveKey(in.Kind, in.Key)
	switch {
	case !ok:
		s.fail(w, fmt.Errorf("there is no curve %q of %s", in.Key, in.Kind))
		return
	case len(in.Points) > maxTable:
		s.fail(w, fmt.Errorf("%d points; a table has at most %d", len(in.Points), maxTable))
		return
	}
	answer(w, http.StatusOK, tableDoubts{readTable(in.Kind, key, in.Points, in.TestX, in.TestY)})
}

func curveKey(kind, key string) (source.Key, bool) {
	for _, k := range partKinds() {
		for _, c := range k.Keys {
			if k.Kind == kind && c.Key == key && c.Curve {
				return c, true
			}
		}
	}
	return source.Key{}, false
}

// readTable reads a table of texts and returns what speaks against it: values that are none, or else the doubts.
func readTable(kind string, key source.Key, points [][2]string, testX, testY string) []project.TableDoubt {
	xd, _ := quantity.ByName(key.X)
	yd, _ := quantity.ByName(key.Y)
	t := project.ReadTable{Kind: kind, Key: key}
	bad := []project.TableDoubt{}
	number := func(text string, d quantity.Dim, rows []int) float64 {
		v, err := quantity.Parse(text, d)
		if err != nil {
			bad = append(bad, project.TableDoubt{Rows: rows, Text: err.Error()})
		}
		return v
	}
	stated := func(text string, d quantity.Dim) float64 {
		if text == "" {
			return math.NaN()
		}
		return number(text, d, []int{})
	}
	for i, p := range points {
		t.X, t.Y = append(t.X, number(p[0], xd, []int{i})), append(t.Y, number(p[1], yd, []int{i}))
	}
	t.TestX, t.TestY = stated(testX, xd), stated(testY, yd)
	if len(bad) > 0 {
		return bad
	}
	return append(bad, t.Doubts()...)
}
