package bench

import (
	"math"

	"lampwright/internal/project"
)

// function is what an instrument measures: the errors of its functions differ.
type function int

const (
	light function = iota
	photons
	volts
	amps
	watts
	ohms
	temperature
	speed
	wavelength
	ratio
)

// functionOf returns the function that a quantity is read with.
func functionOf(q project.ReadingQuantity) function {
	switch q {
	case project.ReadIlluminance:
		return light
	case project.ReadPPFD:
		return photons
	case project.ReadStringVoltage, project.ReadDriverVoltage, project.ReadSupplyVoltage:
		return volts
	case project.ReadStringCurrent:
		return amps
	case project.ReadMainsPower:
		return watts
	case project.ReadThermistorResistance:
		return ohms
	case project.ReadFanSpeed:
		return speed
	case project.ReadPeakWavelength, project.ReadPeakWidth:
		return wavelength
	case project.ReadFluxRatio:
		return ratio
	}
	return temperature
}

// String returns the function in words.
func (f function) String() string {
	return [...]string{
		"light", "photons", "voltage", "current", "power", "resistance", "temperature", "speed", "wavelength", "ratio",
	}[f]
}

// errorModel is the errors of a function of an instrument: those common to all its readings, and what is fresh in each.
type errorModel struct {
	scale  float64 // standard deviation of the logarithm of the common factor; 0 is none
	offset float64 // standard deviation of the common constant; 0 is none
	fresh  float64 // standard uncertainty of each reading, relative
	noise  float64 // constant part of it
}

// usual returns the errors of a kind of instrument whose datasheet states none.
//
// Sources: classes of illuminance meters DIN 5032-7, cited from memory, as expanded uncertainty with k = 2;
// thermocouples IEC 60584 class 1, ±1.5 K as a bound; the others are common practice, no source.
func usual(kind project.InstrumentKind, class project.MeterClass, f function) errorModel {
	switch f {
	case light:
		return errorModel{scale: classScale(class), fresh: 0.005}
	case photons:
		return errorModel{scale: 0.05, fresh: 0.005}
	case volts:
		return errorModel{scale: 0.005 / math.Sqrt(3), fresh: 0.0005}
	case amps:
		if kind == project.ClampMeter {
			return errorModel{scale: 0.02, offset: 0.02, fresh: 0.005}
		}
		return errorModel{scale: 0.01 / math.Sqrt(3), fresh: 0.002}
	case watts:
		return errorModel{scale: 0.015, offset: 0.35, fresh: 0.005}
	case ohms:
		return errorModel{scale: 0.005, fresh: 0.002}
	case speed:
		return errorModel{fresh: 0.01}
	case wavelength:
		return errorModel{offset: 0.6, noise: 0.5}
	case ratio:
		return errorModel{noise: 0.02}
	}
	if kind == project.InfraredThermometer {
		return errorModel{offset: 1.0, noise: 0.6}
	}
	return errorModel{offset: 0.7, noise: 0.3}
}

// classScale returns the standard deviation of the common factor of an illuminance meter of a class.
func classScale(c project.MeterClass) float64 {
	switch c {
	case project.ClassL:
		return 0.015
	case project.ClassA:
		return 0.025
	case project.ClassB:
		return 0.05
	}
	return 0.10
}

// errorsOf returns the errors of a function of an instrument: as its datasheet states them, else the usual ones. A
// stated bound b is b/√3. Source: JCGM100, 4.3.7 (rectangular distribution).
func errorsOf(in *project.Instrument, f function) errorModel {
	out := usual(in.Kind.S, in.Class.S, f)
	if in.Accuracy.SI > 0 && f != ratio {
		out.scale = in.Accuracy.SI / math.Sqrt(3)
	}
	if in.Offset.SI > 0 {
		out.offset = in.Offset.SI / math.Sqrt(3)
	}
	return out
}

// freshU returns the standard uncertainty of what is fresh in a reading of a value: noise, digits and resolution a,
// which is a/√12. Source: JCGM100, F.2.2.1.
func freshU(in *project.Instrument, f function, value float64) float64 {
	e := usual("", "", f)
	digits, step := 0.0, 0.0
	if in != nil {
		e, step = errorsOf(in, f), in.Resolution.SI
		digits = float64(in.AccuracyDigits.N) * step / math.Sqrt(3)
	}
	return math.Sqrt(sq(e.fresh*value) + sq(e.noise) + sq(digits) + sq(step)/12)
}

func sq(x float64) float64 { return x * x }

// cosineSpread returns the standard deviation of the logarithm of the error of a meter on a plane, where light comes
// from
// many directions: the directional index f₂ of its class, or that of a quantum sensor; common practice, no source.
func cosineSpread(f function, class project.MeterClass) float64 {
	switch {
	case f == photons, class == project.ClassB:
		return 0.03
	case class == project.ClassL, class == project.ClassA:
		return 0.015
	}
	return 0.06
}

// mismatch returns the standard deviation of the logarithm of the spectral mismatch of a meter for the light of a
// channel: of an illuminance meter by its class, of a quantum sensor without its maker's table of errors.
//
// Computed for response curves moved by 3 nm to 6 nm; common practice, no source.
func mismatch(f function, class project.MeterClass, white bool, peakNM float64) float64 {
	if f == photons {
		switch {
		case white:
			return 0.10
		case peakNM < 480:
			return 0.15
		case peakNM > 640:
			return 0.25
		}
		return 0.10
	}
	sd := 0.06
	switch {
	case white:
		sd = 0.03
	case peakNM < 480:
		sd = 0.20
	case peakNM > 645:
		sd = 0.12
	case peakNM > 610:
		sd = 0.08
	case peakNM > 580:
		sd = 0.05
	}
	if class == project.ClassL || class == project.ClassA {
		sd /= 2
	}
	return sd
}

// shownCurrent returns what a meter shows of a current a that flows for a fraction duty of the time [A]:
//
//	mean D a    true RMS √D a    AC RMS √(D(1−D)) a    AC average, scaled for sine waves: π/(2√2)·2 D(1−D) a
//
// Exact for rectangular pulses.
func shownCurrent(mode project.MeterMode, a, duty float64) float64 {
	switch mode {
	case project.MeterTrueRMS:
		return math.Sqrt(duty) * a
	case project.MeterACRMS:
		return math.Sqrt(duty*(1-duty)) * a
	case project.MeterACAverage:
		return math.Pi / (2 * math.Sqrt2) * 2 * duty * (1 - duty) * a
	}
	return duty * a
}
