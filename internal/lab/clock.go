package lab

import "time"

// Clock tells the time, so that tests and replays can bring their own.
type Clock interface{ Now() time.Time }

// SystemClock reads the machine's clock.
type SystemClock struct{}

// Now implements Clock.
func (SystemClock) Now() time.Time { return time.Now().UTC() }
