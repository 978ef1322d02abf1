package seal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

// line is one line of a record behind its head.
type line struct {
	Run      json.RawMessage `json:"run"`
	Report   json.RawMessage `json:"report"`
	Features json.RawMessage `json:"features"`
	Evidence json.RawMessage `json:"evidence"`
	Entry    *entryLine      `json:"entry"`
	Message  *messageLine    `json:"message"`
}

// Brief is what stands at the beginning of a record: enough to show it.
func Brief(b []byte) (*Record, error) {
	r, _, err := parseBrief(b)
	return r, err
}

func parseBrief(b []byte) (*Record, []byte, error) {
	r := &Record{}
	rest, err := nextLine(b, &r.Head)
	if err != nil {
		return nil, nil, fmt.Errorf("head of the record: %w", err)
	}
	if r.Kind != KindRun || r.Version != r.formOfHead() {
		return nil, nil, fmt.Errorf("it is a record %q of version %d with %d parts; this wetside reads %q of version %d, and of version %d in parts",
			r.Kind, r.Version, len(r.Parts), KindRun, formWhole, formInParts)
	}
	for _, part := range []struct {
		name string
		into any
	}{{"run", &r.Run}, {"report", &r.Report}, {"features", &r.Features}} {
		var l line
		if rest, err = nextLine(rest, &l); err != nil {
			return nil, nil, fmt.Errorf("record of run %s, %s: %w", r.RunID, part.name, err)
		}
		raw := map[string]json.RawMessage{"run": l.Run, "report": l.Report, "features": l.Features}[part.name]
		if err := json.Unmarshal(raw, part.into); err != nil {
			return nil, nil, fmt.Errorf("record of run %s, %s: %w", r.RunID, part.name, err)
		}
	}
	if r.Run.ID != r.RunID {
		return nil, nil, fmt.Errorf("record of run %s: the run in it is %q", r.RunID, r.Run.ID)
	}
	return r, rest, nil
}

// evidenceStart begins the line of the evidence.
var evidenceStart = []byte("\n{\"evidence\":")

// EvidenceOf gives the evidence of a record besides entries and messages,
// without reading the rest.
func EvidenceOf(b []byte) (json.RawMessage, error) {
	_, rest, ok := bytes.Cut(b, evidenceStart)
	one, _, whole := bytes.Cut(rest, []byte("}\n"))
	if !ok || !whole {
		return nil, errors.New("the record holds no evidence")
	}
	return one, nil
}

// Parse reads a whole record.
func Parse(b []byte) (*Record, error) {
	r, rest, err := parseBrief(b)
	if err != nil {
		return nil, err
	}
	for len(rest) > 0 {
		var l line
		if rest, err = nextLine(rest, &l); err != nil {
			return nil, fmt.Errorf("record of run %s: %w", r.RunID, err)
		}
		switch {
		case l.Evidence != nil:
			r.Evidence = l.Evidence
		case l.Entry != nil:
			r.Entries = append(r.Entries, l.Entry.entry())
		case l.Message != nil && len(r.Parts) > 0:
			return nil, fmt.Errorf("record of run %s: it has messages both in itself and in parts", r.RunID)
		case l.Message != nil:
			r.Messages = append(r.Messages, l.Message.message())
		default:
			return nil, fmt.Errorf("record of run %s: a line that is neither evidence, entry nor message", r.RunID)
		}
	}
	if r.Evidence == nil {
		return nil, fmt.Errorf("record of run %s: it holds no evidence", r.RunID)
	}
	return r, nil
}

// nextLine reads one line.
func nextLine(b []byte, into any) (rest []byte, err error) {
	one, rest, whole := bytes.Cut(b, []byte{'\n'})
	if !whole {
		return nil, errors.New("it ends in the middle of a line")
	}
	return rest, json.Unmarshal(one, into)
}
