package main

import (
	"context"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/records"
)

// startRecords starts what seals runs, and makes the reports of the pages.
// Without a key nothing is sealed, but the lab is watched all the same: runs
// wait for their seal in the database.
func (t *term) startRecords(ctx context.Context) (err error) {
	making := records.Making{Rules: t.rules, Decode: ingest.Decode, Program: programName(), Zone: t.rules.Zone, Log: t.p.log}
	if t.reports, err = records.NewReports(t.p.store, making); err != nil {
		return err
	}
	key, err := sealingKey(t.p.cfg.Data)
	if err != nil {
		t.p.log.Error("no run is sealed: there is no sealing key; name a --data folder that can be written, or set "+sealKeyEnv, "error", err)
		return nil
	}
	t.p.log.Info("records are sealed", "verifier", key.Verifier())
	t.records, err = records.NewWorker(records.Config{
		Making: making, Store: t.p.store, Term: t.holding.Term(), Key: key, Witness: witness{sealDir(t.p.cfg.Data)}, Drop: t.dropOld,
	})
	if err != nil {
		return err
	}
	return t.records.Start(ctx)
}

// sealingPatience is how long sealing may fail before the board says so: a
// database that starts again is no news.
const sealingPatience = time.Minute

// sealingFaults tells the board that runs are not sealed, and why.
func (t *term) sealingFaults(now time.Time) []lab.DutyFault {
	if t.records == nil {
		return notSealed("there is no sealing key", time.Time{}, now)
	}
	why, since := t.records.Trouble()
	return notSealed(why, since, now)
}

// notSealed is the fault for what keeps records from being sealed since a
// time; zero: since the start.
func notSealed(why string, since, now time.Time) []lab.DutyFault {
	if why == "" || now.Sub(since) < sealingPatience {
		return nil
	}
	return []lab.DutyFault{{Code: lab.FaultNotSealed, Text: "Runs are not sealed: " + why, Since: lab.AtPtr(since)}}
}

// dropOld drops telemetry that is older than it is to be kept and of which
// every run is sealed.
func (t *term) dropOld(ctx context.Context) error {
	if t.p.cfg.KeepDays <= 0 {
		return nil
	}
	days, err := t.p.store.DropTelemetry(ctx, t.holding.Term(), time.Now().AddDate(0, 0, -t.p.cfg.KeepDays))
	for _, day := range days {
		t.p.log.Info("telemetry was dropped; its runs are sealed", "day", day.Format(time.DateOnly))
	}
	return err
}
