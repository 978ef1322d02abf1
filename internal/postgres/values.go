package postgres

import (
	"strconv"
	"strings"
	"time"

	"wetside/internal/lab"
)

// tick is the resolution of PostgreSQL's time.
const tick = time.Microsecond

// partitionTime is sent_at: what the unit sent, right or wrong; a will has
// only its arrival.
func partitionTime(m *lab.Message) time.Time {
	if m.Will || m.SentAt.IsZero() {
		return receivedTime(m)
	}
	return m.SentAt.UTC().Truncate(tick)
}

func countingTime(m *lab.Message) time.Time {
	if m.At.IsZero() {
		return partitionTime(m)
	}
	return m.At.UTC().Truncate(tick)
}

func receivedTime(m *lab.Message) time.Time { return m.Received.UTC().Truncate(tick) }

var noStatus lab.Status

func status(m *lab.Message) *lab.Status {
	if m.Status == nil {
		return &noStatus
	}
	return m.Status
}

// count is null where the unit gave none.
func count(n int) *int64 {
	if n == 0 {
		return nil
	}
	v := int64(n)
	return &v
}

func notNil(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

func itoa(n int) string { return strconv.Itoa(n) }

// storable makes a text that PostgreSQL can hold: NUL and what is not UTF-8
// become U+FFFD.
func storable(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "\uFFFD")
}

// isStorable tells whether a text can stand as it is.
func isStorable(s string) bool { return storable(s) == s }

// hasBody tells whether the message carries the body its channel promises.
func hasBody(m *lab.Message) bool {
	switch m.Channel {
	case lab.ChannelStatus:
		return m.Will || m.Status != nil
	case lab.ChannelStep:
		return m.Step != nil
	case lab.ChannelTemp:
		return m.Temp != nil
	case lab.ChannelTank:
		return m.Tank != nil
	case lab.ChannelPower:
		return m.Power != nil
	case lab.ChannelMotion:
		return m.Motion != nil
	}
	return false
}
