package project

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"lampwright/internal/source"
)

// renamedIn is the names of one mapping that format version 2 replaced.
type renamedIn struct {
	in     reflect.Type
	path   string // of the mapping, as `lampwright format` shows it
	keys   [][2]string
	values [][3]string // key, old value, new value
}

// renamed is every name that format version 2 replaced.
var renamed = []renamedIn{
	{
		in: reflect.TypeFor[Design](), path: "",
		keys: [][2]string{
			{"place", "installation"},
			{"wanted", "requirements"},
			{"interface", "thermal_interface"},
			{"compare_with", "replaced_lamp"},
		},
	},
	{
		in: reflect.TypeFor[LampTilt](), path: "installation.lamp_tilt",
		keys: [][2]string{
			{"angle", "tilt"},
			{"towards", "azimuth"},
		},
	},
	{
		in: reflect.TypeFor[Ambient](), path: "installation.ambient",
		keys: [][2]string{
			{"usual", "typical"},
			{"hottest", "max"},
			{"coldest", "min"},
		},
	},
	{
		in: reflect.TypeFor[Requirements](), path: "requirements",
		keys: [][2]string{
			{"daily_light", "dli"},
			{"junction", "max_junction"},
			{"touch", "accessible_to"},
		},
	},
	{
		in: reflect.TypeFor[Channel](), path: "channels[]",
		keys: [][2]string{
			{"strings", "parallel_strings"},
			{"balanced", "current_balancing"},
		},
	},
	{
		in: reflect.TypeFor[EmitterUse](), path: "channels[].emitters[]",
		keys: [][2]string{
			{"wiring", "die_configuration"},
			{"turn", "rotation"},
			{"towards", "azimuth"},
		},
	},
	{
		in: reflect.TypeFor[WireUse](), path: "channels[].wire",
		keys: [][2]string{
			{"bundled", "grouped_circuits"},
		},
	},
	{
		in: reflect.TypeFor[FuseUse](), path: "channels[].fuse",
		keys: [][2]string{
			{"rating", "rated_current"},
			{"dc_voltage", "rated_voltage_dc"},
		},
	},
	{
		in: reflect.TypeFor[SinkUse](), path: "sink",
		keys: [][2]string{
			{"canopy", "hood"},
			{"canopy_rise", "hood_air_rise"},
		},
	},
	{
		in: reflect.TypeFor[Hood](), path: "sink.hood",
		keys: [][2]string{
			{"walls", "wall_area"},
			{"wall_conductance", "wall_u_value"},
			{"vents", "vent_area"},
		},
	},
	{
		in: reflect.TypeFor[HousingUse](), path: "housing",
		keys: [][2]string{
			{"joint", "joint_resistance"},
			{"contact", "contact_area"},
		},
	},
	{
		in: reflect.TypeFor[FanUse](), path: "fan",
		keys: [][2]string{
			{"blows", "airflow"},
			{"air_through_fins", "fin_flow_fraction"},
		},
		values: [][3]string{
			{"airflow", "onto the fins", "impinging"},
			{"airflow", "along the fins", "parallel"},
		},
	},
	{
		in: reflect.TypeFor[SensorUse](), path: "sensor",
		keys: [][2]string{
			{"least_level", "min_level"},
		},
	},
	{
		in: reflect.TypeFor[Mains](), path: "mains",
		keys: [][2]string{
			{"residual_current", "rcd"},
			{"earthed", "protective_earth"},
			{"stands", "location"},
		},
		values: [][3]string{
			{"location", "apart", "remote"},
			{"location", "above the water", "above_water"},
		},
	},
	{
		in: reflect.TypeFor[Breaker](), path: "mains.breaker",
		keys: [][2]string{
			{"rating", "rated_current"},
		},
	},
	{
		in: reflect.TypeFor[MainsSwitch](), path: "mains.switch",
		keys: [][2]string{
			{"turns", "switches"},
			{"make_current", "making_capacity"},
		},
		values: [][3]string{
			{"kind", "by hand", "manual"},
		},
	},
	{
		in: reflect.TypeFor[Day](), path: "day",
		keys: [][2]string{
			{"full_light", "full_level_time"},
			{"ramp", "ramp_time"},
		},
	},
	{
		in: reflect.TypeFor[ReplacedLamp](), path: "replaced_lamp",
		keys: [][2]string{
			{"family", "lamp_type"},
			{"age", "operating_time"},
		},
	},
	{
		in: reflect.TypeFor[InstallationDetails](), path: "installation",
		keys: [][2]string{
			{"water_loss", "water_transmittance"},
			{"visibility", "black_disc_range"},
			{"ripples", "surface_slope_rms"},
			{"surroundings", "room"},
		},
	},
	{
		in: reflect.TypeFor[WaterTransmittance](), path: "installation.water_transmittance",
		keys: [][2]string{
			{"passed", "transmittance"},
			{"over", "path_length"},
		},
	},
	{
		in: reflect.TypeFor[Maintenance](), path: "installation.maintenance",
		keys: [][2]string{
			{"period", "requirements.service_life"},
		},
	},
	{
		in: reflect.TypeFor[Room](), path: "installation.room",
		keys: [][2]string{
			{"stand", "height_above_floor"},
			{"usual", "installation.ambient.typical"},
			{"hottest", "installation.ambient.max"},
			{"coldest", "installation.ambient.min"},
		},
	},
	{
		in: reflect.TypeFor[PartsFile](), path: "parts file",
		keys: [][2]string{
			{"invented", "fictitious"},
			{"interfaces", "thermal_interfaces"},
		},
	},
	{
		in: reflect.TypeFor[Common](), path: "every part",
		keys: [][2]string{
			{"sheet", "datasheet"},
		},
	},
	{
		in: reflect.TypeFor[Emitter](), path: "emitters[]",
		keys: [][2]string{
			{"wirings", "die_configurations"},
			{"max_current", "max_forward_current"},
			{"max_current_over_solder_point", "derating"},
			{"forward_voltage_over_temperature", "forward_voltage_tempco"},
			{"flux_over_current", "flux_vs_current"},
			{"flux_over_junction", "flux_vs_junction"},
			{"peak_shift", "wavelength_tempco"},
			{"peak_over_current", "peak_vs_current"},
			{"dominant_over_current", "dominant_vs_current"},
			{"cie_x_over_current", "cie_x_vs_current"},
			{"cie_y_over_current", "cie_y_vs_current"},
			{"cct_over_current", "cct_vs_current"},
		},
	},
	{
		in: reflect.TypeFor[IntensityDistribution](), path: "emitters[], lenses[]",
		keys: [][2]string{
			{"intensity_over_angle", "intensity_vs_angle"},
		},
	},
	{
		in: reflect.TypeFor[Stackup](), path: "boards[]",
		keys: [][2]string{
			{"dielectric_max", "max_operating_temperature"},
			{"breakdown", "breakdown_voltage"},
			{"base_conductivity_through", "base_conductivity_through_plane"},
		},
	},
	{
		in: reflect.TypeFor[Sink](), path: "sinks[]",
		keys: [][2]string{
			{"resistance_over_power", "resistance_vs_power"},
			{"resistance_over_air_speed", "resistance_vs_air_speed"},
		},
	},
	{
		in: reflect.TypeFor[Pins](), path: "sinks[].pins",
		keys: [][2]string{
			{"pitch_across", "transverse_pitch"},
			{"pitch_along", "longitudinal_pitch"},
		},
	},
	{
		in: reflect.TypeFor[Fan](), path: "fans[]",
		keys: [][2]string{
			{"pressure_over_flow", "pressure_vs_flow"},
		},
	},
	{
		in: reflect.TypeFor[Driver](), path: "drivers[]",
		keys: [][2]string{
			{"open_circuit", "open_circuit_voltage"},
			{"standby", "standby_power"},
			{"least_level", "min_level"},
			{"isolated", "isolation"},
		},
		values: [][3]string{
			{"kind", "step-down", "buck"},
			{"kind", "step-up", "boost"},
			{"kind", "mains", "ac"},
			{"dimming", "current", "analogue"},
			{"isolation", "true", "SELV"},
			{"isolation", "false", "none"},
		},
	},
	{
		in: reflect.TypeFor[Supply](), path: "supplies[]",
		keys: [][2]string{
			{"efficiency_over_load", "efficiency_vs_load"},
			{"power_over_air", "derating"},
			{"standby", "standby_power"},
			{"overload", "overload_protection"},
		},
	},
	{
		in: reflect.TypeFor[Wire](), path: "wires[]",
		keys: [][2]string{
			{"max_current_air", "max_current_ambient"},
			{"insulation_max", "insulation_temperature_rating"},
		},
	},
	{
		in: reflect.TypeFor[ThermalInterface](), path: "thermal_interfaces[]",
		keys: [][2]string{
			{"specific_resistance", "thermal_impedance"},
		},
	},
	{
		in: reflect.TypeFor[Sensor](), path: "sensors[]",
		keys: [][2]string{
			{"resistance_over_temperature", "resistance_vs_temperature"},
		},
	},
}

// renamedParts is the ids of built-in parts that format version 2 replaced.
var renamedParts = [][2]string{
	{"stepdown-700ma", "buck-700ma"},
	{"stepdown-1a", "buck-1a"},
	{"stepdown-3a", "buck-3a"},
	{"stepdown-6a", "buck-6a"},
	{"stepup-1a", "boost-1a"},
	{"mains-700ma", "ac-700ma"},
	{"mains-350ma-high", "ac-350ma-high"},
	{"paste-good", "tim-paste-3w"},
	{"paste-plain", "tim-paste-1w"},
	{"pad-silicone", "tim-pad-silicone"},
	{"sheet-phase-change", "tim-phase-change"},
	{"tape-adhesive", "tim-tape-adhesive"},
	{"blown-90", "fins-90-forced"},
	{"still-80", "fins-80-natural"},
	{"round-120", "star-120-natural"},
}

// renames is what the decoder reports of names of format version 1.
var renames = func() (out []source.Rename) {
	out = append(out, source.Rename{
		In: reflect.TypeFor[Design](), Key: "lampwright", Value: "1", New: "2",
		Hint: "keys were renamed; `lampwright format` lists them",
	})
	for _, r := range renamed {
		for _, k := range r.keys {
			out = append(out, source.Rename{In: r.in, Key: k[0], New: k[1]})
		}
		for _, v := range r.values {
			out = append(out, source.Rename{In: r.in, Key: v[0], Value: v[1], New: v[2]})
		}
	}
	return out
}()

// newPartID returns the id that replaced an id of format version 1.
func newPartID(old string) (id string, ok bool) {
	i := slices.IndexFunc(renamedParts, func(p [2]string) bool { return p[0] == old })
	if i < 0 {
		return "", false
	}
	return renamedParts[i][1], true
}

// RenamedKeys returns a Markdown table of the names that format version 2 replaced.
func RenamedKeys() string {
	var b strings.Builder
	b.WriteString("| in | version 1 | version 2 |\n| --- | --- | --- |\n")
	row := func(in, old, now string) { fmt.Fprintf(&b, "| %s | `%s` | `%s` |\n", in, old, now) }
	for _, r := range renamed {
		in := "design file"
		if r.path != "" {
			in = "`" + r.path + "`"
		}
		for _, k := range r.keys {
			row(in, k[0], k[1])
		}
		for _, v := range r.values {
			row(in, v[0]+": "+v[1], v[0]+": "+v[2])
		}
	}
	for _, p := range renamedParts {
		row("part ids", p[0], p[1])
	}
	return b.String()
}
