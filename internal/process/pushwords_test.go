package process_test

import (
	"testing"

	"wetside/internal/process"
)

func TestPushWords(t *testing.T) {
	for _, c := range []struct {
		push        float64
		words, size string
	}{
		{0, "normal", "0 stop"}, {0.004, "normal", "0 stop"}, {1, "push 1", "+1 stop"}, {-1, "pull 1", "-1 stop"},
		{0.33, "push 1/3", "+1/3 stop"}, {1.5, "push 1 1/2", "+1 1/2 stops"}, {-0.667, "pull 2/3", "-2/3 stop"}, {2, "push 2", "+2 stops"},
		{0.999, "push 1", "+1 stop"}, {0.4, "push 0.4", "+0.4 stop"},
	} {
		if got := process.PushWords(c.push); got != c.words {
			t.Errorf("%g: %q; want %q", c.push, got, c.words)
		}
		if got := process.Stops(c.push); got != c.size {
			t.Errorf("%g: %q; want %q", c.push, got, c.size)
		}
	}
	if got := process.Named("C-41", 0); got != "C-41 normal" {
		t.Errorf("named %q", got)
	}
}
