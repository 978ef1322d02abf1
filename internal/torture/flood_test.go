package torture

import (
	"fmt"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// One unit floods the monitor while another one's run is aborted with film in
// its developer: how long until a person is paged, with and without the flood.
func TestFlood(t *testing.T) {
	s := newSite(t, parts{})
	u := &hand{line: newLine(t, s.broker), unit: "plover"}
	quiet := s.timedPage(u)

	const rate = 2000 // messages a second
	flooding, ended := make(chan struct{}), make(chan struct{})
	l := newLine(t, s.broker)
	sent := 0
	began := time.Now()
	go func() {
		defer close(ended)
		tick := time.NewTicker(10 * time.Millisecond) // the pace of the flood, nothing is waited for
		defer tick.Stop()
		for {
			select {
			case <-flooding:
				return
			case <-tick.C:
			}
			for range rate / 100 {
				sent++
				l.send(lab.Raw{Topic: "wetside/v1/" + sim.DemoLab + "/" + vandal + "/temp",
					Payload: fmt.Appendf(nil, `{"at":%q,"boot":"v","seq":%d,"room_c":20}`, lab.At(time.Now()), sent)})
			}
		}
	}()
	n := 3
	if long {
		n = 10 * tries
	}
	r := row{tries: n}
	<-time.After(lasts()) // the flood has been going for a while
	for range n {
		<-time.After(time.Second) // and goes on between the tries
		r.recovery = append(r.recovery, s.timedPage(u))
	}
	took := time.Since(began)
	close(flooding)
	<-ended
	arrived := l.acked.Load()
	r.fault = fmt.Sprintf("a flood from one unit: %.0f messages/s sent, %.0f/s taken; seconds from another unit's abort to its page", float64(sent)/took.Seconds(), float64(arrived)/took.Seconds())
	r.sent = sent + len(u.sent)
	r.told = append([]string{fmt.Sprintf("%.1f s with no flood", quiet.Seconds())}, s.told.take()...)
	l.settle(t, sent)
	cursor, stored := int64(0), 0
	eventually(t, "the flood is stored or refused", func() bool {
		return s.stored(&cursor, &stored) && stored > 0
	})
	r.pages = len(s.hook.all())
	table.add(r)
	for _, d := range r.recovery {
		if d > quiet+15*time.Second {
			t.Errorf("under the flood a page took %.1f s, without it %.1f s", d.Seconds(), quiet.Seconds())
		}
	}
}

// timedPage aborts a run of u and gives how long its page took.
func (s *site) timedPage(u *hand) time.Duration {
	s.t.Helper()
	had := len(s.hook.all())
	began := time.Now()
	u.abort()
	var at time.Time
	eventually(s.t, "the page arrives", func() bool {
		for _, p := range s.hook.all()[had:] {
			if p.Item.Rule == "run-aborted" && p.Item.Unit == sim.DemoLab+"/"+u.unit {
				at = p.At
			}
		}
		return !at.IsZero()
	})
	return at.Sub(began)
}
