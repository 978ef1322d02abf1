package delivery

import (
	"testing"

	"wetside/internal/lab"
)

// TestReachedElsewhere: an address that means this machine is a fault only
// where pages leave this machine.
func TestReachedElsewhere(t *testing.T) {
	for _, c := range []struct {
		lab.Contacts
		want bool
	}{
		{lab.Contacts{}, false},
		{lab.Contacts{Methods: []string{lab.MethodMail}, Mail: "wren@lab.example"}, true},
		{lab.Contacts{Methods: []string{lab.MethodMail}}, false}, // not usable
		{lab.Contacts{Methods: []string{lab.MethodWebhook}, Webhook: "http://127.0.0.1:9/phone"}, false},
		{lab.Contacts{Methods: []string{lab.MethodWebhook}, Webhook: "http://192.0.2.7/phone"}, true},
		{lab.Contacts{Methods: []string{lab.MethodWebhook}, Webhook: "https://sms.example/send"}, true},
	} {
		if got := reachedElsewhere(c.Contacts); got != c.want {
			t.Errorf("%+v: %v; want %v", c.Contacts, got, c.want)
		}
	}
}
