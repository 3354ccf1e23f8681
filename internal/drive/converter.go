package drive

import (
	"fmt"
	"math"
)

// Buck is a buck stage at its working point, in continuous conduction.
type Buck struct {
	InV, OutV, CurrentA      float64 // input, string, mean LED current
	InductanceH, FrequencyHz float64
	SenseOhm                 float64
	SenseCarriesBoth         bool // the sense resistor carries the freewheel current too (high-side sense)
	InductorOhm              float64
	SwitchOhm                float64 // on-resistance when hot, about 1.5 of that at 25 °C (rule of thumb)
	DiodeV                   float64 // freewheel diode
}

// rates returns the volts across the inductor while the switch conducts and while it does not.
func (b Buck) rates() (upV, downV float64) {
	down := b.InductorOhm
	if b.SenseCarriesBoth {
		down += b.SenseOhm
	}
	return b.InV - b.OutV - b.CurrentA*(b.SenseOhm+b.InductorOhm+b.SwitchOhm), b.OutV + b.DiodeV + b.CurrentA*down
}

// BuckState is the steady cycle of a buck stage. Currents in amperes.
type BuckState struct {
	Duty          float64
	RippleA       float64 // peak to peak; textbooks often call half of it Δi
	PeakA         float64
	ValleyA       float64
	InductorRMSA  float64
	SwitchRMSA    float64
	DiodeMeanA    float64
	DiodeRMSA     float64
	InputCapRMSA  float64
	Continuous    bool    // the current does not reach nought within the cycle
	SaturationA   float64 // that the inductor should stand hot: 1.2 of the peak, common practice
	RippleFlicker float64 // percent flicker if the LEDs carry the whole ripple
	Notes         []string
}

// Steady returns the steady cycle of the stage:
//
//	D = v_dn/(v_up + v_dn)    ΔI = v_up·D/(L·f)
//	I_L,rms = √(I² + ΔI²/12)    I_sw,rms = √D·I_L,rms    I_D = (1 − D)·I    I_D,rms = √(1 − D)·I_L,rms
//	I_Cin,rms = √(D·(I²·(1 − D) + ΔI²/12))
//
// v_up = V_in − V − I·(R_s + R_L + R_on), v_dn = V + V_D + I·R_L (+ I·R_s where the sense resistor carries both).
// Valid in continuous conduction, ΔI < 2·I; otherwise a note says so. It is an error if the input cannot drive the
// string. Source: Erickson2020, ch. 2–3 and 5 (volt-second and charge balance; its Δi is half of ΔI).
func (b Buck) Steady() (BuckState, error) {
	var s BuckState
	up, down := b.rates()
	if !(up > 0) || !(down > 0) {
		return s, fmt.Errorf("%g V in cannot drive %g V at %g A with a buck stage: %.3g V are left for the inductor", b.InV, b.OutV, b.CurrentA, up)
	}
	if !(b.InductanceH > 0) || !(b.FrequencyHz > 0) || !(b.CurrentA > 0) {
		return s, fmt.Errorf("inductance %g H, frequency %g Hz and current %g A must be above zero", b.InductanceH, b.FrequencyHz, b.CurrentA)
	}
	s.Duty = down / (up + down)
	s.RippleA = up * s.Duty / (b.InductanceH * b.FrequencyHz)
	s.fill(b.CurrentA)
	return s, nil
}

// fill derives the currents of a buck cycle from duty, ripple and mean current.
func (s *BuckState) fill(i float64) {
	d, r2 := s.Duty, s.RippleA*s.RippleA/12
	s.PeakA, s.ValleyA = i+s.RippleA/2, i-s.RippleA/2
	s.InductorRMSA = math.Sqrt(i*i + r2)
	s.SwitchRMSA = math.Sqrt(d) * s.InductorRMSA
	s.DiodeMeanA = (1 - d) * i
	s.DiodeRMSA = math.Sqrt(1-d) * s.InductorRMSA
	s.InputCapRMSA = math.Sqrt(d * (i*i*(1-d) + r2))
	s.Continuous = s.RippleA < 2*i
	s.SaturationA = 1.2 * s.PeakA
	s.RippleFlicker = 100 * s.RippleA / (2 * i)
	if !s.Continuous {
		s.Notes = append(s.Notes, "the ripple is more than twice the current: the stage leaves continuous conduction and these figures do not hold")
	}
}

// InductorForRipple returns the inductance that gives a wanted ripple in henries: L = V·(1 − V/V_in)/(r·I·f).
//
// r is the ripple peak to peak over the mean current; take the largest V_in, where the ripple is worst.
// Source: Erickson2020, ch. 2.
func InductorForRipple(inV, outV, currentA, frequencyHz, r float64) float64 {
	return outV * (1 - outV/inV) / (r * currentA * frequencyHz)
}

// Switching is what the switching losses of a stage depend on, all of it optional.
type Switching struct {
	OnS, OffS      float64 // overlap times, from gate-drain charge over gate current
	NodeF          float64 // capacitance of the switched node
	GateC, GateV   float64 // gate charge and gate voltage
	CoreW          float64 // of the inductor, from its datasheet
	InputCapESROhm float64
	QuiescentA     float64
}

// Losses is where the power of a stage goes, in watts.
type Losses struct {
	SenseW, SwitchW, OverlapW, NodeW, GateW, DiodeW, InductorW, InputCapW, ControllerW float64

	TotalW     float64
	Efficiency float64 // LED power over LED power and losses
	Notes      []string
}

// Losses returns the losses of a buck stage in watts:
//
//	sense R_s·I_L,rms² (times D in the switch leg)     switch R_on·I_sw,rms²    diode V_D·I·(1 − D)
//	overlap V_in·f·(I_valley·t_on + I_peak·t_off)/2    node C·V_in²·f/2         gate Q_g·V_g·f
//	inductor R_L·I_L,rms² + core                       input capacitor ESR·I_Cin,rms²    controller V_in·I_q
//
// The overlap term is good to a factor of two only. Source: Erickson2020, ch. 3–5.
func (b Buck) Losses(w Switching) (Losses, error) {
	s, err := b.Steady()
	if err != nil {
		return Losses{}, err
	}
	share := s.Duty
	if b.SenseCarriesBoth {
		share = 1
	}
	f, rms2 := b.FrequencyHz, s.InductorRMSA*s.InductorRMSA
	l := Losses{
		SenseW:      b.SenseOhm * share * rms2,
		SwitchW:     b.SwitchOhm * s.SwitchRMSA * s.SwitchRMSA,
		OverlapW:    0.5 * b.InV * f * (math.Max(0, s.ValleyA)*w.OnS + s.PeakA*w.OffS),
		NodeW:       0.5 * w.NodeF * b.InV * b.InV * f,
		GateW:       w.GateC * w.GateV * f,
		DiodeW:      b.DiodeV * s.DiodeMeanA,
		InductorW:   b.InductorOhm*rms2 + w.CoreW,
		InputCapW:   w.InputCapESROhm * s.InputCapRMSA * s.InputCapRMSA,
		ControllerW: b.InV * w.QuiescentA,
		Notes:       s.Notes,
	}
	l.add(b.OutV * b.CurrentA)
	return l, nil
}

// add sums the losses and finds the efficiency of a stage that delivers ledW.
func (l *Losses) add(ledW float64) {
	l.TotalW = l.SenseW + l.SwitchW + l.OverlapW + l.NodeW + l.GateW + l.DiodeW + l.InductorW + l.InputCapW + l.ControllerW
	l.Efficiency = ledW / (ledW + l.TotalW)
	if l.OverlapW > 0 {
		l.Notes = append(l.Notes, "the switching overlap is good to a factor of two")
	}
}

// Band is a stage regulated between two thresholds or by its peak.
type Band struct {
	MeanA, RippleA, FrequencyHz, Duty float64
}

// Hysteretic returns mean current, ripple and frequency of a buck stage that switches between two sense voltages:
//
//	ΔI = (v_hi − v_lo)/R_s + (v_up + v_dn)·t_d/L    I = (v_hi + v_lo)/(2·R_s) + (v_up − v_dn)·t_d/(2·L)
//	f = 1/(L·ΔI·(1/v_up + 1/v_dn))
//
// lowV and highV are the thresholds on SenseOhm, delayS the delay t_d of comparator and switch at both edges. CurrentA is
// used only for the drops; FrequencyHz is not used. A few hundred nanoseconds widen a narrow band two- or threefold.
// Source: Erickson2020, ch. 2 (v = L·di/dt).
func (b Buck) Hysteretic(lowV, highV, delayS float64) (Band, error) {
	up, down := b.rates()
	if !(up > 0) || !(down > 0) || !(b.SenseOhm > 0) || !(b.InductanceH > 0) {
		return Band{}, fmt.Errorf("%g V in cannot drive %g V with a buck stage with sense %g Ω and inductor %g H", b.InV, b.OutV, b.SenseOhm, b.InductanceH)
	}
	if !(highV > lowV) {
		return Band{}, fmt.Errorf("upper threshold %g V must lie above the lower, %g V", highV, lowV)
	}
	h := Band{
		MeanA:   (highV+lowV)/(2*b.SenseOhm) + (up-down)*delayS/(2*b.InductanceH),
		RippleA: (highV-lowV)/b.SenseOhm + (up+down)*delayS/b.InductanceH,
		Duty:    down / (up + down),
	}
	h.FrequencyHz = 1 / (b.InductanceH * h.RippleA * (1/up + 1/down))
	return h, nil
}

// PeakControlled returns mean current and ripple of a buck stage of fixed frequency that switches off at a peak:
//
//	I = v_pk/R_s + v_up·t_off/L − ΔI/2 − m·D/f    D, ΔI and I solved together
//
// peakV is the threshold on SenseOhm, offDelayS the delay of switching off, rampAS the compensation m as a slope of current
// [A/s]; 0 for none. Above half duty m must exceed (m₂ − m₁)/2, see RampNeeded. CurrentA is not used.
// Source: Erickson2020, ch. 18 (current-programmed control).
func (b Buck) PeakControlled(peakV, offDelayS, rampAS float64) (Band, error) {
	if !(b.SenseOhm > 0) || !(b.InductanceH > 0) || !(b.FrequencyHz > 0) {
		return Band{}, fmt.Errorf("sense %g Ω, inductor %g H and frequency %g Hz must be above zero", b.SenseOhm, b.InductanceH, b.FrequencyHz)
	}
	b.CurrentA = peakV / b.SenseOhm
	var h Band
	// The drops are a few per cent of the voltages, so each pass gains more than a decade.
	for range 60 {
		up, down := b.rates()
		if !(up > 0) || !(down > 0) {
			return Band{}, fmt.Errorf("%g V in cannot drive %g V at %.3g A with a buck stage", b.InV, b.OutV, b.CurrentA)
		}
		d := down / (up + down)
		ripple := up * d / (b.InductanceH * b.FrequencyHz)
		mean := peakV/b.SenseOhm + up*offDelayS/b.InductanceH - ripple/2 - rampAS*d/b.FrequencyHz
		h = Band{MeanA: mean, RippleA: ripple, FrequencyHz: b.FrequencyHz, Duty: d}
		if math.Abs(mean-b.CurrentA) <= 1e-12*math.Abs(mean) {
			return h, nil
		}
		b.CurrentA = mean
	}
	return Band{}, fmt.Errorf("the peak-controlled current did not settle in 60 passes; the drops are too great a fraction of %g V", b.InV)
}

// RampNeeded returns the slope of compensation that keeps peak control stable in amperes a second: max(0, (m₂ − m₁)/2).
//
// m₁ = v_up/L is the rising, m₂ = v_dn/L the falling slope of the current. Source: Erickson2020, ch. 18.
func (b Buck) RampNeeded() float64 {
	up, down := b.rates()
	return math.Max(0, (down-up)/(2*b.InductanceH))
}

// ConstantOff returns ripple and frequency of a buck stage with a fixed time off: ΔI = v_dn·t_off/L, f = (1 − D)/t_off.
//
// The ripple does not depend on the input. FrequencyHz is not used. Source: Erickson2020, ch. 2.
func (b Buck) ConstantOff(offS float64) (Band, error) {
	up, down := b.rates()
	if !(up > 0) || !(down > 0) || !(offS > 0) || !(b.InductanceH > 0) {
		return Band{}, fmt.Errorf("%g V in cannot drive %g V with a buck stage with %g s off and inductor %g H", b.InV, b.OutV, offS, b.InductanceH)
	}
	d := down / (up + down)
	return Band{MeanA: b.CurrentA, RippleA: down * offS / b.InductanceH, FrequencyHz: (1 - d) / offS, Duty: d}, nil
}

// Boost is a boost stage at its working point.
type Boost struct {
	InV, OutV, CurrentA      float64 // input, string, mean LED current
	InductanceH, FrequencyHz float64
	InductorOhm, SwitchOhm   float64
	DiodeV                   float64
	SenseOhm                 float64 // in series with the string
	OutputF, OutputESROhm    float64 // output capacitor; without it there is no steady light
	StringOhm                float64 // slope of the string
}

// BoostState is the steady cycle of a boost or SEPIC stage.
type BoostState struct {
	Duty            float64
	InductorA       float64 // mean, of the inductor at the input
	RippleA         float64 // peak to peak in it
	PeakA           float64 // in the switch
	SwitchRMSA      float64
	DiodeMeanA      float64 // equal to the LED current
	OutputCapRMSA   float64
	CouplingRMSA    float64 // SEPIC: in the coupling capacitor, which is at the input voltage
	SwitchV         float64 // across the open switch
	OutputRippleV   float64 // boost: on the output capacitor
	LEDRippleA      float64 // boost: through the LEDs
	RightHalfZeroHz float64 // boost: zero in the right half-plane that limits the loop
	Continuous      bool
	Notes           []string
}

// Steady returns the steady cycle of the boost stage:
//
//	(1 − D)·(V_out + V_D) = V_in − I_L·(R_L + D·R_on),  I_L = I/(1 − D),  V_out = V + I·R_s
//	ΔI = (V_in − I_L·(R_L + R_on))·D/(L·f)    I_sw,rms = √(D·(I_L² + ΔI²/12))
//	I_Cout,rms = √(D·I² + (1 − D)·((I_L − I)² + ΔI²/12))
//	ΔV = I·D/(f·C) + ESR·(I_L + ΔI/2)    ΔI_led = ΔV/(R_string + R_s)    f_z = (1 − D)²·V_out/(2π·I·L)
//
// The first line is a quadratic in 1 − D, of which the greater root is the stable one. It is an error if the input is not
// below the output, or if the losses keep the output from being reached at any duty. An open string drives the output up:
// an over-voltage clamp is a must. Source: Erickson2020, ch. 2–3 and 8.
func (b Boost) Steady() (BoostState, error) {
	var s BoostState
	if !(b.InductanceH > 0) || !(b.FrequencyHz > 0) || !(b.CurrentA > 0) {
		return s, fmt.Errorf("inductance %g H, frequency %g Hz and current %g A must be above zero", b.InductanceH, b.FrequencyHz, b.CurrentA)
	}
	i, out := b.CurrentA, b.OutV+b.CurrentA*b.SenseOhm
	sum := out + b.DiodeV
	lin := b.InV + i*b.SwitchOhm
	disc := lin*lin - 4*sum*i*(b.InductorOhm+b.SwitchOhm)
	if disc < 0 {
		return s, fmt.Errorf("%g V in cannot reach %.4g V at %g A: the resistances of inductor and switch take too much", b.InV, out, i)
	}
	off := (lin + math.Sqrt(disc)) / (2 * sum)
	if off >= 1 {
		return s, fmt.Errorf("%g V in is not below %.4g V out: a boost stage conducts straight through and nothing limits the current", b.InV, out)
	}
	s.Duty = 1 - off
	s.InductorA = i / off
	s.RippleA = (b.InV - s.InductorA*(b.InductorOhm+b.SwitchOhm)) * s.Duty / (b.InductanceH * b.FrequencyHz)
	r2 := s.RippleA * s.RippleA / 12
	s.PeakA = s.InductorA + s.RippleA/2
	s.SwitchRMSA = math.Sqrt(s.Duty * (s.InductorA*s.InductorA + r2))
	s.DiodeMeanA = i
	s.OutputCapRMSA = math.Sqrt(s.Duty*i*i + off*((s.InductorA-i)*(s.InductorA-i)+r2))
	s.SwitchV = sum
	s.RightHalfZeroHz = off * off * out / (2 * math.Pi * i * b.InductanceH)
	s.Continuous = s.RippleA < 2*s.InductorA
	if b.OutputF > 0 {
		s.OutputRippleV = i*s.Duty/(b.FrequencyHz*b.OutputF) + b.OutputESROhm*s.PeakA
		slope := b.StringOhm + b.SenseOhm
		if slope > 0 {
			s.LEDRippleA = s.OutputRippleV / slope
		}
		if b.OutputF*slope < 3/b.FrequencyHz {
			s.Notes = append(s.Notes, "the output capacitor is small for the string's slope; the ripple through the LEDs is a guide")
		}
	} else {
		s.Notes = append(s.Notes, "no output capacitor is given, so the ripple through the LEDs is not known")
	}
	if !s.Continuous {
		s.Notes = append(s.Notes, "the stage leaves continuous conduction and these figures do not hold")
	}
	return s, nil
}

// Losses returns the losses of a boost stage in watts, by the terms of Buck.Losses with the voltages and currents of
// the boost: the switched voltage is V_out + V_D, the diode carries I. Source: Erickson2020, ch. 3–5.
func (b Boost) Losses(w Switching) (Losses, error) {
	s, err := b.Steady()
	if err != nil {
		return Losses{}, err
	}
	f := b.FrequencyHz
	r2 := s.RippleA * s.RippleA / 12
	l := Losses{
		SenseW:      b.SenseOhm * b.CurrentA * b.CurrentA,
		SwitchW:     b.SwitchOhm * s.SwitchRMSA * s.SwitchRMSA,
		OverlapW:    0.5 * s.SwitchV * f * (math.Max(0, s.InductorA-s.RippleA/2)*w.OnS + s.PeakA*w.OffS),
		NodeW:       0.5 * w.NodeF * s.SwitchV * s.SwitchV * f,
		GateW:       w.GateC * w.GateV * f,
		DiodeW:      b.DiodeV * s.DiodeMeanA,
		InductorW:   b.InductorOhm*(s.InductorA*s.InductorA+r2) + w.CoreW,
		InputCapW:   w.InputCapESROhm * r2,
		ControllerW: b.InV * w.QuiescentA,
		Notes:       s.Notes,
	}
	l.add(b.OutV * b.CurrentA)
	return l, nil
}

// MaxBoostGain returns the largest ratio of output to input that an inductor's resistance allows, and the duty there [1]:
//
//	M = 1/(2·√(R_L/R))  at  1 − D = √(R_L/R), where the efficiency is one half
//
// ratio is R_L/R, the inductor's resistance over that of the load V/I. A duty above this one lowers the output.
// Source: Erickson2020, §3.3.
func MaxBoostGain(ratio float64) (gain, duty float64) {
	return 0.5 / math.Sqrt(ratio), 1 - math.Sqrt(ratio)
}

// BoostGain returns output over input and efficiency of a boost stage whose only loss is its inductor's resistance [1]:
//
//	η = 1/(1 + R_L/((1 − D)²·R))    M = η/(1 − D)
//
// Source: Erickson2020, §3.3.
func BoostGain(duty, ratio float64) (gain, efficiency float64) {
	off := 1 - duty
	efficiency = 1 / (1 + ratio/(off*off))
	return efficiency / off, efficiency
}

// Sepic is a stage with an output above or below its input, with two inductors that do not share a core.
type Sepic struct {
	InV, OutV, CurrentA float64
	InputH, OutputH     float64 // the two inductors
	FrequencyHz         float64
	DiodeV              float64
}

// Steady returns the steady cycle of the SEPIC stage without resistances:
//
//	D = (V_out + V_D)/(V_in + V_out + V_D)    I_L1 = I·D/(1 − D)    I_L2 = I
//	ΔI₁ = V_in·D/(L₁·f)    I_pk = I/(1 − D) + (ΔI₁ + ΔI₂)/2    I_Cs,rms = I·√(D/(1 − D))
//
// The switch is V_in + V_out + V_D. Resistances raise the duty by a few per cent. Source: Erickson2020, ch. 2 and 6.
func (c Sepic) Steady() (BoostState, error) {
	var s BoostState
	if !(c.InV > 0) || !(c.OutV > 0) || !(c.CurrentA > 0) || !(c.InputH > 0) || !(c.OutputH > 0) || !(c.FrequencyHz > 0) {
		return s, fmt.Errorf("input %g V, output %g V, current %g A, inductors %g H and %g H and frequency %g Hz must be above zero", c.InV, c.OutV, c.CurrentA, c.InputH, c.OutputH, c.FrequencyHz)
	}
	out := c.OutV + c.DiodeV
	s.Duty = out / (c.InV + out)
	off := 1 - s.Duty
	s.InductorA = c.CurrentA * s.Duty / off
	s.RippleA = c.InV * s.Duty / (c.InputH * c.FrequencyHz)
	both := s.RippleA * (1 + c.InputH/c.OutputH)
	total := c.CurrentA / off
	s.PeakA = total + both/2
	s.SwitchRMSA = math.Sqrt(s.Duty * (total*total + both*both/12))
	s.DiodeMeanA = c.CurrentA
	s.OutputCapRMSA = math.Sqrt(s.Duty*c.CurrentA*c.CurrentA + off*((total-c.CurrentA)*(total-c.CurrentA)+both*both/12))
	s.CouplingRMSA = c.CurrentA * math.Sqrt(s.Duty/off)
	s.SwitchV = c.InV + out
	s.Continuous = both < 2*total
	s.Notes = append(s.Notes, "without resistances; they raise the duty by a few per cent")
	if !s.Continuous {
		s.Notes = append(s.Notes, "the stage leaves continuous conduction and these figures do not hold")
	}
	return s, nil
}
