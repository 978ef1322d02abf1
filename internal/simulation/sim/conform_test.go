package sim

import (
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
)

// rule is one field of testdata/wire/fields.json, which was written by hand
// from the contract and not from this package.
type rule struct {
	Type       string          `json:"type"`
	Required   bool            `json:"required"`
	RequiredIn []string        `json:"required_in"`
	Min        *float64        `json:"min"`
	Max        *float64        `json:"max"`
	Above      *float64        `json:"above"`
	MinLength  *int            `json:"min_length"`
	MaxLength  *int            `json:"max_length"`
	Pattern    string          `json:"pattern"`
	Values     []any           `json:"values"`
	Of         json.RawMessage `json:"of"`
}

type wireFile struct {
	Envelope map[string]rule `json:"envelope"`
	Channels map[string]struct {
		Fields map[string]rule `json:"fields"`
	} `json:"channels"`
}

func readFields(t *testing.T) wireFile {
	t.Helper()
	b, err := os.ReadFile("../../../testdata/wire/fields.json")
	if err != nil {
		t.Fatal(err)
	}
	var w wireFile
	if err := json.Unmarshal(b, &w); err != nil {
		t.Fatal(err)
	}
	if len(w.Channels) != len(lab.Channels) || len(w.Envelope) == 0 {
		t.Fatalf("fields.json has %d channels and %d envelope fields", len(w.Channels), len(w.Envelope))
	}
	return w
}

var (
	rfc3339ms = regexp.MustCompile(`^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$`)
	patterns  = map[string]*regexp.Regexp{}
)

// check tells what is wrong with v, "" for nothing.
func (r rule) check(v any) string {
	switch r.Type {
	case "map":
		return r.checkMap(v)
	case "list of text":
		list, ok := v.([]any)
		if !ok {
			return "no list"
		}
		for _, x := range list {
			if _, ok := x.(string); !ok {
				return "not all of the list is text"
			}
		}
		return ""
	case "boolean":
		if _, ok := v.(bool); !ok {
			return "no truth value"
		}
	case "number", "integer":
		return r.checkNumber(v)
	case "text", "time":
		if msg := r.checkText(v); msg != "" {
			return msg
		}
	default:
		return "fields.json has an unknown type " + r.Type
	}
	if r.Values != nil && !slices.Contains(r.Values, v) {
		return fmt.Sprintf("%v is none of %v", v, r.Values)
	}
	return ""
}

func (r rule) checkNumber(v any) string {
	f, ok := v.(float64)
	switch {
	case !ok:
		return "no number"
	case r.Type == "integer" && f != float64(int64(f)):
		return "no whole number"
	case r.Min != nil && f < *r.Min, r.Max != nil && f > *r.Max, r.Above != nil && f <= *r.Above:
		return fmt.Sprintf("%v is out of range", f)
	}
	return ""
}

func (r rule) checkText(v any) string {
	s, ok := v.(string)
	if !ok {
		return "no text"
	}
	if r.Pattern != "" {
		if patterns[r.Pattern] == nil {
			patterns[r.Pattern] = regexp.MustCompile(r.Pattern)
		}
		if !patterns[r.Pattern].MatchString(s) {
			return s + " does not match"
		}
	}
	switch {
	case r.Type == "time" && !rfc3339ms.MatchString(s):
		return s + " is not RFC 3339 with milliseconds"
	case r.MinLength != nil && len(s) < *r.MinLength, r.MaxLength != nil && len(s) > *r.MaxLength:
		return "wrong length"
	}
	return ""
}

func (r rule) checkMap(v any) string {
	m, ok := v.(map[string]any)
	if !ok {
		return "no map"
	}
	var one rule
	var fields map[string]rule
	if json.Unmarshal(r.Of, &one) != nil || one.Type == "" {
		if err := json.Unmarshal(r.Of, &fields); err != nil {
			return err.Error()
		}
	}
	for k, x := range m {
		if fields == nil {
			if msg := one.check(x); msg != "" {
				return k + ": " + msg
			}
			continue
		}
		inner, ok := x.(map[string]any)
		if !ok {
			return k + ": no object"
		}
		if msg := checkFields(fields, inner, ""); msg != "" {
			return k + ": " + msg
		}
	}
	return ""
}

func checkFields(fields map[string]rule, body map[string]any, phase string) string {
	for k, r := range fields {
		v, ok := body[k]
		if !ok {
			if r.Required || slices.Contains(r.RequiredIn, phase) {
				return k + " is missing"
			}
			continue
		}
		if msg := r.check(v); msg != "" {
			return k + ": " + msg
		}
	}
	return ""
}

// conforms checks one message against the file.
func (w wireFile) conforms(h heard) string {
	if len(h.Payload) > 8<<10 {
		return "over 8 KiB"
	}
	if string(h.Payload) == `{"online":false}` {
		if h.channel != "status" {
			return "a will on channel " + h.channel
		}
		return ""
	}
	fields := w.Channels[h.channel].Fields
	for k := range h.body {
		_, inEnvelope := w.Envelope[k]
		if _, ok := fields[k]; !ok && !inEnvelope {
			return "unknown field " + k
		}
	}
	if msg := checkFields(w.Envelope, h.body, ""); msg != "" {
		return msg
	}
	return checkFields(fields, h.body, h.str("phase"))
}

// everyFault is a plan in which each kind of fault but bad payloads happens
// somewhere.
func everyFault(seed uint64) Schedule {
	s := EndlessPlan(seed, 6, 0)
	for i, k := range Kinds {
		if k == Malformed {
			continue
		}
		f := Fault{Kind: k, Unit: s.Units[i%6].Name, At: t0.Add(time.Duration(5+7*i) * time.Minute), For: 3 * time.Minute,
			Strength: 0.5, Container: "waste", Called: "another"}
		if k.ofStep() {
			sheet := map[string]string{"plover": "bleach", "heron": "bleach", "avocet": "fixer", "dunlin": "final-rinse",
				"curlew": "fixer", "turnstone": "bleach-fix"}
			f = Fault{Kind: k, Unit: f.Unit, Step: sheet[f.Unit], Strength: 20, Container: "waste", Called: "another"}
		}
		s.Faults = append(s.Faults, f)
	}
	return s
}

func TestEveryMessageKeepsToTheContract(t *testing.T) {
	w := readFields(t)
	l := mustLab(t, Config{Seed: 3, Start: t0, Schedule: everyFault(3)})
	raws := l.Advance(t0.Add(6 * time.Hour))
	good, bad := hear(raws)
	if len(bad) > 0 {
		t.Fatalf("%d messages do not parse, such as %s %q", len(bad), bad[0].Topic, bad[0].Payload)
	}
	seen := map[string]int{}
	for _, h := range good {
		if msg := w.conforms(h); msg != "" {
			t.Fatalf("%s %s: %s", h.Topic, h.Payload, msg)
		}
		seen[h.channel+" "+h.str("phase")]++
	}
	for _, want := range []string{"status ", "temp ", "tank ", "power ", "motion ", "step idle", "step heating", "step filling",
		"step in-bath", "step draining", "step waiting", "step drying", "step done", "step aborted"} {
		if seen[want] == 0 {
			t.Errorf("no message of %q among %d", want, len(good))
		}
	}
	told := map[Kind]bool{}
	for _, tr := range l.Faults() {
		told[tr.Fault.Kind] = true
	}
	for _, k := range Kinds {
		if k != Malformed && !told[k] {
			t.Errorf("fault %s was planned and never happened", k)
		}
	}
}

func TestSequencesHaveNoHolesAndNoTwins(t *testing.T) {
	l := mustLab(t, Config{Seed: 4, Start: t0, Schedule: Schedule{Units: EndlessPlan(4, 6, 0).Units,
		Faults: []Fault{{Kind: NetworkCut, Unit: "heron", At: t0.Add(10 * time.Minute), For: 6 * time.Minute},
			{Kind: Restart, Unit: "heron", At: t0.Add(30 * time.Minute), For: time.Minute}}}})
	good, _ := hear(l.Advance(t0.Add(2 * time.Hour)))
	next := map[string]int64{}
	boots := map[string]int{}
	for i, h := range good {
		if i > 0 && h.Received.Before(good[i-1].Received) {
			t.Fatal("not in the order of arrival")
		}
		if h.boot == "" {
			continue // a will
		}
		key := h.unit + h.boot
		if next[key] == 0 {
			next[key] = 1
			boots[h.unit]++
		}
		if h.seq != next[key] {
			t.Fatalf("%s: seq %d where %d was due", h.unit, h.seq, next[key])
		}
		next[key]++
	}
	if boots["heron"] != 2 || boots["plover"] != 1 {
		t.Errorf("boots: %v", boots)
	}
}

func TestMalformedIsRefusedByTheContract(t *testing.T) {
	w := readFields(t)
	f := Fault{Kind: Malformed, Unit: "plover", At: t0, Strength: 60}
	s := EndlessPlan(5, 1, 0)
	s.Faults = []Fault{f}
	l := mustLab(t, Config{Seed: 5, Start: t0, Schedule: s})
	good, bad := hear(l.Advance(t0.Add(time.Hour)))
	refused := len(bad)
	next := int64(1)
	for _, h := range good {
		if w.conforms(h) != "" {
			refused++
			continue
		}
		if h.seq != next {
			t.Fatalf("a bad message that conforms, or a hole, at seq %d (want %d): %s", h.seq, next, h.Payload)
		}
		next++
	}
	if refused < 1000 {
		t.Errorf("%d bad messages in an hour at one a second", refused)
	}
}
