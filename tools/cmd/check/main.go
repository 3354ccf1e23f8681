// Command check compares the source tree with two records: functions that nothing calls (tools/deadcode.txt), and the size of
// lines and functions (tools/shape.txt).
//
//	go run -C tools ./cmd/check deadcode
//	go run -C tools ./cmd/check shape
//
// With -update it writes the record. A new entry of deadcode.txt then has the reason "?", which a person replaces: while one is
// there, the check fails.
package main

import (
	"flag"
	"fmt"
	"os"
)

func main() {
	root := flag.String("root", "..", "source tree")
	update := flag.Bool("update", false, "write the record")
	flag.Usage = func() {
		fmt.Fprintln(os.Stderr, "usage: check [-root DIR] [-update] deadcode|shape")
		flag.PrintDefaults()
	}
	flag.Parse()
	var err error
	switch flag.Arg(0) {
	case "deadcode":
		err = checkDeadcode(*root, *update)
	case "shape":
		err = checkShape(*root, *update)
	default:
		flag.Usage()
		os.Exit(2)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "check:", err)
		os.Exit(1)
	}
}
