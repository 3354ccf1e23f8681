package cli

import (
	"fmt"
	"strings"
)

// Old names of commands, flags and values, with the names that replace them. They appear only in errors.
var (
	renamedCommands = map[string]string{"shelf": "parts", "dossier": "report", "farfield": "photometry"}
	renamedFlags    = map[string]map[string]string{ // by command
		"report": {"--as": "--format", "--trace": "--with-trace", "--full": "--all-sections"},
		"mix":    {"--least": "--min", "--most": "--max", "--best": "--objective", "--dawn": "--sunrise", "--first": "--start-cct"},
		"trace":  {"--error": "--std-error", "--paths": "--max-rays", "--thick": "--glass-interior"},
		"solder": {"--tip": "--tip-temperature", "--power": "--iron-power"},
		"serve":  {"--addr": "--listen"},
	}
	renamedValues = map[string]map[string]string{ // by flag
		"--case": {
			"usual": "typical", "hottest": "max-ambient",
			"usual-fan-dead": "fan-failure", "hottest-fan-dead": "max-ambient-fan-failure",
		},
		"--objective": {"power": "min-power", "light": "max-light", "ra": "max-ra", "rf": "max-rf"},
	}
)

// renamed returns an error that names the new command, flag or value where the arguments contain an old one.
func renamed(args []string) error {
	command := ""
	for i, a := range args {
		if !strings.HasPrefix(a, "-") {
			if command != "" {
				continue
			}
			command = a
			if now, ok := renamedCommands[a]; ok {
				return fmt.Errorf("`lampwright %s` is now `lampwright %s`", a, now)
			}
			continue
		}
		flag, value, joined := strings.Cut(a, "=")
		if now, ok := renamedFlags[command][flag]; ok {
			return fmt.Errorf("`%s` is now `%s` (command %s)", flag, now, command)
		}
		if !joined && i+1 < len(args) {
			value = args[i+1]
		}
		if now, ok := renamedValues[flag][value]; ok {
			return fmt.Errorf("`%s %s` is now `%s %s`", flag, value, flag, now)
		}
	}
	return nil
}
