package replay

import (
	"context"
	"fmt"
	"slices"
	"sort"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
)

// Telemetry is what a store keeps of telemetry, in memory: each message once
// by its key, with its arrival number. It serves replay as the database serves
// the live service. It belongs to one goroutine.
type Telemetry struct {
	last    int64
	units   map[lab.UnitID]*unitTelemetry
	entries []lab.Entry // what people entered, in the order of arrival
}

type unitTelemetry struct {
	rows  []row
	boots map[string]map[int64]int32 // boot, seq -> index in rows
	wills map[time.Time]bool
}

// row is a message as it arrived. It is decoded again when it is asked for:
// that is rare, and decoded it would take several times the room.
type row struct {
	arrival  int64
	received time.Time
	retained bool
	channel  lab.Channel
	payload  []byte
}

// NewTelemetry makes an empty one.
func NewTelemetry() *Telemetry {
	return &Telemetry{units: map[lab.UnitID]*unitTelemetry{}}
}

// Take keeps one line of a capture and gives it as it arrived; nothing for a
// copy.
func (t *Telemetry) Take(raw lab.Raw) (lab.Arrival, bool) {
	if lab.IsEntryTopic(raw.Topic) {
		return t.enter(raw)
	}
	m, err := ingest.Decode(raw)
	if err != nil {
		return t.refuse(ingest.Quarantine(raw, err)), true
	}
	u := t.units[m.Unit]
	if u == nil {
		u = &unitTelemetry{boots: map[string]map[int64]int32{}, wills: map[time.Time]bool{}}
		t.units[m.Unit] = u
	}
	if m.Will {
		if u.wills[m.Received] {
			return lab.Arrival{}, false
		}
		u.wills[m.Received] = true
	} else if at, ok := u.boots[m.Boot][m.Seq]; ok {
		first := u.rows[at]
		if first.channel == m.Channel && lab.SamePayload(first.payload, m.Payload) {
			return lab.Arrival{}, false
		}
		q := ingest.Quarantine(raw, fmt.Errorf("boot %q seq %d was already taken by arrival %d with other content", m.Boot, m.Seq, first.arrival))
		q.Reason = lab.RefusedKeyConflict + q.Reason[len(lab.RefusedField):]
		return t.refuse(q), true
	}
	t.last++
	m.Arrival = t.last
	if !m.Will {
		seqs := u.boots[m.Boot]
		if seqs == nil {
			seqs = map[int64]int32{}
			u.boots[m.Boot] = seqs
		}
		seqs[m.Seq] = int32(len(u.rows))
	}
	u.rows = append(u.rows, row{arrival: m.Arrival, received: m.Received, retained: m.Retained, channel: m.Channel, payload: m.Payload})
	return lab.Arrival{Message: &m}, true
}

// enter takes what a person entered. Over MQTT nobody may: only a capture
// that wetside exported has such lines.
func (t *Telemetry) enter(raw lab.Raw) (lab.Arrival, bool) {
	e, err := lab.EntryOf(raw)
	if err != nil {
		return t.refuse(ingest.Quarantine(raw, err)), true
	}
	if i := slices.IndexFunc(t.entries, func(k lab.Entry) bool { return k.ID == e.ID }); i >= 0 {
		if first := t.entries[i]; first.What == e.What && lab.SamePayload(first.Body, e.Body) {
			return lab.Arrival{}, false
		}
		return t.refuse(ingest.Quarantine(raw, fmt.Errorf("entry %q was already taken with other content", e.ID))), true
	}
	t.last++
	e.Arrival = t.last
	t.entries = append(t.entries, e)
	return lab.Arrival{Entry: &e}, true
}

// decide lays over a run what people decided of it, which the fold does not
// look at.
func (t *Telemetry) decide(r lab.Run) lab.Run {
	r.Decision = lab.DecisionOf(lab.InForce(slices.DeleteFunc(slices.Clone(t.entries), func(e lab.Entry) bool { return e.RunID != r.ID })))
	return r
}

func (t *Telemetry) refuse(q lab.Quarantined) lab.Arrival {
	t.last++
	q.Arrival = t.last
	return lab.Arrival{Refused: &q}
}

// UnitMessages implements timeline.History.
func (t *Telemetry) UnitMessages(_ context.Context, unit lab.UnitID, floor int64) ([]lab.Message, error) {
	u := t.units[unit]
	if u == nil {
		return nil, nil
	}
	from := sort.Search(len(u.rows), func(i int) bool { return u.rows[i].arrival >= floor })
	out := make([]lab.Message, 0, len(u.rows)-from)
	for _, r := range u.rows[from:] {
		m, err := ingest.Decode(lab.Raw{Topic: lab.Topic(unit, r.channel), Payload: r.payload, Received: r.received, Retained: r.retained})
		if err != nil {
			return nil, fmt.Errorf("arrival %d of %s no longer decodes: %w", r.arrival, unit, err)
		}
		m.Arrival = r.arrival
		out = append(out, m)
	}
	return out, nil
}
