package delivery

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/alerts/oncall"
	"wetside/internal/lab"
)

// soonOnCall is how far ahead the board warns that somebody who cannot be
// reached goes on call: a working day. Common practice, no source.
const soonOnCall = 12 * time.Hour

// onCall lists who is on call now and who goes on call soon, each with what
// keeps pages from them. failing are the contact methods that keep failing.
func (w *Worker) onCall(st lab.DutyState, failing []lab.MethodHealth, now time.Time) []lab.OnCall {
	out := []lab.OnCall{}
	if st.Plan == nil {
		return out
	}
	add := func(person string, place int, from *lab.Time) {
		c := w.contactsOf(person)
		why := w.unreachable(c, failing)
		out = append(out, lab.OnCall{Name: person, Place: place, From: from, Methods: orEmpty(w.usable(c)), Reachable: why == "", Why: why})
	}
	for i, person := range oncall.On(*st.Plan, st.Swaps, now) {
		add(person, i+1, nil)
	}
	for _, c := range oncall.ComingOn(*st.Plan, st.Swaps, now, now.Add(soonOnCall)) {
		add(c.Person, c.Place, lab.AtPtr(c.At))
	}
	return out
}

// unreachable says why no page reaches a person by any contact method; empty
// where one works, as far as is known.
func (w *Worker) unreachable(c lab.Contacts, failing []lab.MethodHealth) string {
	if st := w.state.Load(); st != nil && !slices.ContainsFunc(st.Contacts, func(k lab.Contacts) bool { return k.Person == c.Person }) {
		return "removed from the people of this lab; remove the name from the plan"
	}
	var why []string
	for _, method := range c.Methods {
		reason := w.methodOff(c, method)
		if at := slices.IndexFunc(failing, func(h lab.MethodHealth) bool { return h.Person == c.Person && h.Method == method }); at >= 0 && reason == "" {
			reason = fmt.Sprintf("%s has failed since %s", method, w.hourMinute(failing[at].FailingSince))
		}
		if reason == "" {
			return ""
		}
		why = append(why, reason)
	}
	if len(why) == 0 {
		return "no contact method is set"
	}
	return strings.Join(why, "; ")
}

// methodOff says why a contact method cannot even be tried; empty where it can.
func (w *Worker) methodOff(c lab.Contacts, method string) string {
	there := w.cfg.Unavailable[method] == "" && w.cfg.Methods[method] != nil
	switch {
	case method == lab.MethodPush && !there:
		return "push needs https, which is not set up"
	case method == lab.MethodMail && !there:
		return "no mail server is set up"
	case !there:
		return method + " is not set up"
	case method == lab.MethodPush && len(c.Push) == 0:
		return "no phone takes push pages (expired or removed)"
	case method == lab.MethodWebhook && c.WebhookOff != nil:
		return "the webhook is switched off"
	case !slices.Contains(c.Usable(), method):
		return "no " + method + " address is set"
	}
	return ""
}

// hourMinute is a moment by the clock on the lab's wall.
func (w *Worker) hourMinute(at time.Time) string {
	zone, err := oncall.Zone(planOf(w.state.Load()))
	if err != nil {
		zone = time.UTC
	}
	return at.In(zone).Format("15:04")
}

// onCallFaults are what the board says loudly: somebody is on call, or soon
// will be, whom no page reaches.
func (w *Worker) onCallFaults(list []lab.OnCall) []lab.DutyFault {
	var out []lab.DutyFault
	for _, p := range list {
		if p.Reachable {
			continue
		}
		code, text := lab.FaultOnCallUnreachable, fmt.Sprintf("%s is on call and cannot be reached: %s", p.Name, p.Why)
		if p.From != nil {
			code, text = lab.FaultSoonUnreachable, fmt.Sprintf("%s goes on call at %s and cannot be reached: %s", p.Name, w.hourMinute(p.From.Time), p.Why)
		}
		out = append(out, lab.DutyFault{Code: code, Text: text, Subject: p.Name})
	}
	return out
}

func (w *Worker) dutyState() lab.DutyState {
	if st := w.state.Load(); st != nil {
		return *st
	}
	return lab.DutyState{}
}

// planUnreachable lists people whom the plan or a swap names and no page
// reaches, with why: whoever makes or reads the plan is told before they go on.
func (w *Worker) planUnreachable(st lab.DutyState, failing []lab.MethodHealth) []string {
	if st.Plan == nil {
		return nil
	}
	var out, seen []string
	add := func(person string) {
		if person == "" || slices.Contains(seen, person) {
			return
		}
		seen = append(seen, person)
		if why := w.unreachable(w.contactsOf(person), failing); why != "" {
			out = append(out, fmt.Sprintf("%s is in the plan and cannot be reached: %s.", person, why))
		}
	}
	for _, h := range st.Plan.Hours {
		for _, person := range h.People {
			add(person)
		}
	}
	for _, s := range slices.Concat(st.Plan.Urgent, st.Plan.High) {
		add(s.Person)
	}
	for _, s := range st.Swaps {
		add(s.On)
	}
	return out
}
