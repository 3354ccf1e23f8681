package project_test

import (
	"math"
	"os"
	"testing"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// TestBillOfMaterials: wires and alloys are standards and not fictitious; extras end the list; totals are count · price.
func TestBillOfMaterials(t *testing.T) {
	p, problems := project.Load(os.DirFS("../../examples/long-tank"), project.DesignFile, partslib.Files())
	if p == nil {
		t.Fatal(problems)
	}
	extras := len(p.Design.Extras)
	lines := project.BillOfMaterials(p.Library, &p.Design, project.Order{})
	if extras == 0 || len(lines) <= extras {
		t.Fatalf("%d lines, %d extras", len(lines), extras)
	}
	sum := 0.0
	for i, o := range lines {
		sum += o.Total()
		if extra := i >= len(lines)-extras; extra != (o.Kind == "") || extra && o.Part != nil || o.What == "" {
			t.Errorf("line %d: kind %q, what %q, part %v", i, o.Kind, o.What, o.Part)
		}
		standard := o.Kind == "wire" || o.Kind == "solder"
		if o.Part != nil && (o.Standard() != standard || o.Fictitious() == standard) {
			t.Errorf("%s: standard %v, fictitious %v", o.Part.ID.S, o.Standard(), o.Fictitious())
		}
	}
	// Summed by hand from the prices in the parts library and lamp.yaml; the board is 1.064 times the 100 cm² of its
	// price.
	if math.Abs(sum-197.71) > 0.005 {
		t.Errorf("%.2f EUR, want 197.71", sum)
	}
}
