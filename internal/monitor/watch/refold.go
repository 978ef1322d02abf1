package watch

import (
	"time"

	"wetside/internal/lab"
)

// refoldTold is how often the log says how far the worker has come with units
// whose states an update left unreadable.
const refoldTold = 10 * time.Second

// refold is how far it has come: with a year of telemetry that takes minutes,
// in which nobody may think that the program hangs.
type refold struct {
	units    int       // folded again
	from, to int64     // arrivals before the first and up to the last that they need; from -1: not known yet
	since    time.Time // when it began
	told     time.Time // when the log last said how far
}

// refolds begins one where there is something to fold again.
func (f *folder) refolds() {
	f.refold = refold{from: -1, since: f.cfg.Clock.Now()}
	f.refold.told = f.refold.since
	for _, p := range f.units {
		if p.again > 0 {
			f.refold.units++
			f.refold.to = max(f.refold.to, p.again)
		}
	}
}

// refolded notes that arrivals were folded, and tells how far that is.
func (f *folder) refolded(arrivals []lab.Arrival) {
	r := &f.refold
	if r.units == 0 {
		return
	}
	if r.from < 0 {
		r.from = arrivals[0].Number() - 1
	}
	percent := 100
	if done, of := f.cursor-r.from, r.to-r.from; done < of {
		percent = int(100 * done / of)
	}
	f.cfg.Refolding(r.units, percent)
	if now := f.cfg.Clock.Now(); now.Sub(r.told) >= refoldTold {
		r.told = now
		f.cfg.Log.Info("folding units again after an update", "units", r.units, "percent", percent, "so_far", now.Sub(r.since).Round(time.Second))
	}
}

// refoldEnds says how long it took.
func (f *folder) refoldEnds() {
	if r := f.refold; r.units > 0 {
		f.cfg.Log.Info("units folded again after an update", "units", r.units, "took", f.cfg.Clock.Now().Sub(r.since).Round(time.Millisecond))
	}
	f.refold = refold{}
}
