package lab_test

import (
	"testing"

	"wetside/internal/lab"
)

// What begins a formula in a spreadsheet (OWASP, "CSV Injection") is made a
// text; all else stays as it is.
func TestCSVText(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{
		"":               "",
		"developer":      "developer",
		"=1+1":           "'=1+1",
		"+1":             "'+1",
		"-cmd|' /C calc": "'-cmd|' /C calc",
		"@SUM(A1)":       "'@SUM(A1)",
		"  =1":           "'  =1",
		"\t=1":           "'\t=1",
		"\r=1":           "'\r=1",
		"\nx":            "'\nx",
		"\uff1d1":        "'\uff1d1",
		"a=1":            "a=1",
		"étape":          "étape",
	} {
		if got := lab.CSVText(in); got != want {
			t.Errorf("%q gives %q; want %q", in, got, want)
		}
	}
}
