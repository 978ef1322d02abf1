package lab

import (
	"strings"
	"unicode"
)

// CSVText gives a text as a cell of CSV that no spreadsheet takes for a
// formula: what would begin one gets an apostrophe before it, which spreadsheets
// hide. For texts only: a negative number is none.
func CSVText(s string) string {
	t := strings.TrimLeftFunc(s, unicode.IsSpace)
	if t == "" {
		return s
	}
	switch []rune(t)[0] {
	case '=', '+', '-', '@', '\uff1d', '\uff0b', '\uff0d', '\uff20': // and their full-width forms
		return "'" + s
	}
	if r := []rune(s)[0]; r == '\t' || r == '\r' || r == '\n' {
		return "'" + s
	}
	return s
}
