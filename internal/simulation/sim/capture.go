package sim

import (
	"io"
	"time"

	"wetside/internal/lab"
)

// WriteCapture writes what reached the broker from one moment to another as a
// capture. Virtual time before from passes without being written.
func WriteCapture(w io.Writer, l *Lab, from, to time.Time) error {
	cw := lab.NewCaptureWriter(w)
	for at := l.Start(); at.Before(to); {
		at = at.Add(time.Minute)
		if at.After(to) {
			at = to
		}
		for _, raw := range l.Advance(at) {
			if raw.Received.Before(from) {
				continue
			}
			if err := cw.Write(raw); err != nil {
				return err
			}
		}
	}
	return nil
}
