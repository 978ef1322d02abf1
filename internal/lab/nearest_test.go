package lab

import (
	"strings"
	"testing"
)

func TestNearest(t *testing.T) {
	processes := []string{"bw", "c41", "e6-3", "e6-7"}
	steps := []string{"first-developer", "wash-1", "color-developer", "wash-2", "bleach-fix", "wash-3", "final-rinse"}
	phases := []string{"idle", "heating", "filling", "in-bath", "draining", "waiting", "drying", "done", "aborted"}
	for _, c := range []struct {
		given string
		known []string
		want  string
	}{
		{"C-41", processes, "c41"},
		{"C 41", processes, "c41"},
		{"B&W", processes, "bw"},
		{"E6-7", processes, "e6-7"},
		{"E-6", processes, ""}, // two are as near: three baths or seven
		{"ra4", processes, ""},
		{"", processes, ""},
		{"First Developer", steps, "first-developer"},
		{"firstdevelopr", steps, "first-developer"},
		{"colour-developer", steps, "color-developer"},
		{"bleech-fix", steps, "bleach-fix"},
		{"wash", steps, ""},
		{"wash-4", steps, ""},
		{"hardener", steps, ""},
		{"in_bath", phases, "in-bath"},
		{"Inbath", phases, "in-bath"},
		{"fillnig", phases, "filling"},
		{"drianing", phases, "draining"},
		{"paused", phases, ""},
		{strings.Repeat("c41", 1_000_000), processes, ""},
	} {
		if got := Nearest(c.given, c.known); got != c.want {
			t.Errorf("%.20q: %q; want %q", c.given, got, c.want)
		}
	}
	const want = `process must be one of bw, c41; got "C-41": did you mean "c41"?`
	if got := MustBeOneOf("process", "C-41", []string{"bw", "c41"}); got != want {
		t.Errorf("%s; want %s", got, want)
	}
	if got := MustBeOneOf("process", "ra4", []string{"bw", "c41"}); got != `process must be one of bw, c41; got "ra4"` {
		t.Errorf("%s", got)
	}
}
