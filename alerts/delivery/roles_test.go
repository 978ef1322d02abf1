package delivery_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"wetside/alerts/delivery"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// A link does what its person may do when it is pressed, not what they might
// when it was sent.
func TestLinkActsWithTheRoleOfTheMoment(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, nil)
	id := l.raise("plover", lab.Urgent)
	token := tokenOf(l.to(l.mail.next(t, "the page"), "Wren"))
	acknowledge := func() error {
		_, _, err := l.worker.UseLink(t.Context(), token, lab.LinkRequest{What: lab.LinkAcknowledge})
		return err
	}
	l.must(l.store.SetRole(t.Context(), "Robin", lab.RoleLead, "test"))
	l.must(l.store.SetRole(t.Context(), "Wren", lab.RoleViewer, "test"))
	if v, err := l.worker.OpenLink(t.Context(), token); err != nil || v.May {
		t.Errorf("a viewer's link has buttons: %v, %v", v.May, err)
	}
	for _, what := range []string{lab.LinkAcknowledge, lab.LinkShelve, lab.LinkCallNext} {
		if _, _, err := l.worker.UseLink(t.Context(), token, lab.LinkRequest{What: what, Minutes: 10, Reason: "x"}); lab.KindOf(err) != lab.KindForbidden {
			t.Errorf("a viewer's %s: %v; want forbidden", what, err)
		}
	}
	if a, err := l.store.Alert(t.Context(), id); err != nil || a.AcknowledgedAt != nil || a.ShelvedUntil != nil {
		t.Errorf("a viewer's link did something: %+v, %v", a, err)
	}
	l.must(l.store.SetRole(t.Context(), "Wren", lab.RoleOperator, "test"))
	if err := acknowledge(); err != nil {
		t.Errorf("an operator's link: %v", err)
	}
}

// Withdrawn links end at once: those of a person, those of an alert, and those
// of who is taken out. A page sent later has a link that holds.
func TestWithdrawnLinks(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) { p.Urgent = []lab.DutyStep{{Who: lab.WhoEverybody}} }, nil)
	page := func(unit string) (string, map[string]string) {
		id, tokens := l.raise(unit, lab.Urgent), map[string]string{}
		for range 3 {
			m := l.mail.next(t, "the page about "+unit)
			tokens[m.Person] = tokenOf(m)
		}
		return id, tokens
	}
	holds := func(token string) bool {
		_, err := l.worker.OpenLink(t.Context(), token)
		if err != nil && lab.KindOf(err) != lab.KindNotFound {
			t.Errorf("a link that was withdrawn: %v", err)
		}
		return err == nil
	}
	_, first := page("plover")
	l.must(l.store.WithdrawLinks(t.Context(), "Wren", "", "test"))
	if holds(first["Wren"]) || !holds(first["Robin"]) {
		t.Errorf("after Wren's links were withdrawn hers holds: %v, Robin's: %v", holds(first["Wren"]), holds(first["Robin"]))
	}
	id, second := page("heron")
	if !holds(second["Wren"]) {
		t.Error("a link that was sent later does not hold")
	}
	l.must(l.store.WithdrawLinks(t.Context(), "", id, "test"))
	if holds(second["Wren"]) || holds(second["Robin"]) || !holds(first["Robin"]) {
		t.Error("after the links of an alert were withdrawn they hold, or others do not")
	}
	l.must(l.store.SetRole(t.Context(), "Heron", lab.RoleLead, "test"))
	_, third := page("wagtail")
	l.must(l.store.DeleteUser(t.Context(), "Robin", "test"))
	if holds(third["Robin"]) || !holds(third["Wren"]) {
		t.Error("the link of who was taken out holds, or another does not")
	}
}

// With no plan everybody is called who may do something about an alert, and
// nobody else.
func TestWithoutAPlanNoViewerIsCalled(t *testing.T) {
	t.Parallel()
	l := lotWithoutPlan(t)
	l.must(l.store.SetRole(t.Context(), "Wren", lab.RoleLead, "test"))
	l.must(l.store.SetRole(t.Context(), "Heron", lab.RoleViewer, "test"))
	l.start(nil)
	called := func() map[string]bool {
		got := map[string]bool{}
		for range 2 {
			got[l.mail.next(t, "the page").Person] = true
		}
		return got
	}
	id := l.raise("plover", lab.Urgent)
	if got := called(); !got["Wren"] || !got["Robin"] {
		t.Errorf("called: %v", got)
	}
	pages, err := l.roster.AlertPages(t.Context(), id)
	l.must(err)
	for _, p := range pages.Pages {
		if p.Person == "Heron" {
			t.Errorf("a viewer has a page: %+v", p)
		}
	}
	if len(pages.Pages) != 2 {
		t.Errorf("%d pages", len(pages.Pages))
	}
	st, err := l.roster.Status(t.Context())
	l.must(err)
	if len(st.Faults) == 0 || st.Faults[0].Code != lab.FaultNoPlan {
		t.Errorf("the status says %+v", st.Faults)
	}
}

// Before plan and people are read nothing is said about them.
func TestStatusBeforeThePlanIsRead(t *testing.T) {
	t.Parallel()
	l := lotWithoutPlan(t)
	w, err := delivery.New(delivery.Config{Store: l.store, Term: l.term, Key: lotKey, Methods: map[string]delivery.Method{lab.MethodMail: l.mail}})
	l.must(err)
	codes := func() (out []string) {
		st, err := w.NewRoster(nil).Status(t.Context())
		l.must(err)
		for _, f := range st.Faults {
			out = append(out, f.Code)
		}
		return out
	}
	if got := codes(); len(got) != 0 {
		t.Errorf("it says %v", got)
	}
	l.must(w.Start(t.Context()))
	t.Cleanup(w.Stop)
	labtest.Poll(t, "the plan is missed", func() bool { return slices.Contains(codes(), lab.FaultNoPlan) })
}

// The duty as it stands tells who is called first, who second and who not at
// all; of the times when nobody is on duty the next five are warned of.
func TestDutyAsItStands(t *testing.T) {
	t.Parallel()
	l := newLot(t, func(p *lab.DutyPlan) { p.Hours[0].To = "12:00" }, nil) // every afternoon is a gap
	l.must(l.worker.Reload(t.Context()))
	now, err := l.roster.Duty(t.Context())
	l.must(err)
	warned := 0
	for _, w := range now.Warnings {
		if strings.HasPrefix(w, "Nobody is on call ") {
			warned++
		}
	}
	if len(now.Gaps) < 7 || warned != 5 {
		t.Errorf("%d gaps in a week, %d warned of: %q; want one a day and five", len(now.Gaps), warned, now.Warnings)
	}
	st, err := l.store.DutyState(t.Context())
	l.must(err)
	plan := *st.Plan
	plan.Hours[0].To = "24:00"
	l.must(l.store.SetDutyPlan(t.Context(), plan, st.Version, "test"))
	l.must(l.worker.Reload(t.Context()))
	now, err = l.roster.Duty(t.Context())
	l.must(err)
	got := map[string]int{}
	for _, p := range now.People {
		got[p.Name] = p.On
	}
	if want := map[string]int{"Wren": 1, "Robin": 2, "Heron": 0}; !maps.Equal(got, want) || len(now.Gaps) != 0 {
		t.Errorf("called in the order %v; want %v, and no gaps: %v", got, want, now.Gaps)
	}
}
