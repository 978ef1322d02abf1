package monitor_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
)

// While the database is away people are called from what was known of them,
// and told when it is over; the API names the fault and since when.
func TestPeopleAreCalledWithoutTheDatabase(t *testing.T) {
	t.Parallel()
	var network *labtest.Proxy
	p, _, a, got, _ := monitortest.PagingLab(t, func(cfg *monitor.Config) {
		network, cfg.Database = labtest.BeforeDatabase(t, cfg.Database)
		cfg.CallAfter = 3 * time.Second
	})
	labtest.Poll(t, "the plan is read", func() bool {
		var status lab.DutyStatus
		return a.Get("/api/v1/duty/status", &status) && len(status.Faults) == 0
	})
	network.Hole()
	begun := time.Now()
	var call monitortest.Arrived
	for call.Kind == "" { // a connection that swallows everything is noticed late
		select {
		case call = <-got:
		case <-time.After(time.Minute):
			t.Fatalf("nobody was called within %s", time.Since(begun))
		}
	}
	if call.Kind != "page" || call.Data.Person != "Wren" || !strings.Contains(call.Data.Title, "the database does not answer since ") {
		t.Errorf("%s to %s: %q", call.Kind, call.Data.Person, call.Data.Title)
	}
	labtest.Poll(t, "the API says so", func() bool {
		resp, err := monitortest.Client.Get(p.URL() + "/api/v1/units")
		if err != nil {
			return false
		}
		defer resp.Body.Close()
		var says struct{ Code, Since, Detail string }
		return resp.StatusCode == 503 && json.NewDecoder(resp.Body).Decode(&says) == nil &&
			says.Code == lab.FaultDatabase && says.Since != "" && strings.Contains(says.Detail, "the database does not answer, since ")
	})
	network.Heal()
	over := labtest.Receive(t, got, "word that it is back")
	if !strings.Contains(over.Data.Title, "the database answers again") {
		t.Errorf("then %q", over.Data.Title)
	}
	monitortest.Ready(t, p.URL())
}
