package main

import (
	"context"
	"log/slog"
	"net/netip"

	"wetside/internal/monitor"
	"wetside/internal/simulation/demo"
)

type serveCmd struct {
	Broker     string      `env:"WETSIDE_BROKER" default:"embedded" placeholder:"URL" help:"MQTT broker as mqtt://host:1883 (mqtts for TLS, user:password@ before the host; servers of one cluster as host:port,host:port), or \"embedded\": the one inside wetside."`
	Database   string      `env:"WETSIDE_DATABASE" default:"embedded" placeholder:"URL" help:"PostgreSQL as postgres://user@host/name, or \"embedded\": a private one under --data."`
	Listen     string      `env:"WETSIDE_LISTEN" default:"127.0.0.1:8080" placeholder:"ADDR" help:"Where the board and the API are. Default: ${default}"`
	Data       string      `env:"WETSIDE_DATA" default:"${data}" placeholder:"DIR" help:"Folder of the embedded parts. Default: ${default}"`
	MQTTListen string      `name:"mqtt-listen" env:"WETSIDE_MQTT_LISTEN" default:"127.0.0.1:1883" placeholder:"ADDR" help:"Where units reach the embedded broker. Default: ${default}"`
	MQTT       mqttFlags   `embed:""`
	Rules      string      `env:"WETSIDE_RULES" placeholder:"DIR" help:"Folder with figures.yaml, cards/*.yaml and sheets/*.yaml that change the built-in rules and process sheets."`
	Origin     []string    `env:"WETSIDE_ORIGIN" placeholder:"ORIGIN" help:"Further addresses under which the board is opened, such as https://board.example, behind a proxy. May be repeated."`
	Proxy      []string    `env:"WETSIDE_PROXY" placeholder:"ADDR" help:"Address or network of a proxy in front of the board, such as 10.0.0.2 or 10.0.0.0/24: what it says about whom it forwards for (X-Forwarded-For, Forwarded) is believed. May be repeated."`
	Peer       string      `name:"peer-address" env:"WETSIDE_PEER_ADDRESS" placeholder:"URL" help:"Where another wetside on the same database, which stands by, reaches this one's pages, such as http://10.0.0.5:8080. Default: where it listens."`
	KeepDays   int         `env:"WETSIDE_KEEP_DAYS" default:"400" placeholder:"DAYS" help:"Telemetry older than this is dropped, a day at a time, once all runs of that day are sealed; records stay. 0 keeps it for ever. Default: ${default}"`
	Paging     pagingFlags `embed:""`
	Config     string      `env:"WETSIDE_CONFIG" placeholder:"FILE" help:"YAML file with these flags by name; the command line and the environment come first."`
}

// Help implements kong.HelpProvider.
func (*serveCmd) Help() string {
	return `Without flags a small lab runs for real: a private PostgreSQL and an MQTT broker come up with it, both durable, and are found again after a crash. Only this machine is listened on until somebody has set a password ("wetside user create", or on the page, with the set-up code that is printed here); beyond this machine each unit needs a key ("wetside unit-key create"). A second serve on the same database stands by, forwards its pages to the first, and takes over when that ends, hangs or is cut off.`
}

// Run implements the command.
func (c *serveCmd) Run(ctx context.Context, s streams) error {
	cfg, err := loadRules(c.Rules)
	if err != nil {
		return err
	}
	pages, err := c.Paging.config()
	if err != nil {
		return err
	}
	proxies, err := parseProxies(c.Proxy)
	if err != nil {
		return err
	}
	p := monitor.New(monitor.Config{
		Broker: c.Broker, Database: c.Database, Listen: c.Listen, MQTTListen: c.MQTTListen, MQTT: c.MQTT.config(), Data: c.Data, KeepDays: c.KeepDays,
		Rules: cfg, Address: c.Paging.Address, PeerAddress: c.Peer, Origins: c.Origin, Proxies: proxies, TLSCert: c.Paging.TLSCert, TLSKey: c.Paging.TLSKey, Paging: pages,
		Version: version(), ExampleRun: demo.ExampleRun, Log: slog.New(slog.NewTextHandler(s.err, nil)),
	})
	return asUsage(p.Run(ctx))
}

// parseProxies reads addresses and networks.
func parseProxies(list []string) ([]netip.Prefix, error) {
	var out []netip.Prefix
	for _, text := range list {
		p, err := netip.ParsePrefix(text)
		if err != nil {
			a, err := netip.ParseAddr(text)
			if err != nil {
				return nil, usagef("--proxy %q is neither an address nor a network, such as 10.0.0.2 or 10.0.0.0/24", text)
			}
			p = netip.PrefixFrom(a.Unmap(), a.Unmap().BitLen())
		}
		out = append(out, p.Masked())
	}
	return out, nil
}
