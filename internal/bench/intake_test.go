package bench

import (
	"fmt"
	"log/slog"
	"net/url"
	"sync/atomic"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/ingest/broker"
	"wetside/internal/lab"
	"wetside/internal/monitor/monitortest"
)

// A backlog that waited at the broker while nobody listened: from the
// subscription until the last message of it is judged.
func TestBacklog(t *testing.T) {
	n := of(60_000, 6_000)
	raws := simulated(t, 50, n, 0)

	_, broker := monitortest.Mosquitto(t)
	b := newBare(t, broker)
	b.connect()
	b.subscribe()
	b.leave()
	f := newFeeder(t, broker, "bare-feeder", 500)
	for _, raw := range raws {
		f.publish(raw.Topic, string(raw.Payload))
	}
	if err := f.settle(); err != nil {
		t.Fatal(err)
	}
	began, used, base := time.Now(), own(), cpuOf(family(cluster.PID())...)
	b.connect()
	b.drain(n)
	bareTook, bareCPU := time.Since(began), own()-used+cpuOf(family(cluster.PID())...)-base
	b.leave()

	s := newSite(t, false)
	s.serve(false)
	s.ready()
	s.stop()
	f = newFeeder(t, s.broker, "feeder", 500)
	filling := time.Now()
	for _, raw := range raws {
		f.publish(raw.Topic, string(raw.Payload))
	}
	if err := mark(f, 1); err != nil {
		t.Fatal(err)
	}
	filled := time.Since(filling)
	s.serve(false)
	s.subscribed()
	began = time.Now()
	w0, p0 := s.cpu()
	s.look(nil).await(t, 1)
	took := time.Since(began)
	w1, p1 := s.cpu()
	rate, bareRate := float64(n)/took.Seconds(), float64(n)/bareTook.Seconds()
	perMillion := func(d time.Duration) float64 { return d.Seconds() / float64(n) * 1e6 }
	table.add(row{fmt.Sprintf("a backlog of %d messages, 50 units, until judged", n), fmt.Sprintf("%.0f msg/s", rate), fmt.Sprintf("%.0f bare loop", bareRate), share(rate, bareRate), "0.5", "Backlog"})
	cpu, bareCost := perMillion(w1-w0+p1-p0), perMillion(bareCPU)
	table.add(row{"CPU seconds a million messages, broker apart", fmt.Sprintf("%.0f (wetside %.0f, PostgreSQL %.0f)", cpu, perMillion(w1-w0), perMillion(p1-p0)), fmt.Sprintf("%.0f bare loop", bareCost), share(cpu, bareCost), "under 1.5", "Backlog"})
	table.add(row{"the broker takes that backlog from its units", fmt.Sprintf("%.1f s", filled.Seconds()), "", "", "", "Backlog"})
	disk := query[float64](t, s.database, `SELECT sum(pg_total_relation_size(relid))::float8 / (SELECT count(*) FROM telemetry) FROM pg_partition_tree('telemetry') WHERE isleaf`)
	columns := query[float64](t, s.database, `SELECT avg(8 + 8 + 8 + length(payload) / 3.0)::float8 FROM telemetry`) // three numbers, and a payload compressed to a third
	table.add(row{"disk a message, not packed", fmt.Sprintf("%.0f B", disk), fmt.Sprintf("%.0f B of columns", columns), share(disk, columns), "300 B", "Backlog"})
}

// Live telemetry at a pace: how much of the pace is kept up with.
func TestPaced(t *testing.T) {
	inLong(t)
	const rate, length = 12_000.0, 10 * time.Second
	s := newSite(t, false)
	s.serve(false)
	s.ready()
	got, cost := s.pace(rate, length)
	table.add(row{fmt.Sprintf("%.0f messages/s by mosquitto, 50 units, until judged", rate), fmt.Sprintf("%.0f msg/s; %.0f CPU s a million", got, cost),
		fmt.Sprintf("%.0f sent", rate), share(got, rate), "1.0", "Paced"})
}

// The same by the embedded broker: it slows units down and closes no
// connection, though 5,000 messages of one wait at once. The ceiling is the same
// broker with a subscriber that only acknowledges.
func TestEmbedded(t *testing.T) {
	inLong(t)
	const rate, length = 12_000.0, 2 * time.Second
	ceiling := brokerAlone(t, rate, length)
	s := newSite(t, true)
	s.serve(true)
	s.ready()
	got, cost := s.pace(rate, length)
	table.add(row{fmt.Sprintf("%.0f messages/s by the embedded broker, 50 units, until judged", rate), fmt.Sprintf("%.0f msg/s; %.0f CPU s a million", got, cost),
		fmt.Sprintf("%.0f by the broker alone", ceiling), share(got, ceiling), "0.5", "Embedded"})
}

// pace has 50 units talk, and gives how many messages a second were judged and
// the CPU seconds of a million, broker apart where it is.
func (s *site) pace(rate float64, length time.Duration) (got, cost float64) {
	s.t.Helper()
	f := newFeeder(s.t, s.broker, "feeder", 5000)
	units := newTalkers(50)
	if err := units.begin(f); err != nil {
		s.t.Fatal(err)
	}
	b := s.look(nil)
	w0, p0 := s.cpu()
	began := time.Now()
	n := units.talk(s.t.Context(), f, rate, length, nil)
	if err := mark(f, 1); err != nil {
		s.t.Fatal(err)
	}
	b.await(s.t, 1)
	took := time.Since(began)
	w1, p1 := s.cpu()
	return float64(n) / took.Seconds(), (w1 - w0 + p1 - p0).Seconds() / float64(n) * 1e6
}

// brokerAlone is the embedded broker with a subscriber that only acknowledges.
func brokerAlone(t *testing.T, rate float64, length time.Duration) float64 {
	t.Helper()
	b, err := broker.Start(t.Context(), broker.Config{Listen: "127.0.0.1:0", DataDir: t.TempDir(), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	var acked atomic.Int64
	u, err := url.Parse(b.MonitorURL())
	if err != nil {
		t.Fatal(err)
	}
	password, _ := u.User.Password()
	c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + u.Host).SetUsername(u.User.Username()).SetPassword(password).SetClientID(b.ClientID()).SetCleanSession(false))
	sub := c.Connect()
	if sub.WaitTimeout(patience) && sub.Error() == nil {
		sub = c.Subscribe(lab.TopicPrefix+"#", 1, func(mqtt.Client, mqtt.Message) { acked.Add(1) })
	}
	if !sub.WaitTimeout(patience) || sub.Error() != nil {
		t.Fatal("the subscriber of the bare broker: ", sub.Error())
	}
	defer c.Disconnect(50)
	b.AllowUnits()
	f := newFeeder(t, "mqtt://"+b.Addr(), "feeder", 5000)
	units := newTalkers(50)
	if err := units.begin(f); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	n := units.talk(t.Context(), f, rate, length, nil)
	if err := f.settle(); err != nil {
		t.Fatal(err)
	}
	poll(t, "the subscriber has it all", time.Millisecond, func() bool { return acked.Load() >= int64(n+len(units.units)) })
	return float64(n) / time.Since(began).Seconds()
}
