package cli

import (
	"context"
	"embed"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/inputfile"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/review"
)

// completions are the scripts that ask `lampwright __complete` for candidates.
//
//go:embed completion
var completions embed.FS

// helpCmd lists `help` among the commands. Main turns `help COMMAND` into `COMMAND --help`.
type helpCmd struct {
	Command string `arg:"" optional:"" help:"Command to describe; default: the list of commands."`
}

type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

// Run prints the completion script of a shell.
func (c *completionCmd) Run(r *run) error {
	script, err := completions.ReadFile("completion/lampwright." + c.Shell)
	if err != nil {
		return err
	}
	_, err = r.out.Write(script)
	return err
}

type completeCmd struct {
	Words []string `arg:"" optional:"" passthrough:"all" help:"Words after the name of the program; the last one is completed."`
}

// completeTimeout is the time for the results of a design whose unit responses are not stored yet.
const completeTimeout = 3 * time.Second

// Run prints the candidates for the last word, one per line. It prints nothing if the shell shall offer files.
func (c *completeCmd) Run(r *run) error {
	words := c.Words
	if len(words) > 0 && words[0] == "--" {
		words = words[1:]
	}
	if len(words) == 0 {
		words = []string{""}
	}
	last := words[len(words)-1]
	for _, candidate := range candidates(words[:len(words)-1], last) {
		if strings.HasPrefix(candidate, last) {
			r.println(candidate)
		}
	}
	return nil
}

// verbatim keeps the words after __complete from being parsed as flags.
func verbatim(args []string) []string {
	if len(args) > 0 && args[0] == "__complete" && !slices.Contains(args[1:min(2, len(args))], "--") {
		return append([]string{args[0], "--"}, args[1:]...)
	}
	return args
}

// candidates returns the words that may follow the words before.
func candidates(before []string, last string) []string {
	model, err := kong.New(&commands{}, kong.Name("lampwright"), kong.Writers(io.Discard, io.Discard), kong.Vars{"version": ""})
	if err != nil {
		return nil
	}
	if len(before) == 0 && strings.HasPrefix(last, "-") {
		return []string{"--help", "--version"}
	}
	if len(before) > 0 && before[0] == "help" {
		before = before[1:]
	}
	node := model.Model.Node
	for len(before) > 0 && len(node.Children) > 0 {
		at := slices.IndexFunc(node.Children, func(n *kong.Node) bool { return n.Name == before[0] && !n.Hidden })
		if at < 0 {
			return nil
		}
		node = node.Children[at]
		if len(node.Children) == 0 {
			break
		}
		before = before[1:]
	}
	if len(node.Children) > 0 {
		return namesOf(node)
	}
	if flag := flagOf(node, before[len(before)-1]); flag != nil && len(before) > 1 {
		return valuesOf(flag, before)
	}
	if strings.HasPrefix(last, "-") {
		return flagsOf(node)
	}
	return argumentsOf(node, before)
}

// namesOf returns the names of the commands of a group.
func namesOf(group *kong.Node) (names []string) {
	for _, n := range group.Children {
		if !n.Hidden {
			names = append(names, n.Name)
		}
	}
	return names
}

// flagsOf returns the long flags of a command.
func flagsOf(node *kong.Node) []string {
	list := []string{"--help"}
	for _, f := range node.Flags {
		if f.Hidden {
			continue
		}
		list = append(list, "--"+f.Name)
		if f.Tag.Negatable != "" {
			list = append(list, "--no-"+f.Name)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// flagOf returns the flag of a command that takes the next word as its value; nil if the word is none.
func flagOf(node *kong.Node, word string) *kong.Flag {
	for _, f := range node.Flags {
		if !f.IsBool() && (word == "--"+f.Name || f.Short != 0 && word == "-"+string(f.Short)) {
			return f
		}
	}
	return nil
}

// valuesOf returns the values of a flag.
func valuesOf(flag *kong.Flag, before []string) []string {
	switch {
	case flag.Enum != "":
		return flag.EnumSlice()
	case flag.Name == "channel":
		return channelNames(projectOf(before))
	case flag.Name == "figure":
		if result := resultOf(before); result != nil {
			return result.Keys()
		}
	case flag.Name == "min", flag.Name == "max":
		var list []string
		for _, name := range channelNames(projectOf(before)) {
			list = append(list, name+"=")
		}
		return list
	case flag.Name == "check":
		if result := resultOf(before); result != nil {
			return checksOf(review.Review(context.Background(), result))
		}
	}
	return nil
}

// argumentsOf returns the values of the next positional argument of a command; nothing where it is a path.
func argumentsOf(node *kong.Node, before []string) []string {
	place := 0
	for i := 1; i < len(before); i++ {
		switch {
		case flagOf(node, before[i]) != nil:
			i++
		case !strings.HasPrefix(before[i], "-"):
			place++
		}
	}
	if place >= len(node.Positional) {
		return nil
	}
	arg := node.Positional[place]
	if arg.Enum != "" {
		return arg.EnumSlice()
	}
	switch {
	case node.Name == "explain" && place == 0:
		if result := resultOf(before); result != nil {
			return result.Keys()
		}
	case node.Name == "figures" && place == 0:
		if result := resultOf(before); result != nil {
			return groupsOf(result)
		}
	case node.Name == "parts":
		return partNames(projectOf(before))
	}
	return nil
}

// projectOf returns the project that the words name, or the current folder.
func projectOf(words []string) string {
	for i := len(words) - 1; i > 0; i-- {
		if isProject(words[i]) {
			return words[i]
		}
	}
	return "."
}

// resultOf returns the results of the project that the words name, without ranges; nil if there are none in time.
func resultOf(words []string) *figure.Evaluation {
	path := projectOf(words)
	r := newRun(&output{w: io.Discard}, io.Discard)
	ctx, cancel := context.WithTimeout(context.Background(), completeTimeout)
	defer cancel()
	r.ctx = ctx
	p, err := r.load(path)
	if err != nil {
		return nil
	}
	result, err := figure.Evaluate(ctx, p, engine.Options{Samples: -1, Solver: r.solver(path)})
	if err != nil {
		return nil
	}
	return result
}

// channelNames returns the channels of a project.
func channelNames(path string) (names []string) {
	p, err := newRun(&output{w: io.Discard}, io.Discard).load(path)
	if err != nil {
		return nil
	}
	for _, ch := range p.Design.Channels {
		names = append(names, ch.Name.S)
	}
	return names
}

// partNames returns the kinds and ids of the parts library and of a project.
func partNames(path string) (names []string) {
	s, problems := project.LoadLibrary(inputfile.Folder(folder(path)), partslib.Files())
	if len(problems) > 0 {
		return nil
	}
	for _, e := range s.List() {
		if !slices.Contains(names, e.Kind) {
			names = append(names, e.Kind)
		}
		names = append(names, e.ID)
	}
	return names
}
