package monitor_test

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"golang.org/x/time/rate"

	"wetside/ingest/broker"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// TestFloodHoldsNobodyBack: one unit publishes with 5,000 messages in flight, at
// the embedded broker as fast as it can, which holds a unit to its share; at
// mosquitto, which does not, at twice that share, while others lose their mains power in the middle of a
// developer. Their alerts are there within about a second, and what the
// flooding unit was acknowledged is stored.
func TestFloodHoldsNobodyBack(t *testing.T) {
	for _, name := range []string{"embedded", "mosquitto"} {
		t.Run(name, func(t *testing.T) { flood(t, name == "embedded") })
	}
}

func flood(t *testing.T, ownBroker bool) {
	url := pgtest.New(t)
	cfg := monitor.Config{Broker: monitor.Embedded, MQTTListen: "127.0.0.1:0", Database: url}
	if !ownBroker {
		_, cfg.Broker = monitortest.Mosquitto(t)
	}
	p := monitortest.Start(t, cfg)
	monitortest.Ready(t, p.URL()) // before the monitor is subscribed its own broker lets no unit in
	store := pgtest.Store(t, monitortest.StoreConfig(url))
	a := monitortest.NewAPI(t, p.URL(), store)

	var acked, sent atomic.Int64
	stop := make(chan struct{})
	var flooding sync.WaitGroup
	f := connectTo(t, p.BrokerURL(), "flooder")
	flooding.Go(func() {
		inFlight := make(chan mqtt.Token, 5000)
		flooding.Go(func() {
			for tok := range inFlight {
				if tok.Wait() && tok.Error() == nil {
					acked.Add(1)
				}
			}
		})
		defer close(inFlight)
		pace := rate.NewLimiter(rate.Inf, 1)
		if !ownBroker {
			pace = rate.NewLimiter(2*broker.Rate, 100)
		}
		flood, end := context.WithCancel(t.Context())
		defer end()
		flooding.Go(func() { <-stop; end() })
		for seq := 1; ; seq++ {
			if pace.Wait(flood) != nil || flood.Err() != nil {
				return
			}
			body := fmt.Sprintf(`{"at":%q,"boot":"b1","seq":%d,"bath_c":37.8}`, time.Now().UTC().Format(time.RFC3339Nano), seq)
			inFlight <- f.Publish("wetside/v1/tern-street/flooder/temp", 1, false, body)
			sent.Add(1)
		}
	})
	labtest.Poll(t, "the flood is under way", func() bool { return acked.Load() > 2_000 })

	var took []time.Duration
	for i := range 10 {
		name := fmt.Sprintf("victim-%d", i)
		c := connectTo(t, p.BrokerURL(), name)
		say := func(channel lab.Channel, seq int, body string) time.Time {
			began := time.Now()
			msg := fmt.Sprintf(`{"at":%q,"boot":"b1","seq":%d,%s}`, began.UTC().Format(time.RFC3339Nano), seq, body)
			tok := c.Publish("wetside/v1/tern-street/"+name+"/"+string(channel), 1, false, msg)
			if !tok.WaitTimeout(labtest.Patience) || tok.Error() != nil {
				t.Fatalf("%s is not acknowledged: %v", name, tok.Error())
			}
			return began
		}
		say(lab.ChannelStep, 1, `"phase":"in-bath","run":"r-1","process":"c41","push":0,"step":"developer","n":1,"of":6,"set_s":195,"elapsed_s":20`)
		began := say(lab.ChannelPower, 2, `"source":"battery","event":"lost","battery_pct":90`)
		labtest.Poll(t, "power-lost of "+name, func() bool {
			return len(a.Alerts("&rule=power-lost&unit=tern-street/"+name)) > 0
		})
		took = append(took, time.Since(began))
		c.Disconnect(100)
	}
	close(stop)
	flooding.Wait()
	f.Disconnect(500)
	slices.Sort(took)
	t.Logf("%d sent, %d acknowledged by the flooding unit; power-lost of another after %v (median), %v (longest of %d)",
		sent.Load(), acked.Load(), took[len(took)/2].Round(time.Millisecond), took[len(took)-1].Round(time.Millisecond), len(took))
	if median := took[len(took)/2]; median > 2*time.Second {
		t.Errorf("power-lost came after %v", median)
	}
	storedOf(t, store, "flooder", acked.Load())
}

func connectTo(t *testing.T, url, id string) mqtt.Client {
	t.Helper()
	broker, err := monitor.BrokerAddress(url)
	if err != nil {
		t.Fatal(err)
	}
	o := mqtt.NewClientOptions().AddBroker("tcp://" + broker.Host).SetClientID(id).SetConnectTimeout(labtest.Patience).SetMaxReconnectInterval(time.Second)
	if broker.User != nil {
		password, _ := broker.User.Password()
		o.SetUsername(broker.User.Username()).SetPassword(password)
	}
	c := mqtt.NewClient(o)
	if tok := c.Connect(); !tok.WaitTimeout(labtest.Patience) || tok.Error() != nil {
		t.Fatalf("%s: %v", id, tok.Error())
	}
	return c
}

// storedOf waits until a unit's messages are in the database.
func storedOf(t *testing.T, store *postgres.Store, unit string, want int64) {
	t.Helper()
	var n int64
	began := time.Now()
	labtest.Poll(t, "what was acknowledged is stored", func() bool {
		list, err := store.UnitMessages(t.Context(), lab.UnitID{Lab: "tern-street", Unit: unit}, 0)
		n = int64(len(list))
		return err == nil && n >= want
	})
	t.Logf("%d stored, the last %v after the end of the flood", n, time.Since(began).Round(time.Millisecond))
}
