package project

import (
	"reflect"
	"strings"
	"testing"
)

// TestKinds compares the table of kinds with the keys of a parts file and the sets of the library.
func TestKinds(t *testing.T) {
	var keys []string
	for f := range reflect.TypeFor[PartsFile]().Fields() {
		if f.Type.Kind() == reflect.Slice {
			keys = append(keys, f.Tag.Get("yaml"))
		}
	}
	sets := 0
	for f := range reflect.TypeFor[Library]().Fields() {
		if strings.HasPrefix(f.Type.Name(), "Set[") {
			sets++
		}
	}
	if len(keys) != len(Kinds) || sets != len(Kinds) {
		t.Fatalf("%d keys, %d kinds, %d sets", len(keys), len(Kinds), sets)
	}
	for i, k := range Kinds {
		if k.Key != keys[i] {
			t.Errorf("kind %d is %s, the key %s", i, k.Key, keys[i])
		}
	}
}

// TestBillOfMaterialsCounts counts what a design needs: metres of wire, one spool of solder for both joints.
func TestBillOfMaterialsCounts(t *testing.T) {
	p, problems := loadTexts(strings.Replace(goodLamp, "wire_solder: snbi58", "wire_solder: sac305", 1), goodParts)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	count := map[string]int{}
	for _, o := range BillOfMaterials(p.Library, &p.Design, Order{}) {
		if o.Part != nil {
			count[o.Kind+" "+o.Part.ID.S] += o.Count
		}
	}
	for _, u := range Kinds[0].Uses(&p.Design) {
		if count["emitter "+u.ID.S] < u.Count {
			t.Errorf("%d pieces of %s, want %d", count["emitter "+u.ID.S], u.ID.S, u.Count)
		}
	}
	if count["solder sac305"] != 1 {
		t.Errorf("%d spools of sac305, want 1", count["solder sac305"])
	}
}
