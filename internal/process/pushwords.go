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

// stopFractions are the fractions of a stop by which films are pushed.
var stopFractions = []struct {
	v    float64
	text string
}{{0, ""}, {1.0 / 4, "1/4"}, {1.0 / 3, "1/3"}, {1.0 / 2, "1/2"}, {2.0 / 3, "2/3"}, {3.0 / 4, "3/4"}, {1, ""}}

func pushSize(push float64) string {
	size := math.Abs(push)
	for i, p := range stopFractions {
		whole := math.Floor(size)
		if math.Abs(size-whole-p.v) > 0.02 {
			continue
		}
		if i == len(stopFractions)-1 {
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

// Thirds says a push error as people say it, to the nearest third of a stop:
// "about +1/3 stop", "about -1 2/3 stops", "less than 1/6 stop".
func Thirds(stops float64) string {
	n := nearestThirds(stops)
	if n == 0 {
		return "less than 1/6 stop"
	}
	return "about " + thirds(stops) + plural(n)
}

// ThirdsShort is Thirds for one line of a board: "+1/3 stop", "under 1/6 stop".
func ThirdsShort(stops float64) string {
	n := nearestThirds(stops)
	if n == 0 {
		return "under 1/6 stop"
	}
	return thirds(stops) + plural(n)
}

// ThirdsRange is Thirds with its bounds: "about +1/3 stop (0 to +2/3)".
func ThirdsRange(r Range) string {
	low, high := thirds(r.Low), thirds(r.High)
	if low == high {
		return Thirds(r.Best)
	}
	return fmt.Sprintf("%s (%s to %s)", Thirds(r.Best), low, high)
}

// nearestThirds is the number of thirds of a stop, without its sign. NaN counts
// as none, and what is beyond any film is cut to mostStops: neither would come
// out of the conversion to an integer as a sensible number.
func nearestThirds(stops float64) int {
	if math.IsNaN(stops) {
		return 0
	}
	return int(math.Round(math.Min(math.Abs(stops), mostStops) * 3))
}

func plural(n int) string {
	if n > 3 {
		return " stops"
	}
	return " stop"
}

// thirds writes the figure alone: "0", "+1/3", "-1", "+1 2/3".
func thirds(stops float64) string {
	n := nearestThirds(stops)
	if n == 0 {
		return "0"
	}
	sign := "+"
	if stops < 0 {
		sign = "-"
	}
	whole, part := n/3, [3]string{"", "1/3", "2/3"}[n%3]
	switch {
	case part == "":
		return fmt.Sprintf("%s%d", sign, whole)
	case whole == 0:
		return sign + part
	}
	return fmt.Sprintf("%s%d %s", sign, whole, part)
}
