package monitor

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/monitor/sealkey"
	"wetside/internal/records"
	"wetside/rules"
)

// Making is how reports are made, by the decoder of the service; program is
// what they are told to be made by.
func Making(cfg rules.Config, program string, log *slog.Logger) records.Making {
	return records.Making{Rules: cfg, Decode: ingest.Decode, Program: program, Log: log}
}

// startRecords starts what seals runs, and makes the reports of the pages.
// Without a key nothing is sealed, but the lab is watched all the same: runs
// wait for their seal in the database.
func (l *leader) startRecords(ctx context.Context) (err error) {
	making := Making(l.rules, l.p.program(), l.p.log)
	making.Zone, making.Units, making.Clock = l.rules.Zone, Units(l.p.store), l.p.cfg.Clock
	if l.reports, err = records.NewReports(l.p.store, making); err != nil {
		return err
	}
	key, err := sealkey.Ready(l.p.cfg.Data)
	if err != nil {
		l.p.log.Error("no run is sealed: there is no sealing key; name a --data folder that can be written, or set "+sealkey.Env, "error", err)
		return nil
	}
	l.p.log.Info("records are sealed", "verifier", key.Verifier())
	l.records, err = records.NewWorker(records.Config{
		Making: making, Store: l.p.store, Term: l.lease.Term(), Key: key, Witness: sealkey.WitnessOf(l.p.cfg.Data), Drop: l.dropOld,
	})
	if err != nil {
		return err
	}
	return l.records.Start(ctx)
}

// How long sealing may fail before the board says so (a database that starts
// again is no news), and before somebody is paged: nothing is lost meanwhile,
// but what a record is to prove is not proved yet, and old telemetry stays.
const (
	sealingPatience  = time.Minute
	sealingPageAfter = 30 * time.Minute
)

// sealingFaults tells the board what is not sealed, and why.
func (l *leader) sealingFaults(now time.Time) []lab.DutyFault {
	if l.records == nil {
		return notSealed("there is no sealing key", time.Time{}, now)
	}
	why, since := l.records.Trouble()
	return append(notSealed(why, since, now), runsNotSealed(l.records.Failing(), now)...)
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
		text = fmt.Sprintf("%s, and %s more", text, lab.Counted(int64(n), "run", "runs"))
	}
	return []lab.DutyFault{{Code: lab.FaultNotSealed, Text: text, Since: lab.AtPtr(first.Since),
		PageAfter: sealingPageAfter, Subject: "single runs",
		Consequence: "The run has no sealed record yet and its telemetry is kept until it has. All other runs are sealed.",
		Response: fmt.Sprintf("Tried %s, again at %s. Tell whoever keeps wetside running what the message says; an update may mend it.",
			lab.Counted(int64(first.Failures), "time", "times"), first.Next.Format("15:04 MST on January 2"))}}
}

// dropOld drops refused messages beyond what is kept of them, and telemetry
// that is older than it is to be kept and of which every run is sealed.
func (l *leader) dropOld(ctx context.Context) error {
	refused, err := l.p.store.TrimQuarantine(ctx, lab.QuarantineOfUnit, lab.QuarantineOfAll)
	if refused > 0 {
		l.p.log.Info("the oldest refused messages were dropped", "messages", refused,
			"kept_of_a_unit", lab.QuarantineOfUnit, "kept_of_all", lab.QuarantineOfAll)
	}
	if err != nil || l.p.cfg.KeepDays <= 0 {
		return err
	}
	days, err := l.p.store.DropTelemetry(ctx, l.lease.Term(), l.p.now().AddDate(0, 0, -l.p.cfg.KeepDays))
	for _, day := range days {
		l.p.log.Info("telemetry was dropped; its runs are sealed", "day", day.Format(time.DateOnly))
	}
	return err
}
