package rules

import (
	"math"
	"slices"
	"time"

	"wetside/internal/process"
)

// A probe's own readings tell its resolution and its noise. The noise is the
// standard deviation of successive differences, divided by the root of two. It
// is worked out from the median of their size (times 1.4826, which is right for
// normally distributed noise), so that a single jump does not count as noise.
const (
	diffsEnough = 8   // so many differences, and the smallest of them is the resolution
	noiseLeast  = 5   // so many differences, and the noise is known
	gridMostC   = 0.5 // the coarsest resolution that is believed, °C
	meanMax     = 64  // readings of which a mean is made at most
	meanLeastS  = 10
	meanMostS   = 60
	longShare   = 0.02 // weight of a new value in the long-term noise
)

var grids = []float64{0.5, 0.25, 0.1, 0.05, 0.01}

// learn takes a reading and its difference from the one before.
func (q *probeState) learn(v, diff float64) {
	if q.GridC == 0 {
		q.GridC = gridMostC
	}
	if q.GridC > grids[len(grids)-1] && !onGrid(v, q.GridC) {
		i := slices.IndexFunc(grids, func(g float64) bool { return g < q.GridC && onGrid(v, g) })
		if q.GridC = grids[len(grids)-1]; i >= 0 {
			q.GridC = grids[i]
		}
	}
	if d := math.Abs(diff); d > 1e-6 {
		if q.Diffs == 0 || d < q.StepC {
			q.StepC = d
		}
		if q.Diffs < diffsEnough {
			q.Diffs++
		}
	}
	q.Noise.add(diff)
	if q.Sigma = q.Noise.sigma(); len(q.Noise) == lastValuesKept {
		q.LongSigma += (q.Sigma - q.LongSigma) * longShare
	}
}

func onGrid(v, g float64) bool { return math.Abs(v/g-math.Round(v/g)) < 1e-6 }

// halfStepC is half the probe's resolution, °C: the smallest difference that the
// readings have shown or, while few differences are known, the coarsest
// rounding that fits the values themselves.
func (q *probeState) halfStepC() float64 {
	switch {
	case q.Diffs >= diffsEnough:
		return min(q.StepC, gridMostC) / 2
	case q.Diffs == 0:
		return q.GridC / 2
	}
	return min(q.StepC, q.GridC) / 2
}

// smoothed is the temperature that a bath is judged by: the reading itself, or
// with a noisy probe the mean of 10 to 60 s of readings, with its standard
// error. Noisy means that the noise is a third of half the band or more; the
// mean takes as many readings as bring it below that. False while too few are
// known.
func (u *Unit) smoothed(sp *process.Step, v float64, t time.Time) (mean, errC float64, ok bool) {
	q, half := &u.s.Probe, (sp.HighC-sp.LowC)/2
	sigma := max(q.Sigma, q.LongSigma)
	if sigma < half/3 {
		q.Mean = nil
		return v, 0, true
	}
	q.Mean = append(q.Mean, reading{v, t})
	if more := len(q.Mean) - meanMax; more > 0 {
		q.Mean = slices.Delete(q.Mean, 0, more)
	}
	want := int(math.Ceil(math.Pow(3*sigma/half, 2)))
	sum, n := 0.0, 0
	for i := len(q.Mean) - 1; i >= 0; i-- {
		old := t.Sub(q.Mean[i].T).Seconds()
		if old > meanMostS {
			ok = true
			break
		}
		sum += q.Mean[i].V
		n++
		if n >= want && old >= meanLeastS {
			ok = true
			break
		}
	}
	if t.Sub(q.Mean[0].T).Seconds() >= meanMostS {
		ok = true
	}
	return sum / float64(n), sigma / math.Sqrt(float64(n)), ok
}
