package ingest

import (
	"errors"
	"fmt"

	"wetside/internal/lab"
)

// Refusal says why a message was refused: Code is one of the lab.Refused
// codes, Text what was wrong, where, and what would be right.
type Refusal struct{ Code, Text string }

// Error gives "code: text", the form the quarantine stores.
func (r *Refusal) Error() string { return r.Code + ": " + r.Text }

func refuse(code, format string, args ...any) *Refusal {
	return &Refusal{code, fmt.Sprintf(format, args...)}
}

// Quarantine makes the record of a refused message. err is what Decode gave.
func Quarantine(raw lab.Raw, err error) lab.Quarantined {
	reason := err.Error()
	var r *Refusal
	if !errors.As(err, &r) {
		reason = lab.RefusedField + ": " + reason
	}
	unit, _, _ := lab.ParseTopic(raw.Topic) // an unknown channel still names its unit
	if !unit.Valid() {
		unit = lab.UnitID{}
	}
	return lab.Quarantined{
		Received: raw.Received, Topic: raw.Topic, Reason: reason, Payload: raw.Payload, Unit: unit,
	}
}

// quoted shows a piece of what was sent in a reason, cut to a sane length.
func quoted(b []byte) string {
	const most = 48
	if len(b) > most {
		return fmt.Sprintf("%q...", b[:most])
	}
	return fmt.Sprintf("%q", b)
}
