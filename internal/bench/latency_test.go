package bench

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/internal/lab"
)

// From a unit's reading to an open board, in a new lab and in one that has a
// year of days. The ceiling is a bare subscriber at the same broker.
func TestBoard(t *testing.T) {
	for _, days := range of([]int{0, 365}, []int{0}) {
		s := newSite(t, false)
		s.past(days)
		s.serve(false)
		s.ready()
		took, bare := s.toBoard(50, 1000, of(10*time.Second, 2*time.Second))
		what := "a new lab"
		if days > 0 {
			what = fmt.Sprintf("a lab of %d days", days)
		}
		table.add(row{"reading to board, 50 units, 20/s each, " + what + ", p50 / p99", middleAndEnd(took), middleAndEnd(bare) + " bare subscriber",
			share(percentile(took, 0.5).Seconds(), percentile(bare, 0.5).Seconds()), "4 / 15 ms", "Board"})
		s.stop()
	}
}

// toBoard gives how long readings take to an open board, and to a bare
// subscriber.
func (s *site) toBoard(n int, rate float64, length time.Duration) (took, bare []time.Duration) {
	s.t.Helper()
	units := newTalkers(n)
	f := newFeeder(s.t, s.broker, "feeder", 5000)
	if err := units.begin(f); err != nil {
		s.t.Fatal(err)
	}
	var mu sync.Mutex
	waiting := map[string]*talker{}
	for i := range units.units {
		u := &units.units[i]
		waiting[benchLab+"/"+u.name] = u
	}
	b := s.look(func(u *shownUnit, now time.Time) {
		mu.Lock()
		defer mu.Unlock()
		w := waiting[u.ID]
		if w == nil || u.Bath.At == nil {
			return
		}
		for len(w.sent) > 0 && !w.sent[0].Truncate(time.Millisecond).After(u.Bath.At.Time) {
			took = append(took, now.Sub(w.sent[0]))
			w.sent = w.sent[1:]
		}
	})
	sub := s.subscriber(func(at, now time.Time) {
		mu.Lock()
		defer mu.Unlock()
		bare = append(bare, now.Sub(at))
	})
	defer sub.Disconnect(50)
	note := func(u *talker, at time.Time) {
		mu.Lock()
		defer mu.Unlock()
		u.sent = append(u.sent, at)
	}
	units.talk(s.t.Context(), f, rate, of(3*time.Second, 200*time.Millisecond), note) // until all is in use
	if err := mark(f, 1); err != nil {
		s.t.Fatal(err)
	}
	b.await(s.t, 1)
	mu.Lock()
	took, bare = nil, nil
	mu.Unlock()
	units.talk(s.t.Context(), f, rate, length, note)
	if err := mark(f, 2); err != nil {
		s.t.Fatal(err)
	}
	b.await(s.t, 2)
	mu.Lock()
	defer mu.Unlock()
	return took, bare
}

// subscriber is told of each message by the unit's clock and ours.
func (s *site) subscriber(heard func(at, now time.Time)) mqtt.Client {
	s.t.Helper()
	c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker(strings.Replace(s.broker, "mqtt://", "tcp://", 1)).SetClientID("onlooker"))
	if t := c.Connect(); !t.WaitTimeout(patience) || t.Error() != nil {
		s.t.Fatal(t.Error())
	}
	t := c.Subscribe(lab.TopicPrefix+"+/+/temp", 1, func(_ mqtt.Client, m mqtt.Message) {
		now := time.Now()
		_, rest, _ := strings.Cut(string(m.Payload()), `"at":"`)
		text, _, _ := strings.Cut(rest, `"`)
		if at, err := time.Parse(time.RFC3339, text); err == nil {
			heard(at, now)
		}
	})
	if !t.WaitTimeout(patience) || t.Error() != nil {
		s.t.Fatal(t.Error())
	}
	return c
}
