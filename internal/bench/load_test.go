package bench

import (
	"context"
	"fmt"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

const benchLab = "tern-street"

// simulated is n messages of so many units at work, the last sent just now or
// some time ago.
func simulated(t testing.TB, units, n int, ago time.Duration) []lab.Raw {
	t.Helper()
	length := time.Duration(n) * 2500 * time.Millisecond / time.Duration(units) // each sends about one in two seconds
	start := time.Now().Add(-length - ago).UTC().Truncate(time.Second)
	l, err := sim.New(sim.Config{Lab: benchLab, Seed: 12, Start: start, Schedule: sim.EndlessPlan(12, units, 0)})
	if err != nil {
		t.Fatal(err)
	}
	raws := l.Advance(start.Add(length))
	if len(raws) < n {
		t.Fatalf("only %d messages; want %d", len(raws), n)
	}
	return raws[len(raws)-n:]
}

// talkers are units in a developer that tell its temperature.
type talkers struct {
	units []talker
	next  int
	n     int
}

type talker struct {
	name string
	seq  int
	sent []time.Time // readings that no board has shown yet, oldest first
}

func newTalkers(n int) *talkers {
	all := &talkers{units: make([]talker, n)}
	for i := range all.units {
		all.units[i].name = fmt.Sprintf("unit-%04d", i)
	}
	return all
}

// message is the next message of the next unit, sent now.
func (a *talkers) message(now time.Time) (u *talker, topic, payload string) {
	u = &a.units[a.next]
	a.next = (a.next + 1) % len(a.units)
	u.seq++
	head := fmt.Sprintf(`{"at":%q,"boot":"b1","seq":%d,`, lab.At(now), u.seq)
	if u.seq == 1 {
		return u, a.topic(u, "step"), head + `"phase":"in-bath","run":"r-1","process":"c41","push":0,"step":"developer","n":1,"of":6,"set_s":195,"elapsed_s":0}`
	}
	a.n++
	return u, a.topic(u, "temp"), head + fmt.Sprintf(`"bath_c":%.1f,"room_c":21.5}`, 37.7+0.1*float64(a.n%3))
}

func (*talkers) topic(u *talker, channel string) string {
	return lab.TopicPrefix + benchLab + "/" + u.name + "/" + channel
}

// begin has each unit say that it is in its developer.
func (a *talkers) begin(f *feeder) error {
	for range a.units {
		_, topic, payload := a.message(time.Now())
		f.publish(topic, payload)
	}
	return f.settle()
}

// talk has them talk at a pace, in messages a second, for a while. told, where
// set, is told of each message. It gives how many were sent.
func (a *talkers) talk(ctx context.Context, f *feeder, rate float64, d time.Duration, told func(u *talker, at time.Time)) (n int) {
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	began := time.Now()
	for {
		now := time.Now()
		spent := min(now.Sub(began), d)
		for ; n < int(spent.Seconds()*rate); n++ {
			at := time.Now()
			u, topic, payload := a.message(at)
			if told != nil {
				told(u, at)
			}
			if !f.publish(topic, payload) {
				return n
			}
		}
		f.flush()
		if spent == d {
			return n
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return n
		}
	}
}

// mark sends what says, once a board shows it, that everything before it has
// been taken in, stored and judged.
func mark(f *feeder, value int) error {
	f.publish(lab.TopicPrefix+benchLab+"/marker/temp",
		fmt.Sprintf(`{"at":%q,"boot":"b1","seq":%d,"room_c":%d}`, lab.At(time.Now()), value, 10+value))
	return f.settle()
}
