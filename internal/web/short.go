package web

import (
	"encoding/base64"
	"encoding/json"
	"math"
	"strconv"
	"sync"
)

// shownDigits is the number of significant digits of a number in an answer; texts that a page shows have fewer.
const shownDigits = 6

// shortJSON returns v as JSON whose numbers have at most shownDigits significant digits.
func shortJSON(v any) ([]byte, error) {
	data, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return shortNumbers(data), nil
}

// MarshalJSON writes a lamp with short numbers.
func (v *lampView) MarshalJSON() ([]byte, error) {
	if v.sent != nil {
		return v.sent()
	}
	type plain lampView
	return shortJSON((*plain)(v))
}

// forState returns the lamp as the state of the project has it, written once: without pictures, which are most of its
// bytes and which only some views show.
func (v *lampView) forState() *lampView {
	plain := *v
	plain.Pictures = nil
	return &lampView{sent: sync.OnceValues(plain.MarshalJSON)}
}

// MarshalJSON writes the differences with short numbers.
func (d *previewDiff) MarshalJSON() ([]byte, error) {
	type plain previewDiff
	return shortJSON((*plain)(d))
}

// shortNumbers rounds the numbers of a JSON text to shownDigits significant digits; whole numbers and texts stay.
func shortNumbers(data []byte) []byte {
	out := make([]byte, 0, len(data))
	for i := 0; i < len(data); {
		from := i
		switch c := data[i]; {
		case c == '"':
			for i++; data[i] != '"'; i++ {
				if data[i] == '\\' {
					i++
				}
			}
			i++
		case c == '-' || '0' <= c && c <= '9':
			digits, whole := 0, true
			for ; i < len(data) && inNumber(data[i]); i++ {
				switch c := data[i]; {
				case '0' <= c && c <= '9':
					digits++
				case c != '-' || i > from:
					whole = false
				}
			}
			if !whole && digits > shownDigits {
				if x, err := strconv.ParseFloat(string(data[from:i]), 64); err == nil {
					out = strconv.AppendFloat(out, x, 'g', shownDigits, 64)
					continue
				}
			}
		default:
			i++
		}
		out = append(out, data[from:i]...)
	}
	return out
}

// inNumber reports whether a byte belongs to a number of JSON.
func inNumber(c byte) bool {
	return '0' <= c && c <= '9' || c == '-' || c == '+' || c == '.' || c == 'e' || c == 'E'
}

// cellSteps is the number of steps from 0 to the maximum of packed cells: four times the colours of a map.
const cellSteps = 1023

// packedCells are the cells of a map while its values move: whole steps of the maximum.
type packedCells struct {
	NX    int     `json:"nx"`
	Max   float64 `json:"max"`
	Cells string  `json:"cells"` // base64 of the differences, see packCells
}

// packCells returns the cells of a map, row by row with nx cells in a row, in steps of a 1023rd of their maximum. Each
// is written as its difference from left + below − lower left, which is small where a map is smooth: as an unsigned
// number, even for differences from 0 up and odd for those below, in groups of 7 bits, the lowest group first, with
// the top bit set in all but the last one. Cells must be finite and not negative.
func packCells(values []float64, nx int) packedCells {
	p := packedCells{NX: nx}
	for _, v := range values {
		p.Max = math.Max(p.Max, v)
	}
	steps := make([]int, len(values))
	at := func(i, j int) int {
		if i < 0 || j < 0 {
			return 0
		}
		return steps[j*nx+i]
	}
	var b []byte
	for k, v := range values {
		if p.Max > 0 {
			steps[k] = int(math.Round(v / p.Max * cellSteps))
		}
		i, j := k%nx, k/nx
		d := steps[k] - (at(i-1, j) + at(i, j-1) - at(i-1, j-1))
		u := uint(2 * d)
		if d < 0 {
			u = uint(-2*d - 1)
		}
		for ; u >= 0x80; u >>= 7 {
			b = append(b, byte(u)|0x80)
		}
		b = append(b, byte(u))
	}
	p.Cells = base64.StdEncoding.EncodeToString(b)
	return p
}
