package main

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/process"
	"wetside/internal/simulation/demo"
	"wetside/internal/simulation/sim"
)

type simulateCmd struct {
	Broker   string   `env:"WETSIDE_BROKER" placeholder:"URL" help:"Where the units publish, such as mqtt://127.0.0.1:1883. Required unless --print is given."`
	BrokerCA string   `name:"broker-ca" env:"WETSIDE_BROKER_CA" placeholder:"FILE" help:"Certificates (PEM) that the broker's is checked against (mqtts), in place of the system's."`
	Units    int      `default:"6" help:"How many units. Default: ${default}"`
	Seed     uint64   `default:"1" help:"Decides everything left to chance. Default: ${default}"`
	Lab      string   `default:"tern-street" help:"Id of the lab. Default: ${default}"`
	Faults   float64  `default:"0.25" placeholder:"ODDS" help:"How often a run gets a fault, 0 to 1. Default: ${default}"`
	Fault    []string `placeholder:"NAME" help:"Only faults of this name, such as preheat-off; may be given several times. A wrong name lists them all."`
	Print    bool     `help:"Print the messages of one whole run, topic and payload, as a capture, and publish nothing."`
	Process  string   `default:"c41" placeholder:"ID" help:"The process of the run to print. Default: ${default}"`
}

// Help implements kong.HelpProvider.
func (*simulateCmd) Help() string {
	return `Publishes what simulated processors would, in real time, each over a connection of its own, until it is interrupted. No film and no water are real; the figures of the physics are plausible ones.`
}

// kinds are the faults that were named.
func (c *simulateCmd) kinds() ([]sim.Kind, error) {
	var out []sim.Kind
	for _, name := range c.Fault {
		if !slices.Contains(sim.Choosable(), sim.Kind(name)) {
			return nil, usagef("%s", lab.MustBeOneOf("--fault", name, kindNames()))
		}
		out = append(out, sim.Kind(name))
	}
	return out, nil
}

// kindNames are the faults that can be named.
func kindNames() []string {
	var out []string
	for _, k := range sim.Choosable() {
		out = append(out, string(k))
	}
	return out
}

// mostUnits bounds simulate: each unit has a connection of its own.
const mostUnits = 1000

// Run implements the command.
func (c *simulateCmd) Run(ctx context.Context, s streams) error {
	if c.Print {
		return c.printRun(s, time.Now())
	}
	switch {
	case c.Broker == "":
		return usagef("--broker is missing: say where the units publish, such as mqtt://127.0.0.1:1883; or give --print to see one run without a broker")
	case c.Units < 1 || c.Units > mostUnits:
		return usagef("--units must be 1 to %[2]d; got %[1]d", c.Units, mostUnits)
	case c.Faults < 0 || c.Faults > 1:
		return usagef("--faults must be 0 to 1; got %g", c.Faults)
	}
	plan := sim.EndlessPlan(c.Seed, c.Units, c.Faults)
	kinds, err := c.kinds()
	if err != nil {
		return err
	}
	for i := range plan.Units {
		plan.Units[i].Endless.Faults = kinds
	}
	l, err := sim.New(sim.Config{Lab: c.Lab, Seed: c.Seed, Start: time.Now(), Schedule: plan})
	if err != nil {
		return asUsage(err)
	}
	secure, err := monitor.BrokerTLS(c.BrokerCA)
	if err != nil {
		return asUsage(err)
	}
	fmt.Fprintf(s.err, "%d simulated units of %s publish; interrupt to end.\n", c.Units, c.Lab)
	log := slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: slog.LevelInfo}))
	return asUsage(sim.Publish(ctx, sim.PublishConfig{Broker: c.Broker, TLS: secure, Log: log}, l))
}

// printRun prints what one unit sends in one run.
func (c *simulateCmd) printRun(s streams, start time.Time) error {
	if _, known := process.Builtin().Sheet(c.Process); !known {
		return usagef("%s", lab.MustBeOneOf("--process", c.Process, process.Builtin().IDs()))
	}
	return asUsage(demo.OneRun{Lab: c.Lab, Process: c.Process, Seed: c.Seed, Start: start}.Write(s.out))
}
