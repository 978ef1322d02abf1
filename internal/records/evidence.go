package records

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"wetside/internal/audit"
	"wetside/internal/audit/seal"
	"wetside/internal/lab"
	"wetside/rules"
)

// entriesSince is how long before a run what was loaded and done to
// containers still concerns it.
const entriesSince = 48 * time.Hour

var errNoTelemetry = errors.New("no telemetry of it is stored")

// maker gathers evidence and makes reports of it.
type maker struct {
	Making
	store Reader
}

// gather reads the evidence of a run out of the store. Entries that came
// after the run's last message are in it as well.
func (m *maker) gather(ctx context.Context, row lab.RunRow, before *audit.State) (ev audit.Evidence, err error) {
	unit, err := lab.ParseUnitID(row.Unit)
	if err != nil {
		return ev, err
	}
	ev = audit.Evidence{Unit: unit, RunName: row.Run.Run, Judging: audit.Freeze(m.Rules, row.Process, row.Run.StartedAt.Time), MadeBy: m.Program}
	if row.Outcome != lab.OutcomeRunning { // else whether it is lost is for the watch to say
		ev.Until = m.Clock.Now().UTC().Truncate(time.Millisecond)
	}
	msgs, ok, err := m.store.RunMessages(ctx, row)
	if err != nil {
		return ev, err
	}
	if !ok {
		return ev, lab.Errorf(lab.KindInvalid, "run %s has more telemetry than a record takes", row.ID)
	}
	ev.Before, ev.Messages = before, msgs
	var last int64
	for i := range ev.Messages {
		last = max(last, ev.Messages[i].Arrival)
	}
	if ev.Entries, err = m.store.RecordEntries(ctx, row, row.StartedAt.Add(-entriesSince), last); err != nil {
		return ev, err
	}
	if ev.Alerts, err = m.store.RunAlerts(ctx, row.ID); err != nil {
		return ev, err
	}
	if ev.GoodRuns, err = m.goodRuns(ctx, row); err != nil {
		return ev, err
	}
	names, err := m.store.UnitSettings(ctx)
	ev.UnitName = names[row.Unit].Name
	return ev, err
}

func (m *maker) goodRuns(ctx context.Context, row lab.RunRow) ([]audit.Features, error) {
	figures, err := m.store.GoodRuns(ctx, row.Run, goodRuns)
	if err != nil {
		return nil, err
	}
	good := make([]audit.Features, 0, len(figures))
	for _, b := range figures {
		var f audit.Features
		if err := json.Unmarshal(b, &f); err != nil {
			return nil, fmt.Errorf("figures of a good run: %w", err)
		}
		good = append(good, f)
	}
	return good, nil
}

// before asks the stored fold for its state before a run; nil where it has
// none.
func (m *maker) before(ctx context.Context, row lab.RunRow) (*audit.State, error) {
	if row.Imported {
		return nil, nil
	}
	unit, err := lab.ParseUnitID(row.Unit)
	if err != nil {
		return nil, err
	}
	st, err := m.store.UnitState(ctx, unit)
	if err != nil && lab.KindOf(err) == lab.KindNotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	eng := rules.NewEngine(m.Rules)
	if err := eng.Restore(unit, st.Version, st.Blob); err != nil {
		m.Log.Warn("the stored state of a unit does not read; reports are folded from their runs alone", "unit", row.Unit, "error", err)
		return nil, nil
	}
	version, blob, ok := eng.Before(unit, row.ID)
	if !ok {
		return nil, nil
	}
	return &audit.State{Version: version, Blob: blob}, nil
}

// evidenceOf gives the evidence that a record holds.
func (m *maker) evidenceOf(rec *seal.Record) (ev audit.Evidence, err error) {
	if err := json.Unmarshal(rec.Evidence, &ev); err != nil {
		return ev, fmt.Errorf("evidence of run %s: %w", rec.RunID, err)
	}
	ev.Entries = rec.Entries
	ev.Messages = make([]lab.Message, 0, len(rec.Messages))
	for _, sm := range rec.Messages {
		msg, err := m.message(sm)
		if err != nil {
			return ev, fmt.Errorf("evidence of run %s: message %d no longer reads: %w", rec.RunID, sm.Arrival, err)
		}
		ev.Messages = append(ev.Messages, msg)
	}
	return ev, nil
}

// message decodes a message of a record with the code that accepted it. The
// time that counts is as it was stored.
func (m *maker) message(sm seal.Message) (lab.Message, error) {
	msg, err := m.Decode(sm.Raw)
	if err != nil {
		return msg, err
	}
	msg.Arrival, msg.At, msg.AtReplaced, msg.Imported = sm.Arrival, sm.At, sm.AtReplaced, sm.Imported
	msg.Received, msg.Retained, msg.Payload = sm.Received, sm.Retained, sm.Payload
	return msg, nil
}

// frozen gives messages as a record keeps them.
func frozen(msgs []lab.Message) []seal.Message {
	out := make([]seal.Message, len(msgs))
	for i, m := range msgs {
		out[i] = seal.Message{
			Raw:     lab.Raw{Topic: lab.Topic(m.Unit, m.Channel), Payload: m.Payload, Received: m.Received.UTC(), Retained: m.Retained},
			Arrival: m.Arrival, At: m.At.UTC(), AtReplaced: m.AtReplaced, Imported: m.Imported,
		}
	}
	return out
}
