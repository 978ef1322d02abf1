package lab

import (
	"fmt"
	"strings"
	"time"
)

// orderGrace is how long after its time an order may still be followed.
const orderGrace = 15 * time.Second

// orders are the rules whose response names a moment by which a bath is to be
// ended, begun or measured: read later, it would be obeyed for another bath.
var orders = map[string]bool{
	"bath-temperature": true, "reading-doubtful": true, "film-stranded": true, "run-aborted": true, "power-lost": true,
	"power-resumed": true, "unit-silent": true, "wrong-time-set": true, "roll-mismatch": true, "step-overrun": true, "preheat-off": true,
}

// OrderedBy is the moment by which the alert wants something done to film in a
// bath; false where it names none.
func (a Alert) OrderedBy() (time.Time, bool) {
	text, ok := a.Facts["act_at"].(string)
	if !ok || !orders[a.Rule] {
		return time.Time{}, false
	}
	at, err := ParseTime(text)
	return at, err == nil
}

// Spent tells whether the moment for what the alert wants done has passed.
func (a Alert) Spent(now time.Time) bool {
	at, ok := a.OrderedBy()
	return ok && now.After(at.Add(orderGrace))
}

// ToDo is what the alert wants done, true at now: what has cleared gives no
// orders, and a moment that has passed is not said as if it were to come.
// clock words a moment as the reader's clock has it.
func (a Alert) ToDo(now time.Time, clock func(time.Time) string) string {
	switch {
	case a.Withdrawn:
		return "Later evidence took it back. There is nothing to do."
	case a.ClearedAt != nil && a.Run != "" && orders[a.Rule]:
		return fmt.Sprintf("Cleared at %s. Look at the run's report before its rolls are released.", clock(a.ClearedAt.Time))
	case a.ClearedAt != nil:
		return fmt.Sprintf("Cleared at %s. There is nothing to do.", clock(a.ClearedAt.Time))
	case a.Spent(now):
		at, _ := a.OrderedBy()
		return fmt.Sprintf("That time (%s) has passed: look which bath the film is in now. Hold the rolls for inspection.", clock(at))
	}
	return a.Response
}

// ToDoLasting is ToDo for a text that cannot change any more, such as mail or
// a lock screen: it says until when it holds, and what holds then.
func (a Alert) ToDoLasting(now time.Time, clock func(time.Time) string) string {
	text := a.ToDo(now, clock)
	if at, ok := a.OrderedBy(); ok && a.ClearedAt == nil && !a.Withdrawn && !a.Spent(now) {
		return fmt.Sprintf("%s (Until %s; later look which bath the film is in, and hold the rolls.)", text, clock(at))
	}
	return text
}

// Heading is what is wrong, or was, at now: of mains power lost it says what to
// do as well, as long as that holds.
func (a Alert) Heading(now time.Time) string {
	text := a.Message
	if a.Rule == "power-lost" && (a.ClearedAt != nil || a.Spent(now)) {
		text, _, _ = strings.Cut(text, ": ")
	}
	if a.ClearedAt != nil {
		text = "Cleared: " + text
	}
	return text
}
