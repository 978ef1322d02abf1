package delivery_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// With the store away those on call are called from memory, even after the
// worker was stopped; who works in the dark is left alone.
func TestCallWithoutTheStore(t *testing.T) {
	l := newLot(t, nil, nil)
	l.must(l.store.SetDutyDark(t.Context(), "Robin", time.Now().Add(time.Hour), "Robin"))
	l.must(l.worker.Reload(t.Context()))
	l.worker.Stop()
	l.store.Close()
	if n := l.worker.CallNow(t.Context(), lab.Urgent, "The database does not answer", "Watch the units by eye."); n != 1 {
		t.Errorf("%d people were reached; want Wren alone", n)
	}
	m := labtest.Receive(t, l.mail.news, "the call to Wren")
	if m.Person != "Wren" || m.Body.Title != "The database does not answer" || m.Priority != lab.Urgent {
		t.Errorf("called: %+v", m)
	}
}
