package cli

import (
	"bytes"
	"os"
	"testing"
)

func BenchmarkColdAdhoc(b *testing.B) {
	for b.Loop() {
		os.RemoveAll("/tmp/ltf/.lampwright-cache")
		var out, e bytes.Buffer
		Main([]string{"review", "/tmp/ltf"}, &out, &e)
	}
}
