package casefile

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// A topic is a model that answers one kind of case: inputs in, figures by key out.
type topic func(ctx context.Context, d document, inputs *node) (map[string]any, error)

// topicsGuide describes the inputs of every topic.
const topicsGuide = "docs/cases-topics.md"

// topics lists the models by the word of a case's "topic".
func topics() map[string]topic {
	return map[string]topic{
		"blue":   modelTopic(answerBlue),
		"cctbin": runColourBins,
		"low":    modelTopic(answerLow),
		"film":   runFilm,
		"hood":   modelTopic(answerHood),
		"life":   modelTopic(answerLife),
		"meters": runMeters,
		"mix":    runMix,
		"panes":  runPanes,
		"range":  runRanges,

		"programme": modelTopic(answerProgramme),
		"rth":       modelTopic(answerRth),
		"sky":       modelTopic(answerSky),
		"wall":      modelTopic(answerWall),
	}
}

// topicCase is a case with a topic.
type topicCase struct {
	ID     string `json:"id"`
	Topic  string `json:"topic"`
	Source string `json:"source"`
}

// TopicResult is the answer to a case with a topic: a number, true or false, a list, or an object, for each key.
type TopicResult struct {
	ID      string         `json:"id"`
	Results map[string]any `json:"results"`
	Missed  []TopicMiss    `json:"missed,omitempty"`

	NotCompared string `json:"not_compared,omitempty"` // why the expected figures are not compared
}

// TopicMiss is a figure that differs from the expected one by more than its tolerance; Key is its path, such as
// on_time.L80_calendar_h or levels_C[0].
type TopicMiss struct {
	Key       string  `json:"key"`
	Want      any     `json:"want"`
	Got       any     `json:"got"`
	Tolerance float64 `json:"tolerance"`
}

// isTopic reports whether a document is a case with a topic.
func isTopic(n *node) bool { return n.get("topic") != nil }

// runTopic computes a case with a topic.
func runTopic(ctx context.Context, d document, n *node) (TopicResult, error) {
	var c topicCase
	own := *n
	own.members = slices.DeleteFunc(slices.Clone(n.members), func(m member) bool {
		return m.key == "inputs" || m.key == "expected" || m.key == "tolerance"
	})
	dec := decoder{document: d, guide: topicsGuide}
	dec.fill(&own, &c, "")
	if err := dec.err(); err != nil {
		return TopicResult{}, err
	}
	model, ok := topics()[c.Topic]
	if !ok {
		return TopicResult{}, d.errorAt(n.get("topic").at, fmt.Errorf("topic %q is not known; use %s", c.Topic,
			strings.Join(slices.Sorted(maps.Keys(topics())), ", ")))
	}
	inputs := n.get("inputs")
	if inputs == nil || inputs.kind != object {
		return TopicResult{}, d.errorAt(n.at, fmt.Errorf("a case of topic %q needs an object \"inputs\"", c.Topic))
	}
	if c.Topic == "programme" {
		inputs = withProbes(inputs, n.get("expected"))
	}
	results, err := model(ctx, d, inputs)
	if err != nil {
		return TopicResult{}, err
	}
	out := TopicResult{ID: c.ID, Results: results}
	out.Missed, out.NotCompared, err = missed(d, n, results)
	return out, err
}
