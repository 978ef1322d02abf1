package monitor_test

import (
	"testing"

	"wetside/internal/lab"
	"wetside/internal/monitor"
)

// A broker's address has a port in the end, and so has that of each server of a
// cluster.
func TestBrokerAddress(t *testing.T) {
	for address, want := range map[string]string{
		"mqtt://b.example":                    "b.example:1883",
		"mqtts://u:p@b.example":               "b.example:8883",
		"mqtt://10.0.0.1:1900,b.example:1901": "10.0.0.1:1900,b.example:1901",
	} {
		if u, err := monitor.BrokerAddress(address); err != nil || u.Host != want {
			t.Errorf("%s: %v, %v; want %s", address, u, err, want)
		}
	}
	for _, address := range []string{"", "b.example:1883", "http://b.example", "mqtt://", "mqtt://a,,b", "mqtt://a,"} {
		if u, err := monitor.BrokerAddress(address); lab.KindOf(err) != lab.KindInvalid {
			t.Errorf("%s: %v, %v; want it refused", address, u, err)
		}
	}
}
