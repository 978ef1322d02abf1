package lab

import (
	"encoding/json"
	"strings"
)

// Key gives boot and seq of a message that was refused, where its envelope can
// be read: it then is no hole in what was received, though nothing in it is
// judged. A key conflict gives none: the message that has the key was
// received.
func (q *Quarantined) Key() (boot string, seq int64, ok bool) {
	if strings.HasPrefix(q.Reason, RefusedKeyConflict+":") || !q.Unit.Valid() {
		return "", 0, false
	}
	var k struct {
		Boot string `json:"boot"`
		Seq  int64  `json:"seq"`
	}
	if json.Unmarshal(q.Payload, &k) != nil || k.Boot == "" || len([]rune(k.Boot)) > maxBoot || k.Seq < 1 || k.Seq > MaxSeq {
		return "", 0, false
	}
	return k.Boot, k.Seq, true
}

// Channel is the channel that it was published on, "" for none of the
// contract's.
func (q *Quarantined) Channel() Channel {
	_, c, _ := ParseTopic(q.Topic) // none is an answer
	return c
}

const maxBoot = 64 // characters
