package casefile

import (
	"fmt"
	"slices"
	"strconv"

	"lampwright/internal/drive"
	"lampwright/internal/engine"
)

// wallCase is the drivers of a lamp on one power supply, at several levels.
type wallCase struct {
	Supply  converterCase `json:"supply"`
	Drivers []driverCase  `json:"drivers"`
	Levels  []float64     `json:"levels"`
}

// converterCase is a converter with its efficiency at each output power.
type converterCase struct {
	NoLoadW float64      `json:"no_load_W"`
	Points  [][2]float64 `json:"points"` // output [W], efficiency
}

type driverCase struct {
	LEDW    float64      `json:"led_W"`
	NoLoadW float64      `json:"no_load_W"`
	OffW    float64      `json:"off_W"`
	Points  [][2]float64 `json:"points"`
}

// Bounds of the topic.
const (
	maxWallDrivers = 40
	maxWallW       = 1e5
)

// line returns the input power of a converter.
func (c *converterCase) line(path string) (drive.InputLine, error) {
	out := drive.InputLine{NoLoadW: c.NoLoadW, FullW: 1}
	if n := len(c.Points); n == 0 || n > maxRows {
		return out, at(path, fmt.Errorf("%s lists %d points; it takes 1 to %d", path, n, maxRows))
	}
	all := []bounded{{path + ".no_load_W", c.NoLoadW, 0, maxWallW}}
	for i, p := range c.Points {
		of := fmt.Sprintf("%s.points[%d]", path, i)
		all = append(all, bounded{of, p[0], 1e-6, maxWallW}, bounded{of, p[1], 1e-6, 1})
	}
	if err := allWithin(all...); err != nil {
		return out, err
	}
	points := slices.Clone(c.Points)
	slices.SortStableFunc(points, func(a, b [2]float64) int {
		if a[0] < b[0] {
			return -1
		}
		return 1
	})
	for _, p := range points {
		out.Load, out.Efficiency = append(out.Load, p[0]), append(out.Efficiency, p[1])
	}
	if err := out.Check(); err != nil {
		return out, at(path, fmt.Errorf("%s: %w", path, err))
	}
	return out, nil
}

// loads returns the drivers and the supply as package engine solves them, at full level.
func (c *wallCase) loads() (drivers []engine.DriverLoad, supply engine.SupplyLoad, err error) {
	if n := len(c.Drivers); n == 0 || n > maxWallDrivers {
		return nil, supply, at("drivers", fmt.Errorf("%d drivers; a case needs 1 to %d", n, maxWallDrivers))
	}
	if n := len(c.Levels); n == 0 || n > maxRows {
		return nil, supply, at("levels", fmt.Errorf("%d levels; a case needs 1 to %d", n, maxRows))
	}
	if supply.Line, err = c.Supply.line("supply"); err != nil {
		return nil, supply, err
	}
	for i := range c.Drivers {
		d := &c.Drivers[i]
		path := fmt.Sprintf("drivers[%d]", i)
		line, err := (&converterCase{NoLoadW: d.NoLoadW, Points: d.Points}).line(path)
		if err == nil {
			err = allWithin(bounded{path + ".led_W", d.LEDW, 0, maxWallW}, bounded{path + ".off_W", d.OffW, 0, maxWallW})
		}
		if err != nil {
			return nil, supply, err
		}
		drivers = append(drivers, engine.DriverLoad{
			Topology: drive.BuckTopology, Line: line, StandbyW: d.OffW, OutputW: d.LEDW,
		})
	}
	for i, level := range c.Levels {
		path := fmt.Sprintf("levels[%d]", i)
		if err := allWithin(bounded{path, level, 0, 1}); err != nil {
			return nil, supply, err
		}
	}
	return drivers, supply, nil
}

// answerWall computes the load of the supply and the mains input at each level, and the mains input with the light off,
// as package engine does for a design.
func answerWall(c *wallCase) (map[string]any, error) {
	drivers, supply, err := c.loads()
	if err != nil {
		return nil, err
	}
	out := map[string]any{}
	for _, level := range c.Levels {
		for i := range drivers {
			drivers[i].Duty, drivers[i].Off = level, level == 0
		}
		mains, supplies := engine.MainsPower(drivers, []engine.SupplyLoad{supply})
		percent := strconv.FormatFloat(100*level, 'g', 6, 64)
		out["supply_load_W."+percent] = supplies[0].LoadW
		out["wall_W."+percent] = mains.PowerW
		out["off_W"] = mains.StandbyW
	}
	return out, nil
}
