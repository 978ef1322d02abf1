package ingest_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"wetside/ingest"
	"wetside/internal/lab"
)

// FuzzDecode: whatever comes, there is no panic, a refusal has a code, and
// what is accepted keeps to the contract and is accepted by a strict JSON
// reader too.
func FuzzDecode(f *testing.F) {
	for _, c := range wireCases(f) {
		f.Add(c.Topic, c.raw().Payload)
	}
	f.Add("wetside/v1/a/b/temp", []byte(`{"at":"2026-03-01T09:30:00Z","boot":"\ud800","seq":1,"bath_c":-0}`))
	received := time.Date(2026, 3, 1, 9, 30, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, topic string, payload []byte) {
		raw := lab.Raw{Topic: topic, Payload: payload, Received: received}
		m, err := ingest.Decode(raw)
		if err != nil {
			r, ok := errors.AsType[*ingest.Refusal](err)
			if !ok || r.Code == "" || r.Text == "" || !utf8.ValidString(r.Error()) && utf8.ValidString(topic) {
				t.Fatalf("refusal %#v of %q", err, payload)
			}
			return
		}
		var any map[string]any
		if err := json.Unmarshal(payload, &any); err != nil {
			t.Fatalf("accepted what is no JSON object: %q: %v", payload, err)
		}
		checkSound(t, m, received)
	})
}

func checkSound(t *testing.T, m lab.Message, received time.Time) {
	t.Helper()
	if m.Will {
		if m.Seq != 0 || m.Boot != "" || !m.At.Equal(received) {
			t.Fatalf("will %+v has an envelope", m)
		}
		return
	}
	n := utf8.RuneCountInString(m.Boot)
	if m.Seq < 1 || n < 1 || n > 64 || strings.ContainsRune(m.Boot, 0) {
		t.Fatalf("envelope %+v is out of bounds", m)
	}
	if m.At.Year() < 2020 || m.At.Sub(received) > 24*time.Hour {
		t.Fatalf("at %v was not replaced", m.At)
	}
	bodies := 0
	for _, set := range []bool{m.Status != nil, m.Step != nil, m.Temp != nil, m.Tank != nil, m.Power != nil, m.Motion != nil} {
		if set {
			bodies++
		}
	}
	if bodies != 1 {
		t.Fatalf("%d bodies, want one", bodies)
	}
	if _, err := json.Marshal(m); err != nil {
		t.Fatalf("message cannot be written: %v", err)
	}
}

// TestDecodeConstant: the same bytes give the same message, and nothing of
// the result but Payload aliases the input.
func TestDecodeAliasesOnlyPayload(t *testing.T) {
	for _, c := range wireCases(t) {
		if c.Expect.Accept == nil {
			continue
		}
		raw := c.raw()
		raw.Payload = bytes.Clone(raw.Payload)
		m, err := ingest.Decode(raw)
		if err != nil {
			t.Fatalf("%s: %v", c.Name, err)
		}
		before, _ := json.Marshal(m)
		clear(raw.Payload)
		if after, _ := json.Marshal(m); !bytes.Equal(before, after) {
			t.Errorf("%s: message changed with the payload: %s -> %s", c.Name, before, after)
		}
	}
}

func BenchmarkDecode(b *testing.B) {
	for name, payload := range map[string]string{
		"temp": `{"at":"2026-03-01T09:30:00.000Z","boot":"b-7f3a","seq":41,"up_s":812.25,"bath_c":37.82,"preheat_c":38.4,"wash_c":37.1}`,
		"step": `{"at":"2026-03-01T09:30:00.000Z","boot":"b-7f3a","seq":41,"up_s":812.25,"phase":"in-bath","run":"r-0301-1","process":"c41","push":0,"step":"developer","n":1,"of":6,"set_s":195,"elapsed_s":12.2,"fill_ml":1800,"set_c":37.8,"kind":"film"}`,
		"tank": `{"at":"2026-03-01T09:30:00.000Z","boot":"b-7f3a","seq":41,"levels_l":{"waste":12.4,"wash":9.1,"silver":3.3},"full":[]}`,
	} {
		b.Run(name, func(b *testing.B) {
			raw := lab.Raw{Topic: "wetside/v1/tern-street/plover/" + name, Payload: []byte(payload), Received: time.Date(2026, 3, 1, 9, 30, 0, 0, time.UTC)}
			b.ReportAllocs()
			b.SetBytes(int64(len(payload)))
			for b.Loop() {
				if _, err := ingest.Decode(raw); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
