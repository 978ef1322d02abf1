package main

import (
	"context"

	"wetside/ingest/recorder"
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
	return recorder.Record(ctx, recorder.Config{Broker: broker, TLS: secure, Out: s.out, Log: s.err})
}
