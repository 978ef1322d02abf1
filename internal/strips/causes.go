package strips

import (
	"cmp"
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/goccy/go-yaml"

	"wetside/internal/lab"
)

//go:embed causes.yaml
var causesYAML []byte

type causeRow struct {
	Family     string `yaml:"family"`
	Plot       string `yaml:"plot"`
	Way        Side   `yaml:"way"`
	Look       string `yaml:"look"`
	Text       string `yaml:"text"`
	Source     string `yaml:"source"`
	Provenance string `yaml:"standing"`
}

var causeRows = sync.OnceValue(func() []causeRow {
	var rows []causeRow
	if err := yaml.UnmarshalWithOptions(causesYAML, &rows, yaml.Strict()); err != nil {
		panic(fmt.Sprintf("strips: the built-in causes do not load: %v", err))
	}
	return rows
})

// LikelyCause is something that may have moved a strip's plots.
type LikelyCause struct {
	Text       string   `json:"text"`
	Plots      []string `json:"plots" doc:"The figures that it fits."`
	Evidence   string   `json:"evidence" doc:"What telemetry shows for it; empty where it can show nothing."`
	Fits       bool     `json:"fits" doc:"Telemetry speaks for it."`
	Source     string   `json:"source" doc:"Where it is from."`
	Provenance string   `json:"standing" enum:"published,quoted elsewhere,unconfirmed" doc:"How far it can be relied on."`
}

// Telemetry is what the units' messages show of the time since the last strip
// that was in.
type Telemetry struct {
	PushStops   *float64         // push error of the strip's own run; nil: not known
	WarmerC     *float64         // developer of the strip's run against those of strips that were in
	LongerS     *float64         // likewise its time
	Slopes      map[string]Slope // by plot: what a push error does to it
	Rotation    bool             // rotation slow or stopped in a run since
	ShortBleach bool             // a bleach or bleach-fix short, cool or skipped in a run since
	ShortFill   bool             // a developer fill short of its volume in a run since
	NewMix      string           // the mix, where it is another than that of the last strip in
	Mix         string           // of the last strip
	MixDays     *float64         // since the first strip of this mix; nil: its mix is not known
	Moved       map[string]bool  // plots that moved with this mix: they stood where they should with the one before
}

// oldMixDays is the age, in days, from which a mix may itself be the cause. Common
// practice, no source: working solutions are kept for some weeks at most.
const oldMixDays = 28

// Causes ranks what may have moved the plots that are beyond a limit: what
// telemetry speaks for stands first, then what fits more plots.
func Causes(s lab.Strip, m Telemetry) []LikelyCause {
	var out []LikelyCause
	for _, row := range causeRows() {
		if !row.isOf(s.Process) {
			continue
		}
		for _, p := range s.Plots {
			if !row.fits(p) {
				continue
			}
			i := slices.IndexFunc(out, func(c LikelyCause) bool { return c.Text == row.Text })
			if i < 0 {
				evidence, fits := m.evidenceFor(row.Look, p)
				out = append(out, LikelyCause{Text: row.Text, Evidence: evidence, Fits: fits, Source: row.Source, Provenance: row.Provenance})
				i = len(out) - 1
			}
			out[i].Plots = append(out[i].Plots, p.Label)
		}
	}
	slices.SortStableFunc(out, func(a, b LikelyCause) int {
		if a.Fits != b.Fits {
			return map[bool]int{true: -1, false: 1}[a.Fits]
		}
		return cmp.Compare(len(b.Plots), len(a.Plots))
	})
	return out
}

// isOf tells whether a row is about a process.
func (r causeRow) isOf(process string) bool {
	return process == r.Family || strings.HasPrefix(process, r.Family+"-")
}

// fits tells whether a plot is off in the way that a row is about.
func (r causeRow) fits(p lab.StripPlot) bool {
	if !beyondLimit(p) {
		return false
	}
	return (p.Plot == r.Plot || strings.HasPrefix(p.Plot, r.Plot+".")) && (*p.Deviation > 0) == (r.Way == High)
}

func (m Telemetry) evidenceFor(look string, p lab.StripPlot) (evidence string, fits bool) {
	switch look {
	case "more":
		return m.ofDevelopment(+1)
	case "less":
		return m.ofDevelopment(-1)
	case "rotation":
		if m.Rotation {
			return "Rotation was slow or stopped in a run since the last strip that was in.", true
		}
		return "Rotation was as usual in all runs since.", false
	case "short-bleach":
		if m.ShortBleach {
			return "A bleach was short, cool or skipped in a run since the last strip that was in.", true
		}
		return "Bleach times and temperatures were as the sheet says.", false
	case "volume":
		if m.ShortFill {
			return "A developer fill was short in a run since the last strip that was in.", true
		}
		return "Fills were as usual in all runs since.", false
	case "mix":
		return m.ofMix(p)
	}
	return "", false
}

// ofMix is the evidence on the mix of chemistry itself.
func (m Telemetry) ofMix(p lab.StripPlot) (evidence string, fits bool) {
	switch {
	case m.Moved[p.Plot] && m.MixDays != nil:
		return fmt.Sprintf("It moved since mix %s came into use %.0f days ago; with the mix before it stood where it should.", m.Mix, *m.MixDays), true
	case m.NewMix != "":
		return fmt.Sprintf("Mix %s came into use since the last strip that was in.", m.NewMix), true
	case m.MixDays != nil && *m.MixDays >= oldMixDays:
		return fmt.Sprintf("The mix has been in use for %.0f days.", *m.MixDays), true
	case m.MixDays != nil:
		return fmt.Sprintf("The same mix as before, in use for %.0f days.", *m.MixDays), false
	}
	return "", false
}

// ofDevelopment is the evidence on too much (sign +1) or too little (-1)
// development in the strip's own run.
func (m Telemetry) ofDevelopment(sign float64) (string, bool) {
	if m.PushStops == nil {
		return "The strip's run is not known: say which run it went through.", false
	}
	text := fmt.Sprintf("The strip's own run: push error %+.2f stop", *m.PushStops)
	if m.WarmerC != nil && math.Abs(*m.WarmerC) >= 0.05 {
		text += fmt.Sprintf(", developer %+.1f °C against strips that were in", *m.WarmerC)
	}
	if m.LongerS != nil && math.Abs(*m.LongerS) >= 1 {
		text += fmt.Sprintf(", %+.0f s against strips that were in", *m.LongerS)
	}
	return text + ".", sign**m.PushStops >= tellingStops
}
