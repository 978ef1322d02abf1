package lab

import (
	"fmt"
	"math"
	"time"
)

// timeLayout is RFC 3339 with exactly three decimals.
const timeLayout = "2006-01-02T15:04:05.000Z07:00"

// Time is a moment as the contract writes it: RFC 3339, milliseconds, UTC.
type Time struct{ time.Time }

// At wraps t, in UTC and to the millisecond.
func At(t time.Time) Time { return Time{t.UTC().Truncate(time.Millisecond)} }

// AtPtr is At for optional fields; the zero time gives nil.
func AtPtr(t time.Time) *Time {
	if t.IsZero() {
		return nil
	}
	v := At(t)
	return &v
}

// String writes the contract's form.
func (t Time) String() string { return t.UTC().Format(timeLayout) }

// MarshalText implements encoding.TextMarshaler.
func (t Time) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// MarshalJSON implements json.Marshaler.
func (t Time) MarshalJSON() ([]byte, error) { return []byte(`"` + t.String() + `"`), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (t *Time) UnmarshalText(b []byte) error {
	v, err := ParseTime(string(b))
	if err != nil {
		return err
	}
	t.Time = v
	return nil
}

// UnmarshalJSON implements json.Unmarshaler.
func (t *Time) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		return nil
	}
	if len(b) < 2 || b[0] != '"' || b[len(b)-1] != '"' {
		return fmt.Errorf("time must be a string, RFC 3339 such as 2026-03-01T09:30:00.000Z; got %s", b)
	}
	return t.UnmarshalText(b[1 : len(b)-1])
}

// ParseTime reads RFC 3339 with any number of decimals.
func ParseTime(s string) (time.Time, error) {
	v, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return time.Time{}, fmt.Errorf("time must be RFC 3339, such as 2026-03-01T09:30:00.000Z; got %q", s)
	}
	return v.UTC(), nil
}

// Elapsed is a length of time for people: 3:15, or 1:02:03.
func Elapsed(s float64) string {
	n := int(math.Round(math.Abs(s)))
	sign := ""
	if s < 0 && n > 0 {
		sign = "-"
	}
	if n >= 3600 {
		return fmt.Sprintf("%s%d:%02d:%02d", sign, n/3600, n/60%60, n%60)
	}
	return fmt.Sprintf("%s%d:%02d", sign, n/60, n%60)
}

// Clock tells the time, so that tests and replays can bring their own.
type Clock interface{ Now() time.Time }

// SystemClock reads the machine's clock.
type SystemClock struct{}

// Now implements Clock.
func (SystemClock) Now() time.Time { return time.Now().UTC() }
