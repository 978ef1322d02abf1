package seal

import (
	"errors"
	"fmt"
)

// PartRef names a part of a record in the record's head.
type PartRef struct {
	Hash     string `json:"hash"` // of the part's bytes, as a leaf is hashed
	Size     int    `json:"size"` // of the part in bytes
	Messages int    `json:"messages"`
	From     int64  `json:"from"` // arrival numbers of its first and last message
	To       int64  `json:"to"`
}

// partHead begins a part.
type partHead struct {
	Kind    string `json:"record"` // KindPart
	Version int    `json:"version"`
	RunID   string `json:"id"`
	N       int    `json:"n"` // counted from 1
}

// EncodePart gives the bytes of the n-th part of a run's record, counted from
// 1, and how the record's head is to name it.
func EncodePart(runID string, n int, messages []Message) ([]byte, PartRef, error) {
	if len(messages) == 0 || n < 1 {
		return nil, PartRef{}, fmt.Errorf("part %d of the record of run %s has %d messages", n, runID, len(messages))
	}
	var w jsonLines
	w.add(partHead{KindPart, formInParts, runID, n})
	for _, m := range messages {
		w.add(oneField{"message", m.line()})
	}
	if w.err != nil {
		return nil, PartRef{}, fmt.Errorf("part %d of the record of run %s: %w", n, runID, w.err)
	}
	b := w.buf.Bytes()
	return b, PartRef{Hash: LeafHash(b).String(), Size: len(b), Messages: len(messages),
		From: messages[0].Arrival, To: messages[len(messages)-1].Arrival}, nil
}

// ParsePart reads the n-th part of a record, counted from 1. A part that is not
// byte for byte the one that the head names is refused.
func (h Head) ParsePart(n int, b []byte) ([]Message, error) {
	if n < 1 || n > len(h.Parts) {
		return nil, fmt.Errorf("part %d is none of the %d that the record of run %s has", n, len(h.Parts), h.RunID)
	}
	ref := h.Parts[n-1]
	if len(b) != ref.Size || LeafHash(b).String() != ref.Hash {
		return nil, fmt.Errorf("part %d of the record of run %s is not the one that was sealed", n, h.RunID)
	}
	var head partHead
	rest, err := nextLine(b, &head)
	if err != nil {
		return nil, fmt.Errorf("part %d of the record of run %s: %w", n, h.RunID, err)
	}
	if head != (partHead{KindPart, formInParts, h.RunID, n}) {
		return nil, fmt.Errorf("part %d of the record of run %s says of itself that it is %q %d of run %s", n, h.RunID, head.Kind, head.N, head.RunID)
	}
	out := make([]Message, 0, min(ref.Messages, ref.Size)) // the head may say anything
	for len(rest) > 0 {
		var l line
		if rest, err = nextLine(rest, &l); err == nil && l.Message == nil {
			err = errors.New("a line that is no message")
		}
		if err != nil {
			return nil, fmt.Errorf("part %d of the record of run %s: %w", n, h.RunID, err)
		}
		out = append(out, l.Message.message())
	}
	if len(out) != ref.Messages || out[0].Arrival != ref.From || out[len(out)-1].Arrival != ref.To {
		return nil, fmt.Errorf("part %d of the record of run %s holds other messages than the head says", n, h.RunID)
	}
	return out, nil
}
