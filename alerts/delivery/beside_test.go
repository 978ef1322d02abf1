package delivery_test

import (
	"sync/atomic"
	"testing"
	"time"

	"wetside/alerts/delivery"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// A fault of another part of the monitor is on the board at once, pages once
// it has lasted, says so only once, and clears when it is over.
func TestFaultBesidePagesWhenItLasts(t *testing.T) {
	t.Parallel()
	var on atomic.Bool
	since := time.Now().Add(-time.Hour)
	on.Store(true)
	l := newLot(t, nil, func(c *delivery.Config) {
		c.Look, c.CheckEvery = 20*time.Millisecond, 20*time.Millisecond
		c.Beside = func(now time.Time) []lab.DutyFault {
			if !on.Load() {
				return nil
			}
			return []lab.DutyFault{
				{Code: lab.FaultNotSealed, Text: "Runs are not sealed: the disk is full", Since: lab.AtPtr(since), PageAfter: 30 * time.Minute, Subject: "all runs", Consequence: "c", Response: "r"},
				{Code: lab.FaultNotSealed, Text: "Run r1 is not sealed", Since: lab.AtPtr(since), PageAfter: 2 * time.Hour, Subject: "single runs"},
				{Code: "shown-only", Text: "shown only", Since: lab.AtPtr(since)},
			}
		}
	})
	m := l.to(l.mail.next(t, "the page"), "Wren")
	if it := m.Body.Items[0]; len(m.Body.Items) != 1 || it.Rule != lab.FaultNotSealed || it.Message != "Runs are not sealed: the disk is full" || it.Priority != lab.High {
		t.Errorf("the page says %+v", m.Body.Items)
	}
	st, err := l.roster.Status(t.Context())
	if err != nil || len(st.Faults) < 3 {
		t.Errorf("the board shows %+v, %v; want all three", st.Faults, err)
	}
	on.Store(false)
	labtest.Poll(t, "the alert clears", func() bool {
		own, err := l.store.Alerts(t.Context(), lab.AlertFilter{Rule: lab.FaultNotSealed})
		return err == nil && len(own) == 1 && own[0].ClearedAt != nil && own[0].Occurrence == 1
	})
}
