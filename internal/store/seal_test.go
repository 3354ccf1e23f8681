package store

import "testing"

// TestSeal wants a checksum that covers the version, the key and each byte of the data.
func TestSeal(t *testing.T) {
	sealed := Seal("heat-a", []byte("unit responses"))
	if data, ok := unseal("heat-a", sealed); !ok || string(data) != "unit responses" {
		t.Errorf("%q, %v", data, ok)
	}
	if _, ok := unseal("heat-b", sealed); ok {
		t.Error("another key was believed")
	}
	for i := range sealed {
		spoilt := append([]byte(nil), sealed...)
		spoilt[i] ^= 1
		if _, ok := unseal("heat-a", spoilt); ok {
			t.Errorf("byte %d was changed, and the file was believed", i)
		}
	}
	if checksum(formatVersion, "heat-a", nil) == checksum(formatVersion-1, "heat-a", nil) {
		t.Error("another version has the same checksum")
	}
}
