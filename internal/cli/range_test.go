package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestImpossibleValues wants values refused that no lamp, room or iron has, with the range: flags by their name, keys
// of a file with line and column.
func TestImpossibleValues(t *testing.T) {
	demo := "../../examples/propagation-bench"
	text, err := os.ReadFile(demo + "/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	with := func(from, to string) string {
		if !strings.Contains(string(text), from) {
			t.Fatalf("the demo does not contain %q", from)
		}
		dir := t.TempDir()
		design := strings.Replace(string(text), from, to, 1)
		if err := os.WriteFile(filepath.Join(dir, "lamp.yaml"), []byte(design), 0o644); err != nil {
			t.Fatal(err)
		}
		return dir
	}
	for _, tt := range []struct {
		args []string
		want string
	}{
		{[]string{"mix", "--ppfd", "1e308 µmol/m²/s", demo}, "--ppfd: \"1e308 µmol/m²/s\" is out of the range of"},
		{[]string{"mix", "--lux", "1e308 lx", demo}, "--lux: \"1e308 lx\" is out of the range of"},
		{[]string{"solder", "--tip-temperature", "1e308 °C", demo}, "its magnitude is 0, or 1 K to 3000 K"},
		{[]string{"solder", "--tip-temperature", "601 °C", demo}, "it must be 100 °C to 600 °C"},
		{[]string{"solder", "--tip-temperature", "99 °C", demo}, "it must be 100 °C to 600 °C"},
		{[]string{"solder", "--iron-power", "1001 W", demo}, "it must be 1 W to 1000 W"},
		{[]string{"solder", "--iron-power", "0 W", demo}, "it must be 1 W to 1000 W"},
		{[]string{"review", with("length: 1 m,", "length: 1 µm,")}, "lamp.yaml:7:20: length \"1 µm\" is out of range"},
		{[]string{"review", with("length: 1 m,", "length: 51 m,")}, "it must be at most 50 m"},
		{[]string{"review", with("price: 5 EUR", "price: 1e308 EUR")}, "is 0, or 1e-6 EUR to 1000000 EUR"},
	} {
		var out, errOut bytes.Buffer
		if status := Main(tt.args, &out, &errOut); status != statusBad || !strings.Contains(errOut.String(), tt.want) {
			t.Errorf("%q: status %d, %s\nwant %s", tt.args, status, errOut.String(), tt.want)
		}
	}
}
