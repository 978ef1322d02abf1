package postgres

import (
	"cmp"
	"slices"
	"sync"
	"time"

	"wetside/internal/lab"
)

// What a tail keeps at most.
const (
	tailMessages = 8192
	tailBytes    = 16 << 20 // of payloads
)

// tail is what this process appended last, so that the worker need not ask
// every day's partition for what has just been written: a number says nothing
// of the day. It answers only for numbers of which it knows what became of
// them; for all others the tables are asked.
type tail struct {
	mu       sync.Mutex
	spans    []tailSpan // by number; they never overlap
	messages int
	bytes    int
	others   int64 // the last number that is known to be something else
}

// tailSpan is a range of arrival numbers of which all telemetry is known.
type tailSpan struct {
	first, last int64
	messages    []lab.Message
	bytes       int
}

// add takes what was committed under the numbers first to last: of them only
// fresh are telemetry. It is called in the order of commits.
func (t *tail) add(first, last int64, fresh []*lab.Message) {
	if last < first {
		return
	}
	s := tailSpan{first: first, last: last, messages: make([]lab.Message, 0, len(fresh))}
	for _, m := range fresh {
		s.messages = append(s.messages, asStored(m))
		s.bytes += len(m.Payload)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if n := len(t.spans); n > 0 && t.spans[n-1].last >= first {
		if len(fresh) == 0 { // the reader was first to see that there is nothing
			return
		}
		t.clear() // never so in one database
	}
	t.put(s)
}

// empty notes that the tables hold no telemetry from first to last.
func (t *tail) empty(first, last int64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if n := len(t.spans); n > 0 {
		first = max(first, t.spans[n-1].last+1) // what is known already is not said twice
	}
	if first <= last {
		t.put(tailSpan{first: first, last: last})
	}
}

func (t *tail) put(s tailSpan) {
	if n := len(t.spans); n > 0 && len(s.messages) == 0 && len(t.spans[n-1].messages) == 0 && t.spans[n-1].last+1 == s.first {
		t.spans[n-1].last = s.last // nothing and nothing again
		return
	}
	t.spans = append(t.spans, s)
	t.messages, t.bytes = t.messages+len(s.messages), t.bytes+s.bytes
	drop := 0
	for t.messages > tailMessages || t.bytes > tailBytes || len(t.spans)-drop > tailMessages {
		t.messages, t.bytes = t.messages-len(t.spans[drop].messages), t.bytes-t.spans[drop].bytes
		drop++
	}
	t.spans = slices.Delete(t.spans, 0, drop)
}

// other notes that something else than telemetry has a number.
func (t *tail) other(number int64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.others = max(t.others, number)
}

// forget forgets everything: another process may have written.
func (t *tail) forget() {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.clear()
}

func (t *tail) clear() { t.spans, t.messages, t.bytes = nil, 0, 0 }

// after gives the telemetry behind a number, and up to which number, at most
// last, that is all there is. others are numbers that are known to be no
// telemetry, in order. Where nothing is known of the next number it gives
// after itself.
func (t *tail) after(after, last int64, others []int64) (messages []lab.Message, upTo int64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	at, _ := slices.BinarySearchFunc(t.spans, after+1, func(s tailSpan, n int64) int { return cmp.Compare(s.last, n) })
	for upTo = after; upTo < last; {
		for len(others) > 0 && others[0] <= upTo {
			others = others[1:]
		}
		switch {
		case at < len(t.spans) && t.spans[at].first <= upTo+1:
			s := &t.spans[at]
			for _, m := range s.messages {
				if m.Arrival > after && m.Arrival <= last {
					messages = append(messages, m)
				}
			}
			upTo = min(s.last, last)
			at++
		case len(others) > 0 && others[0] == upTo+1:
			upTo++
		default:
			return messages, upTo
		}
	}
	return messages, upTo
}

// only gives the telemetry behind a number, at most limit, where every number
// from there on to the last that is known is telemetry: then nobody has to be
// asked what else came in between. Else it gives none.
func (t *tail) only(after int64, limit int) (messages []lab.Message) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if after < t.others {
		return nil // what people entered is to come with the rest
	}
	at, _ := slices.BinarySearchFunc(t.spans, after+1, func(s tailSpan, n int64) int { return cmp.Compare(s.last, n) })
	for ; at < len(t.spans) && len(messages) < limit; at++ {
		s := &t.spans[at]
		if s.first > after+1 || s.last-s.first+1 != int64(len(s.messages)) {
			return nil
		}
		known := s.messages[after+1-s.first:]
		messages = append(messages, known[:min(len(known), limit-len(messages))]...)
		after = s.last
	}
	return messages
}

// asStored is a message as the tables give it back.
func asStored(m *lab.Message) lab.Message {
	out := *m
	out.At, out.Received = asKept(m.At), asKept(m.Received)
	return out
}

// asKept is a moment in PostgreSQL's resolution.
func asKept(at time.Time) time.Time { return at.UTC().Truncate(time.Microsecond) }
