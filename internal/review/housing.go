package review

import (
	"fmt"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

// housing tells what the housing carries, and whether its joint is worth mending.
func (v *reviewer) housing() {
	h := v.d.Housing
	if h == nil || len(v.r.Cases) == 0 {
		return
	}
	c := v.r.Cases[0]
	across, rise := c.SinkK-c.HousingK, c.SinkK-c.AirK
	f := finding.Finding{
		Severity: finding.Pass, Check: "housing", Subject: "housing", At: h.Area.At, Figure: "housing.heat", Value: quantity.Format(c.HousingW, quantity.Power),
		Title: fmt.Sprintf("the housing sheds %s of the %s that the lamp must", quantity.Format(c.HousingW, quantity.Power), quantity.Format(c.HeatW, quantity.Power)),
		Why:   "A housing cools only as well as it touches the sink.",
	}
	if across > rise/2 {
		f.Severity = finding.Note
		f.Title += fmt.Sprintf("; its joint takes %s of the sink's %s over the air", quantity.Format(across, quantity.TemperatureDifference), quantity.Format(rise, quantity.TemperatureDifference))
		f.Mend = "paste in the joint, more screws or a larger contact"
	}
	v.add(f)
}
