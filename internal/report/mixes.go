package report

import (
	"fmt"
	"strings"

	"wetside/internal/chemistry"
	"wetside/internal/lab"
)

// reasonChemistry is the verdict's reason that speaks of a bath itself.
const reasonChemistry = "chemistry"

// withMixes adds which mix each step used, from what people said of bottles,
// and lets what to look for speak of it where the chemistry is the reason.
func withMixes(r *lab.Report, entries []lab.Entry) {
	r.Mixes = chemistry.PositionsOf(entries).Mixes(r.Run)
	for i := range r.Look {
		x := &r.Look[i]
		if x.Code != reasonChemistry {
			continue
		}
		for _, m := range r.Mixes {
			if m.Step == x.Step {
				x.Look = strings.TrimSuffix(x.Look, ".") + ". " + mixUsed(m) + "."
			}
		}
	}
}

// mixUsed says which mix a step used, and how sure that is.
func mixUsed(m lab.StepMix) string {
	switch {
	case m.Mix == "":
		return "It is not known which mix was used"
	case !m.Sure:
		return "It may have used " + m.Text
	}
	return "It used " + m.Text
}

// mixLines are which mix each step used, one a line.
func mixLines(r lab.Report) (out []string) {
	for _, m := range r.Mixes {
		text := m.Text
		if m.Mix != "" && !m.Sure {
			text += " (not sure: the step was not received, or the bottle was changed while it went on)"
		}
		out = append(out, fmt.Sprintf("%s: %s", stepWords(m.Step), text))
	}
	return out
}
