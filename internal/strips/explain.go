package strips

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"wetside/internal/lab"
)

// tellingStops is the least push error that can explain a plot: less than the
// tightest inspect edge of the sheets. Common practice, no source.
const tellingStops = 0.05

// Slope is by how much one stop of push error moves a plot, as a unit's own
// strips have shown.
type Slope struct {
	PerStop float64
	Strips  int
}

// Bounds of a slope: from fewer strips, or from runs that were all alike, none
// is worked out.
const (
	slopeStrips  = 8
	slopeSpanSum = 8 * tellingStops * tellingStops
)

// Slopes works out how push errors move the plots of one unit and process, by
// least squares over the strips whose runs are known. push gives the push
// error of a run. A strip that is out is left aside: what moved it may be
// something else.
func Slopes(reads []Reading, push map[string]float64) map[string]Slope {
	type sums struct {
		n             int
		x, y, xx, xy0 float64
	}
	by := map[string]*sums{}
	for _, r := range reads {
		x, known := push[r.Run]
		if !known || r.Run == "" || r.Status == lab.StripOut {
			continue
		}
		for _, p := range r.Plots {
			if p.Deviation == nil {
				continue
			}
			s := by[p.Plot]
			if s == nil {
				s = &sums{}
				by[p.Plot] = s
			}
			s.n, s.x, s.y, s.xx, s.xy0 = s.n+1, s.x+x, s.y+*p.Deviation, s.xx+x*x, s.xy0+x**p.Deviation
		}
	}
	out := map[string]Slope{}
	for plot, s := range by {
		n := float64(s.n)
		spread := s.xx - s.x*s.x/n
		if s.n < slopeStrips || spread < slopeSpanSum {
			continue
		}
		out[plot] = Slope{PerStop: (s.xy0 - s.x*s.y/n) / spread, Strips: s.n}
	}
	return out
}

// How many strips of the mix before are looked at, at most and at least, to
// tell whether a plot moved with the mix.
const (
	mixBeforeMost  = 10
	mixBeforeLeast = 3
)

// MovedWithMix tells which plots of the last strip that are off have moved by
// over half their action limit against the last strips of the mix before, in
// which they were no more than half of it off.
func MovedWithMix(reads []Reading) map[string]bool {
	last := reads[len(reads)-1]
	i := slices.IndexFunc(reads, func(r Reading) bool { return r.Mix == last.Mix })
	out := map[string]bool{}
	for _, p := range last.Plots {
		if last.Mix == "" || !beyondLimit(p) || p.Action == nil {
			continue
		}
		var before []float64
		for _, r := range reads[max(0, i-mixBeforeMost):i] {
			for _, q := range r.Plots {
				if q.Plot == p.Plot && q.Deviation != nil {
					before = append(before, *q.Deviation)
				}
			}
		}
		if len(before) < mixBeforeLeast {
			continue
		}
		mean := stat.Mean(before, nil)
		out[p.Plot] = math.Abs(mean) <= *p.Action/2 && math.Abs(*p.Deviation-mean) > *p.Action/2
	}
	return out
}

// Explanation says whether the run of a strip accounts for where it stands.
type Explanation struct {
	Text        string   `json:"text" doc:"In words; empty where the run is not known or nothing is off."`
	Explained   []string `json:"explained" doc:"Figures that the push error of its run accounts for."`
	Unexplained []string `json:"unexplained" doc:"Figures that it does not account for: the chemistry."`
}

// Explained tells which of a strip's plots that are off its own run accounts
// for, and which point at the chemistry. Where the unit's strips have shown by
// how much a push error moves a plot, what is left must lie within the action
// limit; else the direction decides.
func Explained(s lab.Strip, m Telemetry) Explanation {
	out := Explanation{Explained: []string{}, Unexplained: []string{}}
	if m.PushStops == nil {
		return out
	}
	amounts := true
	for _, p := range s.Plots {
		if !beyondLimit(p) {
			continue
		}
		slope, known := m.Slopes[p.Plot]
		amounts = amounts && known
		if m.accountsFor(s.Process, p, slope, known) {
			out.Explained = append(out.Explained, p.Label)
		} else {
			out.Unexplained = append(out.Unexplained, p.Label)
		}
	}
	out.Text = out.words(m, amounts)
	return out
}

// beyondLimit tells whether a plot is beyond a limit.
func beyondLimit(p lab.StripPlot) bool {
	return (p.Status == lab.StripAction || p.Status == lab.StripOut) && p.Deviation != nil
}

// accountsFor tells whether the push error of the strip's own run accounts for
// a plot.
func (m Telemetry) accountsFor(process string, p lab.StripPlot, slope Slope, known bool) bool {
	if math.Abs(*m.PushStops) < tellingStops {
		return false
	}
	way := "more"
	if *m.PushStops < 0 {
		way = "less"
	}
	if !slices.ContainsFunc(causeRows(), func(r causeRow) bool { return r.Look == way && r.isOf(process) && r.fits(p) }) {
		return false
	}
	if !known || p.Action == nil {
		return true
	}
	left := *p.Deviation - slope.PerStop**m.PushStops
	return math.Abs(left) <= *p.Action+1e-9
}

func (e Explanation) words(m Telemetry, amounts bool) string {
	if len(e.Explained)+len(e.Unexplained) == 0 {
		return ""
	}
	why := fmt.Sprintf("Its run developed %s than the sheet says (push error %+.2f stop", map[bool]string{true: "more", false: "less"}[*m.PushStops > 0], *m.PushStops)
	if m.WarmerC != nil && math.Abs(*m.WarmerC) >= 0.05 {
		why += fmt.Sprintf(", developer %.1f °C %s than with strips that were in", math.Abs(*m.WarmerC), map[bool]string{true: "warmer", false: "cooler"}[*m.WarmerC > 0])
	}
	why += ")"
	by := ""
	if !amounts {
		by = " By its direction; by how much is not known yet."
	}
	switch {
	case len(e.Unexplained) == 0:
		return fmt.Sprintf("Explained by telemetry. %s. Correct that and run another strip.%s", why, by)
	case len(e.Explained) > 0:
		return fmt.Sprintf("%s: that explains %s.%s It does not explain %s: look at the chemistry.", why, strings.Join(e.Explained, ", "), by, strings.Join(e.Unexplained, ", "))
	case math.Abs(*m.PushStops) < tellingStops:
		return fmt.Sprintf("Not explained by telemetry: time and temperature of its run were right (push error %+.2f stop). Look at the chemistry.", *m.PushStops)
	}
	return fmt.Sprintf("Not explained by telemetry. %s, which does not account for %s: look at the chemistry.", why, strings.Join(e.Unexplained, ", "))
}
