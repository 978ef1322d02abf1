package records

import (
	"context"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
	"wetside/internal/report"
)

// partReader gives the n-th part of a record, counted from 1, unpacked.
type partReader func(n int) ([]byte, error)

// storedParts reads the parts of a record from the store; leaf -1: of the one
// that is being made.
func (m *reportMaker) storedParts(ctx context.Context, run string, leaf int64) partReader {
	return func(n int) ([]byte, error) {
		p, err := m.store.RecordPart(ctx, run, leaf, n)
		if err != nil {
			return nil, err
		}
		return unpackPart(p)
	}
}

// messagesOf goes through the messages of a record, one part in memory at a
// time. It ends at the first error of each.
func messagesOf(rec *seal.Record, read partReader, each func(seal.Message) error) error {
	for _, sm := range rec.Messages {
		if err := each(sm); err != nil {
			return err
		}
	}
	for n := 1; n <= len(rec.Parts); n++ {
		b, err := read(n)
		if err != nil {
			return err
		}
		list, err := rec.ParsePart(n, b)
		if err != nil {
			return err
		}
		for _, sm := range list {
			if err := each(sm); err != nil {
				return err
			}
		}
	}
	return nil
}

// fill gives evidence the messages of a record: as they are, or as a stream
// where they stand in parts. A message that an older wetside accepted and this
// one does not stays in the record and is left out of the replay.
func (m *reportMaker) fill(ev *report.Evidence, rec *seal.Record, read partReader) error {
	stream := func(each func(lab.Message) error) error {
		return messagesOf(rec, read, func(sm seal.Message) error {
			msg, err := m.message(sm)
			if err != nil {
				m.Log.Warn("a message of a record no longer reads; it is skipped", "run", rec.RunID, "arrival", sm.Arrival, "error", err)
				return nil
			}
			return each(msg)
		})
	}
	if len(rec.Parts) > 0 {
		ev.Stream = stream
		return nil
	}
	ev.Messages = make([]lab.Message, 0, len(rec.Messages))
	return stream(func(msg lab.Message) error {
		ev.Messages = append(ev.Messages, msg)
		return nil
	})
}

// message decodes a message of a record with the code that accepted it. The
// time that counts is as it was stored.
func (m *reportMaker) message(sm seal.Message) (lab.Message, error) {
	msg, err := m.Decode(sm.Raw)
	if err != nil {
		return msg, err
	}
	msg.Arrival, msg.At, msg.AtReplaced, msg.Imported = sm.Arrival, sm.At, sm.AtReplaced, sm.Imported
	msg.Received, msg.Retained, msg.Payload = sm.Received, sm.Retained, sm.Payload
	return msg, nil
}

// sealedMessage gives a message as a record keeps it.
func sealedMessage(m *lab.Message) seal.Message {
	return seal.Message{
		Raw:     lab.Raw{Topic: lab.Topic(m.Unit, m.Channel), Payload: m.Payload, Received: m.Received.UTC(), Retained: m.Retained},
		Arrival: m.Arrival, At: m.At.UTC(), AtReplaced: m.AtReplaced, Imported: m.Imported,
	}
}
