package controller

import (
	"embed"
	"fmt"
	"hash/crc32"
	"path"
	"strings"
)

// folder is the part of the firmware that no design changes.
//
//go:embed c/*.c c/*.h c/LICENSE c/README.md.in
var folder embed.FS

// licence is the head of the generated files.
const licence = `/* SPDX-License-Identifier: 0BSD
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby
 * granted. The software is provided "as is", without warranty of any kind: see LICENSE.
 *
`

// A File is one file of the firmware folder.
type File struct {
	Name string
	Data []byte
}

// A Wire is one row of the wiring table.
type Wire struct{ Output, Channel, Driver, Notes string }

// Firmware is what the folder is made of.
type Firmware struct {
	Title  string // name of the design
	Config Config
	Wiring []Wire
	Notes  []string // sentences on how the configuration was made
}

// Sources returns the files of the firmware folder. A configuration out of bounds is an error, with every problem.
func Sources(f Firmware) ([]File, error) {
	image, err := f.Config.Image()
	if err != nil {
		return nil, fmt.Errorf("configuration of the controller: %w", err)
	}
	entries, err := folder.ReadDir("c")
	if err != nil {
		return nil, fmt.Errorf("read the embedded firmware: %w", err)
	}
	var out []File
	for _, e := range entries {
		data, err := folder.ReadFile(path.Join("c", e.Name()))
		if err != nil {
			return nil, fmt.Errorf("read the embedded firmware: %w", err)
		}
		name, isTemplate := strings.CutSuffix(e.Name(), ".in")
		if isTemplate {
			data = []byte(f.readme(string(data), image))
		}
		out = append(out, File{name, data})
	}
	return append(out, File{"lc1_config.c", configSource(image)}, File{"lc1_config.h", configHeader(image)},
		File{"lc1_lut.c", lutSource()}), nil
}

// numbers returns C source of an array's numbers, some to a line.
func numbers[T uint8 | uint16](values []T, format string, perLine int) string {
	var b strings.Builder
	for i, v := range values {
		switch {
		case i%perLine == 0:
			b.WriteString("\n\t")
		default:
			b.WriteByte(' ')
		}
		fmt.Fprintf(&b, format+",", v)
	}
	return b.String()
}

func configSource(image []byte) []byte {
	return []byte(licence + " * Configuration of the design: the image that lc1_load reads. Generated: do not edit.\n" +
		" */\n#include \"lc1_config.h\"\n\nconst uint8_t lc1_config_image[LC1_CONFIG_SIZE] = {" +
		numbers(image, "0x%02XU", 16) + "\n};\n")
}

func configHeader(image []byte) []byte {
	return fmt.Appendf(nil, licence+` * Configuration of the design. Generated: do not edit.
 */
#ifndef LC1_CONFIG_H
#define LC1_CONFIG_H

#include <stdint.h>

#define LC1_CONFIG_SIZE %dU
#define LC1_CONFIG_CRC UINT32_C(0x%08X) /* of the bytes before it in the image */

extern const uint8_t lc1_config_image[LC1_CONFIG_SIZE];

#endif
`, len(image), imageSum(image))
}

func lutSource() []byte {
	table := lightnessTable()
	return []byte(licence + " * Relative luminance in Q15 at CIE 1976 lightness L* = 100 k/256: ((L* + 16)/116)^3 " +
		"above 8, else\n * L* 27/24389 (CIE 015:2018). Generated: do not edit.\n */\n#include \"lc1.h\"\n\n" +
		"const uint16_t lc1_lut[LC1_LUT_ROWS] = {" + numbers(table[:], "%dU", 12) + "\n};\n")
}

// imageSum returns the CRC-32 that an image states.
func imageSum(image []byte) uint32 { return crc32.ChecksumIEEE(image[:len(image)-imageCRC]) }

// cell returns a text as one cell of a table.
func cell(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	return strings.ReplaceAll(s, "|", "\\|")
}

func (f *Firmware) readme(template string, image []byte) string {
	var wiring, notes []string
	for _, w := range f.Wiring {
		cells := []string{cell(w.Output), cell(w.Channel), cell(w.Driver), cell(w.Notes)}
		wiring = append(wiring, "| "+strings.Join(cells, " | ")+" |")
	}
	for _, n := range f.Notes {
		notes = append(notes, "- "+strings.Join(strings.Fields(n), " "))
	}
	return strings.NewReplacer(
		"{{TITLE}}", cell(f.Title), "{{WIRING}}", strings.Join(wiring, "\n"), "{{NOTES}}", strings.Join(notes, "\n"),
		"{{CONFIG}}", strings.Join(f.Config.table(), "\n"),
		"{{SIZE}}", fmt.Sprint(len(image)), "{{CRC}}", fmt.Sprintf("%08x", imageSum(image)),
	).Replace(template)
}

// percent returns a Q15 number as text.
func percent(v int64) string { return fmt.Sprintf("%.1f %%", 100*float64(v)/One) }

// clockText returns a second of the day as text.
func clockText(s int64) string { return fmt.Sprintf("%02d:%02d:%02d", s/3600, s/60%60, s%60) }

// watts returns a power in 10 mW as text.
func watts(v int64) string { return fmt.Sprintf("%.2f W", float64(v)/100) }

// seconds returns the time of a change by One at a step each tick as text.
func seconds(step int64) string {
	return fmt.Sprintf("%.1f s from 0 to 100 %%", float64((One+step-1)/step)/(1000/TickMS))
}

// table returns the configuration as rows of a table.
func (c *Config) table() (rows []string) {
	add := func(name, format string, a ...any) {
		rows = append(rows, "| "+name+" | "+fmt.Sprintf(format, a...)+" |")
	}
	for i := range c.Channels {
		ch := &c.Channels[i]
		var points []string
		for _, p := range ch.Points {
			points = append(points, clockText(p[0])+" "+percent(p[1]))
		}
		curve := "linear"
		if ch.Curve == Lightness {
			curve = "lightness"
		}
		add(fmt.Sprintf("channel %d, programme (%s)", i, curve), "%s", strings.Join(points, ", "))
		add(fmt.Sprintf("channel %d, power at full duty; least duty; dark below", i), "%s; %s; %s",
			watts(ch.Weight10mW), percent(ch.MinDuty), percent(ch.OffBelow))
	}
	add("limit of the power of all channels", "%s", watts(c.PMax10mW))
	add("change of a setting", "%s", seconds(c.Slew))
	add("soft start", "%s", seconds(c.SoftStep))
	add("change of the foldback gain", "%s", seconds(c.FoldSlew))
	add("safe level; largest gain after a fan failure", "%s; %s", percent(c.LimpLevel), percent(c.FanfailGain))
	if c.Acclimation.From == One {
		add("acclimation", "none")
	} else {
		add("acclimation", "from %s over %d days from day %d after 2000-01-01 on",
			percent(c.Acclimation.From), c.Acclimation.Days, c.Acclimation.StartDay)
	}
	add("foldback: code and gain", "%s", codes(c.Fold))
	add("codes: short, trip, release, open", "%d, %d, %d, %d", c.ADCShort, c.ADCTrip, c.ADCRelease, c.ADCOpen)
	add("fan: code and duty", "%s; off below %s; dead zone %d codes; kick %d ms",
		codes(c.Fan.Curve), percent(c.Fan.Min), c.Fan.Hyst, c.Fan.KickTicks*TickMS)
	if c.Fan.HasTach {
		add("fan failure", "below %d rpm, %d ms after the start", c.Fan.MinRPM, c.Fan.TachDelayTicks*TickMS)
	}
	add("supply: dark below, back from", "%.2f V, %.2f V", float64(c.VinLowMV)/1000, float64(c.VinOKMV)/1000)
	add("changes of the local clock", "%d", len(c.Zone))
	return rows
}

// codes returns a table of codes as text.
func codes(rows [][2]int64) string {
	var out []string
	for _, r := range rows {
		out = append(out, fmt.Sprintf("%d %s", r[0], percent(r[1])))
	}
	return strings.Join(out, ", ")
}
