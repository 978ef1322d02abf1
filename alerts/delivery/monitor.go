package delivery

import (
	"context"
	"crypto/sha256"
	"encoding/base32"
	"slices"
	"strings"
	"time"

	"wetside/alerts"
	"wetside/alerts/oncall"
	"wetside/internal/lab"
)

// The rules by which the monitor judges its own paging. Their alerts have no
// unit.
const (
	RulePageFailing       = "page-failing"
	RuleNobodyOnDuty      = "nobody-on-duty"
	RuleOnCallUnreachable = "on-call-unreachable"
)

// check looks at the worker itself: what keeps failing is an alert, which
// goes out by another contact method; and the weekly test, when it is due.
func (w *Worker) check(ctx context.Context, now time.Time) error {
	want, err := w.faults(ctx, now)
	if err != nil {
		return err
	}
	if err := w.settle(ctx, now, want); err != nil {
		return err
	}
	return w.weekly(ctx, now)
}

// faults lists the occurrences that hold now.
func (w *Worker) faults(ctx context.Context, now time.Time) ([]lab.Occurrence, error) {
	failing, err := w.failing(ctx, now)
	if err != nil {
		return nil, err
	}
	w.failingNow.Store(&failing)
	var out []lab.Occurrence
	for _, h := range failing {
		out = append(out, w.pageFailing(h, failing, now))
	}
	out = append(out, w.unreachableOnCall(now)...)
	if since := w.nobody(now); !since.IsZero() {
		out = append(out, ownAlert(RuleNobodyOnDuty, "", since.Add(w.cfg.NobodyFor), lab.Occurrence{
			Message:     "Nobody is on call and a unit is running",
			Consequence: "An alert would page everybody who can be reached, or show on the board only.",
			Response:    "Put somebody on call, on the On call page.",
		}))
	}
	return append(out, w.beside(now)...), nil
}

// beside gives what other parts of the monitor tell and has lasted for so long
// that somebody should know who does not look at the board.
func (w *Worker) beside(now time.Time) []lab.Occurrence {
	var out []lab.Occurrence
	since := map[string]time.Time{}
	for _, f := range w.cfg.Beside(now) {
		if f.PageAfter <= 0 || !slices.Contains(lab.PagedFaults, f.Code) {
			continue
		}
		key := f.Code + "|" + f.Subject
		switch was, known := w.besideSince[key]; {
		case f.Since != nil:
			since[key] = f.Since.Time
		case known:
			since[key] = was
		default: // since the start: as far as is known here, since now
			since[key] = now
		}
		due := since[key].Add(f.PageAfter)
		if due.After(now) {
			continue
		}
		o := ownAlert(f.Code, f.Subject, due, lab.Occurrence{
			Message: f.Text, Consequence: f.Consequence, Response: f.Response,
			Facts: map[string]any{"since": lab.At(since[key]).String()},
		})
		if f.Priority != "" {
			o.Priority = f.Priority
		}
		out = append(out, o)
	}
	w.besideSince = since
	return out
}

// failing lists the contact methods that have failed for long enough and are
// still to be used.
func (w *Worker) failing(ctx context.Context, now time.Time) ([]lab.MethodHealth, error) {
	all, err := w.cfg.Store.MethodHealth(ctx)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(h lab.MethodHealth) bool {
		return h.Failures < w.cfg.FailingTries || h.FailingSince.IsZero() || now.Sub(h.FailingSince) < w.cfg.FailingFor ||
			!slices.Contains(w.usable(w.contactsOf(h.Person)), h.Method)
	}), nil
}

// nobody tells since when nobody has been on duty while a unit runs; zero
// where that is not so, not for long, or where no plan says who should be.
func (w *Worker) nobody(now time.Time) time.Time {
	st := w.state.Load()
	if st == nil || st.Plan == nil || len(st.Plan.Hours) == 0 || !w.cfg.Busy() || len(oncall.On(*st.Plan, st.Swaps, now)) > 0 {
		w.nobodySince = time.Time{}
		return time.Time{}
	}
	if w.nobodySince.IsZero() {
		w.nobodySince = now
	}
	if now.Sub(w.nobodySince) < w.cfg.NobodyFor {
		return time.Time{}
	}
	return w.nobodySince
}

func ownAlert(rule, subject string, raised time.Time, o lab.Occurrence) lab.Occurrence {
	o.Rule, o.Subject, o.Priority, o.RaisedAt = rule, subject, lab.High, lab.At(raised).Time
	o.Key = "monitor|" + rule + "|" + subject
	o.ID = ownID(o.Key, o.RaisedAt)
	return o
}

// ownID names an occurrence by what it is of.
func ownID(key string, raised time.Time) string {
	sum := sha256.Sum256([]byte("monitor\x1f" + key + "\x1f" + lab.At(raised).String()))
	return strings.ToLower(base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(sum[:15]))
}

// settle raises what holds and is not open, and clears what is open and does
// not hold.
func (w *Worker) settle(ctx context.Context, now time.Time, want []lab.Occurrence) error {
	open, err := w.ownOpen(ctx)
	if err != nil {
		return err
	}
	var changes []alerts.Change
	for _, o := range want {
		if !slices.ContainsFunc(open, func(a lab.Alert) bool { return a.ClearedAt == nil && a.Rule == o.Rule && a.Subject == o.Subject }) {
			changes = append(changes, alerts.Change{Occurrence: o, Noticed: now})
		}
	}
	for _, a := range open {
		if a.ClearedAt != nil || slices.ContainsFunc(want, func(o lab.Occurrence) bool { return o.Rule == a.Rule && o.Subject == a.Subject }) {
			continue
		}
		o := ownAlert(a.Rule, a.Subject, a.RaisedAt.Time, lab.Occurrence{
			Message: a.Message, Consequence: a.Consequence, Response: a.Response, Facts: a.Facts, ClearedAt: lab.At(now).Time,
		})
		changes = append(changes, alerts.Change{Occurrence: o, Noticed: a.NoticedAt.Time})
	}
	if len(changes) == 0 {
		return nil
	}
	return w.commit(ctx, changes)
}

func (w *Worker) ownOpen(ctx context.Context) ([]lab.Alert, error) {
	yes := true
	var out []lab.Alert
	for _, rule := range append([]string{RulePageFailing, RuleNobodyOnDuty, RuleOnCallUnreachable}, lab.PagedFaults...) {
		open, err := w.cfg.Store.Alerts(ctx, lab.AlertFilter{Open: &yes, Rule: rule, Limit: 1000})
		if err != nil {
			return nil, err
		}
		out = append(out, open...)
	}
	return out, nil
}

// commit writes changes of the monitor's own alerts as the worker of the rules
// writes theirs: transition and page in one transaction.
func (w *Worker) commit(ctx context.Context, changes []alerts.Change) error {
	var result []lab.StoredAlert
	c := lab.Commit{}
	c.AlertKeys, c.AlertIDs = alerts.Refs(changes)
	c.Apply = func(current []lab.StoredAlert, now time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		out, events, pages := alerts.Apply(current, changes, now, alerts.Policy{})
		result = out
		return out, events, pages
	}
	if err := w.cfg.Store.Commit(ctx, w.cfg.Term, c); err != nil {
		return err
	}
	news := make([]lab.Alert, len(result))
	for i, a := range result {
		news[i] = a.Alert
	}
	w.cfg.Publish(news)
	w.Wake()
	return nil
}

// weeklyLate is how long after its time a weekly test still goes out; a lab
// that was switched off then is not tested in the middle of the night.
const weeklyLate = time.Hour

// weekly sends the weekly test where one is due.
func (w *Worker) weekly(ctx context.Context, now time.Time) error {
	st := w.state.Load()
	due, ok := oncall.WeeklyDue(planOf(st), now)
	if !ok || !due.After(st.LastWeekly) || now.Sub(due) > weeklyLate {
		return nil
	}
	var messages []lab.PageMessage
	for _, c := range st.Contacts {
		for _, method := range w.usable(c) {
			messages = append(messages, w.testMessage(c.Person, method, now))
		}
	}
	if err := w.cfg.Store.TestMessages(ctx, messages, "wetside", "weekly-test"); err != nil {
		return err
	}
	return w.reload(ctx) // its senders are poked by the next look around
}
