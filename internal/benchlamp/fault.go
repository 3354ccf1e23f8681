package benchlamp

// Fault changes how the lamp is built or wired. The zero value is a lamp without fault. Faults that scale a value
// (dry joint, fan, lens) are factors on that value and need no Fault.
type Fault struct {
	Shorted  int     // channel with one emitter shorted: index + 1
	Open     int     // channel whose string is open: index + 1
	Inverted int     // channel with inverted PWM: index + 1
	Swapped  [2]int  // two channels whose strings are exchanged: indices + 1
	ByDriver bool    // of Swapped: readings are of the string of the driver of their channel; else of the string itself
	BetaK    float64 // of the thermistor that is fitted; 0: as stated
}

// other returns the channel that is exchanged with a channel, or the channel itself.
func (f Fault) other(channel int) int {
	switch channel + 1 {
	case f.Swapped[0]:
		return f.Swapped[1] - 1
	case f.Swapped[1]:
		return f.Swapped[0] - 1
	}
	return channel
}

// reads returns the string that is measured where a channel is read.
func (f Fault) reads(channel int) int {
	if f.ByDriver {
		return f.other(channel)
	}
	return channel
}

// drives returns the emitters, the duty and the driver of a string. A driver that is off stays dark, inverted or not.
func (f Fault) drives(channel int, emitters float64, m Mode) (n, d float64, driver int) {
	driver = f.other(channel)
	d = m.Duty[driver]
	if f.Inverted == channel+1 {
		d = 1 - d
	}
	if f.Open == channel+1 || m.off(driver) {
		d = 0
	}
	if f.Shorted == channel+1 {
		emitters--
	}
	return emitters, d, driver
}
