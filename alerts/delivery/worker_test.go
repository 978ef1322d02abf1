package delivery_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/alerts"
	"wetside/alerts/delivery"
	"wetside/alerts/notify"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

func quick(p *lab.DutyPlan) {
	p.Urgent = []lab.DutyStep{{Who: lab.WhoFirst}, {Who: lab.WhoSecond, AfterS: 1}, {Who: lab.WhoEverybody, AfterS: 1}}
}

// The first on duty is called at once, the second when nobody answers, then
// everybody; who answers ends it.
func TestStepsUntilSomebodyAnswers(t *testing.T) {
	t.Parallel()
	l := newLot(t, quick, nil)
	id := l.raise("plover", lab.Urgent)
	m := l.to(l.mail.next(t, "the first page"), "Wren")
	if !strings.HasPrefix(m.Body.Title, "Urgent. Plover: Developer") || len(m.Body.Items) != 1 || m.Body.Items[0].AlertID != id {
		t.Errorf("the page says %+v", m.Body)
	}
	if !strings.HasPrefix(m.Body.Link, "https://board.tern-street.example/p/"+m.ID+".") {
		t.Errorf("the link is %q", m.Body.Link)
	}
	l.to(l.mail.next(t, "the second step"), "Robin")
	all := map[string]bool{}
	for range 3 {
		m = l.mail.next(t, "the third step")
		all[m.Person] = true
	}
	if len(all) != 3 || !strings.Contains(m.Body.Text, "Not acknowledged for") {
		t.Errorf("the third step reached %v and said %q", all, m.Body.Text)
	}
	if _, err := l.alerts.Acknowledge(t.Context(), id, "Robin", ""); err != nil {
		t.Fatal(err)
	}
	labtest.Poll(t, "the case is over", func() bool {
		pages, err := l.roster.AlertPages(t.Context(), id)
		return err == nil && pages.Next == nil && len(pages.Pages) == 5
	})
}

// A dead recipient holds up nobody; the page goes to them as soon as they can
// be reached again, by the same id.
func TestDeadRecipientHoldsUpNobody(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) {
		p.Urgent = []lab.DutyStep{{Who: lab.WhoEverybody}}
		p.RetriesS = []int{0, 1}
	}, nil)
	hang := make(chan struct{})
	var first string
	l.mail.answer(func(ctx context.Context, c lab.Contacts, m lab.PageMessage) error {
		if m.Person != "Wren" {
			return nil
		}
		if m.Tries == 1 {
			first = m.ID
			select {
			case <-hang:
			case <-ctx.Done():
			}
			return errors.New("no answer")
		}
		if m.ID != first {
			t.Errorf("tried again as %s; was %s", m.ID, first)
		}
		return nil
	})
	id := l.raise("plover", lab.Urgent)
	got := map[string]bool{l.mail.next(t, "a page").Person: true}
	got[l.mail.next(t, "another page").Person] = true
	if !got["Robin"] || !got["Heron"] {
		t.Errorf("pages reached %v while one recipient hangs", got)
	}
	close(hang)
	if m := l.mail.next(t, "the page to who was away"); m.Person != "Wren" || m.Tries != 2 {
		t.Errorf("then to %s by try %d", m.Person, m.Tries)
	}
	labtest.Poll(t, "the tries are shown on the alert", func() bool {
		pages, err := l.roster.AlertPages(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range pages.Pages {
			if p.Person == "Wren" {
				return p.State == lab.PageSent && len(p.Tries) == 2 && p.Tries[0].Outcome == lab.OutcomeFailed && p.Tries[1].Outcome == lab.OutcomeSent
			}
		}
		return false
	})
}

// Who works in the dark is not called; what is urgent goes to the next at
// once, and to them when they can look again, if nobody answered.
func TestDarkPhoneStaysDark(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) {
		p.Urgent = []lab.DutyStep{{Who: lab.WhoFirst}, {Who: lab.WhoSecond, AfterS: 600}}
	}, nil)
	if _, err := l.roster.GoDark(t.Context(), "Wren", 10, "Wren"); err != nil {
		t.Fatal(err)
	}
	id := l.raise("plover", lab.Urgent)
	l.to(l.mail.next(t, "the page to the next"), "Robin")
	pages, err := l.roster.AlertPages(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range pages.Pages {
		if want := map[string]string{"Wren": lab.PageHeld}[p.Person]; want != "" && (p.State != want || p.HeldUntil == nil) {
			t.Errorf("%s's page is %s until %v; want %s", p.Person, p.State, p.HeldUntil, want)
		}
	}
	if _, err := l.roster.GoDark(t.Context(), "Wren", 0, "Wren"); err != nil {
		t.Fatal(err)
	}
	// A new alert of another unit goes to Wren at once again.
	l.raise("heron", lab.Urgent)
	l.to(l.mail.next(t, "the page in the light"), "Wren")
}

// Where one contact method fails the next is tried at once; a browser that is
// gone is forgotten.
func TestTheNextWayIsTried(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, nil)
	sub, err := l.store.AddSubscription(t.Context(), lab.PushSubscription{Person: "Wren", Device: "phone", Endpoint: "https://push.example/1", P256dh: "x", Auth: "y"}, "Wren")
	l.must(err)
	l.must(l.worker.Reload(t.Context()))
	l.push.answer(func(context.Context, lab.Contacts, lab.PageMessage) error {
		return &notify.Error{Outcome: lab.OutcomeGone, Text: "gone", Gone: []lab.PushSubscription{sub}}
	})
	l.raise("plover", lab.Urgent)
	l.to(l.mail.next(t, "the page by mail"), "Wren")
	labtest.Poll(t, "the browser is forgotten", func() bool {
		c, err := l.store.Contacts(t.Context(), "Wren")
		return err == nil && len(c.Push) == 0
	})
}

// An old link does not answer a new occurrence; opening answers nothing.
func TestLinks(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, nil)
	var change alerts.Change
	id := l.raise("plover", lab.Urgent, func(c *alerts.Change) { change = *c })
	token := tokenOf(l.to(l.mail.next(t, "the page"), "Wren"))
	v, err := l.worker.OpenLink(t.Context(), token)
	if err != nil || len(v.Items) != 1 || !v.Items[0].Open || v.Person != "Wren" {
		t.Fatalf("the link shows %+v, %v", v, err)
	}
	if a, _ := l.store.Alert(t.Context(), id); a.AcknowledgedAt != nil {
		t.Error("opening the link acknowledged")
	}
	// it clears, and comes again
	change.ClearedAt = change.RaisedAt.Add(time.Minute)
	again := change
	again.ID, again.RaisedAt, again.ClearedAt = "alert-again", change.RaisedAt.Add(2*time.Minute), time.Time{}
	l.apply(change, again)
	_, _, err = l.worker.UseLink(t.Context(), token, lab.LinkRequest{What: lab.LinkAcknowledge})
	if lab.KindOf(err) != lab.KindConflict {
		t.Errorf("an old link on a new occurrence: %v; want a conflict", err)
	}
	if a, _ := l.store.Alert(t.Context(), id); a.AcknowledgedAt != nil {
		t.Error("an old link acknowledged a new occurrence")
	}
	m := l.to(l.mail.next(t, "the page of the new occurrence"), "Wren")
	token = tokenOf(m)
	if m.Body.Items[0].Occurrence != 2 {
		t.Errorf("the new page is about occurrence %d", m.Body.Items[0].Occurrence)
	}
	if v, said, err := l.worker.UseLink(t.Context(), token, lab.LinkRequest{What: lab.LinkAcknowledge}); err != nil || said == "" || v.Items[0].Open {
		t.Errorf("acknowledge: %+v %q %v", v, said, err)
	}
	if a, _ := l.store.Alert(t.Context(), id); a.AcknowledgedBy != "Wren" {
		t.Errorf("acknowledged by %q", a.AcknowledgedBy)
	}
	for _, bad := range []string{"", "x", token + "x", "pg-none." + strings.Split(token, ".")[1]} {
		if _, err := l.worker.OpenLink(t.Context(), bad); lab.KindOf(err) != lab.KindNotFound {
			t.Errorf("link %q: %v", bad, err)
		}
	}
}

func tokenOf(m lab.PageMessage) string {
	_, token, _ := strings.Cut(m.Body.Link, "/p/")
	return token
}

// Call the next: the step that would come later comes now.
func TestCallTheNext(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) { p.High = []lab.DutyStep{{Who: lab.WhoFirst}, {Who: lab.WhoSecond, AfterS: 900}} }, nil)
	l.raise("plover", lab.High)
	token := tokenOf(l.to(l.mail.next(t, "the page"), "Wren"))
	v, err := l.worker.OpenLink(t.Context(), token)
	l.must(err)
	if !slices.Equal(v.Next, []string{"Robin"}) || v.NoNext != "" {
		t.Errorf("next is %v, %q", v.Next, v.NoNext)
	}
	_, said, err := l.worker.UseLink(t.Context(), token, lab.LinkRequest{What: lab.LinkCallNext})
	l.must(err)
	if said != "Paging Robin now." {
		t.Errorf("it says %q", said)
	}
	token = tokenOf(l.to(l.mail.next(t, "the next one"), "Robin"))

	// now only Robin is left to be paged: the page says so, before and after
	for _, name := range []string{"Wren", "Heron"} {
		l.must(l.store.SetContacts(t.Context(), lab.Contacts{Person: name}, "test"))
	}
	l.must(l.worker.Reload(t.Context()))
	const nobody = "Nobody else can be paged now. Call somebody yourself if you need help."
	if v, err := l.worker.OpenLink(t.Context(), token); err != nil || !v.Open || len(v.Next) > 0 || v.NoNext != nobody {
		t.Errorf("next is %v, %q, %v", v.Next, v.NoNext, err)
	}
	if _, said, err := l.worker.UseLink(t.Context(), token, lab.LinkRequest{What: lab.LinkCallNext}); err != nil || said != nobody {
		t.Errorf("it says %q, %v", said, err)
	}
}

// A contact method that keeps failing is an alert that goes out by another
// contact method, and clears when it works again.
func TestWayThatKeepsFailing(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) { p.RetriesS = []int{0, 1} }, func(c *delivery.Config) {
		c.Look, c.CheckEvery, c.FailingFor, c.FailingTries = 50*time.Millisecond, 50*time.Millisecond, 100*time.Millisecond, 2
	})
	_, err := l.store.AddSubscription(t.Context(), lab.PushSubscription{Person: "Robin", Device: "phone", Endpoint: "https://push.example/2", P256dh: "x", Auth: "y"}, "Robin")
	l.must(err)
	l.must(l.worker.Reload(t.Context()))
	l.mail.answer(func(_ context.Context, _ lab.Contacts, m lab.PageMessage) error {
		if m.Person == "Wren" {
			return errors.New("the server is away")
		}
		return nil
	})
	id := l.raise("plover", lab.High)
	// Wren cannot be told: the alert about that goes to Robin's phone and Heron.
	labtest.Poll(t, "page-failing is raised", func() bool {
		st, err := l.roster.Status(t.Context())
		own, err2 := l.store.Alerts(t.Context(), lab.AlertFilter{Rule: delivery.RulePageFailing})
		return err == nil && err2 == nil && len(st.Failing) == 1 && len(own) == 1 && own[0].Subject == "mail to Wren" && own[0].Unit == ""
	})
	l.mail.answer(nil)
	got := l.mail.next(t, "the page after all")
	if got.Person != "Wren" {
		t.Errorf("to %s", got.Person)
	}
	labtest.Poll(t, "page-failing clears", func() bool {
		own, err := l.store.Alerts(t.Context(), lab.AlertFilter{Rule: delivery.RulePageFailing})
		return err == nil && len(own) == 1 && own[0].ClearedAt != nil
	})
	_ = id
}

// Every contact method of a person is tested by its own, and shown.
func TestPageTest(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, nil)
	ids, err := l.roster.Test(t.Context(), "Wren", "Heron")
	if err != nil || len(ids) != 1 {
		t.Fatalf("%v %v", ids, err)
	}
	if m := l.mail.next(t, "the test"); m.ID != ids[0] || !m.Body.Test {
		t.Errorf("%+v", m)
	}
	labtest.Poll(t, "the test is shown as sent", func() bool {
		tests, err := l.roster.Tests(t.Context(), "Wren")
		return err == nil && len(tests) == 1 && tests[0].State == lab.PageSent && tests[0].Method == lab.MethodMail
	})
	for range 4 {
		if _, err := l.roster.Test(t.Context(), "Wren", "Heron"); err != nil {
			t.Fatal(err)
		}
		l.mail.next(t, "another test")
	}
	if _, err := l.roster.Test(t.Context(), "Wren", "Heron"); lab.KindOf(err) != lab.KindConflict || !strings.Contains(err.Error(), "5 tests") {
		t.Errorf("the sixth test in a row: %v", err)
	}
	log, err := l.roster.Log(t.Context(), 1)
	if err != nil || log[0].What != "page-test" || log[0].By != "Heron" || log[0].Person != "Wren" {
		t.Errorf("the record says %+v, %v", log, err)
	}
}

// Answered through a page that was raised to urgent after an acknowledgement:
// it is called out again, and the new answer ends it.
func TestUrgentAfterAcknowledged(t *testing.T) {
	t.Parallel()
	l := newLot(t, quick, nil)
	var change alerts.Change
	id := l.raise("plover", lab.High, func(c *alerts.Change) { change = *c })
	l.to(l.mail.next(t, "the first page"), "Wren")
	if _, err := l.alerts.Acknowledge(t.Context(), id, "Wren", ""); err != nil {
		t.Fatal(err)
	}
	change.Priority = lab.Urgent
	l.apply(change)
	m := l.to(l.mail.next(t, "the page of what is urgent now"), "Wren")
	if _, _, err := l.worker.UseLink(t.Context(), tokenOf(m), lab.LinkRequest{What: lab.LinkAcknowledge}); err != nil {
		t.Fatal(err)
	}
	labtest.Poll(t, "nobody else is called", func() bool {
		pages, err := l.roster.AlertPages(t.Context(), id)
		return err == nil && pages.Next == nil && pages.AnsweredBy == "Wren"
	})
}

// The heartbeat tells the ages, and stays away when a part shows no life.
func TestHeartbeat(t *testing.T) {
	t.Parallel()
	beats := make(chan string, 100)
	l := newLot(t, nil, func(c *delivery.Config) {
		c.Look = 20 * time.Millisecond
		c.Heartbeat = delivery.HeartbeatConfig{Every: 20 * time.Millisecond, Ages: func() delivery.Ages { return delivery.Ages{Ingest: 2 * time.Second, Rules: time.Second} },
			Post: func(_ context.Context, _ string, body []byte) error {
				select {
				case beats <- string(body):
				default:
				}
				return nil
			}}
	})
	got := labtest.Receive(t, beats, "a heartbeat")
	for _, want := range []string{`"type":"heartbeat"`, `"ingest_age_s":2`, `"rules_age_s":1`, `"database_age_s":0.`, `"outbox_waiting":0`} {
		if !strings.Contains(got, want) {
			t.Errorf("the heartbeat %s does not say %s", got, want)
		}
	}
	labtest.Poll(t, "the status shows it", func() bool {
		st, err := l.roster.Status(t.Context())
		return err == nil && st.Heartbeat.On && st.Heartbeat.LastAt != nil && st.Heartbeat.Detail == ""
	})
}

func TestHeartbeatStaysAway(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, func(c *delivery.Config) {
		c.Look = 20 * time.Millisecond
		c.Heartbeat = delivery.HeartbeatConfig{Every: 20 * time.Millisecond, Ages: func() delivery.Ages { return delivery.Ages{Rules: 2 * time.Minute} },
			Post: func(context.Context, string, []byte) error {
				t.Error("a heartbeat of a worker whose rules are dead")
				return nil
			}}
	})
	labtest.Poll(t, "the status says why", func() bool {
		st, err := l.roster.Status(t.Context())
		return err == nil && strings.Contains(st.Heartbeat.Detail, "the rules showed no life")
	})
}

// Nobody on duty while a unit runs: everybody hears of it.
func TestNobodyOnDuty(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) {
		day := time.Now().UTC().AddDate(0, 0, 3).Weekday()
		p.Hours[0].Days = []string{strings.ToLower(day.String()[:3])}
	}, func(c *delivery.Config) {
		c.Busy = func() bool { return true }
		c.Look, c.CheckEvery, c.NobodyFor = 20*time.Millisecond, 20*time.Millisecond, 50*time.Millisecond
	})
	got := map[string]bool{}
	for range 3 {
		m := l.mail.next(t, "the page")
		got[m.Person] = true
		if m.Body.Items[0].Rule != delivery.RuleNobodyOnDuty {
			t.Errorf("the page is about %s", m.Body.Items[0].Rule)
		}
	}
	if len(got) != 3 {
		t.Errorf("it reached %v", got)
	}
	st, err := l.roster.Status(t.Context())
	if err != nil || len(st.Faults) == 0 || st.Faults[0].Code != lab.FaultNobodyOnDuty {
		t.Errorf("the status says %+v, %v", st.Faults, err)
	}
}
