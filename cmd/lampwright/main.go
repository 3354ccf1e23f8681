// Command lampwright predicts, reviews, compares and proves high-power LED lamps; see README.md.
package main

import (
	"os"

	"lampwright/internal/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdout, os.Stderr)) }
