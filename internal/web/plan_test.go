package web

import "testing"

// TestPlan: the plan of a demo with errors, previewed and saved with all its changes, gives a file without stops; its
// changes are of every kind: values, whole mappings, new items of lists.
func TestPlan(t *testing.T) {
	for _, name := range []string{"moss-jar-first", "long-tank-first"} {
		dir := demo(t, name)
		s, ts := serve(t, dir)
		settled(t, s)
		base := state(t, ts).Hash
		resp, data := send(t, ts, "POST", "/api/plan", map[string]any{"base": base, "changes": []change{}}, nil)
		if resp.StatusCode != 200 {
			t.Fatalf("%s: %s: %.400s", name, resp.Status, data)
		}
		plan := read[planView](t, data)
		if plan.Before.Stops == 0 || plan.After.Stops != 0 || len(plan.Causes) == 0 || len(plan.Left) != 0 {
			t.Fatalf("%s: %+v", name, plan)
		}
		var all []change
		for _, c := range plan.Causes {
			all = append(all, c.Sets...)
		}
		resp, data = send(t, ts, "POST", "/api/save", map[string]any{"base": base, "changes": all}, nil)
		if resp.StatusCode != 200 {
			t.Fatalf("%s: save: %s: %.400s", name, resp.Status, data)
		}
		settled(t, s)
		stops := 0
		for _, f := range state(t, ts).Lamp.Findings {
			if f.Severity == "stop" {
				stops++
			}
		}
		if stops != 0 {
			t.Errorf("%s: %d stops after every change of the plan\n%s", name, stops, onDisk(t, dir))
		}
	}
}
