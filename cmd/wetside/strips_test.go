package main

import (
	"strings"
	"testing"
)

func TestStripsCheck(t *testing.T) {
	t.Parallel()
	const readings = "at,parameter,value,aim,action,control,shift\n2026-03-01T07:10:00Z,ld,0.30,0.30,0.06,0.08,early\n2026-03-02T07:05:00Z,ld,0.37,,,,early\n"
	code, out, errOut := run1(t, readings, "strips", "check", "-")
	want := `{"at":"2026-03-02T07:05:00Z","parameter":"ld","value":0.37,"signal":"action-limit","detail":"0.37 is above the action limit 0.36 (aim 0.3 + 0.06)"}` + "\n"
	if code != exitDone || !strings.HasPrefix(out, want) {
		t.Errorf("exit %d, stdout\n%swant it to begin with\n%s", code, out, want)
	}
	for _, part := range []string{"not used: shift", "ld: 2 values set what the file does not give"} {
		if !strings.Contains(errOut, part) {
			t.Errorf("stderr has no %q:\n%s", part, errOut)
		}
	}

	tests := []struct {
		name, in string
		args     []string
		code     int
		want     string
	}{
		{"no such file", "", []string{"/does/not/exist.csv"}, exitFailed, "/does/not/exist.csv: no such file"},
		{"a bad row", "at,parameter,value\n2026-03-01,ld,high\n", []string{"-"}, exitFailed, `-: line 2: value must be a number`},
		{"a bad figure", "", []string{"--lambda=1.5", "-"}, exitUsage, "--lambda must be 0.001 to 1; got 1.5"},
		{"no file named", "", nil, exitUsage, "expected"},
	}
	for _, test := range tests {
		code, out, errOut := run1(t, test.in, append([]string{"strips", "check"}, test.args...)...)
		if code != test.code || out != "" || !strings.Contains(errOut, test.want) {
			t.Errorf("%s: exit %d, stdout %q, stderr %q; want exit %d and %q", test.name, code, out, errOut, test.code, test.want)
		}
	}
}
