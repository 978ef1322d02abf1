package process

import (
	"fmt"
	"strings"
)

// sameLimitC is the difference, °C, up to which two limits count as the same:
// less than any thermometer of a lab can tell.
const sameLimitC = 0.005

// Widened are limits of temperature that a lab set wider than what is
// published.
type Widened struct {
	Step, Label                   string
	LowC, HighC                   float64 // the lab's
	PublishedLowC, PublishedHighC float64 // the published ones
	Why                           string  // what the lab says of it; "": nothing
}

// WidenedLimits lists the steps of a sheet whose limits are wider than those
// of the built-in sheet of its id, where these have a publication behind them.
func WidenedLimits(s *Sheet) []Widened {
	built, ok := Builtin().Sheet(s.ID)
	if !ok {
		return nil
	}
	var out []Widened
	for i := range s.Steps {
		st := &s.Steps[i]
		p, ok := built.Step(st.ID)
		if !ok {
			continue
		}
		if v := ProvenanceOf(p.Sources, "limits_c"); v != Published && v != Quoted {
			continue
		}
		if st.LowC >= p.LowC-sameLimitC && st.HighC <= p.HighC+sameLimitC {
			continue
		}
		out = append(out, Widened{Step: st.ID, Label: st.Label, LowC: st.LowC, HighC: st.HighC, PublishedLowC: p.LowC, PublishedHighC: p.HighC, Why: reasonForLimits(st.Sources)})
	}
	return out
}

// reasonForLimits gives what a lab says of its limits, "" where it named no reason.
func reasonForLimits(list []Source) string {
	var why []string
	for _, s := range SourcesOf(list, "limits_c") {
		if from := strings.TrimSpace(s.From); from != "" && from != ownWords {
			why = append(why, from)
		}
	}
	return strings.Join(why, "; ")
}

// Missing says what is wrong with limits that were widened without a reason.
func (w Widened) Missing() string {
	return fmt.Sprintf(`limits of %s must be within the published %g to %g °C, or say why under sources, such as {figure: limits_c, from: "our control strips stay in control up to here"}; got %g to %g °C and no reason`,
		w.Label, w.PublishedLowC, w.PublishedHighC, w.LowC, w.HighC)
}

// Words says in a report whose limits these are, beside the published ones.
func (w Widened) Words() string {
	text := fmt.Sprintf("the lab's own limit; published: %g to %g °C", w.PublishedLowC, w.PublishedHighC)
	if w.Why != "" {
		text += "; why: " + w.Why
	}
	return text
}
