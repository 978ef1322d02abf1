package oncall_test

import (
	"fmt"
	"time"

	"wetside/alerts/oncall"
	"wetside/internal/lab"
)

// Who is on call, with a swap for one day, and when nobody is.
func Example() {
	plan := oncall.Default()
	plan.TimeZone = "Europe/London"
	plan.Hours = []lab.DutyHours{
		{Days: []string{"mon", "tue"}, From: "08:00", To: "17:30", People: []string{"Wren", "Robin"}},
		{Days: []string{"tue"}, From: "17:30", To: "08:00", People: []string{"Heron"}},
	}
	swaps := []lab.DutySwap{{Day: "2026-03-03", Off: "Wren", On: "Heron"}}

	monday := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	fmt.Println(oncall.On(plan, swaps, monday))
	fmt.Println(oncall.On(plan, swaps, monday.AddDate(0, 0, 1)))
	for _, gap := range oncall.Gaps(plan, swaps, monday, monday.AddDate(0, 0, 2)) {
		fmt.Println("nobody", gap.Describe(plan))
	}
	// Output:
	// [Wren Robin]
	// [Heron Robin]
	// nobody from Mon 2 Mar 17:30 to Tue 3 Mar 08:00
	// nobody from Wed 4 Mar 08:00 to Wed 4 Mar 09:00
}
