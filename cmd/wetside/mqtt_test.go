package main

import (
	"context"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"wetside/internal/certificate"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/simulation/sim"
)

// Units over TLS by the lab's own authority: the simulator's connect where
// they trust it, and not where they don't.
func TestUnitsOverTLS(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if code, _, errOut := run1(t, "", "certificate", "--host", "127.0.0.1", "--out", dir); code != exitDone {
		t.Fatal(errOut)
	}
	url := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Broker: monitor.Embedded, MQTTListen: "127.0.0.1:0", Database: url,
		MQTT: monitor.MQTT{TLSCert: filepath.Join(dir, certificate.CertFile), TLSKey: filepath.Join(dir, certificate.KeyFile)}})
	if !strings.HasPrefix(p.BrokerURL(), "mqtts://") {
		t.Fatalf("the broker is at %s", p.BrokerURL())
	}
	lab1, err := sim.New(sim.Config{Lab: "tern-street", Seed: 1, Start: time.Now(), Schedule: sim.EndlessPlan(1, 1, 0)})
	if err != nil {
		t.Fatal(err)
	}
	if err := sim.Publish(t.Context(), sim.PublishConfig{Broker: p.BrokerURL()}, lab1); lab.KindOf(err) != lab.KindUnavailable {
		t.Errorf("without the lab's authority: %v", err)
	}
	secure, err := monitor.BrokerTLS(filepath.Join(dir, certificate.CAFile))
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	var publishing sync.WaitGroup
	publishing.Go(func() {
		if err := sim.Publish(ctx, sim.PublishConfig{Broker: p.BrokerURL(), TLS: secure}, lab1); err != nil {
			t.Error(err)
		}
	})
	a := monitortest.NewAPI(t, p.URL(), pgtest.Store(t, monitortest.StoreConfig(url)))
	labtest.Poll(t, "the unit on the board", func() bool {
		var got struct{ Units []lab.Unit }
		return a.Get("/api/v1/units", &got) && len(got.Units) == 1
	})
	cancel()
	publishing.Wait()
}

func TestMQTTFlags(t *testing.T) {
	for name, c := range map[string]struct {
		args []string
		says string
	}{
		"certificate without key": {[]string{"--mqtt-tls-cert", "a.pem"}, "go together"},
		"not the embedded broker": {[]string{"--broker", "mqtts://127.0.0.1", "--mqtt-tls-cert", "a.pem", "--mqtt-tls-key", "b.pem"}, "outside broker"},
		"authority of nobody":     {[]string{"--broker-ca", "a.pem"}, "embedded one needs none"},
	} {
		code, _, errOut := run1(t, "", append([]string{"serve", "--data", t.TempDir()}, c.args...)...)
		if code != exitUsage || !strings.Contains(errOut, c.says) {
			t.Errorf("%s: status %d, %s", name, code, errOut)
		}
	}
}
