package controller

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
)

// The folder is complete, licensed in each file, and its README has the tables of the design.
func TestSources(t *testing.T) {
	f := Firmware{
		Title: "Reef | of\nmine", Config: openConfig(),
		Wiring: []Wire{{"PWM 1", "white", "buck 1", "10 kΩ to ground"}, {"PWM 2", "a|b", "", ""}},
		Notes:  []string{"Zone rules of 2026a."},
	}
	files, err := Sources(f)
	if err != nil {
		t.Fatal(err)
	}
	byName := map[string]string{}
	for _, file := range files {
		byName[file.Name] = string(file.Data)
		if strings.Contains(string(file.Data), "{{") {
			t.Errorf("%s has a place that is not filled", file.Name)
		}
		code := strings.HasSuffix(file.Name, ".c") || strings.HasSuffix(file.Name, ".h")
		if code && !strings.HasPrefix(string(file.Data), "/* SPDX-License-Identifier: 0BSD\n") {
			t.Errorf("%s does not begin with its licence", file.Name)
		}
		if bytes.Contains(file.Data, []byte("\r")) || !bytes.HasSuffix(file.Data, []byte("\n")) {
			t.Errorf("%s is no text of whole lines", file.Name)
		}
	}
	image, err := f.Config.Image()
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"LICENSE": "BSD Zero Clause License", "lc1.c": "lc1_step", "lc1.h": "lc1_core", "lc1_app.c": "lc1_app_poll",
		"lc1_app.h": "lc1_app_start", "lc1_hal.h": "lc1_hal_feed", "lc1_hal_template.c": "lc1_hal_safe_outputs",
		"lc1_main.c":   "int main(void)",
		"lc1_lut.c":    "32438U,",
		"lc1_config.c": "0x4CU, 0x43U, 0x31U, 0x43U, 0x01U, 0x00U",
		"lc1_config.h": fmt.Sprintf("#define LC1_CONFIG_SIZE %dU", len(image)),
		"README.md":    "| PWM 2 | a\\|b |  |  |",
	} {
		if !strings.Contains(byName[name], want) {
			t.Errorf("%s does not contain %q", name, want)
		}
	}
	for _, want := range []string{
		"# Controller of Reef \\| of mine", "| PWM 1 | white | buck 1 | 10 kΩ to ground |", "- Zone rules of 2026a.",
		"**Warning: fire", "thermal cut-out", "09:00:00 0.0 %, 10:00:00 100.0 %",
		"| limit of the power of all channels | 80.00 W |",
		"| soft start | 29.8 s from 0 to 100 % |", fmt.Sprintf("%d bytes, CRC-32 %08x", len(image), imageSum(image)),
	} {
		if !strings.Contains(byName["README.md"], want) {
			t.Errorf("README.md does not contain %q", want)
		}
	}
	f.Config.Slew, f.Config.Zone = 0, nil
	if files, err := Sources(f); files != nil || err == nil || strings.Count(err.Error(), "\n") != 1 {
		t.Errorf("%d files, %v", len(files), err)
	}
}
