package load

import (
	"slices"
	"strings"

	"wetside/internal/chemistry"
	"wetside/internal/lab"
)

// Chemistry is what is known of the mixes at a unit's positions; zero: the lab
// uses none there, and nothing is said of them.
type Chemistry struct {
	At       []Bottle // what stands at the unit's positions
	Settings lab.ChemistrySettings
}

// Bottle is a mix at a position.
type Bottle struct {
	Position string
	Label    string // the mix
	State    chemistry.MixState
	Use      chemistry.MixUse
}

// chemistryCode is the code of every reason that mixes give.
const chemistryCode = "chemistry"

// chemistry says what the mixes of the load's process speak against it, and
// whether a fill covers the reels and has enough for the film. Silent where
// the unit has no bottle that was scanned, and no limit was set.
func (j *judgement) chemistry() {
	if j.Sheet == nil {
		return
	}
	var unknown []string
	known := 0
	for _, st := range j.Sheet.Steps {
		if st.Wash {
			continue
		}
		position := j.Load.Process + "/" + st.ID
		i := slices.IndexFunc(j.Chemistry.At, func(b Bottle) bool { return b.Position == position })
		if i < 0 {
			unknown = append(unknown, st.Label)
		} else {
			known++
			j.mix(title(st.Label), j.Chemistry.At[i])
		}
		j.fillOf(title(st.Label), position)
	}
	if known > 0 && len(unknown) > 0 {
		j.tell(chemistryCode, "", "Which mix is in is not known of: %s. Scan the bottle, then %s.", strings.Join(unknown, ", "), j.Unit.Name)
	}
}

// mix says how one mix stands.
func (j *judgement) mix(step string, b Bottle) {
	why := strings.Join(b.State.Why, " ")
	switch b.State.Is {
	case chemistry.MixWithdrawn:
		j.stop(chemistryCode, "", "%s: mix %s is not to be used. %s. Take the bottle off and put another one up.", step, b.Label, strings.TrimSuffix(why, "."))
	case chemistry.MixOver:
		j.stop(chemistryCode, "", "%s: mix %s is beyond the limit. %s Put a new mix up.", step, b.Label, why)
	case chemistry.MixDone:
		j.stop(chemistryCode, "", "%s: mix %s is marked used up or discarded. Scan the bottle that is there now.", step, b.Label)
	case chemistry.MixSoon:
		j.tell(chemistryCode, "", "%s: mix %s is near its limit. %s", step, b.Label, why)
	}
	if b.State.Limited && b.Use.Unknown > 0 {
		j.tell(chemistryCode, "", "%s: %d of the runs through mix %s had no roll scanned; more film went through it than is counted.", step, b.Use.Unknown, b.Label)
	}
}

// fillOf compares what a run draws of a solution with what covers the reels and
// what the film needs, as far as all that is known.
func (j *judgement) fillOf(step, position string) {
	cover, film := chemistry.TankML(j.Unit.ID, j.Load.Rolls, chemistry.LimitOf(position, j.Chemistry.Settings), j.Chemistry.Settings.Covers)
	v := j.volumes()
	if v == nil {
		return // said already
	}
	drawn, known := v.DrawsL[position]
	if !known {
		return
	}
	ml := chemistry.Round(drawn*1000, 0)
	if cover != nil && ml < *cover {
		j.stop(chemistryCode, "", "%s: a run draws %g mL; %d reels need %g mL to be covered. Take reels out, or set the fill higher.", step, ml, chemistry.Reels(j.Load.Rolls), *cover)
	}
	if film != nil && ml < *film {
		eq, _ := chemistry.RollEquivalents(j.Load.Rolls)
		j.stop(chemistryCode, "", "%s: a run draws %g mL; %g roll-equivalents need %g mL. Take film out, or set the fill higher.", step, ml, chemistry.Round(eq, 2), *film)
	}
}
