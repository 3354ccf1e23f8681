package colour

import (
	"embed"
	"fmt"
	"sync"

	"lampwright/internal/table"
)

//go:embed data/lumen_maintenance.csv
var maintenanceData embed.FS

// maintenanceCurve is the lumen maintenance of a family: rising hours, and the fraction at each.
type maintenanceCurve struct{ hours, kept []float64 }

// maintenanceOf holds the curves of all families but triphosphor, which has a formula.
var maintenanceOf = sync.OnceValue(func() map[Family]maintenanceCurve {
	t := table.Must(maintenanceData, "data/lumen_maintenance.csv", table.AllNumbers)
	out := map[Family]maintenanceCurve{}
	hours := t.Numbers("hours")
	for _, name := range t.Columns[1:] {
		var c maintenanceCurve
		for i, v := range t.Numbers(name) {
			if t.Text(i, name) != "" {
				c.hours, c.kept = append(c.hours, hours[i]), append(c.kept, v)
			}
		}
		out[Family(name)] = c
	}
	return out
})

// at interpolates; it is constant after the last row.
func (c maintenanceCurve) at(hours float64) float64 {
	for i := 1; i < len(c.hours); i++ {
		if a, b := c.hours[i-1], c.hours[i]; hours <= b {
			return c.kept[i-1] + (c.kept[i]-c.kept[i-1])*(hours-a)/(b-a)
		}
	}
	return c.kept[len(c.kept)-1]
}

// LumenMaintenance returns the fraction of its first light that a lamp of a family emits after a number of hours [1];
// an empty family is triphosphor. Source: Akashi2002 for triphosphor, as FluorescentMaintenance; for others the table
// lumen_maintenance.csv (CIE97 cited from memory, rules of thumb).
func LumenMaintenance(f Family, hours float64) float64 {
	c, ok := maintenanceOf()[f]
	if !ok {
		return FluorescentMaintenance(hours)
	}
	return c.at(hours)
}

// MeanLumenMaintenance returns the mean of LumenMaintenance from new to a number of hours [1], by Simpson's rule.
func MeanLumenMaintenance(f Family, hours float64) float64 {
	if !(hours > 0) {
		return 1
	}
	const n = 400
	sum := LumenMaintenance(f, 0) + LumenMaintenance(f, hours)
	for i := 1; i < n; i++ {
		sum += float64(2+2*(i%2)) * LumenMaintenance(f, hours*float64(i)/n)
	}
	return sum / (3 * n)
}

// maintenanceNote returns what limits the lumen maintenance of a family; "" where nothing does.
func maintenanceNote(f Family, hours float64) string {
	c, ok := maintenanceOf()[f]
	switch {
	case hours == 0:
		return ""
	case !ok && hours > 8000:
		return "the curve of ageing is known to 8000 h; it was continued from there"
	case !ok:
		return ""
	}
	last := c.hours[len(c.hours)-1]
	if hours > last {
		return fmt.Sprintf("the lumen maintenance of this lamp type is known to %.0f h; later it counts as there", last)
	}
	return "typical lumen maintenance of this lamp type; lamps differ by ±5 %"
}
