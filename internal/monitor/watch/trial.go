package watch

import (
	"context"
	"maps"
	"slices"
	"time"
)

// readTrials notes since when the labs at hand have had the rules that are on
// trial at first. The store keeps it: a restart begins no trial anew.
func (f *folder) readTrials(ctx context.Context) error {
	labs, names := f.labs(), slices.Sorted(maps.Keys(f.cfg.Trials))
	if len(names) == 0 || f.inUse != nil && !f.inUse.Lacks(labs, names) {
		return nil
	}
	u, err := f.cfg.Store.RulesInUse(ctx, labs, names)
	if err != nil {
		return err
	}
	f.inUse = u
	return nil
}

// labs are those of the units that were heard of.
func (f *folder) labs() []string {
	var out []string
	for _, u := range f.engine.Units() {
		if !slices.Contains(out, u.Lab) {
			out = append(out, u.Lab)
		}
	}
	slices.Sort(out)
	return out
}

// onTrial gives the rules that page nobody yet, by lab. A lab that was not
// heard of before has had none of them.
func (f *folder) onTrial(now time.Time) map[string]map[string]bool {
	out := map[string]map[string]bool{"": {}}
	for name := range f.cfg.Trials {
		out[""][name] = true
	}
	for _, l := range slices.Sorted(maps.Keys(f.inUse)) {
		out[l] = map[string]bool{}
		for name, long := range f.cfg.Trials {
			since, ok := f.inUse[l][name]
			out[l][name] = !ok || now.Sub(since.Time) < long
		}
	}
	return out
}
