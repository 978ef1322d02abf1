package delivery

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/alerts/escalate"
	"wetside/alerts/oncall"
	"wetside/internal/lab"
)

// pageFailing is the alert about a contact method that keeps failing. It goes
// to its person, by another method where there is one, and to the leads, who
// can change it, besides whom the steps call.
func (w *Worker) pageFailing(h lab.MethodHealth, failing []lab.MethodHealth, now time.Time) lab.Occurrence {
	left := slices.DeleteFunc(w.usable(w.contactsOf(h.Person)), func(method string) bool {
		return slices.ContainsFunc(failing, func(f lab.MethodHealth) bool { return f.Person == h.Person && f.Method == method })
	})
	st := w.dutyState()
	on := slices.Contains(oncall.On(planOf(&st), st.Swaps, now), h.Person)
	meanwhile := fmt.Sprintf("%s is paged by %s meanwhile.", h.Person, lab.Joined(namesOf(left)))
	respond := fmt.Sprintf("Check the %s contact method of %s, then send a test page.", methodWords(h.Method), h.Person)
	switch {
	case len(left) > 0:
	case on:
		meanwhile = fmt.Sprintf("%s is on call and no other contact method works: pages go to the next person.", h.Person)
		respond = fmt.Sprintf("Tell %s in person, or enter a swap. %s", h.Person, respond)
	default:
		meanwhile = fmt.Sprintf("No other contact method of %s works: no page reaches %s.", h.Person, h.Person)
		respond = fmt.Sprintf("Tell %s in person. %s", h.Person, respond)
	}
	return ownAlert(RulePageFailing, h.Method+" to "+h.Person, h.FailingSince.Add(w.cfg.FailingFor), lab.Occurrence{
		Message:     fmt.Sprintf("Pages by %s do not reach %s", methodWords(h.Method), h.Person),
		Consequence: meanwhile,
		Response:    fmt.Sprintf("%s The other end said: %s.", respond, strings.TrimRight(lab.HideAddresses(h.Detail), ".")),
		Facts: map[string]any{"person": h.Person, "way": h.Method, "failures": h.Failures, "since": lab.At(h.FailingSince).String(),
			escalate.FactTell: append([]string{h.Person}, w.leads(h.Person)...)},
	})
}

// methodWords names a contact method for people.
func methodWords(method string) string {
	if method == lab.MethodPush {
		return "phone"
	}
	return method
}

func namesOf(list []string) []string {
	out := make([]string, len(list))
	for i, method := range list {
		out[i] = methodWords(method)
	}
	return out
}

// leads lists the leads but one.
func (w *Worker) leads(but string) []string {
	var out []string
	for _, c := range w.dutyState().Contacts {
		if c.Role == lab.RoleLead && c.Person != but {
			out = append(out, c.Person)
		}
	}
	return out
}

// unreachableOnCall is an alert for each person on call who has nothing that
// could be tried while film is in a unit. Methods that are tried and fail are
// pageFailing's.
func (w *Worker) unreachableOnCall(now time.Time) []lab.Occurrence {
	since := map[string]time.Time{}
	var out []lab.Occurrence
	for _, p := range w.onCall(w.dutyState(), nil, now) {
		if p.From != nil || p.Reachable || !w.cfg.Busy() {
			continue
		}
		at, known := w.unreachableSince[p.Name]
		if !known {
			at = now
		}
		since[p.Name] = at
		if now.Sub(at) < w.cfg.NobodyFor {
			continue
		}
		out = append(out, ownAlert(RuleOnCallUnreachable, p.Name, at.Add(w.cfg.NobodyFor), lab.Occurrence{
			Message:     fmt.Sprintf("%s is on call and cannot be reached", p.Name),
			Consequence: fmt.Sprintf("A unit is running, and pages skip %s: %s.", p.Name, p.Why),
			Response:    fmt.Sprintf("Enter a swap, or have %s set a contact method and send a test page.", p.Name),
			Facts:       map[string]any{"person": p.Name, "place": p.Place, escalate.FactTell: w.leads(p.Name)},
		}))
	}
	w.unreachableSince = since
	return out
}
