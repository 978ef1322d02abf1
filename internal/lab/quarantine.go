package lab

import (
	"encoding/json"
	"strings"
	"time"
)

// Quarantined is a message that was refused, kept whole with the reason.
type Quarantined struct {
	Received time.Time
	Topic    string
	Reason   string // a short code, then ": " and the particulars
	Payload  []byte
	Unit     UnitID // zero where the topic names none
	Arrival  int64
	Imported bool // it came with imported history
}

// Reason codes of quarantine.
const (
	RefusedTopic       = "topic"
	RefusedTooLarge    = "too-large"
	RefusedNotJSON     = "not-json"
	RefusedField       = "field"
	RefusedRange       = "range"
	RefusedKeyConflict = "key-conflict"
	RefusedByStore     = "store"
)

// Key gives boot and seq of a message that was refused, where its envelope can
// be read: it then is no hole in what was received, though nothing in it is
// judged. A key conflict gives none: the message that has the key was
// received.
func (q *Quarantined) Key() (boot string, seq int64, ok bool) {
	if strings.HasPrefix(q.Reason, RefusedKeyConflict+":") || !q.Unit.Valid() {
		return "", 0, false
	}
	var k struct {
		Boot string `json:"boot"`
		Seq  int64  `json:"seq"`
	}
	if json.Unmarshal(q.Payload, &k) != nil || k.Boot == "" || len([]rune(k.Boot)) > maxBoot || k.Seq < 1 || k.Seq > MaxSeq {
		return "", 0, false
	}
	return k.Boot, k.Seq, true
}

// Channel is the channel that it was published on, "" for none of the
// contract's.
func (q *Quarantined) Channel() Channel {
	_, c, _ := ParseTopic(q.Topic) // none is an answer
	return c
}

const maxBoot = 64 // characters

// RefusedTopicName carries what the embedded broker refused to
// quarantine. No unit can be called so, and the broker lets nobody publish there.
const RefusedTopicName = TopicPrefix + "-/-/refused"

// RefusedByBroker is the payload of RefusedTopicName: what was published, by
// whom, and why it did not go on.
type RefusedByBroker struct {
	Topic   []byte `json:"topic"`
	Payload []byte `json:"payload"`
	Reason  string `json:"reason"`
	Unit    string `json:"unit,omitempty"`
}

// Unwrap gives what was refused by the broker as it came; ok is false for
// anything else.
func Unwrap(raw Raw) (q Quarantined, ok bool) {
	if raw.Topic != RefusedTopicName {
		return q, false
	}
	var r RefusedByBroker
	if json.Unmarshal(raw.Payload, &r) != nil || r.Reason == "" {
		return q, false
	}
	q = Quarantined{Received: raw.Received, Topic: string(r.Topic), Reason: r.Reason, Payload: r.Payload}
	if u, err := ParseUnitID(r.Unit); err == nil {
		q.Unit = u
	}
	return q, true
}

// Refusal is what was not let in, as a unit's page shows it: a connection, or
// a publish. Alike ones are counted together.
type Refusal struct {
	Unit    UnitID
	What    string // RefusalConnection, RefusalPublish or RefusalSlowed
	Reason  string
	From    string // the address it came from, where it is known
	FirstAt Time
	LastAt  Time
	Count   int64
}

// What was refused.
const (
	RefusalConnection = "connection"
	RefusalPublish    = "publish"
	RefusalSlowed     = "slowed"
)

// What is kept of refused messages: the newest of each unit, and of all. They
// are kept for whoever mends a unit, and a unit that is never mended may send
// them for months. Read when somebody looks for a fault, they prove nothing of
// a run: what a run rests on is telemetry, and is sealed with it.
const (
	QuarantineOfUnit = 10_000
	QuarantineOfAll  = 200_000
)

// SameRefusalWithin is for how long the same content without boot and seq counts
// as the same message: it may be a copy, or a unit that says it again and again.
const SameRefusalWithin = 10 * time.Minute

// Keyed tells whether boot and seq can be read in the payload: it then is the
// same message whenever it comes.
func (q *Quarantined) Keyed() bool {
	var k struct {
		Boot string `json:"boot"`
		Seq  int64  `json:"seq"`
	}
	return json.Unmarshal(q.Payload, &k) == nil && k.Boot != "" && k.Seq >= 1
}
