package rules

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"wetside/internal/lab"
)

// stepWords names a step in a sentence.
func stepWords(id string) string {
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
		return "chemistry is wanted"
	}
	return "a person is wanted"
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
