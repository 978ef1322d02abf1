package delivery_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/alerts/delivery"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// whyOf says what the status tells of a person on call, "" where a page
// reaches them, and whether the board is told so as a fault.
func (l *lot) whyOf(person string) (why string, fault bool) {
	l.Helper()
	st, err := l.roster.Status(l.Context())
	l.must(err)
	at := slices.IndexFunc(st.OnCall, func(p lab.OnCall) bool { return p.Name == person })
	if at < 0 {
		l.Fatalf("%s is not on call: %+v", person, st.OnCall)
	}
	if st.OnCall[at].Reachable != (st.OnCall[at].Why == "") {
		l.Errorf("%s: %+v", person, st.OnCall[at])
	}
	return st.OnCall[at].Why, slices.ContainsFunc(st.Faults, func(f lab.DutyFault) bool {
		return f.Code == lab.FaultOnCallUnreachable && strings.HasPrefix(f.Text, person+" is on call and cannot be reached: "+st.OnCall[at].Why)
	})
}

// Whoever is on call and has nothing that works is told of loudly, with the
// reason, and no longer once it is mended.
func TestUnreachableOnCall(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, func(c *delivery.Config) {
		c.Look, c.CheckEvery, c.FailingFor, c.FailingTries = 50*time.Millisecond, 50*time.Millisecond, 100*time.Millisecond, 2
		c.Unavailable = map[string]string{lab.MethodWebhook: "not here"}
	})
	set := func(c lab.Contacts) {
		c.Person = "Wren"
		l.must(l.store.SetContacts(t.Context(), c, "test"))
		l.must(l.worker.Reload(t.Context()))
	}
	l.must(l.worker.Reload(t.Context()))
	phone := lab.PushSubscription{Person: "Wren", Device: "phone", Endpoint: "https://push.example/1", P256dh: "x", Auth: "y"}
	for _, c := range []struct {
		what string
		do   func()
		want string
	}{
		{"mail that works, as far as is known", func() {}, ""},
		{"nothing at all", func() { set(lab.Contacts{}) }, "no contact method is set"},
		{"an address that is not among the methods", func() { set(lab.Contacts{Mail: "wren@tern-street.example"}) }, "no contact method is set"},
		{"what this wetside cannot send", func() { set(lab.Contacts{Methods: []string{lab.MethodWebhook}, Webhook: "https://sms.example/send"}) }, "webhook is not set up"},
		{"a phone", func() {
			set(lab.Contacts{Methods: []string{lab.MethodPush}})
			var err error
			phone, err = l.store.AddSubscription(t.Context(), phone, "Wren")
			l.must(err)
			l.must(l.worker.Reload(t.Context()))
		}, ""},
		{"a phone whose push expired", func() {
			l.must(l.store.RemoveSubscription(t.Context(), phone.ID, "", "wetside", "410 Gone"))
			l.must(l.worker.Reload(t.Context()))
		}, "no phone takes push pages"},
		{"one of two that works", func() {
			set(lab.Contacts{Methods: []string{lab.MethodPush, lab.MethodMail}, Mail: "wren@tern-street.example"})
		}, ""},
	} {
		c.do()
		why, fault := l.whyOf("Wren")
		if (why == "") != (c.want == "") || !strings.Contains(why, c.want) {
			t.Errorf("%s: %q; want %q in it", c.what, why, c.want)
		}
		if fault != (c.want != "") {
			t.Errorf("%s: the board is told of it: %v", c.what, fault)
		}
	}
	if why, _ := l.whyOf("Robin"); why != "" {
		t.Errorf("Robin, second on call: %s", why)
	}
	d, err := l.roster.Duty(t.Context())
	l.must(err)
	if len(d.Warnings) != 0 {
		t.Errorf("the plan warns of %v", d.Warnings)
	}

	// all that there is fails
	l.mail.answer(func(_ context.Context, _ lab.Contacts, m lab.PageMessage) error {
		if m.Person == "Wren" {
			return errors.New("the server is away")
		}
		return nil
	})
	set(lab.Contacts{Methods: []string{lab.MethodMail}, Mail: "wren@tern-street.example"})
	l.raise("plover", lab.High)
	labtest.Poll(t, "mail to Wren is known to fail", func() bool {
		why, fault := l.whyOf("Wren")
		return strings.HasPrefix(why, "mail has failed since ") && fault
	})
}

// Whom the plan or a swap will put on call without a contact method is told of
// before their hours begin: on the board, and where the plan is made.
func TestUnreachableSoon(t *testing.T) {
	t.Parallel()
	now := time.Now().UTC()
	soon := now.Add(3 * time.Hour)
	l := newLot(t, func(p *lab.DutyPlan) {
		p.Hours = append(p.Hours, lab.DutyHours{Days: p.Hours[0].Days, From: soon.Format("15:04"), To: soon.Add(time.Hour).Format("15:04"), People: []string{"Heron"}})
	}, nil)
	l.must(l.store.SetContacts(t.Context(), lab.Contacts{Person: "Heron"}, "test"))
	l.must(l.store.CreateUser(t.Context(), lab.User{Name: "Finch", Role: lab.RoleOperator}))
	_, err := l.roster.Swap(t.Context(), lab.DutySwap{Day: now.AddDate(0, 0, 2).Format(time.DateOnly), Off: "Wren", On: "Finch"}, "test")
	l.must(err)

	st, err := l.roster.Status(t.Context())
	l.must(err)
	if n := len(st.OnCall); n != 3 || st.OnCall[2].Name != "Heron" || st.OnCall[2].From == nil || st.OnCall[2].Reachable {
		t.Fatalf("on call, now and soon: %+v", st.OnCall)
	}
	want := "Heron goes on call at " + soon.Format("15:04") + " and cannot be reached: no contact method is set"
	if !slices.ContainsFunc(st.Faults, func(f lab.DutyFault) bool { return f.Code == lab.FaultSoonUnreachable && f.Text == want }) {
		t.Errorf("faults: %+v; want %q", st.Faults, want)
	}
	d, err := l.roster.Duty(t.Context())
	l.must(err)
	for _, name := range []string{"Heron", "Finch"} {
		if want := name + " is in the plan and cannot be reached: no contact method is set."; !slices.Contains(d.Warnings, want) {
			t.Errorf("the plan warns of %v; want %q", d.Warnings, want)
		}
	}
}

// A contact method that fails is told to its person by another one and to the
// lead, who is not on call; so is the person on call whom nothing reaches.
func TestFailingIsTold(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) {
		quick(p)
		p.High = []lab.DutyStep{{Who: lab.WhoFirst}, {Who: lab.WhoFirst, AfterS: 3600}}
		p.Hours[0].People = []string{"Robin", "Wren"}
	}, func(c *delivery.Config) {
		c.Look, c.CheckEvery, c.FailingFor, c.FailingTries = 50*time.Millisecond, 50*time.Millisecond, 100*time.Millisecond, 2
		c.NobodyFor, c.Busy = 100*time.Millisecond, func() bool { return true }
	})
	l.must(l.store.SetRole(t.Context(), "Heron", lab.RoleLead, "test"))
	l.must(l.store.SetContacts(t.Context(), lab.Contacts{Person: "Robin", Methods: []string{lab.MethodPush, lab.MethodMail}, Mail: "robin@tern-street.example"}, "test"))
	_, err := l.store.AddSubscription(t.Context(), lab.PushSubscription{Person: "Robin", Device: "phone", Endpoint: "https://push.example/2", P256dh: "x", Auth: "y"}, "Robin")
	l.must(err)
	l.must(l.worker.Reload(t.Context()))
	l.push.answer(func(context.Context, lab.Contacts, lab.PageMessage) error {
		return errors.New("the push service is away")
	})
	for _, unit := range []string{"plover-a", "plover-b", "plover-c"} { // each page tries the phone anew
		l.raise(unit, lab.High)
	}
	told := map[string]lab.PageMessage{}
	for len(told) < 2 {
		m := l.mail.next(t, "mail about the phone that fails")
		if m.Body.Items[0].Rule == delivery.RulePageFailing {
			told[m.Person] = m
		}
	}
	for _, person := range []string{"Robin", "Heron"} {
		if m := told[person]; !strings.Contains(m.Body.Title, "Pages by phone do not reach Robin") || !strings.Contains(m.Body.Items[0].Message, "phone") {
			t.Errorf("%s is told %q", person, m.Body.Title)
		}
	}
	own, err := l.store.Alerts(t.Context(), lab.AlertFilter{Rule: delivery.RulePageFailing})
	l.must(err)
	if len(own) != 1 || own[0].Consequence != "Robin is paged by mail meanwhile." {
		t.Errorf("alerts: %+v", own)
	}

	// Robin's contact methods are gone, and film is in a unit: the lead hears of it
	l.must(l.store.SetContacts(t.Context(), lab.Contacts{Person: "Robin"}, "test"))
	l.must(l.worker.Reload(t.Context()))
	for {
		m := l.mail.next(t, "mail about who is on call")
		if m.Body.Items[0].Rule == delivery.RuleOnCallUnreachable && m.Person == "Heron" {
			break
		}
	}
	_, err = l.roster.Swap(t.Context(), lab.DutySwap{Day: time.Now().UTC().Format(time.DateOnly), Off: "Robin", On: "Heron"}, "test")
	l.must(err)
	labtest.Poll(t, "a swap clears it", func() bool {
		own, err := l.store.Alerts(t.Context(), lab.AlertFilter{Rule: delivery.RuleOnCallUnreachable})
		return err == nil && len(own) == 1 && own[0].ClearedAt != nil
	})
}
