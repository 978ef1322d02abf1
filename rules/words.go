package rules

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// StepWords names a step in a sentence.
func StepWords(id string) string {
	if id == "" {
		return "its run"
	}
	return strings.ReplaceAll(id, "-", " ")
}

func waitWords(w string) string {
	switch w {
	case lab.WaitToDryer:
		return "reels to the dryer"
	case lab.WaitEmptyWaste:
		return "empty the waste"
	case lab.WaitTopUpWash:
		return "top up the wash water"
	case lab.WaitChemistry:
		return "chemistry is needed"
	}
	return "a person is needed"
}

// trim1 writes a temperature with one decimal.
func trim1(v float64) string { return fmt.Sprintf("%.1f", v) }

func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// processWords names a process with its push as its sheet does: "C-41 push 1".
func (u *Unit) processWords(id string, push float64) string {
	name := id
	if sh, ok := u.book().Sheet(id); ok {
		name = sh.Name
	}
	return process.Named(name, push)
}

// containerName names a container for people: "recovery (bleach)", "first
// developer bottle".
func (u *Unit) containerName(name string) string {
	spec := u.containerSpecs()[name]
	return lab.ContainerWords(name, spec.Role)
}
