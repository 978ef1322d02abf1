// Command list prints every text that a person reads, grouped by where it is
// read, so that all can be read in one sitting: make words.
package main

import (
	"bufio"
	"fmt"
	"os"
	"strings"

	"wetside/internal/words"
)

func main() {
	if err := list(); err != nil {
		fmt.Fprintln(os.Stderr, "words:", err)
		os.Exit(1)
	}
}

func list() error {
	all, err := words.All(".")
	if err != nil {
		return err
	}
	out := bufio.NewWriter(os.Stdout)
	place, file := "", ""
	for _, t := range all {
		if t.Place != place {
			place, file = t.Place, ""
			fmt.Fprintf(out, "\n==== %s ====\n", place)
		}
		if t.File != file {
			file = t.File
			fmt.Fprintf(out, "\n%s\n", file)
		}
		fmt.Fprintf(out, "%5d  %s\n", t.Line, strings.ReplaceAll(t.Says, "\n", "\n       "))
	}
	return out.Flush()
}
