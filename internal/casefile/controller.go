package casefile

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"lampwright/internal/controller"
)

// controllerGuide describes the cases of the controller core.
const controllerGuide = "docs/cases-controller.md"

// controllerModel is the word of a case's "model".
const controllerModel = "LC1"

// controllerCase is a trace of the controller core.
type controllerCase struct {
	ID      string             `json:"id"`
	Model   string             `json:"model"` // controllerModel
	Source  string             `json:"source"`
	Ticks   int64              `json:"ticks"`
	Now0MS  int64              `json:"now0_ms"`
	UTC0    int64              `json:"utc0"`
	Boots   int64              `json:"boots"`
	CRCOK   bool               `json:"crc_ok"`
	Config  controller.Config  `json:"config"`
	Signals controller.Signals `json:"signals"`
}

// isController reports whether a document is a case of a controller core.
func isController(n *node) bool { return n.get("model") != nil }

// runController computes a trace of the controller core.
func runController(ctx context.Context, d document, n *node) (TopicResult, error) {
	c, err := decodeController(d, n)
	if err != nil {
		return TopicResult{}, err
	}
	if n.get("config") == nil {
		return TopicResult{}, d.errorAt(n.at, errors.New(`a case of the controller needs an object "config"`))
	}
	t, err := c.trace(d, n)
	if err != nil {
		return TopicResult{}, err
	}
	s, err := t.Run(ctx)
	if err != nil {
		return TopicResult{}, d.errorAt(n.at, fmt.Errorf("compute the trace: %w", err))
	}
	out := TopicResult{ID: c.ID, Results: map[string]any{
		"crc32": fmt.Sprintf("%08x", s.CRC32), "state_changes": s.StateChanges, "rows": s.Rows,
	}}
	out.Missed, err = missedController(d, n, out.Results)
	return out, err
}

// decodeController reads a trace of the controller core strictly. What is left out has the default of the guide.
func decodeController(d document, n *node) (controllerCase, error) {
	c := controllerCase{CRCOK: true}
	if m := n.get("model"); m.scalar != any(controllerModel) {
		return c, d.errorAt(m.at, fmt.Errorf("model %s is not known; use %q or %q", m.raw, controllerModel,
			benchModelName))
	}
	c.Config.Acclimation = controller.Acclimation{Days: 1, From: controller.One}
	own := *n
	own.members = slices.DeleteFunc(slices.Clone(n.members), func(m member) bool {
		return m.key == "expected" || m.key == "tolerance"
	})
	dec := decoder{document: d, guide: controllerGuide}
	dec.fill(&own, &c, "")
	if err := dec.err(); err != nil {
		return c, err
	}
	return c, nil
}

// trace returns the trace of a case whose bounds are right.
func (c *controllerCase) trace(d document, n *node) (controller.Trace, error) {
	t := controller.Trace{
		Config: c.Config, Ticks: c.Ticks, Now0MS: c.Now0MS, UTC0: c.UTC0, Boots: c.Boots, CRCOK: c.CRCOK,
		Signals: c.Signals,
	}
	if err := t.Check(); err != nil {
		return t, placedProblems(d, n, err)
	}
	return t, nil
}

// ControllerTrace reads a trace of the controller core; own is asked for the configuration of one that has none. file
// is its name, for errors.
func ControllerTrace(file string, data []byte, own func() (controller.Config, error)) (controller.Trace, error) {
	d := document{file, data}
	n, err := d.parse()
	if err != nil {
		return controller.Trace{}, err
	}
	if !isController(n) {
		return controller.Trace{}, fmt.Errorf("%s is no trace of the controller core; %s describes what one contains",
			file, controllerGuide)
	}
	c, err := decodeController(d, n)
	if err != nil {
		return controller.Trace{}, err
	}
	if n.get("config") == nil {
		if c.Config, err = own(); err != nil {
			return controller.Trace{}, err
		}
	}
	return c.trace(d, n)
}

// placedProblems returns problems of a trace, each with its position.
func placedProblems(d document, n *node, err error) error {
	joined, ok := err.(interface{ Unwrap() []error })
	if !ok {
		return d.placed(n, err)
	}
	dec := decoder{document: d}
	for _, one := range joined.Unwrap() {
		where := n.at
		if p := (*controller.Problem)(nil); errors.As(one, &p) {
			where = locate(n, p.Path)
		}
		dec.problem(where, "%v", one)
	}
	return dec.err()
}

// missedController compares results with the expected ones of a case: exactly. Of a list the first entry that differs
// is reported.
func missedController(d document, n *node, results map[string]any) (out []TopicMiss, err error) {
	expected := n.get("expected")
	if expected == nil || expected.kind == null {
		return nil, nil
	}
	for _, m := range expected.members {
		got, ok := results[m.key]
		if !ok {
			return nil, d.errorAt(m.at, fmt.Errorf("expected figure %q is not a result of this case; use %s",
				m.key, strings.Join(slices.Sorted(maps.Keys(results)), ", ")))
		}
		var want any
		if err := unmarshal(d, m.value, m.key, &want); err != nil {
			return nil, err
		}
		have := generic(got)
		if key, w, g, differs := firstDifference(m.key, want, have); differs {
			out = append(out, TopicMiss{Key: key, Want: w, Got: g})
		}
	}
	return out, nil
}

// generic returns a value as the JSON library reads it back.
func generic(v any) (out any) {
	text, err := json.Marshal(v)
	if err == nil {
		err = json.Unmarshal(text, &out)
	}
	if err != nil {
		panic("casefile: a result is no JSON: " + err.Error())
	}
	return out
}

// firstDifference returns in what two values differ: of lists the first entry that does, with its key.
func firstDifference(key string, want, got any) (at string, w, g any, differs bool) {
	a, listA := want.([]any)
	b, listB := got.([]any)
	if !listA || !listB {
		return key, want, got, !reflect.DeepEqual(want, got)
	}
	for i := range max(len(a), len(b)) {
		w, g = nil, nil
		if i < len(a) {
			w = a[i]
		}
		if i < len(b) {
			g = b[i]
		}
		if !reflect.DeepEqual(w, g) {
			return fmt.Sprintf("%s[%d]", key, i), w, g, true
		}
	}
	return key, nil, nil, false
}
