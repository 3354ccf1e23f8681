package benchlamp

// Fault changes how the lamp is built or wired. The zero value is a lamp without fault. Faults that scale a value
// (dry joint, fan, lens) are factors on that value and need no Fault.
type Fault struct {
	Shorted  int     // channel with one emitter shorted: index + 1
	Open     int     // channel whose string is open: index + 1
	Inverted int     // channel with inverted PWM: index + 1
	Swapped  [2]int  // two channels whose strings are exchanged: indices + 1
	OnlyRead bool    // Swapped exchanges what is read, and the drivers are right
	BetaK    float64 // of the thermistor that is fitted; 0: as stated
}

// reads returns the string that is measured where a channel is read.
func (f Fault) reads(channel int) int {
	switch channel + 1 {
	case f.Swapped[0]:
		return f.Swapped[1] - 1
	case f.Swapped[1]:
		return f.Swapped[0] - 1
	}
	return channel
}

// drives returns the emitters and the duty of a string.
func (f Fault) drives(channel int, emitters float64, duty []float64) (n, d float64) {
	d = duty[channel]
	if !f.OnlyRead {
		d = duty[f.reads(channel)]
	}
	if f.Inverted == channel+1 {
		d = 1 - d
	}
	if f.Open == channel+1 {
		d = 0
	}
	if f.Shorted == channel+1 {
		emitters--
	}
	return emitters, d
}
