package lab

import (
	"fmt"
	"strings"
	"unicode"
)

// Nearest gives the one of known names that somebody who wrote given most
// likely meant: the same letters and digits written otherwise ("C-41" for
// c41), or a slip of the finger away ("bleech"). It gives "" where none or
// several are as near.
func Nearest(given string, known []string) string {
	plain := lettersAndDigits(given)
	best, name, tie := allowedSlips(plain)+1, "", false
	for _, k := range known {
		d := slips([]rune(plain), []rune(lettersAndDigits(k)), best)
		switch {
		case d < best:
			best, name, tie = d, k, false
		case d == best && d <= allowedSlips(plain):
			tie = true
		}
	}
	if tie {
		return ""
	}
	return name
}

// MustBeOneOf says what is wrong with a name that is none of the known ones,
// and which of them was likely meant: "process must be one of bw, c41; got
// "C-41": did you mean "c41"?".
func MustBeOneOf(what, given string, known []string) string {
	return fmt.Sprintf("%s must be one of %s; got %q", what, strings.Join(known, ", "), given) + DidYouMean(given, known)
}

// DidYouMean is the end of a text about a name that is none of the known ones:
// `: did you mean "c41"?`; empty where it cannot be told.
func DidYouMean(given string, known []string) string {
	if near := Nearest(given, known); near != "" {
		return fmt.Sprintf(": did you mean %q?", near)
	}
	return ""
}

// longestName bounds the work that a name from outside can cause.
const longestName = 64

func lettersAndDigits(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(s) {
		if (unicode.IsLetter(r) || unicode.IsDigit(r)) && b.Len() < longestName {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// allowedSlips is how many letters may be wrong, missing or too many: one in
// three. A name of two letters must be right.
func allowedSlips(plain string) int { return min(len([]rune(plain))/3, 3) }

// slips is the edit distance of two names, two letters that changed places
// counting once (optimal string alignment); beyond most it does not matter.
func slips(a, b []rune, most int) int {
	if len(a)-len(b) > most || len(b)-len(a) > most {
		return most + 1
	}
	before, last := make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row := make([]int, len(b)+1)
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last = last, row
	}
	return last[len(b)]
}
