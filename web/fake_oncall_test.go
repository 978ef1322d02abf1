package web

import (
	"context"
	"slices"

	"wetside/internal/lab"
)

// roster stands in for the roster and the links of pages.
type roster struct {
	s     *shop
	asked []any
	log   []lab.DutyEntry
	// noNext, where set, is why the link has nobody to page next.
	noNext string
}

func (d *roster) note(what ...any) {
	defer d.s.Lock()()
	d.asked = append(d.asked, what...)
}

func (d *roster) known(name string) error {
	if slices.Contains([]string{"Wren", "Heron"}, name) {
		return nil
	}
	return lab.Errorf(lab.KindNotFound, "there is nobody called %q", name)
}

func dutyPlan() lab.DutyPlan {
	steps := []lab.DutyStep{{Who: "first"}, {Who: "named", Person: "Wren", AfterS: 60}}
	return lab.DutyPlan{TimeZone: "Europe/London", Hours: []lab.DutyHours{{Days: []string{"mon"}, From: "08:00", To: "17:00", People: []string{"Wren"}}},
		Urgent: steps, High: steps, RepeatUrgentS: 120, RepeatHighS: 900, Quiet: []lab.QuietHours{{Days: []string{"sun"}, From: "22:00", To: "07:00"}},
		Flood: lab.DutyFlood{Pages: 2, InS: 60, GatherS: 5}, RetriesS: []int{0, 5}, LinkHours: 24, WeeklyTest: &lab.WeeklyTest{Day: "mon", At: "10:00"}}
}

func (d *roster) Duty(context.Context) (lab.DutyNow, error) {
	at := lab.At(t0)
	return lab.DutyNow{Plan: dutyPlan(), Set: true, Version: 3, ChangedAt: &at, ChangedBy: "Wren", On: []string{"Wren"},
		Dark: []lab.DutyDark{{Person: "Wren", Until: at}}, Swaps: []lab.DutySwap{{ID: 1, Day: "2026-03-05", Off: "Wren", At: at}},
		Gaps: []lab.DutyGap{{From: at, To: at}}, People: []lab.DutyPerson{{Name: "Wren", Role: "lead", Methods: []string{"push"}, Reachable: true, On: 1}},
		Warnings: []string{"Nobody is on call."}}, nil
}

func (d *roster) Status(context.Context) (lab.DutyStatus, error) {
	s := 3.5
	at := lab.At(t0)
	return lab.DutyStatus{Faults: []lab.DutyFault{{Code: lab.FaultNobodyOnDuty, Text: "Nobody is on call"}}, On: []string{}, Dark: []lab.DutyDark{},
		OnCall:  []lab.OnCall{{Name: "Wren", Place: 1, From: &at, Methods: []string{}, Why: "no contact method is set"}},
		Waiting: 1, OldestWaitingS: &s, Failing: []lab.MethodFault{{Person: "Wren", Method: "mail", Since: at, Failures: 3, Detail: "refused"}},
		Push: lab.Available{Why: "HTTPS is not set up"}, Heartbeat: lab.HeartbeatNow{On: true}}, nil
}

func (d *roster) SetPlan(ctx context.Context, p lab.DutyPlan, version int, by string) (lab.DutyNow, error) {
	if version != 3 {
		return lab.DutyNow{}, lab.Errorf(lab.KindConflict, "changed meanwhile")
	}
	d.note("plan", p, by)
	return d.Duty(ctx)
}

func (d *roster) Swap(_ context.Context, s lab.DutySwap, by string) (lab.DutySwap, error) {
	d.note("swap", s, by)
	s.ID, s.By, s.At = 7, by, lab.At(t0)
	return s, d.known(s.Off)
}

func (d *roster) EndSwap(_ context.Context, id int64, by string) error {
	d.note("end", id, by)
	if id != 7 {
		return lab.Errorf(lab.KindNotFound, "there is no swap %d", id)
	}
	return nil
}

func (d *roster) GoDark(_ context.Context, person string, minutes int, by string) (lab.DutyDark, error) {
	d.note("dark", person, minutes, by)
	out := lab.DutyDark{Person: person}
	if minutes > 0 {
		out.Until = lab.At(t0)
	}
	return out, nil
}

func (d *roster) Log(context.Context, int) ([]lab.DutyEntry, error) {
	if d.log != nil {
		return d.log, nil
	}
	return []lab.DutyEntry{{ID: 1, At: lab.At(t0), By: "Wren", What: "dark", Person: "Wren", Detail: map[string]any{"until": "2026-03-01T09:40:00.000Z"}}}, nil
}

func (d *roster) Contacts(_ context.Context, person string) (lab.ContactsView, error) {
	return lab.ContactsView{Contacts: lab.Contacts{Person: person, Methods: []string{"mail"}, Mail: "wren@tern-street.example",
		Push: []lab.PushSubscription{{ID: 1, Person: person, Device: "phone", At: lab.At(t0)}}}}, d.known(person)
}

func (d *roster) SetContacts(ctx context.Context, person string, r lab.ContactsRequest, by string) (lab.ContactsView, error) {
	d.note("contacts", person, r, by)
	return d.Contacts(ctx, person)
}

func (d *roster) PushKey() (key, why string) { return "", "HTTPS is not set up" }

func (d *roster) Subscribe(_ context.Context, s lab.PushSubscription, by string) (lab.PushSubscription, error) {
	d.note("subscribe", s, by)
	s.ID, s.At = 1, lab.At(t0)
	return s, nil
}

func (d *roster) Unsubscribe(_ context.Context, id int64, person, by string) error {
	d.note("unsubscribe", id, person, by)
	return nil
}

func (d *roster) Test(_ context.Context, person, by string) ([]string, error) {
	d.note("test", person, by)
	return []string{"pg-1"}, d.known(person)
}

func (d *roster) Tests(_ context.Context, person string) ([]lab.PageTest, error) {
	return []lab.PageTest{{ID: "pg-1", Method: "mail", At: lab.At(t0), State: lab.PageSent, Tries: []lab.Try{{At: lab.At(t0), Method: "mail", Outcome: lab.OutcomeSent}}}}, d.known(person)
}

func (d *roster) AlertPages(ctx context.Context, id string) (lab.AlertPages, error) {
	_, err := d.s.Alert(ctx, id)
	at := lab.At(t0)
	return lab.AlertPages{Pages: []lab.PageView{{ID: 1, Person: "Wren", Priority: lab.Urgent, MadeAt: at, State: lab.PageSent, SentAt: &at, SentBy: "push",
		Tries: []lab.Try{{At: at, Method: "push", Outcome: lab.OutcomeSent, TookMS: 12}}}}, Next: &lab.NextPage{At: at, Step: 1, People: []string{"Robin"}}}, err
}

// The link "good" is about alert a-1.
func (d *roster) OpenLink(ctx context.Context, token string) (lab.LinkView, error) {
	d.note("open", token)
	if token != "good" {
		return lab.LinkView{}, lab.Errorf(lab.KindNotFound, "this link is not known or has expired; look at the board")
	}
	a, err := d.s.Alert(ctx, "a-1")
	if err != nil {
		return lab.LinkView{}, err
	}
	a.Message = `Developer <b>too</b> warm & "rising"`
	open, next := a.State == lab.Unacknowledged, []string{"Robin"}
	if d.noNext != "" {
		next = nil
	}
	return lab.LinkView{Person: "Wren", Title: "Urgent. Plover: " + a.Message, Made: lab.At(t0), Expires: lab.At(t0), Zone: "Europe/London", May: true,
		Items: []lab.LinkItem{{Alert: a, Occurrence: 1, Open: open}}, Open: open, Next: next, NoNext: d.noNext}, nil
}

func (d *roster) UseLink(ctx context.Context, token string, r lab.LinkRequest) (lab.LinkView, string, error) {
	d.note("use", token, r)
	if token == "old" {
		return lab.LinkView{}, "", lab.Errorf(lab.KindNotFound, "this link is not known")
	}
	switch r.What {
	case lab.LinkAcknowledge:
		if _, err := d.s.Acknowledge(ctx, "a-1", "Wren", ""); err != nil {
			return lab.LinkView{}, "", err
		}
	case lab.LinkShelve:
		if r.Reason == "" {
			return lab.LinkView{}, "", lab.Errorf(lab.KindInvalid, "reason is missing")
		}
	}
	v, err := d.OpenLink(ctx, token)
	return v, "Done.", err
}
