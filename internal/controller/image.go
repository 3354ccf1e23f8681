package controller

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
)

// Parts of an image.
const (
	imageMagic   = "LC1C"
	imageVersion = 1
	imageFixed   = 62 // bytes before the tables
	imageCRC     = 4
	maxImage     = imageFixed + 2*maxRows*4 + maxZone*8 + MaxChannels*(8+maxPoints*6) + imageCRC
)

// Image returns the binary image of a configuration within bounds.
func (c *Config) Image() ([]byte, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	return c.encode(), nil
}

// encode returns the image of a configuration. A value that is too wide for its place is cut; ReadImage notices that
// only where what is left is out of bounds.
func (c *Config) encode() []byte {
	le := binary.LittleEndian
	b := append([]byte(imageMagic), imageVersion, 0, 0, 0)
	b = append(b, byte(len(c.Channels)), byte(len(c.Fold)), byte(len(c.Fan.Curve)), byte(len(c.Zone)))
	for _, v := range []int64{c.PMax10mW, c.Acclimation.StartDay, c.MinUTC} {
		b = le.AppendUint32(b, uint32(v))
	}
	for _, v := range []int64{
		c.Slew, c.SoftStep, c.FoldSlew, c.LimpLevel, c.FanfailGain, c.Acclimation.Days, c.Acclimation.From,
		c.ADCShort, c.ADCTrip, c.ADCRelease, c.ADCOpen,
		c.Fan.Min, c.Fan.Hyst, c.Fan.KickTicks, c.Fan.TachDelayTicks, c.Fan.MinRPM, c.VinLowMV, c.VinOKMV,
	} {
		b = le.AppendUint16(b, uint16(v))
	}
	tach := byte(0)
	if c.Fan.HasTach {
		tach = 1
	}
	b = append(b, tach, 0)
	for _, rows := range [][][2]int64{c.Fold, c.Fan.Curve} {
		for _, r := range rows {
			b = le.AppendUint16(le.AppendUint16(b, uint16(r[0])), uint16(r[1]))
		}
	}
	for _, z := range c.Zone {
		b = le.AppendUint32(le.AppendUint32(b, uint32(z[0])), uint32(z[1]))
	}
	for _, ch := range c.Channels {
		b = append(b, byte(len(ch.Points)), byte(ch.Curve))
		b = le.AppendUint16(le.AppendUint16(b, uint16(ch.Weight10mW)), uint16(ch.MinDuty))
		b = le.AppendUint16(b, uint16(ch.OffBelow))
		for _, p := range ch.Points {
			b = le.AppendUint16(le.AppendUint32(b, uint32(p[0])), uint16(p[1]))
		}
	}
	le.PutUint16(b[6:], uint16(len(b)+imageCRC))
	return le.AppendUint32(b, crc32.ChecksumIEEE(b))
}

// imageReader takes values off an image; past its end they are 0 and short is set.
type imageReader struct {
	rest  []byte
	short bool
}

func (r *imageReader) take(n int) uint32 {
	if len(r.rest) < n {
		r.rest, r.short = nil, true
		return 0
	}
	var v uint32
	for i := range n {
		v |= uint32(r.rest[i]) << (8 * i)
	}
	r.rest = r.rest[n:]
	return v
}

func (r *imageReader) u8() int64  { return int64(r.take(1)) }
func (r *imageReader) u16() int64 { return int64(r.take(2)) }
func (r *imageReader) u32() int64 { return int64(r.take(4)) }
func (r *imageReader) i32() int64 { return int64(int32(r.take(4))) }

// ReadImage returns the configuration of an image, or why it is none: its frame first, then every bound that it breaks.
func ReadImage(image []byte) (Config, error) {
	var c Config
	end := len(image) - imageCRC
	switch {
	case end < imageFixed || len(image) > maxImage:
		return c, fmt.Errorf("image of %d bytes; required %d to %d", len(image), imageFixed+imageCRC, maxImage)
	case string(image[:4]) != imageMagic:
		return c, fmt.Errorf("image begins with %q; required %q", image[:4], imageMagic)
	}
	le := binary.LittleEndian
	if v := le.Uint16(image[4:]); v != imageVersion {
		return c, fmt.Errorf("image of version %d; this core reads version %d", v, imageVersion)
	}
	if n := le.Uint16(image[6:]); int(n) != len(image) {
		return c, fmt.Errorf("image states %d bytes and has %d", n, len(image))
	}
	if stated, sum := le.Uint32(image[end:]), crc32.ChecksumIEEE(image[:end]); stated != sum {
		return c, fmt.Errorf("image states CRC-32 %08x and has %08x", stated, sum)
	}
	r := imageReader{rest: image[8:end]}
	if err := c.read(&r); err != nil {
		return c, err
	}
	return c, c.Check()
}

// read fills a configuration from the payload of an image.
func (c *Config) read(r *imageReader) error {
	channels, fold, curve, zone := r.u8(), r.u8(), r.u8(), r.u8()
	c.PMax10mW, c.Acclimation.StartDay, c.MinUTC = r.u32(), r.u32(), r.u32()
	for _, to := range []*int64{
		&c.Slew, &c.SoftStep, &c.FoldSlew, &c.LimpLevel, &c.FanfailGain, &c.Acclimation.Days, &c.Acclimation.From,
		&c.ADCShort, &c.ADCTrip, &c.ADCRelease, &c.ADCOpen,
		&c.Fan.Min, &c.Fan.Hyst, &c.Fan.KickTicks, &c.Fan.TachDelayTicks, &c.Fan.MinRPM, &c.VinLowMV, &c.VinOKMV,
	} {
		*to = r.u16()
	}
	tach, zero := r.u8(), r.u8()
	if tach > 1 || zero != 0 {
		return fmt.Errorf("image states has_tach %d and a reserved byte %d; required 0 or 1, and 0", tach, zero)
	}
	c.Fan.HasTach = tach == 1
	for range fold {
		c.Fold = append(c.Fold, [2]int64{r.u16(), r.u16()})
	}
	for range curve {
		c.Fan.Curve = append(c.Fan.Curve, [2]int64{r.u16(), r.u16()})
	}
	for range zone {
		c.Zone = append(c.Zone, [2]int64{r.u32(), r.i32()})
	}
	for range channels {
		var ch Channel
		points := r.u8()
		ch.Curve, ch.Weight10mW, ch.MinDuty, ch.OffBelow = r.u8(), r.u16(), r.u16(), r.u16()
		for range points {
			ch.Points = append(ch.Points, [2]int64{r.u32(), r.u16()})
		}
		c.Channels = append(c.Channels, ch)
	}
	if r.short || len(r.rest) > 0 {
		return errors.New("tables of the image do not end where the image ends")
	}
	return nil
}
