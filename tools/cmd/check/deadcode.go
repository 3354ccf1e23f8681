package main

import (
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

const deadcodeHead = `# Functions that no command reaches, with the coming use that keeps them. .ci/run compares this list with the output of deadcode
# and fails if they differ. After adding or removing such a function: go run -C tools ./cmd/check -update deadcode
`

// undecided is the reason of a new entry; it has to be replaced.
const undecided = "?"

// checkDeadcode compares the functions that main does not reach with the list.
func checkDeadcode(root string, update bool) error {
	file := filepath.Join(root, "tools", "deadcode.txt")
	text, err := os.ReadFile(file)
	if err != nil && !update {
		return err
	}
	listed, err := reasons(string(text))
	if err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	dead, err := unreachable(root)
	if err != nil {
		return err
	}
	if update {
		return os.WriteFile(file, []byte(deadcodeHead+list(dead, listed)), 0o644)
	}
	return differences(dead, listed)
}

// unreachable returns the functions that main does not reach, as "internal/drive.Losses.add".
func unreachable(root string) ([]string, error) {
	cmd := exec.Command("go", "build", "-o", filepath.Join(os.TempDir(), "lampwright-deadcode"), "golang.org/x/tools/cmd/deadcode")
	cmd.Dir, cmd.Stderr = filepath.Join(root, "tools"), os.Stderr
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("build deadcode: %w", err)
	}
	cmd = exec.Command(filepath.Join(os.TempDir(), "lampwright-deadcode"),
		"-f", `{{range .Funcs}}{{printf "%s.%s\n" $.Path .Name}}{{end}}`, "./cmd/lampwright")
	cmd.Dir, cmd.Stderr = root, os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("run deadcode: %w", err)
	}
	var names []string
	for line := range strings.Lines(string(out)) {
		if name := strings.TrimPrefix(strings.TrimSpace(line), "lampwright/"); name != "" {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names, nil
}

// reasons reads lines of the form "internal/drive.Losses.add  # reason".
func reasons(text string) (map[string]string, error) {
	out := map[string]string{}
	n := 0
	for line := range strings.Lines(text) {
		n++
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		name, reason, _ := strings.Cut(line, "#")
		name, reason = strings.TrimSpace(name), strings.TrimSpace(reason)
		if reason == "" {
			return nil, fmt.Errorf("line %d: %s has no reason; write it after #", n, name)
		}
		out[name] = reason
	}
	return out, nil
}

// list returns the entries of a new list; reasons that are known stay.
func list(dead []string, known map[string]string) string {
	width := 0
	for _, name := range dead {
		width = max(width, len(name))
	}
	var b strings.Builder
	for _, name := range dead {
		reason := known[name]
		if reason == "" {
			reason = undecided
		}
		fmt.Fprintf(&b, "%-*s  # %s\n", width, name, reason)
	}
	return b.String()
}

// differences returns an error that names every function that only one side has, or that has no reason yet.
func differences(dead []string, listed map[string]string) error {
	var problems []string
	for _, name := range dead {
		switch listed[name] {
		case "":
			problems = append(problems, name+" is not reachable: call it, delete it, or list it with its coming use")
		case undecided:
			problems = append(problems, name+" has no reason yet")
		}
	}
	for _, name := range slices.Sorted(maps.Keys(listed)) {
		if !slices.Contains(dead, name) {
			problems = append(problems, name+" is reachable or gone: remove it from tools/deadcode.txt")
		}
	}
	if len(problems) > 0 {
		return fmt.Errorf("unreachable functions differ from tools/deadcode.txt:\n  %s", strings.Join(problems, "\n  "))
	}
	return nil
}
