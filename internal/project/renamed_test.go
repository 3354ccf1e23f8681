package project

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"lampwright/internal/source"
)

// wayTo returns what a file says before and after the keys of a struct, in flow style, and whether the file has that
// struct.
func wayTo(root, want reflect.Type) (before, after string, ok bool) {
	if root == want {
		return "", "", true
	}
	for f := range root.Fields() {
		key, option, _ := strings.Cut(f.Tag.Get("yaml"), ",")
		t, open, end := f.Type, "{", "}"
		if t.Kind() == reflect.Slice {
			t, open, end = t.Elem(), "[{", "}]"
		}
		if t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct || key == "" && option != "inline" || strings.Contains(t.PkgPath(), "source") {
			continue
		}
		if b, a, found := wayTo(t, want); found {
			if option == "inline" {
				return b, a, true
			}
			return key + ": " + open + b, a + end, true
		}
	}
	return "", "", false
}

// oldFile returns a one-line file with an entry in a struct, as bare keys where the struct is the file itself.
func oldFile(t *testing.T, in reflect.Type, entry string) (text string, dst any) {
	t.Helper()
	for _, dst := range []any{&Design{}, &PartsFile{}} {
		if before, after, ok := wayTo(reflect.TypeOf(dst).Elem(), in); ok {
			return before + entry + after + "\n", dst
		}
	}
	t.Fatalf("no file has a %s", in)
	return "", nil
}

// TestRenamed reads each old name at its position: an error there states the new name.
func TestRenamed(t *testing.T) {
	rows := 0
	for _, r := range renames {
		rows++
		entry, at, msg := r.Key+": 1", r.Key+":", r.Key+": use "+r.New
		if r.Value != "" {
			entry, at, msg = r.Key+": "+r.Value, r.Value, r.Value+": use "+r.New
		}
		text, dst := oldFile(t, r.In, entry)
		file, problems := source.Read("lamp.yaml", []byte(text))
		if file == nil {
			t.Fatalf("%q: %v", text, problems)
		}
		want := fmt.Sprintf("lamp.yaml:1:%d", strings.LastIndex(text, at)+1)
		found := false
		for _, p := range file.Decode(dst, renames...) {
			found = found || strings.HasSuffix(p.Msg, msg) && p.At.String() == want
			if strings.Contains(p.Msg, fmt.Sprintf("%q is not a key", r.Key)) {
				t.Errorf("%s: %s", text, p.Msg)
			}
		}
		if !found {
			t.Errorf("%s: no problem %q at %s", text, msg, want)
		}
	}
	if rows < 98 {
		t.Errorf("%d names, want at least 98", rows)
	}
}

// TestRenamedTargets finds each new name in the format.
func TestRenamedTargets(t *testing.T) {
	for _, r := range renames {
		if r.Value != "" || strings.Contains(r.New, ".") {
			continue
		}
		text, dst := oldFile(t, r.In, r.New+": 1")
		file, _ := source.Read("lamp.yaml", []byte(text))
		for _, p := range file.Decode(dst, renames...) {
			if strings.Contains(p.Msg, fmt.Sprintf("%q is not a key", r.New)) {
				t.Errorf("%s: %s", text, p.Msg)
			}
		}
	}
}

// TestRenamedParts loads a design that names a part by its old id.
func TestRenamedParts(t *testing.T) {
	_, problems := loadTexts(strings.Replace(goodLamp, "driver: buck-1a", "driver: stepdown-1a", 1), goodParts)
	if len(problems) != 1 || problems[0].Msg != "stepdown-1a: use buck-1a" {
		t.Errorf("problems %v, want one: stepdown-1a: use buck-1a", problems)
	}
}

// TestVersion1 loads a design of format version 1: each old key is reported, and no key is missing because of its old
// name.
func TestVersion1(t *testing.T) {
	text := strings.NewReplacer("lampwright: 2", "lampwright: 1", "installation:", "place:", "ambient: {typical:",
		"room: {usual:",
		", max: 32", ", hottest: 32", "thermal_interface:", "interface:").Replace(goodLamp)
	_, problems := loadTexts(text, goodParts)
	all := problems.Error()
	for _, want := range []string{
		"lampwright 1: use 2; keys were renamed; `lampwright format` lists them", "place: use installation",
		"usual: use installation.ambient.typical", "hottest: use installation.ambient.max", "interface: use thermal_interface",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in:\n%s", want, all)
		}
	}
	if strings.Contains(all, `needs the key "installation"`) || strings.Contains(all, `needs the key "length"`) {
		t.Errorf("a renamed key is reported as missing:\n%s", all)
	}
}
