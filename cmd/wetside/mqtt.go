package main

import "wetside/internal/monitor"

// mqttFlags are those of serve about the way of telemetry.
type mqttFlags struct {
	TLSCert  string `name:"mqtt-tls-cert" env:"WETSIDE_MQTT_TLS_CERT" placeholder:"FILE" help:"Certificate (PEM) with which the embedded broker speaks TLS to units; \"wetside certificate\" makes one."`
	TLSKey   string `name:"mqtt-tls-key" env:"WETSIDE_MQTT_TLS_KEY" placeholder:"FILE" help:"Key (PEM) of that certificate."`
	BrokerCA string `name:"broker-ca" env:"WETSIDE_BROKER_CA" placeholder:"FILE" help:"Certificates (PEM) that an outside broker's is checked against (mqtts), in place of the system's."`
}

func (f mqttFlags) config() monitor.MQTT { return monitor.MQTT(f) }
