package lab

import "encoding/json"

// RefusedTopicName carries what the embedded broker refused at its door to
// quarantine. No unit can be called so, and the door lets nobody publish there.
const RefusedTopicName = TopicPrefix + "-/-/refused"

// RefusedAtDoor is the payload of RefusedTopicName: what was published, by
// whom, and why it did not go on.
type RefusedAtDoor struct {
	Topic   []byte `json:"topic"`
	Payload []byte `json:"payload"`
	Reason  string `json:"reason"`
	Unit    string `json:"unit,omitempty"`
}

// Unwrap gives what was refused at the door as it came; ok is false for
// anything else.
func Unwrap(raw Raw) (q Quarantined, ok bool) {
	if raw.Topic != RefusedTopicName {
		return q, false
	}
	var r RefusedAtDoor
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
