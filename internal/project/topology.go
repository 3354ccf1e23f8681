package project

import "lampwright/internal/drive"

// topologies is the circuit of each kind of driver.
var topologies = map[DriverKind]drive.Topology{
	DriverAC: drive.ACInput, DriverBuck: drive.Buck, DriverBoost: drive.Boost, DriverLinear: drive.Dropper,
}

// Topology returns the circuit of a driver. A kind without one does not pass loading.
func (d *Driver) Topology() drive.Topology {
	t, ok := topologies[d.Kind.S]
	if !ok {
		panic("project: driver of kind " + string(d.Kind.S) + " has no topology")
	}
	return t
}
