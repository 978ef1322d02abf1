package ingest_test

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/ingest"
	"wetside/internal/lab"
)

// wireCase is one file of testdata/wire; its README describes the fields.
type wireCase struct {
	Name       string          `json:"name"`
	Why        string          `json:"why"`
	Topic      string          `json:"topic"`
	Payload    json.RawMessage `json:"payload"`
	PayloadB64 []byte          `json:"payload_b64"`
	ReceivedAt time.Time       `json:"received_at"`
	Retained   bool            `json:"retained"`
	Expect     struct {
		Accept *lab.Message `json:"accept"`
		Refuse *struct {
			Code string   `json:"code"`
			Says []string `json:"says"`
		} `json:"refuse"`
	} `json:"expect"`
}

func (c wireCase) raw() lab.Raw {
	raw := lab.Raw{Topic: c.Topic, Payload: c.PayloadB64, Received: c.ReceivedAt, Retained: c.Retained}
	if c.PayloadB64 == nil {
		raw.Payload = c.Payload
	}
	return raw
}

const wireDir = "../testdata/wire"

func wireCases(tb testing.TB) []wireCase {
	tb.Helper()
	files, err := filepath.Glob(wireDir + "/*.json")
	if err != nil {
		tb.Fatal(err)
	}
	var cases []wireCase
	for _, file := range files {
		if filepath.Base(file) == "fields.json" {
			continue
		}
		b, err := os.ReadFile(file)
		if err != nil {
			tb.Fatal(err)
		}
		var c wireCase
		dec := json.NewDecoder(strings.NewReader(string(b)))
		dec.DisallowUnknownFields()
		if err := dec.Decode(&c); err != nil {
			tb.Fatalf("%s: %v", file, err)
		}
		if want := strings.TrimSuffix(filepath.Base(file), ".json"); c.Name != want || c.Why == "" ||
			c.ReceivedAt.IsZero() || (c.Expect.Accept == nil) == (c.Expect.Refuse == nil) {
			tb.Fatalf("%s: not a whole case (name %q)", file, c.Name)
		}
		cases = append(cases, c)
	}
	if len(cases) < 200 {
		tb.Fatalf("%d wire cases found, want at least 200", len(cases))
	}
	return cases
}

func TestWire(t *testing.T) {
	for _, c := range wireCases(t) {
		t.Run(c.Name, func(t *testing.T) {
			raw := c.raw()
			before := slices.Clone(raw.Payload)
			m, err := ingest.Decode(raw)
			if string(before) != string(raw.Payload) {
				t.Error("Decode changed the payload")
			}
			if c.Expect.Accept != nil {
				checkAccepted(t, c, m, err)
			} else {
				checkRefused(t, c, err)
			}
		})
	}
}

// Each field of the contract's table is in a case that is accepted, and in one
// that is refused for it.
func TestEveryFieldHasCases(t *testing.T) {
	b, err := os.ReadFile(wireDir + "/fields.json")
	if err != nil {
		t.Fatal(err)
	}
	var table struct {
		Channels map[string]struct{ Fields map[string]json.RawMessage }
	}
	if err := json.Unmarshal(b, &table); err != nil {
		t.Fatal(err)
	}
	accepted, refused := map[string]bool{}, map[string]bool{}
	for _, c := range wireCases(t) {
		channel := c.Topic[strings.LastIndex(c.Topic, "/")+1:]
		if c.Expect.Refuse != nil {
			for _, said := range c.Expect.Refuse.Says {
				refused[channel+"."+said] = true
			}
			continue
		}
		var payload map[string]json.RawMessage
		if json.Unmarshal(c.raw().Payload, &payload) != nil {
			continue // not JSON as this decoder has it
		}
		for field, v := range payload {
			accepted[channel+"."+field] = accepted[channel+"."+field] || string(v) != "null"
		}
	}
	for channel, fields := range table.Channels {
		for field := range fields.Fields {
			if name := channel + "." + field; !accepted[name] || !refused[name] {
				t.Errorf("%s: in a case that is accepted: %v, in one that is refused for it: %v", name, accepted[name], refused[name])
			}
		}
	}
}

func checkAccepted(t *testing.T, c wireCase, m lab.Message, err error) {
	t.Helper()
	if err != nil {
		t.Fatalf("%s\nrefused: %v", c.Why, err)
	}
	want := *c.Expect.Accept
	want.Received, want.Payload = c.ReceivedAt, c.raw().Payload
	if diff := cmp.Diff(want, m); diff != "" {
		t.Errorf("%s (-want +got)\n%s", c.Why, diff)
	}
	if m.At.Location() != time.UTC {
		t.Errorf("At is in %v, want UTC", m.At.Location())
	}
}

func checkRefused(t *testing.T, c wireCase, err error) {
	t.Helper()
	r, ok := errors.AsType[*ingest.Refusal](err)
	if !ok {
		t.Fatalf("%s\ngot %v, want a refusal", c.Why, err)
	}
	if r.Code != c.Expect.Refuse.Code {
		t.Errorf("%s\ncode %q, want %q (%s)", c.Why, r.Code, c.Expect.Refuse.Code, r.Text)
	}
	for _, word := range c.Expect.Refuse.Says {
		if !strings.Contains(r.Text, word) {
			t.Errorf("%s\nreason %q does not say %q", c.Why, r.Text, word)
		}
	}
	if r.Code != lab.RefusedTopic && !strings.Contains(r.Text, " must ") {
		t.Errorf("reason %q does not say what would be right", r.Text)
	}
	q := ingest.Quarantine(c.raw(), err)
	if q.Topic != c.Topic || !q.Received.Equal(c.ReceivedAt) || string(q.Payload) != string(c.raw().Payload) ||
		q.Reason != r.Code+": "+r.Text {
		t.Errorf("quarantine record %+v does not keep the message and its reason", q)
	}
}

// TestQuarantineNamesUnit: the unit is known wherever the topic names one, so
// that refusals can be counted by unit.
func TestQuarantineNamesUnit(t *testing.T) {
	for topic, want := range map[string]string{
		"wetside/v1/tern-street/plover/temp":     "tern-street/plover",
		"wetside/v1/tern-street/plover/humidity": "tern-street/plover",
		"wetside/v1/Tern/plover/temp":            "",
		"wetside/v1/tern-street/plover":          "",
		"elsewhere":                              "",
	} {
		raw := lab.Raw{Topic: topic, Payload: []byte("{"), Received: time.Unix(1772357400, 0)}
		_, err := ingest.Decode(raw)
		if err == nil {
			t.Fatalf("%s: accepted", topic)
		}
		got := ingest.Quarantine(raw, err).Unit
		if (want == "") != got.IsZero() || want != "" && got.String() != want {
			t.Errorf("%s: unit %v, want %q", topic, got, want)
		}
	}
}
