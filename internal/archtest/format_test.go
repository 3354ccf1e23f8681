package archtest

import (
	"bytes"
	"flag"
	"os"
	"testing"

	"lampwright/internal/cli"
)

var update = flag.Bool("update", false, "write the pages that are made from the code")

// TestFormatPages holds the pages of the file format against what the program prints of itself.
// `go test ./internal/archtest -run FormatPages -update` writes them.
func TestFormatPages(t *testing.T) {
	for _, page := range []struct{ path, what string }{
		{"docs/format.md", "reference"},
		{"docs/lamp.schema.json", "schema"},
		{"docs/parts.schema.json", "parts-schema"},
		{"docs/readings.schema.json", "readings-schema"},
		{"docs/calibration.schema.json", "calibration-schema"},
	} {
		var out, errOut bytes.Buffer
		if status := cli.Main([]string{"format", page.what}, &out, &errOut); status != 0 {
			t.Fatalf("lampwright format %s ended with %d: %s", page.what, status, errOut.String())
		}
		path := root + "/" + page.path
		if *update {
			if err := os.WriteFile(path, out.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		have, err := os.ReadFile(path)
		if err != nil {
			t.Errorf("%v; write it with go test ./internal/archtest -run FormatPages -update", err)
			continue
		}
		if !bytes.Equal(have, out.Bytes()) {
			t.Errorf("%s is not what `lampwright format %s` prints; write it anew with go test ./internal/archtest -run FormatPages -update", page.path, page.what)
		}
	}
}
