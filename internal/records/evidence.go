package records

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
	"wetside/internal/report"
	"wetside/rules/timeline"
)

// entriesSince is how long before a run entries still concern it: what was
// loaded, and what was done to containers.
const entriesSince = 48 * time.Hour

var errNoTelemetry = errors.New("no telemetry of it is stored")

// reportMaker gathers evidence and makes reports of it.
type reportMaker struct {
	Making
	store Reader

	beforeJudging func(report.Evidence) // for tests
}

// gather reads the evidence of a run, its messages aside, out of the store.
// last is the arrival number of the last of them; entries of the run that came
// after it are in the evidence as well.
func (m *reportMaker) gather(ctx context.Context, row lab.RunRow, before *report.State, last int64) (ev report.Evidence, err error) {
	unit, err := lab.ParseUnitID(row.Unit)
	if err != nil {
		return ev, err
	}
	ev = report.Evidence{Unit: unit, RunName: row.Run.Run, Criteria: report.Freeze(m.Rules, row.Process, row.Run.StartedAt.Time), MadeBy: m.Program}
	if row.Outcome != lab.OutcomeRunning { // whether a running run is lost, the rules decide that watch it
		ev.Until = m.Clock.Now().UTC().Truncate(time.Millisecond)
	}
	ev.Before = before
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

func (m *reportMaker) goodRuns(ctx context.Context, row lab.RunRow) ([]report.Features, error) {
	figures, err := m.store.GoodRuns(ctx, row.Run, goodRuns)
	if err != nil {
		return nil, err
	}
	good := make([]report.Features, 0, len(figures))
	for _, b := range figures {
		var f report.Features
		if err := json.Unmarshal(b, &f); err != nil {
			return nil, fmt.Errorf("figures of a good run: %w", err)
		}
		good = append(good, f)
	}
	return good, nil
}

// stateBefore is the rules' state of the unit before a run, from the stored
// state; nil where that does not hold it any more.
func (m *reportMaker) stateBefore(ctx context.Context, row lab.RunRow) (*report.State, error) {
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
	eng := timeline.NewEngine(m.Rules)
	if err := eng.Restore(unit, st.Version, st.Blob); err != nil {
		m.Log.Warn("the stored state of a unit does not read; reports are folded from their runs alone", "unit", row.Unit, "error", err)
		return nil, nil
	}
	version, blob, ok := eng.Before(unit, row.ID)
	if !ok {
		return nil, nil
	}
	return &report.State{Version: version, Blob: blob}, nil
}

// evidenceOf gives the evidence that a record holds.
func (m *reportMaker) evidenceOf(rec *seal.Record, read partReader) (ev report.Evidence, err error) {
	if err := json.Unmarshal(rec.Evidence, &ev); err != nil {
		return ev, fmt.Errorf("evidence of run %s: %w", rec.RunID, err)
	}
	ev.Entries = rec.Entries
	return ev, m.fill(&ev, rec, read)
}
