package bench

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"wetside/alerts/notify"
	"wetside/alerts/oncall"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"
)

// From the message that the mains failed in a run to the call of a webhook,
// while fifty other units talk. The ceiling is one commit and one POST.
func TestPage(t *testing.T) {
	s := newSite(t, false)
	secret := notify.NewSecret()
	hook, got := monitortest.HookReceiver(t, secret)
	s.onDuty(hook, secret)
	s.serve(false)
	s.ready()
	var now lab.DutyStatus
	poll(t, "somebody is on duty", 20*time.Millisecond, func() bool { return s.api().Get("/api/v1/duty/status", &now) && len(now.On) > 0 })
	units := newTalkers(50)
	f := newFeeder(t, s.broker, "feeder", 1000)
	if err := units.begin(f); err != nil {
		t.Fatal(err)
	}
	ended := make(chan struct{})
	stop := make(chan struct{})
	go func() {
		defer close(ended)
		for {
			select {
			case <-stop:
				return
			default:
				units.talk(t.Context(), f, 100, 100*time.Millisecond, nil)
			}
		}
	}()
	victim := newFeeder(t, s.broker, "victim", 10)
	var took []time.Duration
	for i := range of(40, 5) {
		name := fmt.Sprintf("victim-%d", i)
		say := func(channel string, seq int, body string) time.Time {
			at := time.Now()
			victim.publish(lab.TopicPrefix+benchLab+"/"+name+"/"+channel, fmt.Sprintf(`{"at":%q,"boot":"b1","seq":%d,%s}`, lab.At(at), seq, body))
			if err := victim.settle(); err != nil {
				t.Fatal(err)
			}
			return at
		}
		say("step", 1, `"phase":"in-bath","run":"r-1","process":"c41","push":0,"step":"developer","n":1,"of":6,"set_s":195,"elapsed_s":20`)
		sent := say("power", 2, `"source":"battery","event":"lost","battery_pct":90`)
		took = append(took, s.called(got, name).Sub(sent))
	}
	close(stop)
	<-ended
	bare := s.commitAndPost(len(took))
	table.add(row{"mains lost in a run to webhook, 50 units talking, p50 / p99", middleAndEnd(took), middleAndEnd(bare) + " commit and POST", share(percentile(took, 0.5).Seconds(), percentile(bare, 0.5).Seconds()), "40 / 150 ms", "Page"})
}

// called waits for the page about a unit.
func (s *site) called(got chan monitortest.Arrived, name string) time.Time {
	s.t.Helper()
	for {
		a := labtest.Receive(s.t, got, "the page about "+name)
		for _, item := range a.Data.Items {
			if item.Unit == benchLab+"/"+name {
				return a.At
			}
		}
	}
}

// onDuty has one person called by a webhook, about everything, at all times.
func (s *site) onDuty(hook, secret string) {
	s.t.Helper()
	ctx := s.t.Context()
	plan := oncall.Default()
	plan.Flood.Pages = 0
	plan.Hours = []lab.DutyHours{{Days: []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}, From: "00:00", To: "24:00", People: []string{"Wren"}}}
	for _, err := range []error{
		s.store.CreateUser(ctx, lab.User{Name: "Wren", Role: lab.RoleLead, PasswordHash: "x"}),
		s.store.SetContacts(ctx, lab.Contacts{Person: "Wren", Methods: []string{lab.MethodWebhook}, Webhook: hook, Secret: secret}, "bench"),
		s.store.SetDutyPlan(ctx, plan, 0, "bench"),
	} {
		if err != nil {
			s.t.Fatal(err)
		}
	}
}

// commitAndPost is one row committed and one POST, n times.
func (s *site) commitAndPost(n int) (took []time.Duration) {
	s.t.Helper()
	conn := connect(s.t, freshDatabase(s.t))
	if _, err := conn.Exec(s.t.Context(), bareTable); err != nil {
		s.t.Fatal(err)
	}
	server := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	defer server.Close()
	defer http.DefaultClient.CloseIdleConnections()
	for i := range n {
		began := time.Now()
		if _, err := conn.Exec(s.t.Context(), `INSERT INTO bare (unit, boot, seq) VALUES ('u', 'b', $1)`, i); err != nil {
			s.t.Fatal(err)
		}
		resp, err := http.Post(server.URL, "application/json", strings.NewReader(`{"type":"page"}`))
		if err != nil {
			s.t.Fatal(err)
		}
		resp.Body.Close()
		took = append(took, time.Since(began))
	}
	return took
}
