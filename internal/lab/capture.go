package lab

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// maxCaptureLine bounds a line: a payload of MaxPayload in base64 and room
// for topic, spaces and fields that others added.
const maxCaptureLine = 256 << 10

// CaptureLine is one line of a capture. Payload is set where the payload is
// JSON, else PayloadB64.
type CaptureLine struct {
	ReceivedAt Time            `json:"received_at"`
	Topic      string          `json:"topic"`
	Payload    json.RawMessage `json:"payload,omitempty"`
	PayloadB64 []byte          `json:"payload_b64,omitempty"`
	Retained   bool            `json:"retained,omitempty"`
}

// CaptureReader reads a capture line by line. It is not safe for concurrent use.
type CaptureReader struct {
	sc   *bufio.Scanner
	name string
	line int
}

// NewCaptureReader reads from r; name stands in errors.
func NewCaptureReader(name string, r io.Reader) *CaptureReader {
	sc := bufio.NewScanner(r)
	sc.Buffer(make([]byte, 0, 64<<10), maxCaptureLine)
	return &CaptureReader{sc: sc, name: name}
}

// Next gives the next line, io.EOF after the last. A bad line is a
// KindInvalid error that names file and line; the reader can go on after it.
func (r *CaptureReader) Next() (Raw, error) {
	for r.sc.Scan() {
		r.line++
		b := bytes.TrimSpace(r.sc.Bytes())
		if len(b) == 0 {
			continue
		}
		raw, err := decodeCaptureLine(b)
		if err != nil {
			return Raw{}, Errorf(KindInvalid, "%s line %d: %w", r.name, r.line, err)
		}
		return raw, nil
	}
	if err := r.sc.Err(); err != nil {
		if errors.Is(err, bufio.ErrTooLong) {
			return Raw{}, Errorf(KindInvalid, "%s line %d: longer than %d bytes", r.name, r.line+1, maxCaptureLine)
		}
		return Raw{}, err
	}
	return Raw{}, io.EOF
}

func decodeCaptureLine(b []byte) (Raw, error) {
	var l CaptureLine
	if err := json.Unmarshal(b, &l); err != nil {
		return Raw{}, fmt.Errorf("not a capture line (it must be {\"received_at\",\"topic\",\"payload\"}): %w", err)
	}
	if l.ReceivedAt.IsZero() {
		return Raw{}, errors.New("received_at is missing; give an RFC 3339 time")
	}
	if l.Topic == "" {
		return Raw{}, errors.New("topic is missing; give wetside/v1/{lab}/{unit}/{channel}")
	}
	raw := Raw{Topic: l.Topic, Received: l.ReceivedAt.Time, Retained: l.Retained, Payload: l.PayloadB64}
	if l.PayloadB64 == nil {
		raw.Payload = append([]byte(nil), l.Payload...)
	}
	return raw, nil
}

// CaptureWriter writes a capture. It is not safe for concurrent use.
type CaptureWriter struct{ w io.Writer }

// NewCaptureWriter writes to w, unbuffered.
func NewCaptureWriter(w io.Writer) *CaptureWriter { return &CaptureWriter{w} }

// Write appends one message. A payload that is valid JSON on its own stands
// as it is, byte for byte but for white space; any other in base64.
func (c *CaptureWriter) Write(raw Raw) error {
	l := CaptureLine{ReceivedAt: At(raw.Received), Topic: raw.Topic, Retained: raw.Retained}
	if json.Valid(raw.Payload) && !bytes.ContainsAny(raw.Payload, "\n\r") {
		l.Payload = raw.Payload
	} else {
		l.PayloadB64 = raw.Payload
		if l.PayloadB64 == nil {
			l.PayloadB64 = []byte{}
		}
	}
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(l); err != nil {
		return err
	}
	_, err := c.w.Write(buf.Bytes())
	return err
}
