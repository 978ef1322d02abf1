package report

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"wetside/internal/lab"
)

// Made is what the evidence of one run gives.
type Made struct {
	Report   lab.Report
	Trace    []Row    // every reading, for CSV
	Features Features // for later comparisons
}

// Make makes the report of a run, its trace and its features.
func Make(ev Evidence) (made Made, err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("report of run %s of %s: %w", ev.RunName, ev.Unit, err)
		}
	}()
	if err := ev.check(); err != nil {
		return Made{}, err
	}
	cfg := ev.Criteria.config()
	var received runMessages
	run, err := replay(context.Background(), &ev, cfg, &received)
	if err != nil {
		return Made{}, err
	}
	entries := ev.ofRun(run.ID)
	addEntered(&run, entries, ev.Alerts)
	by, sp := judgedBy(entries, run, cfg)
	w := traceRun(received.onTimeAxis(ev.RunName), ev.RunName, sp, by.ProbeOffsetC)
	features := w.features(run)
	r := lab.Report{Run: run, UnitName: cmp.Or(ev.UnitName, ev.Unit.Unit), JudgedBy: by, Entries: entriesToShow(entries, run),
		Alerts: reportAlerts(ev.Alerts), MadeBy: ev.MadeBy}
	good := comparableRuns(features, ev.GoodRuns)
	r.Compared = compare(features, good, w.resolution(), sp)
	r.Run.Reasons = withOutOfPattern(r.Run.Reasons, r.Compared)
	r.Timeline = w.timeline(run, by, entries, good, cfg.Data.Figures)
	r.Look = lookFor(r.Run, sp)
	withMixes(&r, entries)
	r.JudgedBy.HangsOn = dependsOn(r.Run, sp)
	r.Seen = seenCauses(r, sp)
	r.Notes = notes(r)
	return Made{Report: r, Trace: w.Rows, Features: features}, nil
}

// addEntered adds what people stated of the run and its alerts, as the store
// has them.
func addEntered(run *lab.Run, entries []lab.Entry, alerts []lab.Alert) {
	*run = lab.RunRow{Run: *run, Loaded: run.Rolls, FoldedKind: run.Kind, Imported: true}.Stated(entries) // the evidence holds what bears on it, no more
	if run.Rolls == nil {
		run.Rolls = []lab.Roll{}
	}
	if alerts == nil {
		return
	}
	run.Alerts = []string{}
	for _, a := range reportAlerts(alerts) {
		run.Alerts = append(run.Alerts, a.ID)
	}
}

// ofRun gives the entries that bear on the run and hold, oldest first.
func (ev *Evidence) ofRun(runID string) []lab.Entry {
	list := slices.Clone(ev.Entries)
	slices.SortStableFunc(list, func(a, b lab.Entry) int {
		return cmp.Or(cmp.Compare(a.Arrival, b.Arrival), a.Entered.Compare(b.Entered))
	})
	out := []lab.Entry{}
	for _, e := range lab.InForce(list) {
		if e.RunID == "" || e.RunID == runID {
			out = append(out, e)
		}
	}
	return out
}

// entriesToShow gives of the entries those that a report of the run shows: what was
// entered of it, what was done at the unit while it ran, the load it began
// with, and the figures in force then.
func entriesToShow(entries []lab.Entry, run lab.Run) []lab.Entry {
	out, last := []lab.Entry{}, map[string]int{}
	for i, e := range entries {
		if e.RunID == "" && !e.At.After(run.StartedAt.Time) {
			last[settingOf(e, run)] = i
		}
		if e.What == lab.EntryStepName && !e.At.After(run.StartedAt.Time) { // told of one run, it counts for those after it
			last[settingOf(e, run)] = i
		}
	}
	for i, e := range entries {
		during := !e.At.Before(run.StartedAt.Time) && (run.EndedAt == nil || !e.At.After(run.EndedAt.Time))
		key := settingOf(e, run)
		inForce := key != "" && last[key] == i && !e.At.After(run.StartedAt.Time)
		if e.RunID == run.ID || during && key == "" || inForce && e.What != lab.EntryUnload {
			out = append(out, e)
		}
	}
	return out
}

// settingOf tells what an entry sets for the runs to come, "" for one that
// does not or is of another process.
func settingOf(e lab.Entry, run lab.Run) string {
	switch {
	case e.What == lab.EntryLoad, e.What == lab.EntryUnload:
		return lab.EntryLoad
	case !e.MeantFor(run):
		return ""
	}
	return e.Sets()
}

// reportAlerts lists the alerts that stand, oldest first.
func reportAlerts(alerts []lab.Alert) []lab.ReportAlert {
	out := []lab.ReportAlert{}
	for _, a := range alerts {
		if a.Withdrawn {
			continue
		}
		out = append(out, lab.ReportAlert{ID: a.ID, Rule: a.Rule, Step: a.Step, Priority: a.Priority, RaisedAt: a.RaisedAt, Message: a.Message})
	}
	slices.SortStableFunc(out, func(a, b lab.ReportAlert) int {
		return cmp.Or(a.RaisedAt.Compare(b.RaisedAt.Time), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// What the figures mean and what they do not.
const (
	noteKinetic    = "The push error is a kinetic equivalence: how much longer or shorter the film would have stood in the developer at the sheet's temperature. It is not a prediction of density."
	noteTime       = "Time buys back density, not crossover: the layers of a color film respond differently to temperature."
	noteStoodStill = "Film that stood still develops unevenly. No number of seconds repairs that, whatever the push error says."
	noteLooks      = "wetside never says that film is spoiled: a person looks. It advises and is no safety device."
	noteSeal       = "A seal proves that the record was not changed since it was sealed. It does not prove that what the unit sent was true."
	noteMemory     = "Some of the sheet's figures are unconfirmed: from memory, to be confirmed from your own manual. What each is says so."
	notePattern    = "Out of pattern is a statistical oddity beside the good runs of this unit. It does not change the verdict."
	noteNoSheet    = "This process has no sheet: times and temperatures are shown, not judged."
	noteReach      = "A fault of the process reaches every roll of the run and the control strip; a fault of exposure or camera does not. Causes that this run's figures rule out are not listed."
	noteKind       = "A run without customers' film is not judged for film."
	noteStrip      = "A control strip's run is judged as film's is: only a strip whose run was right tells of the chemistry."
)

func notes(r lab.Report) []string {
	out := []string{noteLooks}
	if r.Run.PushErrorStops != nil {
		out = append(out, noteKinetic)
		if family(r.Run.Process) != "bw" {
			out = append(out, noteTime)
		}
	}
	still := len(r.Timeline.Still) > 0
	for _, x := range r.Run.Reasons {
		still = still || x.Code == "outage" || x.Code == "rotation"
	}
	if still {
		out = append(out, noteStoodStill)
	}
	if r.Compared != nil && len(r.Compared.Findings) > 0 {
		out = append(out, notePattern)
	}
	if len(r.Seen) > 0 {
		out = append(out, noteReach)
	}
	if r.JudgedBy.SheetName == "" {
		out = append(out, noteNoSheet)
	}
	switch r.Run.Kind {
	case "", lab.KindOfRunFilm:
	case lab.KindOfRunStrip:
		out = append(out, noteStrip)
	default:
		out = append(out, noteKind)
	}
	if slices.ContainsFunc(r.JudgedBy.Figures, isUnconfirmed) {
		out = append(out, noteMemory)
	}
	return append(out, noteSeal)
}
