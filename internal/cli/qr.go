package cli

import (
	"strings"

	"github.com/boombuler/barcode/qr"
)

// qrQuiet is the width of the light margin about a QR code in modules. Source: ISO18004, §7.3.9 (cited from memory).
const qrQuiet = 4

// qrStyle is black on white of the fixed part of the 256 colours, which neither a dark nor a light terminal changes.
const qrStyle style = "38;5;16;48;5;231"

// qrLines returns a QR code of a text with its margin. A character is two modules, one above the other, dark where it
// is drawn.
func qrLines(text string) ([]string, error) {
	code, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return nil, err
	}
	side := code.Bounds().Dx()
	dark := func(x, y int) bool {
		if x < 0 || y < 0 || x >= side || y >= side {
			return false
		}
		red, _, _, _ := code.At(x, y).RGBA()
		return red == 0
	}
	var lines []string
	for y := -qrQuiet; y < side+qrQuiet; y += 2 {
		var b strings.Builder
		for x := -qrQuiet; x < side+qrQuiet; x++ {
			switch above, below := dark(x, y), dark(x, y+1); {
			case above && below:
				b.WriteRune('█')
			case above:
				b.WriteRune('▀')
			case below:
				b.WriteRune('▄')
			default:
				b.WriteByte(' ')
			}
		}
		lines = append(lines, b.String())
	}
	return lines, nil
}

// printQR prints a QR code in a terminal that shows colours and is wide enough; elsewhere nothing.
func (r *run) printQR(text string) error {
	if !r.colour {
		return nil
	}
	lines, err := qrLines(text)
	if err != nil || displayWidth(lines[0]) > r.width {
		return err
	}
	for _, line := range lines {
		r.println(r.paint(qrStyle, line))
	}
	return nil
}
