package quantity

import "testing"

func TestThousands(t *testing.T) {
	for _, tt := range []struct {
		text        string
		d           Dim
		read, meant string // empty: no doubt
	}{
		{"1.400 mA", Current, "1.4 mA", "1400 mA"},
		{"1.000 lm", Flux, "1 lm", "1000 lm"},
		{"3.100 lm ± 5 %", Flux, "3.1 lm ± 5 %", "3100 lm ± 5 %"},
		{"-2.875 mV/K", VoltagePerKelvin, "-2.8750 mV/K", "-2875 mV/K"},
		{"12.345lm", Flux, "12.3450 lm", "12345 lm"},
		{"1.200 mm", Length, "1.2 mm", "1200 mm"},
		{"1.4 mA", Current, "", ""},
		{"1.40 mA", Current, "", ""},
		{"1.4000 mA", Current, "", ""},
		{"0.400 mA", Current, "", ""}, // nobody writes 0400
		{"1400.000 mA", Current, "", ""},
		{"1.400e3 mA", Current, "", ""},
		{"1.333", None, "", ""},      // a refractive index
		{"1.250 A", Current, "", ""}, // 1250 A: no lamp
		{"2.875 V", Voltage, "", ""}, // 2875 V: no lamp
		{"1.250 m", Length, "", ""},
		{"12.500 %", Ratio, "", ""},
		{"85.000 °C", Temperature, "", ""},
		{"1.400 mV", Current, "", ""},
		{"1.400", Current, "", ""}, // an error already
		{"", Current, "", ""},
	} {
		read, meant, ok := Thousands(tt.text, tt.d)
		if read != tt.read || meant != tt.meant || ok != (tt.read != "") {
			t.Errorf("Thousands(%q) = %q, %q, %t; want %q, %q", tt.text, read, meant, ok, tt.read, tt.meant)
			continue
		}
		if !ok {
			continue
		}
		// What is suggested is read as it says, and is in no doubt.
		want, lo, hi, err := ParseTolerance(tt.text, tt.d)
		got, lo2, hi2, err2 := ParseTolerance(read, tt.d)
		if err != nil || err2 != nil || got != want || lo != lo2 || hi != hi2 {
			t.Errorf("%q is %g, %q is %g (%v, %v)", tt.text, want, read, got, err, err2)
		}
		for _, text := range []string{read, meant} {
			if _, _, again := Thousands(text, tt.d); again {
				t.Errorf("%q, suggested for %q, is in doubt itself", text, tt.text)
			}
		}
	}
}

func TestParseUnambiguous(t *testing.T) {
	if x, err := ParseUnambiguous("1.4 mA", Current); err != nil || x != 1.4e-3 {
		t.Errorf("1.4 mA: %g, %v", x, err)
	}
	if _, err := ParseUnambiguous("1.4 V", Current); err == nil {
		t.Error("a voltage is taken for a current")
	}
	const want = `"1.400 mA" can be read in two ways; write "1400 mA" if its point parts thousands, else "1.4 mA"`
	if _, err := ParseUnambiguous("1.400 mA", Current); err == nil || err.Error() != want {
		t.Errorf("1.400 mA: %v, want %s", err, want)
	}
}
