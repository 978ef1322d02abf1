package process

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

// build checks a sheet and turns it into the form that is used.
func (d *sheetDoc) build(docs map[string]*sheetDoc) (*Sheet, error) {
	if d.BasedOn != "" {
		base, ok := docs[d.BasedOn]
		if !ok {
			return nil, fmt.Errorf("based_on %q: there is no such sheet", d.BasedOn)
		}
		if base.BasedOn != "" {
			return nil, fmt.Errorf("based_on %q: that sheet is itself based on another; name the first one", d.BasedOn)
		}
		whole := base.overlay(d)
		whole.BasedOn = ""
		return whole.build(docs)
	}
	if err := d.check(); err != nil {
		return nil, err
	}
	s := &Sheet{ID: d.ID, Name: firstNonEmpty(d.Name, d.ID), What: d.What, Sources: d.Sources}
	if d.DryMaxC != nil {
		s.DryMaxC = *d.DryMaxC
	}
	if len(d.Steps) == 0 {
		return nil, fmt.Errorf("steps are missing; a sheet needs at least one")
	}
	for _, sd := range d.Steps {
		st, err := sd.build()
		if err != nil {
			return nil, fmt.Errorf("step %q: %w", sd.ID, err)
		}
		if s.Index(st.ID) >= 0 {
			return nil, fmt.Errorf("step %q stands twice", st.ID)
		}
		s.Steps = append(s.Steps, st)
	}
	if d.Light != nil {
		s.Light = LightSafe{d.Light.Step, d.Light.InS, d.Light.AtEnd}
		if s.Index(s.Light.Step) < 0 {
			return nil, fmt.Errorf("light_safe names step %q, which the sheet does not have", s.Light.Step)
		}
	}
	return s, nil
}

func (d stepDoc) build() (Step, error) {
	s := Step{ID: d.ID, Label: firstNonEmpty(d.Label, d.ID), Kind: d.Kind, Note: d.Note, Sources: d.Sources}
	s.Short = firstNonEmpty(d.Short, s.Label)
	if d.ID == "" {
		return s, fmt.Errorf("id is missing")
	}
	for _, f := range []struct {
		to   *bool
		from *bool
	}{{&s.Wash, d.Wash}, {&s.Fixes, d.Fixes}, {&s.Optional, d.Optional}, {&s.FromUnit, d.FromUnit}, {&s.RangeC, d.RangeC}} {
		if f.from != nil {
			*f.to = *f.from
		}
	}
	for _, f := range []struct {
		to   *float64
		from *float64
	}{{&s.AimS, d.AimS}, {&s.LeastS, d.LeastS}, {&s.UnderS, d.UnderS}, {&s.OverS, d.OverS}, {&s.AimC, d.AimC}, {&s.RPM, d.RPM}} {
		if f.from != nil {
			*f.to = *f.from
		}
	}
	s.Fills = 1
	if d.Fills != nil {
		if s.Fills = *d.Fills; s.Fills < 1 {
			return s, fmt.Errorf("fills must be 1 or more; got %d", s.Fills)
		}
	}
	if len(d.LimitsC) != 2 || d.LimitsC[0] >= d.LimitsC[1] {
		return s, fmt.Errorf("limits_c must be [low, high] in °C; got %v", d.LimitsC)
	}
	s.LowC, s.HighC = d.LimitsC[0], d.LimitsC[1]
	if s.AimC < s.LowC || s.AimC > s.HighC {
		return s, fmt.Errorf("aim_c %g lies outside limits_c %v", s.AimC, d.LimitsC)
	}
	if !s.FromUnit && s.AimS <= 0 {
		return s, fmt.Errorf("aim_s is missing; give seconds, or time_from_unit: true")
	}
	if s.RPM < 0 {
		return s, fmt.Errorf("rpm must be 0 or more; got %g", s.RPM)
	}
	if err := d.buildCold(&s); err != nil {
		return s, err
	}
	return s, d.buildKind(&s)
}

// buildCold takes the figures for other temperatures than the aim's.
func (d stepDoc) buildCold(s *Step) error {
	for _, c := range slices.Sorted(maps.Keys(d.AtC)) {
		if d.AtC[c] <= 0 || s.FromUnit {
			return fmt.Errorf("time_at_c at %g must be seconds above 0; got %g, in a step that has a time of its own", c, d.AtC[c])
		}
		s.AtC = append(s.AtC, TimeAt{c, d.AtC[c]})
	}
	if d.Slower == nil {
		return nil
	}
	s.Slower = &ColdSlowing{Analogy: d.Analogy != nil && *d.Analogy}
	last := math.Inf(1)
	for _, c := range slices.Sorted(maps.Keys(d.Slower)) {
		if v := d.Slower[c]; v < 1 || v > last {
			return fmt.Errorf("slower_cold at %g must be a factor of 1 or more that falls as it gets warmer; got %g", c, v)
		}
		last = d.Slower[c]
		s.Slower.Points = append(s.Slower.Points, TimeAt{c, last})
	}
	if last != 1 || len(s.Slower.Points) < 2 {
		return fmt.Errorf("slower_cold must have at least two temperatures, the warmest with factor 1")
	}
	return nil
}

func (d stepDoc) buildKind(s *Step) error {
	switch s.Kind {
	case Dev:
		return d.buildDev(s)
	case Exact:
		return nil
	case Min:
		if s.LeastS <= 0 || s.LeastS > s.AimS {
			return fmt.Errorf("least_s of a min step must be more than 0 and at most aim_s (%[2]g); got %[1]g", s.LeastS, s.AimS)
		}
		return nil
	}
	return fmt.Errorf("kind must be dev, exact or min; got %q", s.Kind)
}

func (d stepDoc) buildDev(s *Step) error {
	if d.Factor == nil || d.Factor.Low <= 0 || d.Factor.Low > d.Factor.Best || d.Factor.Best > d.Factor.High {
		return fmt.Errorf("per_10c must be low <= best <= high, such as {best: 2.5, low: 2, high: 3}")
	}
	s.Factor = Factor{d.Factor.Best, d.Factor.Low, d.Factor.High}
	if d.Edges == nil {
		return fmt.Errorf("edges are missing; give inspect_stops and out_stops, or inspect_ratio and out_ratio")
	}
	s.Edges = Edges{InspectStops: d.Edges.InspectStops, OutStops: d.Edges.OutStops}
	if d.Edges.InspectRatio != nil {
		if len(d.Edges.InspectRatio) != 2 || len(d.Edges.OutRatio) != 2 {
			return fmt.Errorf("inspect_ratio and out_ratio must be [under, over] each")
		}
		s.Edges.Ratio = true
		s.Edges.InspectUnder, s.Edges.InspectOver = d.Edges.InspectRatio[0], d.Edges.InspectRatio[1]
		s.Edges.OutUnder, s.Edges.OutOver = d.Edges.OutRatio[0], d.Edges.OutRatio[1]
	} else if s.Edges.InspectStops <= 0 || s.Edges.OutStops < s.Edges.InspectStops {
		return fmt.Errorf("edges must be 0 < inspect_stops <= out_stops")
	}
	table, factors := d.PushS, false
	if d.PushX != nil {
		table, factors = d.PushX, true
	}
	if table == nil {
		return nil
	}
	s.Push = &Push{Factors: factors}
	if x := d.Spread; x != nil {
		if x.Low <= 0 || x.Low > 1 || x.High < 1 {
			return fmt.Errorf("push_spread must be 0 < low <= 1 <= high: how many stops a stop of the table may be")
		}
		s.Push.Spread = Factor{1, x.Low, x.High}
	}
	last := 0.0
	for _, k := range slices.Sorted(maps.Keys(table)) {
		if table[k] <= last {
			return fmt.Errorf("push %+g: %g does not exceed the value before it; a longer push takes longer", k, table[k])
		}
		last = table[k]
		s.Push.Stops, s.Push.Values = append(s.Push.Stops, k), append(s.Push.Values, table[k])
	}
	if len(s.Push.Stops) < 2 {
		return fmt.Errorf("a push table must have at least two entries")
	}
	return nil
}
