package process_test

import (
	"fmt"

	"wetside/internal/process"
)

// A C-41 developer at its time of 3:15 whose bath was 0.3 °C too warm from
// 1:00 to 2:00. Source of the figures: Kodak Z-131, Table 2-1 and push times:
// 195 s at 37.8 °C and 30 s for a stop; factor 2.9 for 10 °C, from memory,
// with its range 2.5 to 3.1. Equivalent time is by definition the integral of
// factor^((T - aim)/10) over the time in the step.
// By hand: 135 s count in full and 60 s times 2.9^0.03 = 1.0325, which is
// 61.9 s; together 196.9 s, 1.9 s or 0.065 stop too much.
func ExampleStep_Equivalent() {
	sheet, _ := process.Builtin().Sheet("c41")
	developer, _ := sheet.Step("developer")

	equivalent := developer.Equivalent(37.8, 37.8, 60).
		Plus(developer.Equivalent(38.1, 38.1, 60)).
		Plus(developer.Equivalent(37.8, 37.8, 75))
	push, _ := developer.StopsRange(equivalent, process.Aim{})

	fmt.Printf("equivalent time %.1f s (%.1f to %.1f s)\n", equivalent.Best, equivalent.Low, equivalent.High)
	fmt.Printf("push error %+.3f stop (%+.3f to %+.3f)\n", push.Best, push.Low, push.High)
	fmt.Println(process.Thirds(push.Best))
	// Output:
	// equivalent time 196.9 s (196.7 to 197.1 s)
	// push error +0.065 stop (+0.056 to +0.069)
	// less than 1/6 stop
}
