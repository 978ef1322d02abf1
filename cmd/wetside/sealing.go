package main

import (
	"context"
	"fmt"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/records"
)

// startRecords starts what seals runs, and makes the reports of the pages.
// Without a key nothing is sealed, but the lab is watched all the same: runs
// wait for their seal in the database.
func (t *term) startRecords(ctx context.Context) (err error) {
	making := records.Making{Rules: t.rules, Decode: ingest.Decode, Program: programName(), Zone: t.rules.Zone, Units: labUnits(t.p.store), Log: t.p.log, Clock: t.p.cfg.Clock}
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
		Making: making, Store: t.p.store, Term: t.lease.Term(), Key: key, Witness: witness{sealDir(t.p.cfg.Data)}, Drop: t.dropOld,
	})
	if err != nil {
		return err
	}
	return t.records.Start(ctx)
}

// How long sealing may fail before the board says so (a database that starts
// again is no news), and before somebody is paged: nothing is lost meanwhile,
// but what a record is to prove is not proved yet, and old telemetry stays.
const (
	sealingPatience  = time.Minute
	sealingPageAfter = 30 * time.Minute
)

// sealingFaults tells the board what is not sealed, and why.
func (t *term) sealingFaults(now time.Time) []lab.DutyFault {
	if t.records == nil {
		return notSealed("there is no sealing key", time.Time{}, now)
	}
	why, since := t.records.Trouble()
	return append(notSealed(why, since, now), runsNotSealed(t.records.Failing(), now)...)
}

// notSealed is the fault for what keeps all records from being sealed since a
// time; zero: since the start.
func notSealed(why string, since, now time.Time) []lab.DutyFault {
	if why == "" || now.Sub(since) < sealingPatience {
		return nil
	}
	return []lab.DutyFault{{Code: lab.FaultNotSealed, Text: "Runs are not sealed: " + why, Since: lab.AtPtr(since),
		PageAfter: sealingPageAfter, Subject: "all runs",
		Consequence: "No run gets its sealed record, and old telemetry is kept. Nothing is lost; runs are watched as always.",
		Response:    "Mend what the message names; see wetside verify. Sealing goes on by itself."}}
}

// runsNotSealed is the fault for runs whose own record fails; the others are
// sealed meanwhile.
func runsNotSealed(failing []lab.RecordFailing, now time.Time) []lab.DutyFault {
	if len(failing) == 0 || now.Sub(failing[0].Since) < sealingPatience {
		return nil
	}
	first := failing[0]
	text := fmt.Sprintf("Run %s of %s is not sealed: %s", first.Run, first.Unit, first.Why)
	if n := len(failing) - 1; n > 0 {
		text = fmt.Sprintf("%s, and %s more", text, counted(int64(n), "run", "runs"))
	}
	return []lab.DutyFault{{Code: lab.FaultNotSealed, Text: text, Since: lab.AtPtr(first.Since),
		PageAfter: sealingPageAfter, Subject: "single runs",
		Consequence: "The run has no sealed record yet and its telemetry is kept until it has. All other runs are sealed.",
		Response: fmt.Sprintf("Tried %s, again at %s. Tell whoever keeps wetside running what the message says; an update may mend it.",
			counted(int64(first.Failures), "time", "times"), first.Next.Format("15:04 MST on January 2"))}}
}

// dropOld drops refused messages beyond what is kept of them, and telemetry
// that is older than it is to be kept and of which every run is sealed.
func (t *term) dropOld(ctx context.Context) error {
	refused, err := t.p.store.TrimQuarantine(ctx, postgres.QuarantineOfUnit, postgres.QuarantineOfAll)
	if refused > 0 {
		t.p.log.Info("the oldest refused messages were dropped", "messages", refused,
			"kept_of_a_unit", postgres.QuarantineOfUnit, "kept_of_all", postgres.QuarantineOfAll)
	}
	if err != nil || t.p.cfg.KeepDays <= 0 {
		return err
	}
	days, err := t.p.store.DropTelemetry(ctx, t.lease.Term(), t.p.now().AddDate(0, 0, -t.p.cfg.KeepDays))
	for _, day := range days {
		t.p.log.Info("telemetry was dropped; its runs are sealed", "day", day.Format(time.DateOnly))
	}
	return err
}
