package sim

import "time"

// clock is a unit's own clock: a little off, and back at 1970 when it was
// lost.
type clock struct {
	offset   time.Duration
	bootedAt time.Time
}

// read is what the clock shows at the true time now.
func (c *clock) read(now time.Time, lost bool) time.Time {
	if lost {
		return time.Unix(0, 0).UTC().Add(now.Sub(c.bootedAt))
	}
	return now.Add(c.offset)
}

// up is the seconds since the controller started.
func (c *clock) up(now time.Time) float64 { return now.Sub(c.bootedAt).Seconds() }
