package ingest

import (
	"time"
	"unicode/utf8"

	"wetside/internal/lab"
)

// An `at` before earliest, or further ahead of its arrival than mostAhead,
// comes from a clock that was lost: the arrival time stands in for it.
var earliest = time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)

const (
	mostAhead = 24 * time.Hour
	maxBoot   = 64
)

// Decode reads one telemetry message by the contract. raw.Received must be
// set. The error is always a *Refusal. The message keeps raw.Payload as it is
// and aliases nothing else of it.
func Decode(raw lab.Raw) (lab.Message, error) {
	m, refusal := decode(raw)
	if refusal != nil {
		return lab.Message{}, refusal
	}
	return m, nil
}

func decode(raw lab.Raw) (lab.Message, *Refusal) {
	unit, channel, err := lab.ParseTopic(raw.Topic)
	if err != nil {
		return lab.Message{}, refuse(lab.RefusedTopic, "%s", err)
	}
	if n := len(raw.Payload); n > lab.MaxPayload {
		return lab.Message{}, refuse(lab.RefusedTooLarge, "the payload must have at most %[2]d bytes; got %[1]d", n, lab.MaxPayload)
	}
	var room [24]member
	obj, refusal := parseObject(raw.Payload, room[:0])
	if refusal != nil {
		return lab.Message{}, refusal
	}
	m := lab.Message{
		Unit: unit, Channel: channel, Received: raw.Received, Retained: raw.Retained, Payload: raw.Payload,
	}
	if channel == lab.ChannelStatus && isWill(obj) {
		m.Will, m.At = true, raw.Received
		return m, nil
	}
	r := reader{obj: obj}
	readEnvelope(&r, &m)
	readBody(&r, &m)
	return m, r.err
}

// isWill tells whether obj is {"online":false} alone: of the names that the
// contract knows no other may be there, the rest is ignored as everywhere.
func isWill(obj object) bool {
	if string(obj.get("online")) != "false" {
		return false
	}
	for _, name := range [...]string{"at", "boot", "seq", "up_s", "model", "firmware", "processes", "containers"} {
		if obj.get(name) != nil {
			return false
		}
	}
	return true
}

func readEnvelope(r *reader, m *lab.Message) {
	m.Boot = r.string("boot", "a text of 1 to 64 characters")
	if n := utf8.RuneCountInString(m.Boot); n > maxBoot {
		r.fail(lab.RefusedRange, "boot must have 1 to %[2]d characters; got %[1]d", n, maxBoot)
	} else if m.Boot == "" {
		r.missing("boot", "a text of 1 to 64 characters, new at every start of the controller")
	}
	seq, ok := r.integer("seq", 1, lab.MaxSeq)
	if !ok {
		r.missing("seq", "a whole number from 1")
	}
	m.Seq = seq
	m.UpS = r.bounded("up_s", lab.BoundUp)
	const want = "an RFC 3339 time such as 2026-03-01T09:30:00.000Z"
	at := r.string("at", want)
	if at == "" {
		r.missing("at", want)
		return
	}
	if m.SentAt, ok = parseAt(at); !ok {
		r.fail(lab.RefusedField, "at must be %[2]s; got %[1]s", quoted([]byte(at)), want)
		return
	}
	m.At = m.SentAt
	if m.At.Before(earliest) || m.At.Sub(m.Received) > mostAhead {
		m.At, m.AtReplaced = m.Received, true
	}
}

func readBody(r *reader, m *lab.Message) {
	switch m.Channel {
	case lab.ChannelStatus:
		m.Status = readStatus(r)
	case lab.ChannelStep:
		m.Step = readStep(r)
	case lab.ChannelTemp:
		m.Temp = readTemp(r)
	case lab.ChannelTank:
		m.Tank = readTank(r)
	case lab.ChannelPower:
		m.Power = readPower(r)
	case lab.ChannelMotion:
		m.Motion = readMotion(r)
	}
}
