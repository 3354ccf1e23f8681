package controller

import "slices"

// program is a Config in the widths of the core.
type program struct {
	channels           []channel
	pMax               uint32
	slew, softStep     uint32
	foldSlew           uint32
	limp, fanfail      uint32
	startDay           uint32
	days, from         uint32
	fold, fan          rows
	adcShort, adcTrip  uint16
	adcRelease         uint16
	adcOpen            uint16
	fanMin             uint32
	fanHyst            int32
	fanKick, tachDelay uint16
	hasTach            bool
	minRPM             uint32
	vinLow, vinOK      uint16
	minUTC             uint32
	zone               []zoneRow
	lut                [lutRows]uint16
}

type channel struct {
	points                    []point
	weight, minDuty, offBelow uint32
	lightness                 bool
	most                      uint32 // greatest level of the points
}

type point struct{ second, level uint32 }

// rows is a table that rises in its codes.
type rows []struct{ code, value uint32 }

type zoneRow struct{ utc, offset uint32 } // a negative offset is its two's complement: sums wrap to the same second

// compile returns a checked configuration as the core uses it.
func compile(c *Config) program {
	p := program{
		pMax: uint32(c.PMax10mW), slew: uint32(c.Slew), softStep: uint32(c.SoftStep), foldSlew: uint32(c.FoldSlew),
		limp: uint32(c.LimpLevel), fanfail: uint32(c.FanfailGain),
		startDay: uint32(c.Acclimation.StartDay), days: uint32(c.Acclimation.Days), from: uint32(c.Acclimation.From),
		fold: tableOf(c.Fold), fan: tableOf(c.Fan.Curve),
		adcShort: uint16(c.ADCShort), adcTrip: uint16(c.ADCTrip), adcRelease: uint16(c.ADCRelease),
		adcOpen: uint16(c.ADCOpen), fanMin: uint32(c.Fan.Min), fanHyst: int32(c.Fan.Hyst),
		fanKick: uint16(c.Fan.KickTicks), tachDelay: uint16(c.Fan.TachDelayTicks), hasTach: c.Fan.HasTach,
		minRPM: uint32(c.Fan.MinRPM), vinLow: uint16(c.VinLowMV), vinOK: uint16(c.VinOKMV), minUTC: uint32(c.MinUTC),
		lut: lightnessTable(),
	}
	for _, z := range c.Zone {
		p.zone = append(p.zone, zoneRow{uint32(z[0]), uint32(z[1])})
	}
	for _, ch := range c.Channels {
		k := channel{
			weight: uint32(ch.Weight10mW), minDuty: uint32(ch.MinDuty), offBelow: uint32(ch.OffBelow),
			lightness: ch.Curve == Lightness,
		}
		for _, pt := range ch.Points {
			k.points = append(k.points, point{uint32(pt[0]), uint32(pt[1])})
			k.most = max(k.most, uint32(pt[1]))
		}
		p.channels = append(p.channels, k)
	}
	return p
}

func tableOf(list [][2]int64) (out rows) {
	for _, r := range list {
		out = append(out, struct{ code, value uint32 }{uint32(r[0]), uint32(r[1])})
	}
	return out
}

// between returns the value at x of span on the line from y0 to y1, rounded half away from y0. The largest product is
// 32768·86400 + 43200, below 2³².
func between(y0, y1, x, span uint32) uint32 {
	if y1 >= y0 {
		return y0 + ((y1-y0)*x+span/2)/span
	}
	return y0 - ((y0-y1)*x+span/2)/span
}

// at returns the value of a table at a code, constant beyond its ends.
func (t rows) at(adc uint16) uint32 {
	x := uint32(adc)
	if x <= t[0].code {
		return t[0].value
	}
	for i := 1; i < len(t); i++ {
		if x <= t[i].code {
			return between(t[i-1].value, t[i].value, x-t[i-1].code, t[i].code-t[i-1].code)
		}
	}
	return t[len(t)-1].value
}

// level returns the level of a channel's programme at a second of the local day.
func (ch *channel) level(second uint32) uint32 {
	n := len(ch.points)
	if n == 1 {
		return ch.points[0].level
	}
	i := n - 1
	for i >= 0 && ch.points[i].second > second {
		i--
	}
	if i < 0 { // the last point of yesterday
		i, second = n-1, second+dayS
	}
	from, to := ch.points[i], ch.points[(i+1)%n]
	if i == n-1 {
		to.second += dayS
	}
	return between(from.level, to.level, second-from.second, to.second-from.second)
}

// acclimation returns the factor on the programme on a local day, Q15.
func (p *program) acclimation(day uint32) uint32 {
	switch {
	case day < p.startDay:
		return p.from
	case day-p.startDay >= p.days:
		return One
	}
	return p.from + (One-p.from)*(day-p.startDay)/p.days
}

// offset returns the offset of the local clock from UTC [s], as two's complement.
func (p *program) offset(utc uint32) uint32 {
	for _, z := range slices.Backward(p.zone) {
		if z.utc <= utc {
			return z.offset
		}
	}
	return p.zone[0].offset
}

// luminance returns the duty of a setting by the lightness table.
func (p *program) luminance(level uint32) uint32 {
	i, part := level>>7, level&127
	d := uint32(p.lut[i])
	if part != 0 {
		d += ((uint32(p.lut[i+1])-d)*part + 64) >> 7
	}
	return d
}
