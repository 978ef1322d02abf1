package main

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
	"wetside/internal/monitor"
)

type recordCmd struct {
	Broker   string `env:"WETSIDE_BROKER" required:"" placeholder:"URL" help:"The broker to listen to, such as mqtt://127.0.0.1:1883."`
	BrokerCA string `name:"broker-ca" env:"WETSIDE_BROKER_CA" placeholder:"FILE" help:"Certificates (PEM) that the broker's is checked against (mqtts), in place of the system's."`
}

// Help implements kong.HelpProvider.
func (*recordCmd) Help() string {
	return `Prints every telemetry message that passes, well formed or not, as a capture on stdout, until it is interrupted. The broker's retained copies are marked. It keeps no session: what passes while it is not connected is not in the capture.`
}

const (
	connectWithin = 10 * time.Second
	quiesceMS     = 250
)

// Run implements the command.
func (c *recordCmd) Run(ctx context.Context, s streams) error {
	broker, err := monitor.BrokerAddress(c.Broker)
	if err != nil {
		return asUsage(err)
	}
	secure, err := monitor.BrokerTLS(c.BrokerCA)
	if err != nil {
		return asUsage(err)
	}
	r := &recorder{tls: secure, out: lab.NewCaptureWriter(s.out), broken: make(chan error, 1), subscribed: make(chan error, 1), log: s.err}
	client := mqtt.NewClient(r.options(broker))
	if token := client.Connect(); !token.WaitTimeout(connectWithin) {
		return fmt.Errorf("broker %s does not answer within %v", broker.Redacted(), connectWithin)
	} else if token.Error() != nil {
		return fmt.Errorf("broker %s: %w", broker.Redacted(), token.Error())
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
			fmt.Fprintln(s.err, "recording; interrupt to end.")
		case err := <-r.broken:
			return fmt.Errorf("write the capture: %w", err)
		}
	}
}

// recorder writes each message at once: whoever reads a pipe sees it. The
// client calls it for one message after the other.
type recorder struct {
	tls        *tls.Config
	out        *lab.CaptureWriter
	failed     bool
	broken     chan error
	subscribed chan error
	log        io.Writer
}

func (r *recorder) options(broker *url.URL) *mqtt.ClientOptions {
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
func (r *recorder) say(err error) {
	select {
	case r.subscribed <- err:
	default:
	}
}

func (r *recorder) message(_ mqtt.Client, m mqtt.Message) {
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
