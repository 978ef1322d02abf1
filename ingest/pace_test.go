package ingest

import (
	"testing"
	"time"

	"wetside/internal/lab"
)

// A link without a message for a second has no backlog: at the second, not
// before; what came before the link counts from the link.
func TestQuietToTheSecond(t *testing.T) {
	began := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		last, now time.Time
		want      bool
	}{
		{began.Add(5 * time.Second), began.Add(5*time.Second + quiet - 1), false},
		{began.Add(5 * time.Second), began.Add(5*time.Second + quiet), true},
		{began.Add(-time.Hour), began.Add(quiet - 1), false},
		{began.Add(-time.Hour), began.Add(quiet), true},
	} {
		p := pace{since: began}
		if got := p.through(c.now, c.last); got != c.want {
			t.Errorf("last heard at %s, now %s: through %v, want %v", c.last.Sub(began), c.now.Sub(began), got, c.want)
		}
	}
}

// A unit whose clock is an hour behind is in its backlog while its time passes
// faster than ours, and live once it passes as ours does, within half as much
// again.
func TestPaceOfAClockThatIsOff(t *testing.T) {
	u := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for perSecond, want := range map[time.Duration]bool{time.Second: true, 1490 * time.Millisecond: true, 1500 * time.Millisecond: false, 10 * time.Second: false} {
		p := pace{}
		p.start(nil)
		for i := range time.Duration(4 * paceLeast) {
			p.observe([]lab.Message{{Unit: u, At: at.Add(i * perSecond), Received: at.Add(time.Hour + 10*time.Minute + i*time.Second)}}, nil)
		}
		if p.caught != want {
			t.Errorf("%s a second: caught up %v, want %v", perSecond, p.caught, want)
		}
	}
}
