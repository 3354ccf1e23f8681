package project

import (
	"slices"
	"testing"

	"lampwright/internal/quantity"
)

// TestReadingKeys: which keys belong to readings of a quantity, as the format states them.
func TestReadingKeys(t *testing.T) {
	keys := []string{
		"channel", "place", "emitter", "distance", "at", "angle", "spot", "meter_mode", "emissivity", "cold_voltage", "note",
	}
	for _, tt := range []struct {
		q      ReadingQuantity
		dim    quantity.Dim
		logged bool
		meter  InstrumentKind
		keys   []string
	}{
		{
			ReadIlluminance, quantity.Illuminance, true, LuxMeter,
			[]string{"channel", "place", "distance", "at", "angle", "note"},
		},
		{ReadStringCurrent, quantity.Current, true, ClampMeter, []string{"channel", "meter_mode", "note"}},
		{ReadMainsPower, quantity.Power, true, Wattmeter, []string{"note"}},
		{
			ReadInfraredTemperature, quantity.Temperature, true, InfraredThermometer,
			[]string{"place", "at", "spot", "emissivity", "note"},
		},
		{ReadPeakWavelength, quantity.Wavelength, false, Spectrometer, []string{"channel", "note"}},
		{
			ReadJunctionTemperature, quantity.Temperature, false, Multimeter,
			[]string{"channel", "emitter", "cold_voltage", "note"},
		},
	} {
		var got []string
		for _, key := range keys {
			if tt.q.Takes(key) {
				got = append(got, key)
			}
		}
		slices.SortFunc(got, func(a, b string) int { return slices.Index(keys, a) - slices.Index(keys, b) })
		slices.SortFunc(tt.keys, func(a, b string) int { return slices.Index(keys, a) - slices.Index(keys, b) })
		if !slices.Equal(got, tt.keys) || tt.q.Dim() != tt.dim || tt.q.Logged() != tt.logged ||
			!slices.Contains(tt.q.Meters(), tt.meter) {
			t.Errorf("%s: keys %v, want %v; dimension %s", tt.q, got, tt.keys, tt.q.Dim().Name())
		}
	}
}
