package report

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

// The report says which mix each step used, from the entries alone, and what to
// look for names it where the chemistry is the reason.
func TestMixesInTheReport(t *testing.T) {
	r := smallReport()
	bottle := func(n int64, position, mix string, at time.Duration) lab.Entry {
		b, _ := json.Marshal(lab.Bottle{Position: position, Mix: mix, Lot: "0931", MixedAt: laterPtr(-48 * time.Hour), MixedBy: "Mina"})
		return lab.Entry{ID: mix, Arrival: n, Unit: lab.UnitID{Lab: "tern-street", Unit: "heron"}, What: lab.EntryBottle, At: nine.Add(at), By: "Mina", Body: b}
	}
	r.Look = []lab.LookFor{{Code: "chemistry", Step: "developer", Look: "Look along the edges."}, {Code: "step-short", Step: "fixer", Look: "Fix again."}}
	withMixes(&r, []lab.Entry{bottle(1, "bw/developer", "MIX-A", -time.Hour), bottle(2, "bw/fixer", "MIX-B", 15*time.Minute)})
	if len(r.Mixes) != 2 || r.Mixes[0].Mix != "MIX-A" || r.Mixes[1].Mix != "" {
		t.Fatalf("%+v; want MIX-A in the developer, and that the fixer's is not known", r.Mixes)
	}
	if look := r.Look[0].Look; !strings.Contains(look, "It used mix MIX-A (maker's lot 0931, mixed 2026-02-28 by Mina).") || r.Look[1].Look != "Fix again." {
		t.Errorf("%q %q", look, r.Look[1].Look)
	}
	var text bytes.Buffer
	if err := Text(&text, r, Options{}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Mixes", "mix MIX-A", "not known which mix"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("the text lacks %q:\n%s", want, text.String())
		}
	}
	if err := PDF(&text, r, Options{}); err != nil {
		t.Error(err)
	}
	var plain bytes.Buffer
	none := smallReport()
	withMixes(&none, nil)
	if err := Text(&plain, none, Options{}); err != nil || len(none.Mixes) != 0 || strings.Contains(plain.String(), "Mixes") {
		t.Errorf("a lab without mixes reads of them: %v %v", none.Mixes, err)
	}
}
