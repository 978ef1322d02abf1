package lab

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"
	"time"
	"unicode/utf8"
)

// FuzzTopic: a topic is that of a unit and a channel, written back the same,
// or it is refused with a reason.
func FuzzTopic(f *testing.F) {
	for _, s := range []string{
		"wetside/v1/tern-street/plover/temp", "wetside/v1/tern-street/plover/status", "wetside/v1/a/b/step", "wetside/v1/a/b/entry",
		"wetside/v1//plover/temp", "wetside/v1/tern-street/plover/Temp", "wetside/v2/a/b/temp", "wetside/v1/+/#/temp", "", "/////",
		"wetside/v1/" + strings.Repeat("a", 33) + "/b/temp", "wetside/v1/-a/b/temp", "wetside/v1/a/\x00/temp", "wetside/v1/a/b/temp/",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, topic string) {
		u, ch, err := ParseTopic(topic)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("refused without a reason")
			}
			return
		}
		if Topic(u, ch) != topic || !u.Valid() || IsEntryTopic(topic) {
			t.Fatalf("%q reads as %s %s, which is written %q", topic, u, ch, Topic(u, ch))
		}
		if back, err := ParseUnitID(u.String()); err != nil || back != u {
			t.Fatalf("unit %s reads back as %s: %v", u, back, err)
		}
	})
}

// FuzzCapture: a capture that is damaged anywhere is read to its end, each bad
// line told apart; a good line comes back the same when it is written again.
func FuzzCapture(f *testing.F) {
	for _, s := range []string{
		`{"received_at":"2026-03-02T09:00:00.000Z","topic":"wetside/v1/tern-street/plover/temp","payload":{"bath_c":38.1}}`,
		`{"received_at":"2026-03-02T09:00:00Z","topic":"wetside/v1/a/b/temp","payload_b64":"AAEC","retained":true}` + "\n\n{\n",
		`{"received_at":"2026-03-02T09:00:00Z","topic":"wetside/v1/a/b/temp","payload":1e400}`,
		`{"received_at":"0000-00-00T00:00:00Z","topic":"x","payload":null}`,
		`{"received_at":"9999-12-31T23:59:59.999Z","topic":"x"}`,
		"\xff\xfe{}\r\n" + `{"topic":"x","payload_b64":"%"}`,
		strings.Repeat("[", 10_000), `{"received_at":"2026-03-02T09:00:00+24:00","topic":"\ud800","payload":""}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r := NewCaptureReader("hand.jsonl", bytes.NewReader(data))
		for lines := 0; ; lines++ {
			if lines > len(data)+1 {
				t.Fatal("the reader does not come to an end")
			}
			raw, err := r.Next()
			if errors.Is(err, io.EOF) {
				return
			}
			if err != nil {
				if KindOf(err) != KindInvalid {
					t.Fatalf("a bad line gives %v, of kind %v", err, KindOf(err))
				}
				if strings.Contains(err.Error(), "longer than") {
					return // nothing behind it is read
				}
				continue
			}
			writtenAgain(t, raw)
			if IsEntryTopic(raw.Topic) {
				_, _ = EntryOf(raw)
			}
		}
	})
}

func writtenAgain(t *testing.T, raw Raw) {
	t.Helper()
	var buf bytes.Buffer
	if err := NewCaptureWriter(&buf).Write(raw); err != nil {
		t.Fatalf("%+v cannot be written: %v", raw, err)
	}
	again, err := NewCaptureReader("again.jsonl", &buf).Next()
	if err != nil {
		t.Fatalf("%q does not read back: %v", buf.Bytes(), err)
	}
	if again.Topic != raw.Topic || again.Retained != raw.Retained || !again.Received.Equal(At(raw.Received).Time) || !SamePayload(again.Payload, raw.Payload) {
		t.Fatalf("%+v reads back as %+v", raw, again)
	}
}

// FuzzEntry: whatever a person or a capture brings as an entry is refused with
// a reason, or can be kept and read again.
func FuzzEntry(f *testing.F) {
	bodies := map[string]string{
		EntryLoad: `{"process":"c41","push":1,"rolls":[{"twin_check":"48213","process":"c41","push":1}]}`, EntryUnload: `{}`,
		EntryContainer: `{"container":"waste","what":"set","litres":4.5}`, EntryCapacity: `{"container":"waste","capacity_l":18.9}`,
		EntryTurned: `{"from":"2026-03-02T09:00:00Z","to":"2026-03-02T09:01:00Z"}`, EntryDrained: ``,
		EntryRolls: `{"add":[{"twin_check":"A-1"}],"remove":["48213"]}`, EntryKindOfRun: `{"kind":"strip"}`, EntryDecision: `{"decision":"hold"}`,
		EntrySymptom: `{"seen":"thin"}`, EntryNote: `{"text":"rinsed"}`, EntryProbe: `{"offset_c":-0.2,"uncertainty_c":0.05}`,
		EntryHouseAim: `{"process":"c41","step":"developer","push":0,"equivalent_s":195}`, EntryDeveloper: `{"process":"bw","step":"developer","developer":"f32-rotary"}`,
		EntryCheck: `{"check":"float","ok":true,"value":1e9}`, EntryTakesBack: `{"id":"e1"}`, EntryGate: `{"process":"c41","reason":"read again"}`,
		EntryStrip: `{"process":"c41","read_at":"2026-03-02T09:00:00Z","densities":{"LD":{"r":0.8,"g":0.9,"b":1.0}}}`,
	}
	for what, body := range bodies {
		f.Add(what, "r1", body)
		f.Add(what, "", `{"litres":1e308,"push":-1e308,"offset_c":9e99,"capacity_l":-1,"equivalent_s":1e300,"rolls":null,"add":[{}]}`)
	}
	f.Fuzz(func(t *testing.T, what, run, body string) {
		e := Entry{ID: "e1", Unit: UnitID{"tern-street", "plover"}, RunID: run, What: what, By: "Wren",
			At: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), Entered: time.Date(2026, 3, 2, 9, 1, 0, 0, time.UTC), Body: json.RawMessage(body)}
		if err := e.Check(); err != nil {
			if KindOf(err) != KindInvalid {
				t.Fatalf("refused as %v: %v", KindOf(err), err)
			}
			return
		}
		raw, err := e.Raw()
		if err != nil {
			t.Fatalf("taken, but it cannot be written: %v", err)
		}
		if _, err := EntryOf(raw); err != nil {
			t.Fatalf("taken, written as %s, and not read again: %v", raw.Payload, err)
		}
	})
}

// FuzzTwinCheck: what a scanner or a person types is a twin check in one form
// only, or it is refused.
func FuzzTwinCheck(f *testing.F) {
	for _, s := range []string{"48213", " a-17 ", "-1", "1-", "", "ﬀ", "ß", "ı", "4821\x003", "=1+1", "٣", strings.Repeat("9", 33), "a\r\n", "]C148213"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := TwinCheck(s)
		if err != nil {
			return
		}
		if again, err := TwinCheck(v); err != nil || again != v {
			t.Fatalf("%q is kept as %q, which is kept as %q: %v", s, v, again, err)
		}
		if len(v) > 32 || !utf8.ValidString(v) || strings.ContainsAny(v, "=+@\t\r\n\x00,;\"") {
			t.Fatalf("%q is kept as %q", s, v)
		}
	})
}
