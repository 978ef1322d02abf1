package chemistry

import (
	"fmt"
	"time"

	"wetside/internal/lab"
)

// Limit is a limit of a solution with where it is from.
type Limit struct {
	lab.MixLimit
	Standing string // the lab's own, published or quoted elsewhere; "" no limit
}

// published are limits that a source gives. Only where the lab sets none of its
// own for the solution are they used.
//
// The Darkroom Cookbook, 3rd edition, page 108 (reference section 6, S20):
// working fixer not more than two months; rapid fixer 1+4, acid, 20 rolls a
// liter.
var published = []lab.MixLimit{
	{Solution: "bw/fixer", Days: ptr(60), RollsPerL: ptr(20), Source: "The Darkroom Cookbook, 3rd edition, page 108: working fixer not more than two months; rapid fixer 1+4, 20 rolls a liter"},
}

func ptr(v float64) *float64 { return &v }

// Published are the limits that a source gives.
func Published() []lab.MixLimit { return published }

// LimitOf is the limit of a solution: the lab's, else a published one.
func LimitOf(solution string, s lab.ChemistrySettings) Limit {
	for _, l := range s.Limits {
		if l.Solution == solution {
			return Limit{l, "the lab's own"}
		}
	}
	for _, l := range published {
		if l.Solution == solution {
			return Limit{l, "published"}
		}
	}
	return Limit{MixLimit: lab.MixLimit{Solution: solution}}
}

// MixUse is how much film went through a mix.
type MixUse struct {
	Runs    int     `json:"runs" doc:"Runs that used it."`
	Rolls   float64 `json:"roll_equivalents" doc:"Roll-equivalents in them: a 220 is 2, four sheets of 4x5 are 1."`
	Assumed int     `json:"assumed" doc:"Rolls whose format is not known: each counts as one."`
	Unknown int     `json:"unscanned" doc:"Runs with film of which no roll was scanned: they are not in the count, so more went through it."`
	// Maybe counts the runs that may have used it.
	Maybe int `json:"maybe" doc:"Runs that may have used it: the step was not received. They are in the count."`
}

// Add counts a run that used the mix.
func (u *MixUse) Add(r lab.Run, sure bool) {
	if r.Kind != "" && r.Kind != lab.KindOfRunFilm {
		return
	}
	u.Runs++
	if !sure {
		u.Maybe++
	}
	if len(r.Rolls) == 0 {
		u.Unknown++
		return
	}
	eq, assumed := RollEquivalents(r.Rolls)
	u.Rolls += eq
	u.Assumed += assumed
}

// How a mix stands against its limits.
const (
	MixFine      = "fine"
	MixSoon      = "soon"      // within a tenth of a limit
	MixOver      = "over"      // beyond a limit
	MixWithdrawn = "withdrawn" // it must not be used
	MixDone      = "done"      // used up or discarded
)

// MixState is how a mix stands.
type MixState struct {
	Is      string   `json:"is" enum:"fine,soon,over,withdrawn,done" doc:"fine: within its limits, or it has none. soon: within a tenth of one. over: beyond one. withdrawn: not to be used. done: used up or discarded."`
	AgeDays float64  `json:"age_days" doc:"How old it is, days."`
	Why     []string `json:"why" doc:"What there is to say, in words."`
	Limited bool     `json:"limited" doc:"It has a limit of age or of film."`
}

// soonAt is from which part of a limit on it is told.
const soonAt = 0.9

// StateOf says how a mix stands that was mixed at a moment, after more
// roll-equivalents than it has had.
func StateOf(m lab.Mix, mixedAt time.Time, u MixUse, more float64, l Limit, now time.Time) MixState {
	s := MixState{Is: MixFine, AgeDays: Round(now.Sub(mixedAt).Hours()/24, 1), Why: []string{}}
	grade := func(part float64, over, soon string) {
		switch {
		case part > 1+1e-9:
			s.Is = MixOver
			s.Why = append(s.Why, over)
		case part >= soonAt && s.Is != MixOver:
			s.Is = MixSoon
			s.Why = append(s.Why, soon)
		}
	}
	if l.Days != nil {
		s.Limited = true
		age := fmt.Sprintf("It is %s old; limit %s (%s).", days(s.AgeDays), days(*l.Days), l.Standing)
		grade(part(s.AgeDays, *l.Days), age, age)
	}
	if l.RollsPerL != nil {
		s.Limited = true
		most, with := *l.RollsPerL*m.VolumeL, u.Rolls+more
		text := fmt.Sprintf("%s through it; limit %s for %s (%s).", rolls(with), rolls(most), litres(m.VolumeL), l.Standing)
		if more > 0 {
			text = "With this load " + text
		}
		grade(part(with, most), text, text)
	}
	switch {
	case m.Withdrawn != "":
		s.Is, s.Why = MixWithdrawn, append([]string{"It is withdrawn: " + m.Withdrawn}, s.Why...)
	case m.Done:
		s.Is = MixDone
	}
	return s
}

func part(v, of float64) float64 {
	if of <= 0 {
		return 2 // nothing may go through it
	}
	return v / of
}

func days(d float64) string {
	if d == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%g days", d)
}

func rolls(n float64) string {
	if n == 1 {
		return "1 roll-equivalent"
	}
	return fmt.Sprintf("%g roll-equivalents", Round(n, 2))
}

func litres(l float64) string { return fmt.Sprintf("%g L", Round(l, 2)) }

// TankML is what a load needs in the tank: so that it covers the reels, and so
// that each roll-equivalent has enough of the solution. nil: not known.
func TankML(unit string, load []lab.Roll, l Limit, covers []lab.TankCover) (coverML, filmML *float64) {
	if reels := Reels(load); reels > 0 {
		best := lab.TankCover{}
		for _, c := range covers {
			if c.Unit == unit && c.Reels >= reels && (best.Reels == 0 || c.Reels < best.Reels) {
				best = c
			}
		}
		if best.Reels > 0 {
			coverML = &best.ML
		}
	}
	if l.MLPerRoll != nil && len(load) > 0 {
		eq, _ := RollEquivalents(load)
		ml := Round(eq**l.MLPerRoll, 0)
		filmML = &ml
	}
	return coverML, filmML
}

// MixNeed is how much of a solution the rolls that wait will take.
type MixNeed struct {
	Solution string   `json:"solution"`
	Rolls    float64  `json:"roll_equivalents" doc:"Roll-equivalents that wait for its process."`
	Assumed  int      `json:"assumed" doc:"Rolls whose format is not known: each counts as one."`
	NeedML   *float64 `json:"need_ml" doc:"What they take, milliliters; null: the lab has set no mL a roll-equivalent."`
	HaveML   *float64 `json:"have_ml" doc:"What is in the bottles of units, milliliters; null: not known."`
	MixML    *float64 `json:"mix_ml" doc:"What to mix at the least, milliliters; null: not known."`
}

// Waiting says what to mix for the rolls that wait, for each solution with a
// volume a roll-equivalent, in the order of the limits. have gives what the
// bottles hold, where that is known.
func Waiting(waiting []lab.KnownRoll, s lab.ChemistrySettings, have map[string]float64) (needs []MixNeed, unsaid int) {
	byProcess := map[string][]lab.Roll{}
	for _, k := range waiting {
		if k.Stop != "" {
			continue
		}
		if k.Process == "" {
			unsaid++
			continue
		}
		byProcess[k.Process] = append(byProcess[k.Process], lab.Roll{TwinCheck: k.TwinCheck, Format: k.Format})
	}
	needs = []MixNeed{}
	for _, l := range s.Limits {
		process, _, _ := lab.SolutionOf(l.Solution)
		rolls := byProcess[process]
		if len(rolls) == 0 || l.MLPerRoll == nil {
			continue
		}
		n := MixNeed{Solution: l.Solution}
		n.Rolls, n.Assumed = RollEquivalents(rolls)
		n.NeedML = ptr(Round(n.Rolls**l.MLPerRoll, 0))
		if ml, known := have[l.Solution]; known {
			n.HaveML = ptr(Round(ml, 0))
			n.MixML = ptr(max(0, *n.NeedML-*n.HaveML))
		}
		needs = append(needs, n)
	}
	return needs, unsaid
}
