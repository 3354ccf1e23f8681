package controller

import (
	"encoding/binary"
	"hash/crc32"
	"reflect"
	"slices"
	"strings"
	"testing"
)

// bounds are changes of the open configuration that each break one bound, with a part of the message.
var bounds = []struct {
	change func(*Config)
	want   string
}{
	{func(c *Config) { c.Channels = nil }, "channels has 0 entries; required 1 to 6"},
	{func(c *Config) { c.Channels = slices.Repeat(c.Channels, 3) }, "channels has 9 entries"},
	{func(c *Config) { c.Channels[1].Points = nil }, "channels[1].points has 0 entries; required 1 to 16"},
	{func(c *Config) { c.Channels[1].Points = make([][2]int64, 17) }, "channels[1].points has 17 entries"},
	{func(c *Config) { c.Channels[0].Points[3][0] = 86400 }, "channels[0].points[3][0] is 86400; required 0 to 86399"},
	{func(c *Config) { c.Channels[0].Points[3][0] = 64800 }, "[3][0] is 64800 after 64800; the first values must"},
	{func(c *Config) { c.Channels[0].Points[1][1] = 32769 }, "points[1][1] is 32769; required 0 to 32768"},
	{func(c *Config) { c.Channels[0].Points[1][1] = -1 }, "points[1][1] is -1"},
	{func(c *Config) { c.Channels[2].Weight10mW = 65536 }, "channels[2].weight_10mW is 65536; required 0 to 65535"},
	{func(c *Config) { c.Channels[2].MinDuty = 40000 }, "channels[2].min_duty is 40000"},
	{func(c *Config) { c.Channels[2].OffBelow = 40000 }, "channels[2].off_below is 40000"},
	{func(c *Config) { c.Channels[2].Curve = 2 }, "channels[2].curve is 2; required 0 to 1"},
	{func(c *Config) { c.PMax10mW = 0 }, "p_max_10mW is 0"},
	{func(c *Config) { c.Slew = 0 }, "slew is 0; required 1 to 32768"},
	{func(c *Config) { c.SoftStep = 32769 }, "soft_step is 32769"},
	{func(c *Config) { c.FoldSlew = 0 }, "fold_slew is 0"},
	{func(c *Config) { c.LimpLevel = 32769 }, "limp_level is 32769"},
	{func(c *Config) { c.FanfailGain = 32769 }, "fanfail_level is 32769"},
	{func(c *Config) { c.Acclimation.StartDay = -1 }, "acclimation.start_day is -1"},
	{func(c *Config) { c.Acclimation.Days = 0 }, "acclimation.days is 0; required 1 to 1000"},
	{func(c *Config) { c.Acclimation.Days = 1001 }, "acclimation.days is 1001"},
	{func(c *Config) { c.Acclimation.From = 32769 }, "acclimation.from is 32769"},
	{func(c *Config) { c.Fold = c.Fold[:1] }, "fold has 1 entries; required 2 to 8"},
	{func(c *Config) { c.Fold = slices.Repeat(c.Fold, 5) }, "fold has 10 entries"},
	{func(c *Config) { c.Fold[1][0] = 700 }, "fold[1][0] is 700 after 700"},
	{func(c *Config) { c.Fold[1][1] = 32769 }, "fold[1][1] is 32769"},
	{func(c *Config) { c.ADCShort = 0 }, "adc_short is 0; required 1 to 4095"},
	{func(c *Config) { c.ADCTrip = 40 }, "adc_trip is 40 beside short 40"},
	{func(c *Config) { c.ADCTrip = 900 }, "short, trip, release, open must rise"},
	{func(c *Config) { c.ADCRelease = 4000 }, "short, trip, release, open must rise"},
	{func(c *Config) { c.ADCOpen = 4096 }, "adc_open is 4096; required 1 to 4095"},
	{func(c *Config) { c.Fan.Curve = nil }, "fan.curve has 0 entries; required 2 to 8"},
	{func(c *Config) { c.Fan.Curve[2][0] = 1500 }, "fan.curve[2][0] is 1500 after 1500"},
	{func(c *Config) { c.Fan.Curve[2][1] = 32769 }, "fan.curve[2][1] is 32769"},
	{func(c *Config) { c.Fan.Min = 32769 }, "fan.min is 32769"},
	{func(c *Config) { c.Fan.Hyst = -1 }, "fan.hyst is -1"},
	{func(c *Config) { c.Fan.KickTicks = 65536 }, "fan.kick_ticks is 65536"},
	{func(c *Config) { c.Fan.TachDelayTicks = 65536 }, "fan.tach_delay_ticks is 65536"},
	{func(c *Config) { c.Fan.MinRPM = 65536 }, "fan.min_rpm is 65536"},
	{func(c *Config) { c.VinLowMV = 0 }, "vin_low_mV is 0; required 1 to 65535"},
	{func(c *Config) { c.VinOKMV = 65536 }, "vin_ok_mV is 65536"},
	{func(c *Config) { c.VinLowMV = 22500 }, "vin_low_mV is 22500; it must be below vin_ok_mV 22500"},
	{func(c *Config) { c.MinUTC = 1 << 32 }, "min_utc is 4294967296"},
	{func(c *Config) { c.Zone = nil }, "zone has 0 entries; required 1 to 24"},
	{func(c *Config) { c.Zone = make([][2]int64, 25) }, "zone has 25 entries"},
	{func(c *Config) { c.Zone[1][0] = c.Zone[0][0] }, "zone[1][0] is 820540800 after 820540800"},
	{func(c *Config) { c.Zone[1][1] = 64801 }, "zone[1][1] is 64801; required -64800 to 64800"},
	{func(c *Config) { c.Zone[1][1] = -64801 }, "zone[1][1] is -64801"},
}

// Every bound of the specification is checked in one clear line, by the generator and by the reader of an image.
func TestBounds(t *testing.T) {
	good := openConfig()
	if err := good.Check(); err != nil {
		t.Fatal(err)
	}
	for _, tt := range bounds {
		c := openConfig()
		tt.change(&c)
		err := c.Check()
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("Check = %v; want %q", err, tt.want)
			continue
		}
		if image, err := c.Image(); err == nil || image != nil {
			t.Errorf("an image of a configuration with %s", tt.want)
		}
		if New(nil, 0).ok {
			t.Error("a core without an image runs")
		}
	}
	c := openConfig()
	c.Slew, c.SoftStep, c.Zone = 0, 0, nil
	if err := c.Check(); strings.Count(err.Error(), "\n") != 2 {
		t.Errorf("three problems are %q", err)
	}
}

// An image is read back as it was written, and has the stated layout.
func TestImage(t *testing.T) {
	for seed := range uint64(200) {
		c := newDice(seed).config()
		image, err := c.Image()
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		back, err := ReadImage(image)
		if err != nil || !reflect.DeepEqual(back, c) {
			t.Fatalf("seed %d: %v\n%+v\n%+v", seed, err, back, c)
		}
	}
	c := openConfig()
	image, err := c.Image()
	if err != nil {
		t.Fatal(err)
	}
	le := binary.LittleEndian
	for at, want := range map[int]uint16{
		4: 1, 6: uint16(len(image)), 12: 8000, 24: 33, 26: 110, 28: 66, 34: 42, 38: 40, 44: 4000, 46: 9830,
		54: 600, 56: 21000, 60: 1, 62: 700, 66: 1000, 70: 900,
	} {
		if got := le.Uint16(image[at:]); got != want {
			t.Errorf("bytes %d hold %d, want %d", at, got, want)
		}
	}
	if len(image) != 62+2*4+3*4+24*8+3*8+12*6+4 {
		t.Errorf("%d bytes", len(image))
	}
}

// A damaged image is refused: each bit flipped, each length cut, and what a wrong frame says.
func TestDamagedImage(t *testing.T) {
	c := openConfig()
	image, err := c.Image()
	if err != nil {
		t.Fatal(err)
	}
	for i := range image {
		for bit := range 8 {
			bad := slices.Clone(image)
			bad[i] ^= 1 << bit
			if _, err := ReadImage(bad); err == nil {
				t.Fatalf("bit %d of byte %d is flipped", bit, i)
			}
		}
		if _, err := ReadImage(image[:i]); err == nil {
			t.Fatalf("%d bytes are read", i)
		}
	}
	for n := range len(image) - imageFixed - imageCRC { // cut tables with a right frame
		if _, err := ReadImage(resized(image, len(image)-1-n)); err == nil {
			t.Fatalf("an image without its last %d bytes is read", n+1)
		}
	}
	if _, err := ReadImage(resized(append(slices.Clone(image), 0, 0), len(image)+1)); err == nil {
		t.Error("an image with another byte is read")
	}
	for _, tt := range []struct {
		at   int
		v    byte
		want string
	}{
		{0, 'l', "begins with"},
		{4, 2, "version 2"},
		{6, 1, "states"},
		{8, 2, "do not end"},
		{8, 4, "do not end"},
		{8, 255, "do not end"},
		{60, 2, "has_tach 2"},
		{61, 1, "reserved byte 1"},
		{24, 0, "slew is 0"},
	} {
		bad := slices.Clone(image)
		bad[tt.at] = tt.v
		if _, err := ReadImage(sealed(bad)); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("byte %d is %d: %v; want %q", tt.at, tt.v, err, tt.want)
		}
	}
}

// sealed gives an image the CRC of its bytes.
func sealed(image []byte) []byte {
	end := len(image) - imageCRC
	binary.LittleEndian.PutUint32(image[end:], crc32.ChecksumIEEE(image[:end]))
	return image
}

// resized returns an image of n bytes with a right frame.
func resized(image []byte, n int) []byte {
	out := slices.Clone(image[:n])
	binary.LittleEndian.PutUint16(out[6:], uint16(n))
	return sealed(out)
}

// FuzzReadImage: whatever bytes an image has, it is refused, or it is the image of a configuration within bounds.
func FuzzReadImage(f *testing.F) {
	c := openConfig()
	image, err := c.Image()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(image, false)
	f.Add(image[:70], true)
	f.Add([]byte{}, true)
	small := newDice(1).config()
	if image, err = small.Image(); err != nil {
		f.Fatal(err)
	}
	f.Add(image, true)
	f.Fuzz(func(t *testing.T, data []byte, seal bool) {
		if seal && len(data) >= imageFixed+imageCRC {
			data = sealed(slices.Clone(data))
		}
		c, err := ReadImage(data)
		core := New(data, 0)
		out := core.Step(Inputs{UTC: 1, ADC: 2})
		if err != nil {
			if out != (Outputs{Fan: One, Fault: FaultConfig}) {
				t.Fatalf("%v of a refused image", out)
			}
			return
		}
		again, err := c.Image()
		if err != nil || !slices.Equal(again, data) {
			t.Fatalf("image of %+v differs: %v", c, err)
		}
	})
}
