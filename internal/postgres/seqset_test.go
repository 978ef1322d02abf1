package postgres

import (
	"testing"

	"wetside/internal/lab"

	"pgregory.net/rapid"
)

// Whatever the order, the set holds what was put in and nothing else, in the
// fewest spans.
func TestSeqSet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var set seqSet
		want := map[int64]bool{}
		for _, n := range rapid.SliceOf(rapid.Int64Range(1, 40)).Draw(t, "numbers") {
			set.add(n)
			want[n] = true
		}
		for n := int64(0); n <= 41; n++ {
			if set.has(n) != want[n] {
				t.Fatalf("has %d: %v; want %v (%v)", n, set.has(n), want[n], set.spans)
			}
		}
		for i := 1; i < len(set.spans); i++ {
			if set.spans[i-1].hi+1 >= set.spans[i].lo {
				t.Fatalf("spans that touch: %v", set.spans)
			}
		}
	})
}

func TestSamePayload(t *testing.T) {
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{`{"a":1,"b":[1,2]}`, `{ "b":[1.0,2e0], "a":1 }`, true},
		{`{"a":1}`, `{"a":2}`, false},
		{`{"a":1}`, `{"a":"1"}`, false},
		{`{"a":null}`, `{}`, false},
		{`[1,2]`, `[2,1]`, false},
		{`{"a":9007199254740993}`, `{"a":9007199254740992}`, false}, // one float, two numbers
		{`{"a":1e999999999}`, `{"a":2e999999999}`, false},
		{"not json", "not json", true},
		{"not json", "not  json", false},
		{`{"a":1}`, `{"a":1}x`, false},
	} {
		if got := lab.SamePayload([]byte(c.a), []byte(c.b)); got != c.same {
			t.Errorf("%s and %s: %v; want %v", c.a, c.b, got, c.same)
		}
	}
}
