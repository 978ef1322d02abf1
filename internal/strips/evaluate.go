package strips

import (
	"fmt"
	"math"
	"slices"

	"wetside/internal/lab"
)

// provisionalFrom is how many strips must have been read before limits are
// worked out of them. Until there are baselineSize they are provisional.
const provisionalFrom = 5

// Sigmas of a lab's own limits, where it typed none.
const (
	ownActionSigmas  = 2
	ownControlSigmas = 3
)

// Evaluate works out the plots of a strip and its status. before are the
// strips of the same unit and process that were read earlier, oldest first;
// settings are the lab's. It gives the strip with plots and status, and
// notes of what a person should know.
func Evaluate(s lab.Strip, unit string, before []Reading, settings lab.StripSettings) (lab.Strip, []string) {
	j := evaluation{strip: s, unit: unit, before: before, settings: settings}
	j.reference = reference(settings, s.Process, s.Code)
	family, ok := FamilyOf(s.Process)
	if !ok {
		j.note("No plots are known for the process %s: the strip is saved and not judged.", s.Process)
	}
	if j.reference == nil && s.Code != "" && ok {
		j.note("Code %s has no aims yet: enter the densities of its reference strip and its correction factors in the settings.", s.Code)
	}
	j.strip.Plots = nil
	for _, p := range family.Plots {
		if p.Spread == "" {
			j.addColors(p)
		}
	}
	for _, p := range family.Plots {
		if p.Spread != "" {
			j.addSpread(p)
		}
	}
	j.strip.Status = worstStatus(j.strip.Plots)
	return j.strip, j.notes
}

type evaluation struct {
	strip     lab.Strip
	unit      string
	before    []Reading
	settings  lab.StripSettings
	reference *lab.StripReference
	notes     []string
}

func (j *evaluation) note(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); !slices.Contains(j.notes, text) {
		j.notes = append(j.notes, text)
	}
}

func reference(s lab.StripSettings, process, code string) *lab.StripReference {
	for i, r := range s.References {
		if r.Process == process && r.Code == code {
			return &s.References[i]
		}
	}
	return nil
}

// addColors adds a plot in each of its colors.
func (j *evaluation) addColors(p PlotSpec) {
	for _, c := range p.Colors {
		color := string(c)
		v := p.value(j.strip.Densities, color)
		if v == nil {
			continue
		}
		name, label := p.name(color)
		plot := lab.StripPlot{Plot: name, Label: label, Value: round(*v)}
		if aim := j.referenceAim(p, color); aim != nil {
			plot.Aim, plot.AimFrom = aim, lab.AimReference
		}
		j.addPlot(p, plot)
	}
}

// addSpread adds the plot of how far the deviations of a plot's colors lie apart;
// its aim is zero.
func (j *evaluation) addSpread(p PlotSpec) {
	low, high, n := math.Inf(1), math.Inf(-1), 0
	for _, q := range j.strip.Plots {
		if q.Deviation != nil && len(q.Plot) == len(p.Spread)+2 && q.Plot[:len(p.Spread)+1] == p.Spread+"." {
			low, high, n = min(low, *q.Deviation), max(high, *q.Deviation), n+1
		}
	}
	if n < 2 {
		return
	}
	zero := 0.0
	j.addPlot(p, lab.StripPlot{Plot: p.Plot, Label: p.Label, Value: round(high - low), Aim: &zero})
}

// referenceAim is the reference strip's figure with its correction factor.
func (j *evaluation) referenceAim(p PlotSpec, color string) *float64 {
	if j.reference == nil {
		return nil
	}
	v := p.value(j.reference.Densities, color)
	if v == nil {
		return nil
	}
	aim := *v
	a, b := p.steps()
	if c := j.reference.Corrections[a].Of(color); c != nil {
		aim += *c
	}
	if c := j.reference.Corrections[b].Of(color); c != nil {
		aim -= *c
	}
	aim = round(aim)
	return &aim
}

// addPlot adds a value with its aim, limits and status. The lab's own aim counts
// before the reference strip's, its own limits before the published ones.
func (j *evaluation) addPlot(p PlotSpec, plot lab.StripPlot) {
	plot.Side, plot.Limits, plot.Status = string(sideOr(p.Side)), lab.LimitsNone, lab.StripUnjudged
	own := j.ownAim(plot.Plot)
	aim, sigma, n := j.baseline(plot.Plot, plot.Aim != nil)
	switch {
	case own != nil:
		plot.Aim, plot.AimFrom = &own.Aim, lab.AimOwn
	case plot.Aim == nil && n >= provisionalFrom:
		plot.Aim, plot.AimFrom = ptr(round(aim)), lab.AimFirst
	}
	if p.Control != nil {
		plot.Action, plot.Control, plot.Limits = p.Action, p.Control, lab.LimitsPublished
	}
	limit := j.ownLimit(plot.Plot)
	switch {
	case limit != nil:
		plot.Action, plot.Control, plot.Limits = &limit.Action, &limit.Control, lab.LimitsOwn
		plot.Side = string(sideOr(Side(limit.Side)))
	case plot.Limits == lab.LimitsNone && own != nil && own.Sigma > 0:
		plot.Action, plot.Control, plot.Limits = ptr(round(ownActionSigmas*own.Sigma)), ptr(round(ownControlSigmas*own.Sigma)), lab.LimitsOwn
	case plot.Limits == lab.LimitsNone && n >= provisionalFrom && sigma > 0:
		plot.Action, plot.Control, plot.Limits = ptr(round(ownActionSigmas*sigma)), ptr(round(ownControlSigmas*sigma)), lab.LimitsProvisional
		if n >= baselineSize {
			plot.Limits = lab.LimitsOwn
		}
	}
	if plot.Aim == nil || plot.Control == nil {
		j.note("%d of %d strips read: some plots have no aim or no limits yet and are not judged.", n, provisionalFrom)
	} else {
		plot.Status = plotStatus(plot)
		if plot.Limits == lab.LimitsProvisional {
			j.note("Limits from the first %d strips: provisional until there are %d.", n, baselineSize)
		}
	}
	if plot.Aim != nil {
		plot.Deviation = ptr(round(plot.Value - *plot.Aim))
	}
	j.strip.Plots = append(j.strip.Plots, plot)
}

func sideOr(s Side) Side {
	if s == "" {
		return Both
	}
	return s
}

func ptr(v float64) *float64 { return &v }

// round removes what binary arithmetic adds to a density, which is read to 0.01
// or 0.001.
func round(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// plotStatus is the status of a plot that has an aim and a control limit.
func plotStatus(plot lab.StripPlot) string {
	p := Point{Value: plot.Value, Aim: *plot.Aim}
	outside := func(width *float64) bool {
		return width != nil && (plot.Side != string(Low) && p.beyond(+1, *width) || plot.Side != string(High) && p.beyond(-1, *width))
	}
	switch {
	case outside(plot.Control):
		return lab.StripOut
	case outside(plot.Action):
		return lab.StripAction
	}
	return lab.StripIn
}

// worstStatus is the worst status of the plots that are judged; unjudged where
// none is.
func worstStatus(plots []lab.StripPlot) string {
	rank := []string{lab.StripUnjudged, lab.StripIn, lab.StripAction, lab.StripOut}
	at := 0
	for _, p := range plots {
		at = max(at, slices.Index(rank, p.Status))
	}
	return rank[at]
}

func (j *evaluation) ownAim(plot string) *lab.StripAim {
	for i, a := range j.settings.Aims {
		if a.Process == j.strip.Process && a.Unit == j.unit && a.Plot == plot && (a.Mix == "" || a.Mix == j.strip.Mix) {
			return &j.settings.Aims[i]
		}
	}
	return nil
}

func (j *evaluation) ownLimit(plot string) *lab.StripLimit {
	var found *lab.StripLimit
	for i, l := range j.settings.Limits {
		if l.Process == j.strip.Process && l.Plot == plot && (l.Unit == "" || l.Unit == j.unit) && (found == nil || found.Unit == "") {
			found = &j.settings.Limits[i]
		}
	}
	return found
}

// baseline is what the first strips of this unit and process set for a plot:
// by their deviations where they have an aim, since the aims of two boxes
// differ, else by their values.
func (j *evaluation) baseline(plot string, byDeviation bool) (aim, sigma float64, n int) {
	var values []float64
	for _, r := range j.before {
		if len(values) == baselineSize {
			break
		}
		if r.Process != j.strip.Process {
			continue
		}
		i := slices.IndexFunc(r.Plots, func(p lab.StripPlot) bool { return p.Plot == plot })
		switch {
		case i < 0:
		case !byDeviation:
			values = append(values, r.Plots[i].Value)
		case r.Plots[i].Deviation != nil:
			values = append(values, *r.Plots[i].Deviation)
		}
	}
	aim, sigma, _ = baselineOf(values)
	return aim, sigma, len(values)
}
