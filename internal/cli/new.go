package cli

import (
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"lampwright/internal/atomicfile"

	"lampwright/internal/project"
	"lampwright/internal/source"
)

// starter is the design file that `new` writes.
//
//go:embed starter/lamp.yaml
var starter []byte

// starterParts is the parts file that `new` writes.
//
//go:embed starter/own.yaml
var starterParts []byte

type newCmd struct {
	Dir        string `arg:"" help:"Folder to create."`
	newAnswers `embed:"" group:"Answers for a starting design"`
}

// Run writes a project into a new or empty folder: a starting design where there are answers, else a commented example.
func (c *newCmd) Run(r *run) error {
	if f, given := c.form(); given {
		return c.design(r, f)
	}
	files := []struct {
		name string
		data []byte
	}{
		{project.DesignFile, starter},
		{filepath.Join("parts", "own.yaml"), starterParts},
		{"lampwright.schema.json", nil},
	}
	schema, err := designSchema()
	if err != nil {
		return err
	}
	files[2].data = schema
	for _, f := range files {
		if _, err := os.Stat(filepath.Join(c.Dir, f.name)); err == nil {
			return fmt.Errorf("%s exists already; nothing was written", filepath.Join(c.Dir, f.name))
		} else if !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	if err := os.MkdirAll(filepath.Join(c.Dir, "parts"), 0o755); err != nil {
		return err
	}
	for _, f := range files {
		if err := atomicfile.Save(filepath.Join(c.Dir, f.name), f.data); err != nil {
			return err
		}
	}
	r.println(fmt.Sprintf("wrote %s; edit it, then run `lampwright review %s`", filepath.Join(c.Dir, project.DesignFile), c.Dir))
	return nil
}

type formatCmd struct {
	What string `arg:"" optional:"" enum:"schema,parts-schema,readings-schema,calibration-schema,reference" default:"reference" help:"schema (of a design), parts-schema, readings-schema, calibration-schema or reference; default: reference."`
}

// Run prints the file format, generated from the code that reads it.
func (c *formatCmd) Run(r *run) error {
	var out []byte
	var err error
	switch c.What {
	case "schema":
		out, err = designSchema()
	case "parts-schema":
		out, err = source.Schema("Lampwright parts", project.PartsFile{})
	case "readings-schema":
		out, err = source.Schema("Lampwright readings", project.Readings{})
	case "calibration-schema":
		out, err = source.Schema("Lampwright calibration", project.CalibrationText{})
	default:
		out = []byte(Reference())
	}
	if err != nil {
		return err
	}
	_, err = r.out.Write(out)
	return err
}

func designSchema() ([]byte, error) { return source.Schema("Lampwright design", project.Design{}) }

// Reference returns the reference of the file format in Markdown, generated from the code that reads it.
func Reference() string {
	return "# Reference of the file format\n\n" +
		"This page is generated from the code by `lampwright format`; do not edit it.\n\n" +
		"A project is a folder with `lamp.yaml`, and own parts, if any, in `parts/*.yaml`. " +
		"Every physical value is written with its unit: `2.1 A`, `320 mm`, `85 °C`. A value may carry a tolerance " +
		"(`24 V ± 2 %`) or be written in full: `{value: 24 V, min: 23.5 V, max: 24.5 V, source: \"datasheet S1, p. 2\"}`. " +
		"A curve is a mapping of quantity to quantity with increasing keys: `{0.35 A: 2.90 V, 0.7 A: 3.10 V}`, or in full with " +
		"`points` and `source`. A file holds at most 1 MB; anchors, aliases and tags are refused.\n\n" +
		"## The design, lamp.yaml\n\n" + source.Reference(project.Design{}) +
		"\n## Parts, parts/*.yaml\n\n" + source.Reference(project.PartsFile{}) +
		"\n## Readings, readings.yaml\n\n" +
		"What was measured on the built lamp, where the project folder has this file. The unit of `value` is that of " +
		"the quantity under `what`.\n\n" + source.Reference(project.Readings{}) +
		"\n## Learned parameters, calibration.yaml\n\nThe file beside the design that `--calibrated` applies. " +
		"Values have no unit: they are in SI units, or factors.\n\n" + source.Reference(project.CalibrationText{}) +
		"\n## Names that changed in format version 2\n\nAn old name is an error that states the new one.\n\n" + project.RenamedKeys()
}
