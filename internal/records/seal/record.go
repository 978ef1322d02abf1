package seal

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"
	"unicode/utf8"

	"wetside/internal/lab"
)

// Kinds of record in the log.
const (
	KindRun   = "run"   // Record
	KindEntry = "entry" // SealedEntry
	KindPart  = "part"  // no leaf of its own: the head of its record names it
)

// The form of a record gets a new number when an older program would misread it.
// A record whose messages stand in parts is of the second form; all others are
// of the first, byte for byte as they always were.
const (
	formWhole   = 1
	formInParts = 2
)

// Record is the frozen evidence of one run, with the run and the report that
// were made of it. Its bytes are JSON Lines in a fixed order: head, run,
// report, features, evidence, entries, messages. The messages of a long run
// stand in parts of their own instead (Head.Parts).
type Record struct {
	Head
	Run      lab.Run    // as it was watched; its seal is nil
	Report   lab.Report // made of what follows
	Features json.RawMessage
	// Evidence is the evidence besides entries and messages: the rules' state of
	// the unit before the run, the sheet, the rules, good runs, alerts.
	Evidence json.RawMessage
	Entries  []lab.Entry
	Messages []Message // in the order in which the rules take them
}

// Head says what the record is.
type Head struct {
	Kind       string      `json:"record"` // KindRun
	Version    int         `json:"version"`
	RunID      string      `json:"id"`
	SealedAt   time.Time   `json:"sealed_at"`
	Supersedes *Superseded `json:"supersedes"` // nil: the first of its run
	Program    string      `json:"program"`
	// Judgement is the version of the rules' judgement; 0 stands for 1, which the
	// first records did not name.
	Judgement int `json:"judgement,omitempty"`
	// What the store holds of the run apart from what people entered.
	Loaded     []lab.Roll `json:"loaded"`      // the rolls that the rules say were loaded
	FoldedKind string     `json:"folded_kind"` // the kind of run as the rules say
	Imported   bool       `json:"imported"`    // it is known from imported history only
	EntriesTo  int64      `json:"entries_to"`  // the highest arrival number of the entries in it
	// Parts hold the messages, in order, where they are too many for the
	// record itself: each is bound by its hash.
	Parts []PartRef `json:"parts,omitempty"`
}

// formOfHead is the version that the head's form has.
func (h Head) formOfHead() int {
	if len(h.Parts) > 0 {
		return formInParts
	}
	return formWhole
}

// MessageCount is how many messages the record holds, in itself or in parts.
func (r *Record) MessageCount() int {
	n := len(r.Messages)
	for _, p := range r.Parts {
		n += p.Messages
	}
	return n
}

// Superseded names the record before.
type Superseded struct {
	Leaf int64  `json:"leaf"`
	Hash string `json:"hash"`
	Why  string `json:"why"`
}

// Message is one message exactly as it was received, with what the store said
// of it.
type Message struct {
	lab.Raw
	Arrival    int64
	At         time.Time // the time that counts
	AtReplaced bool
	Imported   bool
}

type messageLine struct {
	Arrival    int64     `json:"arrival"`
	Received   time.Time `json:"received_at"`
	At         time.Time `json:"at"`
	AtReplaced bool      `json:"at_replaced,omitempty"`
	Topic      string    `json:"topic"`
	Retained   bool      `json:"retained,omitempty"`
	Imported   bool      `json:"imported,omitempty"`
	Payload    *string   `json:"payload,omitempty"`     // exactly as received
	PayloadB64 []byte    `json:"payload_b64,omitempty"` // where it is not UTF-8
}

func (m Message) line() messageLine {
	l := messageLine{Arrival: m.Arrival, Received: m.Received.UTC(), At: m.At.UTC(), AtReplaced: m.AtReplaced,
		Topic: m.Topic, Retained: m.Retained, Imported: m.Imported}
	if utf8.Valid(m.Payload) {
		s := string(m.Payload)
		l.Payload = &s
	} else {
		l.PayloadB64 = m.Payload
	}
	return l
}

func (l messageLine) message() Message {
	m := Message{Raw: lab.Raw{Topic: l.Topic, Received: l.Received, Retained: l.Retained, Payload: l.PayloadB64},
		Arrival: l.Arrival, At: l.At, AtReplaced: l.AtReplaced, Imported: l.Imported}
	if l.Payload != nil {
		m.Payload = []byte(*l.Payload)
	}
	return m
}

// Encode gives the bytes of the record: the same for the same record.
func (r *Record) Encode() ([]byte, error) {
	if r.RunID == "" || r.RunID != r.Run.ID {
		return nil, fmt.Errorf("record of run %q: the run in it is %q", r.RunID, r.Run.ID)
	}
	if len(r.Parts) > 0 && len(r.Messages) > 0 {
		return nil, fmt.Errorf("record of run %s: it has messages both in itself and in parts", r.RunID)
	}
	head := r.Head
	head.Kind, head.Version, head.SealedAt = KindRun, r.formOfHead(), head.SealedAt.UTC()
	run := r.Run
	run.Seal = nil
	var w jsonLines
	w.add(head)
	w.add(oneField{"run", run})
	w.add(oneField{"report", r.Report})
	w.add(oneField{"features", r.Features})
	w.add(oneField{"evidence", r.Evidence})
	for _, e := range r.Entries {
		w.add(oneField{"entry", entryLineOf(e)})
	}
	for _, m := range r.Messages {
		w.add(oneField{"message", m.line()})
	}
	if w.err != nil {
		return nil, fmt.Errorf("record of run %s: %w", r.RunID, w.err)
	}
	return w.buf.Bytes(), nil
}

// oneField is an object with one field.
type oneField struct {
	name  string
	value any
}

// MarshalJSON implements json.Marshaler.
func (n oneField) MarshalJSON() ([]byte, error) {
	var w jsonLines
	w.buf.WriteString(`{"` + n.name + `":`)
	w.add(n.value)
	if w.err != nil {
		return nil, w.err
	}
	w.buf.Truncate(w.buf.Len() - 1)
	w.buf.WriteByte('}')
	return w.buf.Bytes(), nil
}

// jsonLines collects values as JSON, a line each.
type jsonLines struct {
	buf bytes.Buffer
	err error
}

func (w *jsonLines) add(v any) {
	if w.err != nil {
		return
	}
	enc := json.NewEncoder(&w.buf)
	enc.SetEscapeHTML(false)
	w.err = enc.Encode(v)
}
