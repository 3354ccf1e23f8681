package project

import "testing"

// TestTopologies finds a topology for each kind of driver.
func TestTopologies(t *testing.T) {
	for _, kind := range DriverKind("").Values() {
		if topologies[DriverKind(kind)] == nil {
			t.Errorf("a driver of kind %s has no topology", kind)
		}
	}
}
