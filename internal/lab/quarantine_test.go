package lab_test

import (
	"encoding/json"
	"testing"

	"wetside/internal/lab"
)

// What the embedded broker refused comes out of its envelope as it was
// published; the same words under any other topic are no envelope.
func TestUnwrap(t *testing.T) {
	t.Parallel()
	body, err := json.Marshal(lab.RefusedByBroker{Topic: []byte("wetside/v1/tern-street/plover/\xff"), Payload: []byte{0, 255}, Reason: "topic", Unit: "tern-street/plover"})
	if err != nil {
		t.Fatal(err)
	}
	q, ok := lab.Unwrap(lab.Raw{Topic: lab.RefusedTopicName, Payload: body})
	if !ok || q.Topic != "wetside/v1/tern-street/plover/\xff" || string(q.Payload) != "\x00\xff" || q.Reason != "topic" || q.Unit.Unit != "plover" {
		t.Errorf("unwrapped %v: %+v", ok, q)
	}
	for name, raw := range map[string]lab.Raw{
		"another topic":    {Topic: "wetside/v1/tern-street/plover/temp", Payload: body},
		"without a reason": {Topic: lab.RefusedTopicName, Payload: []byte(`{"unit":"tern-street/plover"}`)},
		"no JSON":          {Topic: lab.RefusedTopicName, Payload: []byte(`{`)},
	} {
		if q, ok := lab.Unwrap(raw); ok {
			t.Errorf("%s: taken for an envelope: %+v", name, q)
		}
	}
}
