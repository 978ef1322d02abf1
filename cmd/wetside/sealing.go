package main

import (
	"context"
	"time"

	"wetside/ingest"
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
