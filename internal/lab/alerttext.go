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

// Present is how things stand as a text about an alert is sent or read.
type Present struct {
	At    time.Time
	Film  FilmAt                 // of the alert's unit
	Clock func(time.Time) string // words a moment as the reader's clock has it
}

// FactStillToDo is what an order leaves to do once its moment has passed.
const FactStillToDo = "still_to_do"

// Spent tells whether what the alert wants done can be done no more: its
// moment has passed, or the film has left the bath.
func (a Alert) Spent(now Present) bool {
	return a.passed(now) && a.stillToDo() == holdRolls
}

func (a Alert) passed(now Present) bool {
	at, ok := a.OrderedBy()
	return a.leftBath(now) || ok && now.At.After(at.Add(orderGrace))
}

// holdRolls is what remains where nothing can be done to the film any more.
const holdRolls = "Hold the rolls for inspection."

func (a Alert) stillToDo() string {
	if text, ok := a.Facts[FactStillToDo].(string); ok && text != "" {
		return text
	}
	return holdRolls
}

func (a Alert) leftBath(now Present) bool { return orders[a.Rule] && now.Film.left(a.Run, a.Step) }

// ToDo is what the alert wants done, true at now: what has cleared gives no
// orders, a moment that has passed is not said as if it were to come, and
// nothing is ordered for a bath that the film has left.
func (a Alert) ToDo(now Present) string {
	switch {
	case a.Withdrawn:
		return "Withdrawn: later data shows that it did not happen. There is nothing to do."
	case a.ClearedAt != nil && a.Run != "" && orders[a.Rule]:
		return fmt.Sprintf("Cleared at %s. Look at the run's report before its rolls are released.", now.Clock(a.ClearedAt.Time))
	case a.ClearedAt != nil:
		return fmt.Sprintf("Cleared at %s. There is nothing to do.", now.Clock(a.ClearedAt.Time))
	case a.leftBath(now):
		return fmt.Sprintf("That bath has ended: %s. %s", now.Film.words(a.Run), a.stillToDo())
	case a.passed(now):
		at, _ := a.OrderedBy()
		if now.Film.stands(a.Run, a.Step) {
			return fmt.Sprintf("That time (%s) has passed and the film is still in the %s: follow the advice in the unit's lane now. %s", now.Clock(at), now.Film.bath(), a.stillToDo())
		}
		return fmt.Sprintf("That time (%s) has passed: %s. %s", now.Clock(at), now.Film.words(a.Run), a.stillToDo())
	}
	return a.Response
}

// ToDoLasting is ToDo for a text that cannot change any more, such as mail or
// a lock screen: it says until when it holds, and what holds then.
func (a Alert) ToDoLasting(now Present) string {
	text := a.ToDo(now)
	if at, ok := a.OrderedBy(); ok && a.ClearedAt == nil && !a.Withdrawn && !a.passed(now) {
		return fmt.Sprintf("%s (Good until %s. After that, check which bath the film is in and hold the rolls.)", text, now.Clock(at))
	}
	return text
}

// Heading is what is wrong, or was, at now: of mains power lost it says what to
// do as well, as long as that holds.
func (a Alert) Heading(now Present) string {
	text := a.Message
	if a.Rule == "power-lost" && (a.ClearedAt != nil || a.passed(now)) {
		text, _, _ = strings.Cut(text, ": ")
	}
	if a.ClearedAt != nil {
		text = "Cleared: " + text
	}
	return text
}

// Counted gives a number with the word for one or for more: 1 run, 2 runs.
func Counted(n int64, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}
