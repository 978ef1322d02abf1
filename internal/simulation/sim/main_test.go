package sim

import (
	"encoding/json"
	"testing"
	"time"

	"go.uber.org/goleak"

	"wetside/internal/lab"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var t0 = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) // a Monday

// heard is a message as a test looks at it, decoded without the help of the
// encoder.
type heard struct {
	lab.Raw
	unit, channel, boot string
	seq                 int64
	at                  time.Time
	body                map[string]any
}

func (h heard) num(k string) (float64, bool) {
	v, ok := h.body[k].(float64)
	return v, ok
}

func (h heard) str(k string) string {
	s, _ := h.body[k].(string)
	return s
}

// hear decodes what is well formed; the rest comes back as bad.
func hear(raws []lab.Raw) (good []heard, bad []lab.Raw) {
	for _, raw := range raws {
		h := heard{Raw: raw}
		id, ch, err := lab.ParseTopic(raw.Topic)
		if err != nil || json.Unmarshal(raw.Payload, &h.body) != nil || h.body == nil {
			bad = append(bad, raw)
			continue
		}
		h.unit, h.channel, h.boot = id.Unit, string(ch), h.str("boot")
		seq, _ := h.num("seq")
		h.seq = int64(seq)
		h.at, _ = time.Parse(time.RFC3339, h.str("at"))
		good = append(good, h)
	}
	return good, bad
}

func mustLab(t testing.TB, cfg Config) *Lab {
	t.Helper()
	l, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// one is a lab of one unit that does one run of a process, with faults.
func one(t testing.TB, process string, push float64, faults ...Fault) *Lab {
	t.Helper()
	for i := range faults {
		faults[i].Unit = "plover"
	}
	return mustLab(t, Config{Seed: 7, Start: t0, Schedule: Schedule{
		Units:  []UnitPlan{{Name: "plover", Processes: []string{process}, Runs: []RunPlan{{Process: process, Push: push}}}},
		Faults: faults,
	}})
}
