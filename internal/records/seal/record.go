package seal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"time"
	"unicode/utf8"

	"wetside/internal/lab"
)

// Kinds of record in the log.
const (
	KindRun   = "run"   // Record
	KindEntry = "entry" // Entry
	KindPart  = "part"  // Part: no leaf of its own, the head of its record names it
)

// The form of a record rises when an old reader would misread a new record: a
// record whose messages stand in parts is of the second, all others are of the
// first, byte for byte as they always were.
const (
	formVersion  = 1
	formOfParted = 2
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
	// Evidence is the evidence besides entries and messages: the state of the
	// fold before the run, sheet, rules, good runs, alerts.
	Evidence json.RawMessage
	Entries  []lab.Entry
	Messages []Message // in the order in which they are to be folded
}

// Head says what the record is.
type Head struct {
	Record     string      `json:"record"` // KindRun
	Version    int         `json:"version"`
	RunID      string      `json:"id"`
	SealedAt   time.Time   `json:"sealed_at"`
	Supersedes *Superseded `json:"supersedes"` // nil: the first of its run
	Program    string      `json:"program"`
	// Judgement is the version of the rules' judgement; 0 stands for 1, which
	// records did not name yet.
	Judgement int `json:"judgement,omitempty"`
	// What the store keeps of the run beside what people said of it.
	Loaded     []lab.Roll `json:"loaded"`      // the rolls that the fold says were loaded
	FoldedKind string     `json:"folded_kind"` // the kind of run as the fold says
	Imported   bool       `json:"imported"`    // it is known from imported history only
	EntriesTo  int64      `json:"entries_to"`  // the highest arrival number of the entries in it
	// Parts hold the messages, in order, where they are too many for the
	// record itself: each is bound by its hash.
	Parts []PartRef `json:"parts,omitempty"`
}

// form is the version that the head's form has.
func (h Head) form() int {
	if len(h.Parts) > 0 {
		return formOfParted
	}
	return formVersion
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

// entryLine is an entry with what lab.Entry's own JSON leaves out. The body is
// a text, so that not even its white space changes.
type entryLine struct {
	Arrival  int64 `json:"arrival"`
	Imported bool  `json:"imported,omitempty"`
	lab.Entry
	Body string `json:"body"`
}

func lineOf(e lab.Entry) entryLine {
	e.At, e.Entered = e.At.UTC(), e.Entered.UTC()
	return entryLine{e.Arrival, e.Imported, e, string(e.Body)}
}

func (l entryLine) entry() lab.Entry {
	e := l.Entry
	e.Arrival, e.Imported, e.Body = l.Arrival, l.Imported, nil
	if l.Body != "" {
		e.Body = json.RawMessage(l.Body)
	}
	return e
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
	head.Record, head.Version, head.SealedAt = KindRun, r.form(), head.SealedAt.UTC()
	run := r.Run
	run.Seal = nil
	var w lines
	w.add(head)
	w.add(named{"run", run})
	w.add(named{"report", r.Report})
	w.add(named{"features", r.Features})
	w.add(named{"evidence", r.Evidence})
	for _, e := range r.Entries {
		w.add(named{"entry", lineOf(e)})
	}
	for _, m := range r.Messages {
		w.add(named{"message", m.line()})
	}
	if w.err != nil {
		return nil, fmt.Errorf("record of run %s: %w", r.RunID, w.err)
	}
	return w.buf.Bytes(), nil
}

// named is an object with one field.
type named struct {
	name  string
	value any
}

// MarshalJSON implements json.Marshaler.
func (n named) MarshalJSON() ([]byte, error) {
	var w lines
	w.buf.WriteString(`{"` + n.name + `":`)
	w.add(n.value)
	if w.err != nil {
		return nil, w.err
	}
	w.buf.Truncate(w.buf.Len() - 1)
	w.buf.WriteByte('}')
	return w.buf.Bytes(), nil
}

// lines collects values as JSON, a line each.
type lines struct {
	buf bytes.Buffer
	err error
}

func (w *lines) add(v any) {
	if w.err != nil {
		return
	}
	enc := json.NewEncoder(&w.buf)
	enc.SetEscapeHTML(false)
	w.err = enc.Encode(v)
}

// Entry is an entry in the log: what a person stated, with the time at which
// it was sealed.
type Entry struct {
	SealedAt time.Time
	Entry    lab.Entry
}

type entryRecord struct {
	Record   string    `json:"record"`
	Version  int       `json:"version"`
	SealedAt time.Time `json:"sealed_at"`
	Entry    entryLine `json:"entry"`
}

// Encode gives the bytes of the entry's record.
func (e Entry) Encode() ([]byte, error) {
	if e.Entry.ID == "" {
		return nil, errors.New("an entry without an id cannot be sealed")
	}
	var w lines
	w.add(entryRecord{KindEntry, formVersion, e.SealedAt.UTC(), lineOf(e.Entry)})
	return w.buf.Bytes(), w.err
}
