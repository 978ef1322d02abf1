package process

import (
	"fmt"
	"math"
)

// Named is a process with its push, as people write it on a roll: "C-41
// normal", "C-41 push 1", "E-6 pull 1/2".
func Named(name string, push float64) string { return name + " " + PushWords(push) }

// PushWords says what was asked for: "normal", "push 1", "pull 1 1/3".
func PushWords(push float64) string {
	size := pushSize(push)
	switch {
	case size == "0":
		return "normal"
	case push < 0:
		return "pull " + size
	}
	return "push " + size
}

// Stops writes a bound of push times with its unit: "+2 stops", "-1 1/2 stop".
func Stops(stops float64) string {
	sign, unit := "+", "stop"
	if stops < 0 {
		sign = "-"
	}
	size := pushSize(stops)
	if math.Abs(stops) > 1.01 {
		unit = "stops"
	}
	if size == "0" {
		sign = ""
	}
	return sign + size + " " + unit
}

// parts are the parts of a stop that films are pushed by.
var parts = []struct {
	v    float64
	text string
}{{0, ""}, {1.0 / 4, "1/4"}, {1.0 / 3, "1/3"}, {1.0 / 2, "1/2"}, {2.0 / 3, "2/3"}, {3.0 / 4, "3/4"}, {1, ""}}

func pushSize(push float64) string {
	size := math.Abs(push)
	for i, p := range parts {
		whole := math.Floor(size)
		if math.Abs(size-whole-p.v) > 0.02 {
			continue
		}
		if i == len(parts)-1 {
			whole++
		}
		switch {
		case p.text == "":
			return fmt.Sprintf("%.0f", whole)
		case whole == 0:
			return p.text
		}
		return fmt.Sprintf("%.0f %s", whole, p.text)
	}
	return fmt.Sprintf("%.2g", size)
}
