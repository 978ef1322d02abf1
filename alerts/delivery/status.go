package delivery

import (
	"context"
	"fmt"
	"net"
	"net/url"
	"slices"
	"strings"
	"time"

	"wetside/alerts/escalate"
	"wetside/alerts/oncall"
	"wetside/internal/lab"
)

// gapsAhead is how far ahead people are warned that nobody is on duty.
const gapsAhead = 7 * 24 * time.Hour

// Duty gives the duty as it stands.
func (ro *Roster) Duty(ctx context.Context) (lab.DutyNow, error) {
	users, err := ro.w.cfg.Store.Users(ctx)
	if err != nil {
		return lab.DutyNow{}, err
	}
	now, st := ro.w.now(), ro.w.dutyState()
	failing, err := ro.w.failing(ctx, now)
	if err != nil {
		return lab.DutyNow{}, err
	}
	who := ro.w.duty(now)
	out := lab.DutyNow{
		Plan: who.Plan, Set: st.Plan != nil, Version: st.Version, ChangedAt: lab.AtPtr(st.ChangedAt), ChangedBy: st.ChangedBy,
		On: orEmpty(who.On), Dark: darkNow(st, now), Swaps: orEmpty(st.Swaps), Gaps: []lab.DutyGap{}, QuietUntil: lab.AtPtr(who.Quiet),
		People: []lab.DutyPerson{}, Warnings: []string{},
	}
	for _, u := range users {
		c := ro.w.contactsOf(u.Name)
		why := ro.w.unreachable(c, failing)
		out.People = append(out.People, lab.DutyPerson{
			Name: u.Name, Role: u.Role, Methods: orEmpty(ro.w.usable(c)), Reachable: why == "", Why: why, On: slices.Index(who.On, u.Name) + 1,
		})
	}
	if !out.Set {
		out.Warnings = append(out.Warnings, "No on-call plan is set: every page goes to every operator and lead who can be reached.")
		return out, nil
	}
	for _, g := range oncall.Gaps(who.Plan, st.Swaps, now, now.Add(gapsAhead)) {
		out.Gaps = append(out.Gaps, lab.DutyGap{From: lab.At(g.From), To: lab.At(g.To)})
		if len(out.Gaps) <= 5 {
			out.Warnings = append(out.Warnings, "Nobody is on call "+g.Describe(who.Plan)+".")
		}
	}
	out.Warnings = append(out.Warnings, ro.w.planUnreachable(st, failing)...)
	return out, nil
}

func darkNow(st lab.DutyState, now time.Time) []lab.DutyDark {
	out := []lab.DutyDark{}
	for _, p := range st.Dark {
		if p.Until.After(now) {
			out = append(out, p)
		}
	}
	return out
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// waitingFor is how long a page may wait before the board says so.
const waitingFor = 30 * time.Second

// Status tells whether an alert would reach a person now, and what is wrong.
func (ro *Roster) Status(ctx context.Context) (lab.DutyStatus, error) {
	now, st := ro.w.now(), ro.w.dutyState()
	who := ro.w.duty(now)
	out := lab.DutyStatus{
		Faults: []lab.DutyFault{}, On: orEmpty(who.On), Dark: darkNow(st, now), Failing: []lab.MethodFault{},
		Push:      ro.available(lab.MethodPush),
		Mail:      ro.available(lab.MethodMail),
		Heartbeat: ro.w.beat.now(ro.w.cfg.Heartbeat.Post != nil),
	}
	if _, why := ro.pushKey(); why != "" {
		out.Push = lab.Available{Why: why}
	}
	n, oldest, err := ro.w.cfg.Store.PagesOverdue(ctx, now)
	if err != nil {
		return out, err
	}
	out.Waiting = n
	if !oldest.IsZero() {
		s := max(0, now.Sub(oldest).Seconds())
		out.OldestWaitingS = &s
	}
	health, err := ro.w.failing(ctx, now)
	if err != nil {
		return out, err
	}
	for _, h := range health {
		out.Failing = append(out.Failing, lab.MethodFault{Person: h.Person, Method: h.Method, Since: lab.At(h.FailingSince), Failures: h.Failures, Detail: h.Detail})
	}
	out.OnCall = ro.w.onCall(st, health, now)
	out.Faults = append(ro.faults(st, who, out, oldest, now), ro.w.cfg.Beside(now)...)
	return out, nil
}

func (ro *Roster) available(method string) lab.Available {
	switch why := ro.w.cfg.Unavailable[method]; {
	case why != "":
		return lab.Available{Why: why}
	case ro.w.cfg.Methods[method] == nil:
		return lab.Available{Why: method + " is not set up"}
	}
	return lab.Available{Available: true}
}

func (ro *Roster) faults(st lab.DutyState, who escalate.Duty, s lab.DutyStatus, oldest, now time.Time) []lab.DutyFault {
	out := []lab.DutyFault{}
	add := func(code string, since time.Time, format string, args ...any) {
		out = append(out, lab.DutyFault{Code: code, Text: fmt.Sprintf(format, args...), Since: lab.AtPtr(since)})
	}
	lit := slices.DeleteFunc(slices.Clone(who.Reachable), func(p string) bool { return who.Dark[p].After(now) })
	read := ro.w.state.Load() != nil // before that nothing is known of plan and people
	switch {
	case !read:
	case len(who.Reachable) == 0:
		add(lab.FaultNobodyReachable, time.Time{}, "Nobody can be reached: alerts show on the board only")
	case len(lit) == 0:
		add(lab.FaultAllDark, time.Time{}, "Everybody works in the dark: alerts show and sound on the board only")
	}
	switch {
	case !read:
	case st.Plan == nil:
		add(lab.FaultNoPlan, time.Time{}, "No on-call plan is set")
	case len(who.On) == 0:
		add(lab.FaultNobodyOnDuty, time.Time{}, "Nobody is on call")
	}
	out = append(out, ro.w.onCallFaults(s.OnCall)...)
	if !oldest.IsZero() && now.Sub(oldest) > waitingFor {
		add(lab.FaultPagesWaiting, oldest, "Pages are not going out: %d wait, the oldest for %d s", s.Waiting, int(now.Sub(oldest).Seconds()))
	}
	for _, f := range s.Failing {
		add(lab.FaultMethodFailing, f.Since.Time, "Pages by %s do not reach %s", methodWords(f.Method), f.Person)
	}
	if !reachableFromPhone(ro.w.address()) && slices.ContainsFunc(st.Contacts, reachedElsewhere) {
		add(lab.FaultNoAddress, time.Time{}, "The links in pages lead nowhere from a phone: say in the plan where it reaches the board")
	}
	if s.Heartbeat.On && s.Heartbeat.Detail != "" {
		add(lab.FaultHeartbeat, time.Time{}, "The heartbeat does not arrive: %s", strings.TrimRight(lab.HideAddresses(s.Heartbeat.Detail), "."))
	}
	return out
}

// reachedElsewhere tells whether pages to a person leave this machine.
func reachedElsewhere(c lab.Contacts) bool {
	return slices.ContainsFunc(c.Usable(), func(method string) bool {
		return method != lab.MethodWebhook || reachableFromPhone(c.Webhook)
	})
}

// reachableFromPhone tells whether an address means more than this machine.
func reachableFromPhone(address string) bool {
	u, err := url.Parse(address)
	if err != nil || u.Hostname() == "" || u.Hostname() == "localhost" {
		return false
	}
	ip := net.ParseIP(u.Hostname())
	return ip == nil || !ip.IsLoopback() && !ip.IsUnspecified()
}

// AlertPages gives what became of the pages about an alert.
func (ro *Roster) AlertPages(ctx context.Context, id string) (lab.AlertPages, error) {
	records, cases, err := ro.w.cfg.Store.AlertPages(ctx, id)
	out := lab.AlertPages{Pages: make([]lab.PageView, len(records))}
	for i, r := range records {
		out.Pages[i] = ro.pageView(r)
	}
	for _, c := range cases {
		if c.EndedAt.IsZero() && (out.Next == nil || c.DueAt.Before(out.Next.At.Time)) {
			if again, changed := escalate.Advance(c, ro.w.duty(ro.w.now()), ro.w.now()); !changed || again.Case.EndedAt.IsZero() {
				out.Next = &lab.NextPage{At: lab.At(c.DueAt), Step: c.Step, People: orEmpty(escalate.Next(c, ro.w.duty(c.DueAt), c.DueAt, "").People)}
			}
		}
		for _, m := range c.Members {
			if !m.Answered.IsZero() && (out.AnsweredAt == nil || m.Answered.After(out.AnsweredAt.Time)) {
				out.AnsweredBy, out.AnsweredAt = m.AnsweredBy, lab.AtPtr(m.Answered)
			}
		}
	}
	return out, err
}

func (ro *Roster) pageView(r lab.PageRecord) lab.PageView {
	v := lab.PageView{
		ID: r.ID, Step: r.Step, Person: r.Person, Priority: r.Priority, MadeAt: lab.At(r.CreatedAt), State: lab.PageWaiting,
		MessageID: r.MessageID, OpenedAt: lab.AtPtr(r.OpenedAt), Tries: []lab.Try{},
	}
	for _, t := range r.Deliveries {
		v.Tries = append(v.Tries, lab.Try{At: lab.At(t.At), Method: t.Method, Outcome: t.Outcome, Detail: t.Detail, TookMS: float64(t.Took.Milliseconds())})
	}
	now := ro.w.now()
	until := r.NotBefore
	if dark := ro.w.duty(now).Dark[r.Person]; dark.After(until) {
		until = dark
	}
	switch m := r.Message; {
	case m != nil && !m.SentAt.IsZero():
		v.State, v.SentAt, v.SentBy = lab.PageSent, lab.AtPtr(m.SentAt), m.SentBy
	case m != nil && !m.DroppedAt.IsZero():
		v.State, v.Why = lab.PageDropped, m.Why
	case until.After(now):
		v.State, v.HeldUntil, v.Why = lab.PageHeld, lab.AtPtr(until), r.Person+" works in the dark"
	}
	return v
}
