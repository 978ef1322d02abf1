package web

import (
	"strings"
	"testing"

	"wetside/internal/lab"
)

// Addresses are for the person and for leads.
func TestAddressesAreNotForEverybody(t *testing.T) {
	x := busySite(t)
	x.duty.log = []lab.DutyEntry{{ID: 1, At: lab.At(t0), By: "Heron", What: "contacts", Person: "Heron",
		Detail: map[string]any{"ways": []string{"mail"}, "mail": "heron@post.example", "webhook": "https://sms.example/send?to=+441632960961", "why": "550 heron@post.example unknown"}}}
	for role, shown := range map[string]bool{lab.RoleViewer: false, lab.RoleOperator: false, lab.RoleLead: true} {
		_, b := x.do("GET", apiBase+"/duty/log", role, "")
		if got := strings.Contains(string(b), "post.example") || strings.Contains(string(b), "960961"); got != shown {
			t.Errorf("%s: %s", role, b)
		}
	}
	for _, secret := range []string{
		`550 5.1.1 <wren@post.example>: user unknown`, `Post "https://sms.example/u/8f3a?to=441632960961": dial tcp 203.0.113.9:443: connect: connection refused`,
		`dial tcp: lookup sms.example on 10.0.0.53:53: no such host`, `no answer from +44 1632 960961`, `dial tcp [2001:db8::1]:25: i/o timeout`,
	} {
		got := lab.HideAddresses(secret)
		for _, leak := range []string{"post.example", "sms.example", "203.0.113.9", "960961", "2001:db8", "10.0.0.53"} {
			if strings.Contains(got, leak) {
				t.Errorf("%q shows %s", got, leak)
			}
		}
	}
	for _, plain := range []string{"the person was taken out", "nobody acknowledged by 14:02:31", "38.6 °C (aim 37.8 °C)"} {
		if got := lab.HideAddresses(plain); got != plain {
			t.Errorf("%q became %q", plain, got)
		}
	}
}
