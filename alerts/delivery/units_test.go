package delivery_test

import (
	"strings"
	"testing"

	"wetside/alerts"
	"wetside/alerts/delivery"
	"wetside/alerts/notify"
	"wetside/internal/lab"
)

// Pages by phone, mail and webhook and their link pages are written in the
// lab's units; what is stored stays as it is.
func TestPagesAreWrittenInTheLabsUnits(t *testing.T) {
	t.Parallel()
	l := newLot(t, nil, func(c *delivery.Config) {
		c.Units = func() lab.Units { return lab.Units{Temperature: "f", Volume: "gal"} }
	})
	id := l.raise("plover", lab.Urgent, func(c *alerts.Change) {
		c.Message, c.Response, c.Consequence = "Developer 38.6 °C (aim 37.8 °C)", "Bring it to 37.8 °C.", "Waste has room for 2.8 L."
	})
	m := l.mail.next(t, "the page")
	letter := notify.Letter(m.Body)
	for _, want := range []string{"Developer 101.5 °F (aim 100.0 °F)", "Bring it to 100.0 °F.", "Waste has room for 0.7 gal."} {
		if !strings.Contains(letter, want) {
			t.Errorf("the letter has no %q: %s", want, letter)
		}
	}
	if strings.Contains(m.Body.Title+m.Body.Text+letter, "°C") {
		t.Errorf("°C in %q, %q, %q", m.Body.Title, m.Body.Text, letter)
	}
	v, err := l.worker.OpenLink(t.Context(), tokenOf(m))
	l.must(err)
	if a := v.Items[0].Alert; a.Message != "Developer 101.5 °F (aim 100.0 °F)" || a.Response != "Bring it to 100.0 °F." || a.Consequence != "Waste has room for 0.7 gal." {
		t.Errorf("the link says %q, %q, %q", a.Message, a.Response, a.Consequence)
	}
	stored, err := l.store.Alert(t.Context(), id)
	l.must(err)
	if stored.Message != "Developer 38.6 °C (aim 37.8 °C)" {
		t.Errorf("stored as %q", stored.Message)
	}
}
