package alerts_test

import (
	"fmt"
	"time"

	"wetside/alerts"
	"wetside/internal/lab"
)

// One condition through its life: it is found, people are paged, it ends by
// itself and then comes back.
func ExampleApply() {
	nine := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	cold := alerts.Change{Noticed: nine, Occurrence: lab.Occurrence{
		Key: "tern-street/plover|bath-temperature", ID: "first", Rule: "bath-temperature",
		Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"}, Priority: lab.High, RaisedAt: nine,
	}}
	over := cold
	over.ClearedAt = nine.Add(2 * time.Minute)
	again := cold
	again.ID, again.RaisedAt, again.Noticed = "second", nine.Add(10*time.Minute), nine.Add(10*time.Minute)

	var stored []lab.StoredAlert
	for _, c := range []alerts.Change{cold, over, again} {
		var events []lab.AlertEvent
		var pages []lab.Page
		stored, events, pages = alerts.Apply(stored, []alerts.Change{c}, c.Noticed, alerts.Policy{})
		a := stored[0]
		fmt.Printf("%s, occurrence %d, %d page(s)\n", a.State, a.Alert.Occurrence, len(pages))
		for _, e := range events {
			fmt.Println(" ", e.What)
		}
	}
	// Output:
	// unacknowledged, occurrence 1, 1 page(s)
	//   raised
	// cleared-unacknowledged, occurrence 1, 0 page(s)
	//   cleared
	// unacknowledged, occurrence 2, 1 page(s)
	//   returned
}
