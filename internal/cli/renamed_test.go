package cli

import (
	"bytes"
	"strings"
	"testing"
)

// TestRenamed wants every old name to give an error that names the new one, and every new name to be accepted by the grammar.
func TestRenamed(t *testing.T) {
	status := func(args ...string) (int, string) {
		var out, errOut bytes.Buffer
		return Main(args, &out, &errOut), errOut.String()
	}
	wants := func(now string, args ...string) {
		t.Helper()
		if got, said := status(args...); got != statusBad || !strings.Contains(said, now) || strings.Count(said, "\n") != 1 {
			t.Errorf("lampwright %s ends with %d and says %q; want the new name %s in one line", strings.Join(args, " "), got, said, now)
		}
	}
	flags := map[string]map[string]bool{}
	for _, n := range grammar(t).Model.Leaves(true) {
		flags[n.Name] = map[string]bool{}
		for _, f := range n.Flags {
			flags[n.Name]["--"+f.Name] = true
		}
	}
	for old, now := range renamedCommands {
		wants("`lampwright "+now+"`", old, "x")
		if flags[now] == nil || flags[old] != nil {
			t.Errorf("command %s, formerly %s: %v, %v", now, old, flags[now], flags[old])
		}
	}
	for command, list := range renamedFlags {
		for old, now := range list {
			wants("`"+now+"`", command, ".", old)
			wants("`"+now+"`", command, old+"=1")
			if !flags[command][now] || flags[command][old] {
				t.Errorf("%s: flag %s, formerly %s: %v, %v", command, now, old, flags[command][now], flags[command][old])
			}
		}
	}
	wants("`--case fan-failure`", "warmup", "--case", "usual-fan-dead")
	wants("`--case typical`", "warmup", "--case=usual")
	wants("`--objective max-ra`", "mix", "--objective", "ra")
}
