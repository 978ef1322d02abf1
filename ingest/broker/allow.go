package broker

import (
	"encoding/json"
	"fmt"
	"strings"

	"wetside/internal/lab"
)

// visitor is who came through the gate.
type visitor struct {
	unit    lab.UnitID // whose key it showed; zero: none was asked for
	program bool       // one of the lab's own programs
}

// pass is what becomes of a publish: it goes on as it is, or in an envelope
// to quarantine, with the reason.
type pass struct {
	publish
	unit   lab.UnitID // whose share it counts in
	reason string     // why it is refused; empty: it is not
}

// judge says what becomes of a publish. Only the six channels go on, only the
// own ones of a unit, and only a status is retained: everything else would be
// kept by the broker for ever, under names without number.
func (v visitor) judge(p publish, most int) pass {
	unit, channel, err := lab.ParseTopic(p.topic)
	out := pass{publish: p, unit: unit}
	switch {
	case v.unit.Valid() && unit != v.unit && (err == nil || !strings.HasPrefix(p.topic, lab.TopicPrefix+v.unit.String()+"/")):
		out.unit = v.unit
		out.reason = fmt.Sprintf("%s: %s published on %s; give %s and a channel", lab.RefusedTopic, v.unit, shown(p.topic), lab.TopicPrefix+v.unit.String())
	case err != nil:
		if v.unit.Valid() {
			out.unit = v.unit
		} else if !unit.Valid() {
			out.unit = lab.UnitID{}
		}
		out.reason = lab.RefusedTopic + ": " + err.Error()
	case p.size > most:
		out.reason = fmt.Sprintf("%[1]s: the payload must have at most %[3]d bytes; got %[2]d, of which the first %[4]d are stored", lab.RefusedTooLarge, p.size, lab.MaxPayload, min(len(p.payload), keptOfHuge))
	}
	if out.reason != "" {
		return out.sealed()
	}
	out.retain = p.retain && channel == lab.ChannelStatus && p.size <= lab.MaxPayload
	return out
}

// sealed puts a refused publish into the envelope that ingest opens.
func (p pass) sealed() pass {
	if len(p.payload) > keptOfHuge {
		p.payload = p.payload[:keptOfHuge]
	}
	if len(p.topic) > keptOfTopic {
		p.topic = p.topic[:keptOfTopic]
	}
	if len(p.reason) > keptOfReason {
		p.reason = strings.ToValidUTF8(p.reason[:keptOfReason], "") + "..."
	}
	envelope := lab.RefusedByBroker{Topic: []byte(p.topic), Payload: p.payload, Reason: p.reason}
	if p.unit.Valid() {
		envelope.Unit = p.unit.String()
	}
	body, err := json.Marshal(envelope)
	if err != nil {
		panic(err) // bytes and valid texts are always written
	}
	p.topic, p.payload, p.retain = lab.RefusedTopicName, body, false
	return p
}

// shown is a topic in a reason, cut to a sane length.
func shown(topic string) string {
	if len(topic) > 100 {
		topic = topic[:100] + "..."
	}
	return fmt.Sprintf("%q", topic)
}

// willOf says what is wrong with a last will; empty: nothing.
func (v visitor) willOf(topic string, size int) string {
	unit, channel, err := lab.ParseTopic(topic)
	switch {
	case err != nil || channel != lab.ChannelStatus || v.unit.Valid() && unit != v.unit:
		want := "the unit's own status"
		if v.unit.Valid() {
			want = lab.Topic(v.unit, lab.ChannelStatus)
		}
		return fmt.Sprintf("the last will on %s was refused; publish it on %s", shown(topic), want)
	case size > lab.MaxPayload:
		return fmt.Sprintf("the last will was refused: it must have at most %[2]d bytes; got %[1]d", size, lab.MaxPayload)
	}
	return ""
}
