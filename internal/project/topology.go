package project

import "lampwright/internal/drive"

// topologies is the circuit of each kind of driver.
var topologies = map[DriverKind]drive.Topology{
	DriverAC: drive.ACTopology, DriverBuck: drive.BuckTopology, DriverBoost: drive.BoostTopology, DriverLinear: drive.LinearTopology,
}

// Topology returns the circuit of a driver. A kind without one does not pass loading.
func (d *Driver) Topology() drive.Topology {
	t, ok := topologies[d.Kind.S]
	if !ok {
		panic("project: driver of kind " + string(d.Kind.S) + " has no topology")
	}
	return t
}
