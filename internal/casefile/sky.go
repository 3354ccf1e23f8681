package casefile

import (
	"fmt"
	"math"

	"lampwright/internal/day"
	"lampwright/internal/sky"
)

// skyCase is a list of questions about sun and moon.
type skyCase struct {
	Sun         []skyDay     `json:"sun"`
	Elevation   []skyInstant `json:"elevation"`
	Years       []int        `json:"phases_of_years"`
	Illuminated []string     `json:"illuminated"`
}

type skyPlace struct {
	Lat float64 `json:"lat"`
	Lon float64 `json:"lon"`
}

// rename lists other names for the keys of a place.
func (*skyPlace) rename() map[string]string {
	return map[string]string{"lat_deg": "lat", "latitude": "lat", "lon_deg": "lon", "longitude": "lon"}
}

type skyDay struct {
	skyPlace
	Date string `json:"date"`
}

type skyInstant struct {
	skyPlace
	UTC string `json:"utc"`
}

// Years of which phases are computed.
const (
	firstPhaseYear = 1900
	lastPhaseYear  = 2100
)

// answerSky answers what a case asks: nothing of what it does not ask.
func answerSky(c *skyCase) (map[string]any, error) {
	if len(c.Sun) > maxRows || len(c.Elevation) > maxRows || len(c.Years) > maxRows || len(c.Illuminated) > maxRows {
		return nil, fmt.Errorf("more than %d rows of one question", maxRows)
	}
	out := map[string]any{}
	for _, part := range []struct {
		key    string
		answer func() ([]any, error)
	}{{"sun", c.sun}, {"elevation", c.elevation}, {"phases", c.phases}, {"illuminated", c.illuminated}} {
		rows, err := part.answer()
		if err != nil {
			return nil, err
		}
		if len(rows) > 0 {
			out[part.key] = rows
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("nothing is asked; use sun, elevation, phases_of_years or illuminated")
	}
	return out, nil
}

// place returns the place of a row.
func (p skyPlace) place(path string) (sky.Place, error) {
	return sky.Place{LatDeg: p.Lat, LonDeg: p.Lon}, allWithin(bounded{path + ".lat", p.Lat, -90, 90},
		bounded{path + ".lon", p.Lon, -180, 180})
}

func (c *skyCase) sun() (out []any, err error) {
	for i, row := range c.Sun {
		path := fmt.Sprintf("sun[%d]", i)
		p, err := row.place(path)
		if err != nil {
			return nil, err
		}
		date, err := day.ParseDate(row.Date)
		if err != nil {
			return nil, at(path+".date", err)
		}
		out = append(out, solarDay(p.SolarDay(date)))
	}
	return out, nil
}

// solarDay lists the events of a solar day; where the sun does not cross an elevation, it says on which side it stays.
func solarDay(d sky.SolarDay) map[string]any {
	out := map[string]any{"transit": instant(d.TransitUTC), "elevation_noon": d.NoonElevationDeg}
	for _, a := range []struct {
		name, rise, set string
		arc             sky.Arc
	}{
		{"sun", "sunrise", "sunset", d.Sun},
		{"civil", "civil_dawn", "civil_dusk", d.Civil},
		{"nautical", "nautical_dawn", "nautical_dusk", d.Nautical},
	} {
		if a.arc.Rise.State == a.arc.Set.State && a.arc.Rise.State != sky.Crosses {
			out[a.name] = crossing(a.arc.Rise)
			continue
		}
		out[a.rise], out[a.set] = crossing(a.arc.Rise), crossing(a.arc.Set)
		if a.name == "sun" {
			out["day_length_h"] = d.Hours(a.arc)
		}
	}
	return out
}

// crossing is an instant, or where the sun stays.
func crossing(c sky.Crossing) string {
	switch c.State {
	case sky.AlwaysAbove:
		return "always above"
	case sky.AlwaysBelow:
		return "always below"
	}
	return instant(c.UTC)
}

// instant writes seconds of UTC to the nearest second.
func instant(utc float64) string { return day.FormatUTC(int64(math.Round(utc))) }

func (c *skyCase) elevation() (out []any, err error) {
	for i, row := range c.Elevation {
		path := fmt.Sprintf("elevation[%d]", i)
		p, err := row.place(path)
		if err != nil {
			return nil, err
		}
		utc, err := day.ParseUTC(row.UTC)
		if err != nil {
			return nil, at(path+".utc", err)
		}
		out = append(out, p.SunElevation(float64(utc)))
	}
	return out, nil
}

func (c *skyCase) phases() (out []any, err error) {
	for i, year := range c.Years {
		path := fmt.Sprintf("phases_of_years[%d]", i)
		if err := allWithin(bounded{path, float64(year), firstPhaseYear, lastPhaseYear}); err != nil {
			return nil, err
		}
		from, to := float64(day.Date(year, 1, 1))*day.DayS, float64(day.Date(year+1, 1, 1))*day.DayS
		for _, p := range sky.Phases(from, to) {
			out = append(out, []any{instant(sky.UTC(p.JDE)), p.Kind.String()})
		}
	}
	return out, nil
}

func (c *skyCase) illuminated() (out []any, err error) {
	for i, text := range c.Illuminated {
		utc, err := day.ParseUTC(text)
		if err != nil {
			return nil, at(fmt.Sprintf("illuminated[%d]", i), err)
		}
		out = append(out, []any{text, sky.IlluminatedAt(sky.JDE(float64(utc)))})
	}
	return out, nil
}
