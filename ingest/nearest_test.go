package ingest

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

// A word that is none of those allowed is refused with the nearest one.
func TestRefusedWithTheNearest(t *testing.T) {
	t.Parallel()
	for payload, want := range map[string]string{
		`"phase":"in_bath","run":"r1","process":"c41","step":"developer","n":1`:                     `got "in_bath": did you mean "in-bath"?`,
		`"phase":"waiting","run":"r1","process":"c41","step":"developer","n":1,"waits_for":"dryer"`: `waits_for must be one of`,
		`"phase":"Filling","run":"r1","process":"c41","step":"developer","n":1`:                     `did you mean "filling"?`,
	} {
		_, err := Decode(lab.Raw{Received: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), Topic: "wetside/v1/tern-street/plover/step",
			Payload: []byte(`{"at":"2026-03-02T09:00:00.000Z","boot":"a","seq":1,` + payload + `}`)})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v; want %q", payload, err, want)
		}
	}
}
