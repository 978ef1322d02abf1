package lab_test

import (
	"encoding/json"
	"os"
	"testing"

	"wetside/internal/lab"
)

// The same texts are read by the tests of the pages (web/ui/test/said.test.ts).
func TestTextsAreReadInTheReadersUnits(t *testing.T) {
	b, err := os.ReadFile("../../testdata/units/texts.json")
	if err != nil {
		t.Fatal(err)
	}
	var f struct {
		Texts []struct{ Said, Read string }
	}
	if err := json.Unmarshal(b, &f); err != nil || len(f.Texts) < 10 {
		t.Fatalf("%d texts: %v", len(f.Texts), err)
	}
	us := lab.Units{Temperature: "f", Volume: "gal"}
	for _, x := range f.Texts {
		if got := us.Read(x.Said); got != x.Read {
			t.Errorf("%q reads\n%q; want\n%q", x.Said, got, x.Read)
		}
		if got := us.Read(us.Read(x.Said)); got != x.Read {
			t.Errorf("%q read twice: %q", x.Said, got)
		}
	}
	if got := (lab.Units{Temperature: "c", Volume: "l"}).Read("38.6 °C, 2.8 l"); got != "38.6 °C, 2.8 L" {
		t.Errorf("as written: %q", got)
	}
}
