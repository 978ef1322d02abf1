package monitor_test

import (
	"net"
	"net/url"
	"slices"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// Addresses are those of the documentation ranges (RFC 5737, RFC 3849).
func TestReachedAt(t *testing.T) {
	t.Parallel()
	own := []net.IP{net.ParseIP("127.0.0.1"), net.ParseIP("2001:db8::7"), net.ParseIP("fe80::1"), net.ParseIP("192.0.2.7")}
	for addr, want := range map[string][]string{
		"127.0.0.1:8080":      nil,
		"localhost:8080":      nil,
		"[::1]:8080":          nil,
		"0.0.0.0:8080":        {"192.0.2.7:8080", "[2001:db8::7]:8080"},
		"[::]:8080":           {"192.0.2.7:8080", "[2001:db8::7]:8080"},
		":1883":               {"192.0.2.7:1883", "[2001:db8::7]:1883"},
		"192.0.2.7:8080":      {"192.0.2.7:8080"},
		"board.example:80":    {"board.example:80"},
		"not an address":      nil,
		"[2001:db8::7]:18830": {"[2001:db8::7]:18830"},
	} {
		if got := monitor.ReachedAt(addr, own); !slices.Equal(got, want) {
			t.Errorf("%s: %v; want %v", addr, got, want)
		}
	}
}

// The first steps are told the true address, or the flag that is missing.
func TestReachIsTold(t *testing.T) {
	t.Parallel()
	database := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Broker: monitor.Embedded, MQTTListen: "127.0.0.1:0", Database: database, Data: t.TempDir(), Origins: []string{"https://board.example"}})
	monitortest.Ready(t, p.URL())
	a := monitortest.NewAPI(t, p.URL(), pgtest.Store(t, monitortest.StoreConfig(database)))
	var got lab.Reach
	if !a.Get("/api/v1/reach", &got) {
		t.Fatal("the addresses cannot be read")
	}
	broker, err := url.Parse(p.BrokerURL())
	if err != nil {
		t.Fatal(err)
	}
	port := broker.Port()
	if !slices.Equal(got.Board, []string{"https://board.example"}) || got.BoardFlag != "" || !got.OwnBroker || len(got.Units) != 0 ||
		got.UnitsHere != "127.0.0.1:"+port || got.UnitsFlag != "--mqtt-listen :"+port || got.UnitsTLS {
		t.Errorf("got %+v", got)
	}
}
