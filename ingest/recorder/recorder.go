// Package recorder listens to a broker and writes what passes as a capture,
// well formed or not, with no session and no store. It is for looking on: what
// passes while it is not connected is in no capture, and nothing waits for it.
//
//	err := recorder.Record(ctx, recorder.Config{Broker: address, Out: os.Stdout, Log: os.Stderr})
//
// Record may be called from any goroutine; Out and Log belong to it meanwhile.
package recorder

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/internal/lab"
)

// Config is what is listened to, and where it is written.
type Config struct {
	// Broker is the address, with its port. Defaults to none: it must be given.
	Broker *url.URL
	// TLS is what the broker's certificate is checked against, with mqtts.
	// Defaults to what the system trusts.
	TLS *tls.Config
	// Out takes the capture, a line at a time. Defaults to none: it must be
	// given.
	Out io.Writer
	// Log takes what is said to the person who records. Defaults to none: it
	// must be given.
	Log io.Writer
}

const (
	connectWithin = 10 * time.Second
	quiesceMS     = 250
)

// Record writes what passes until ctx ends (nil), or the broker refuses or the
// capture cannot be written.
func Record(ctx context.Context, cfg Config) error {
	r := &writer{tls: cfg.TLS, out: lab.NewCaptureWriter(cfg.Out), broken: make(chan error, 1), subscribed: make(chan error, 1), log: cfg.Log}
	client := mqtt.NewClient(r.options(cfg.Broker))
	if token := client.Connect(); !token.WaitTimeout(connectWithin) {
		return fmt.Errorf("broker %s does not answer within %v", cfg.Broker.Redacted(), connectWithin)
	} else if token.Error() != nil {
		return fmt.Errorf("broker %s: %w", cfg.Broker.Redacted(), token.Error())
	}
	defer client.Disconnect(quiesceMS)
	for {
		select {
		case <-ctx.Done():
			return nil
		case err := <-r.subscribed:
			if err != nil {
				return err
			}
			fmt.Fprintln(cfg.Log, "recording; interrupt to end.")
		case err := <-r.broken:
			return fmt.Errorf("write the capture: %w", err)
		}
	}
}

// writer writes each message at once: whoever reads a pipe sees it. The
// client calls it for one message after the other.
type writer struct {
	tls        *tls.Config
	out        *lab.CaptureWriter
	failed     bool
	broken     chan error
	subscribed chan error
	log        io.Writer
}

func (r *writer) options(broker *url.URL) *mqtt.ClientOptions {
	o := mqtt.NewClientOptions()
	o.AddBroker(broker.Scheme + "://" + broker.Host)
	if broker.User != nil {
		o.SetUsername(broker.User.Username())
		password, _ := broker.User.Password()
		o.SetPassword(password)
	}
	if r.tls != nil {
		o.SetTLSConfig(r.tls)
	}
	o.SetClientID(fmt.Sprintf("wetside-record-%d-%d", os.Getpid(), time.Now().UnixMilli()))
	o.SetCleanSession(true)
	o.SetOrderMatters(true)
	o.SetConnectTimeout(connectWithin)
	o.SetWriteTimeout(connectWithin)
	o.SetMaxReconnectInterval(5 * time.Second)
	o.SetDefaultPublishHandler(r.message)
	o.SetConnectionLostHandler(func(_ mqtt.Client, err error) {
		fmt.Fprintln(r.log, "wetside: the connection to the broker is lost, trying again:", err)
	})
	o.SetOnConnectHandler(func(c mqtt.Client) {
		token := c.Subscribe(lab.TopicPrefix+"#", 1, nil).(*mqtt.SubscribeToken)
		if !token.WaitTimeout(connectWithin) {
			r.say(errors.New("the broker does not answer the subscription"))
			return
		}
		for topic, granted := range token.Result() {
			if granted > 1 { // 0x80: refused
				r.say(fmt.Errorf("the broker refuses the subscription to %s", topic))
				return
			}
		}
		r.say(token.Error())
	})
	return o
}

// say tells how a subscription went; the first matters.
func (r *writer) say(err error) {
	select {
	case r.subscribed <- err:
	default:
	}
}

func (r *writer) message(_ mqtt.Client, m mqtt.Message) {
	if r.failed {
		return
	}
	raw := lab.Raw{Topic: m.Topic(), Payload: m.Payload(), Received: time.Now(), Retained: m.Retained()}
	if q, ok := lab.Unwrap(raw); ok { // as it was published, before the broker refused it
		raw.Topic, raw.Payload = q.Topic, q.Payload
	}
	if lab.IsEntryTopic(raw.Topic) {
		// In a capture such a line is what a person entered; a unit may not.
		fmt.Fprintf(r.log, "wetside: skipped: something was published on %s, where only captures have entries\n", raw.Topic)
		return
	}
	if err := r.out.Write(raw); err != nil {
		r.failed = true
		r.broken <- err
	}
}
