package lab_test

import (
	"testing"

	"wetside/internal/lab"
)

// Two payloads are the same where they are the same JSON value, however
// written (RFC 8259: objects have no order, arrays have one; 1, 1.0 and 1e0
// are one number).
func TestSamePayload(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{`{"a":1,"b":[1,2]}`, `{ "b": [1.0, 2e0], "a": 1 }`, true},
		{`{"a":1}`, `{"a":2}`, false},
		{`{"a":1}`, `{"a":1,"b":null}`, false},
		{`{"a":1,"c":1}`, `{"a":1,"b":1}`, false},
		{`{"a":{}}`, `{"a":[]}`, false},
		{`[1,2]`, `[2,1]`, false},
		{`[1,2]`, `[1]`, false},
		{`[]`, `[1]`, false},
		{`[]`, `{}`, false},
		{`[1]`, `1`, false},
		{`"1"`, `1`, false},
		{`null`, `false`, false},
		{`9007199254740993`, `9007199254740992`, false}, // 2^53 + 1: no float tells them apart
		{`{"a":1`, `{"a":1`, true},                      // not JSON: the same bytes
		{`{"a":1`, `{"a":1 `, false},
	} {
		if got, back := lab.SamePayload([]byte(c.a), []byte(c.b)), lab.SamePayload([]byte(c.b), []byte(c.a)); got != c.same || back != c.same {
			t.Errorf("%s and %s: the same %v, the other way round %v; want %v", c.a, c.b, got, back, c.same)
		}
	}
}
