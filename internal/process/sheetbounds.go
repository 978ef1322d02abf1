package process

import (
	"fmt"
	"maps"
	"slices"

	"wetside/internal/lab"
)

// The bounds of a sheet's figures: wide enough for any process that a lab
// runs, narrow enough that sums over them still fit into a date or a drawing.
// They are needed since YAML can hold .inf and .nan.
var (
	boundStepS   = lab.BoundSeconds
	boundMinutes = lab.Bound{Low: 0, High: 10_080} // of a developer's table: a week
	boundStepC   = lab.Bound{Low: -20, High: 200}
	boundFills   = lab.Bound{Low: 1, High: 20}
	boundFactor  = lab.Bound{Low: 0.01, High: 100} // per 10 °C, and of a push
	boundStops   = lab.Bound{Low: 0, High: 6}      // edges of a push error
	boundRatio   = lab.Bound{Low: 0, High: 100}    // of equivalent time to the sheet's
)

// Caps of a sheet's lists and texts.
const (
	maxSheetSteps = lab.MaxN
	maxPushTimes  = 32
	maxSheetName  = 64
	maxNote       = 500
)

// check says which figure of a whole sheet cannot be.
func (d *sheetDoc) check() error {
	if len(d.ID) > maxSheetName {
		return fmt.Errorf("id has %d characters; at most %d are taken", len(d.ID), maxSheetName)
	}
	if len(d.Steps) > maxSheetSteps {
		return fmt.Errorf("there are %d steps; at most %d are taken", len(d.Steps), maxSheetSteps)
	}
	if err := boundStepC.CheckPtr("dry_max_c", d.DryMaxC); err != nil {
		return err
	}
	if d.Light != nil {
		if err := boundStepS.Check("light_safe.in_s", d.Light.InS); err != nil {
			return err
		}
	}
	for _, s := range d.Steps {
		if err := s.check(); err != nil {
			return fmt.Errorf("step %q: %w", s.ID, err)
		}
	}
	return nil
}

func (d stepDoc) check() error {
	if len(d.ID) > maxSheetName {
		return fmt.Errorf("id has %d characters; at most %d are taken", len(d.ID), maxSheetName)
	}
	if len(d.Note) > maxNote {
		return fmt.Errorf("note has %d characters; at most %d are taken", len(d.Note), maxNote)
	}
	for _, f := range []struct {
		name string
		v    *float64
		in   lab.Bound
	}{
		{"aim_s", d.AimS, boundStepS}, {"least_s", d.LeastS, boundStepS}, {"under_s", d.UnderS, boundStepS},
		{"over_s", d.OverS, boundStepS}, {"aim_c", d.AimC, boundStepC}, {"rpm", d.RPM, lab.BoundRPM},
	} {
		if err := f.in.CheckPtr(f.name, f.v); err != nil {
			return err
		}
	}
	if d.Fills != nil {
		if err := boundFills.Check("fills", float64(*d.Fills)); err != nil {
			return err
		}
	}
	for _, c := range d.LimitsC {
		if err := boundStepC.Check("limits_c", c); err != nil {
			return err
		}
	}
	if d.Factor != nil {
		for name, v := range map[string]float64{"per_10c.best": d.Factor.Best, "per_10c.low": d.Factor.Low, "per_10c.high": d.Factor.High} {
			if err := boundFactor.Check(name, v); err != nil {
				return err
			}
		}
	}
	if err := checkPush("push_s", d.PushS, boundStepS); err != nil {
		return err
	}
	if err := checkPush("push_factor", d.PushX, boundFactor); err != nil {
		return err
	}
	if x := d.Spread; x != nil {
		for name, v := range map[string]float64{"push_spread.low": x.Low, "push_spread.high": x.High} {
			if err := boundFactor.Check(name, v); err != nil {
				return err
			}
		}
	}
	if err := checkByC("time_at_c", d.AtC, boundStepS); err != nil {
		return err
	}
	if err := checkByC("slower_cold", d.Slower, boundFactor); err != nil {
		return err
	}
	return d.Edges.check()
}

// checkByC checks a table by temperature.
func checkByC(name string, table map[float64]float64, in lab.Bound) error {
	if len(table) > maxPushTimes {
		return fmt.Errorf("%s has %d entries; at most %d are taken", name, len(table), maxPushTimes)
	}
	for c, v := range table {
		if err := boundStepC.Check(name+": a temperature", c); err != nil {
			return err
		}
		if err := in.Check(fmt.Sprintf("%s: that of %g °C", name, c), v); err != nil {
			return err
		}
	}
	return nil
}

func checkPush(name string, table map[float64]float64, in lab.Bound) error {
	if len(table) > maxPushTimes {
		return fmt.Errorf("%s has %d entries; at most %d are taken", name, len(table), maxPushTimes)
	}
	for stops, v := range table { // in no order: a sorted list of keys would miss NaN, which no lookup finds
		if err := lab.BoundPush.Check(name+": a push", stops); err != nil {
			return err
		}
		if err := in.Check(fmt.Sprintf("%s: that of %+g", name, stops), v); err != nil {
			return err
		}
	}
	return nil
}

func (e *edgesDoc) check() error {
	if e == nil {
		return nil
	}
	stops := map[string]float64{"inspect_stops": e.InspectStops, "out_stops": e.OutStops}
	for _, name := range slices.Sorted(maps.Keys(stops)) {
		if err := boundStops.Check("edges."+name, stops[name]); err != nil {
			return err
		}
	}
	for _, v := range slices.Concat(e.InspectRatio, e.OutRatio) {
		if err := boundRatio.Check("edges: a ratio", v); err != nil {
			return err
		}
	}
	return nil
}
