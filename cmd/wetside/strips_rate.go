package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"text/tabwriter"

	"wetside/internal/strips"
)

type stripsRateCmd struct {
	Process string  `default:"c41" help:"The process whose figures are plotted. Default: ${default}"`
	Plots   int     `help:"So many plots in place of those of the process; 1 to 64."`
	Strips  int     `default:"100000" help:"So many strips are simulated; 1,000 to 10,000,000. Default: ${default}"`
	Seed    uint64  `default:"1" help:"Of the simulation. Default: ${default}"`
	Lambda  float64 `default:"0.2" help:"Weight of the newest value in the moving average (EWMA). Default: ${default}"`
	Width   float64 `default:"3" help:"Half width of the moving average's limits, in its own sigmas. Default: ${default}"`
	K       float64 `default:"0.5" help:"Slack of the cumulative sums (CUSUM), in sigmas. Default: ${default}"`
	H       float64 `default:"5" help:"Decision interval of the cumulative sums, in sigmas. Default: ${default}"`
}

// Help implements kong.HelpProvider.
func (*stripsRateCmd) Help() string {
	return `Simulates strips of a process that is in control, every plot for itself and normally distributed, and counts how often each signal calls all the same, on one plot and on all of them. Limits stand at the lab's own two and three sigma; where published limits are wider than three of your sigmas they call more seldom than this says. A signal that goes on from one strip to the next is one call. The plots of one strip are related in truth, so that they call together a little more seldom.`
}

// Run implements the command.
func (c *stripsRateCmd) Run(_ context.Context, s streams) error {
	settings := strips.Settings{Lambda: c.Lambda, Width: c.Width, K: c.K, H: c.H}
	if err := settings.Check(); err != nil {
		return usageError{fmt.Errorf("--%w", err)}
	}
	if c.Strips < 1000 || c.Strips > 10_000_000 {
		return usageError{fmt.Errorf("--strips must be 1,000 to 10,000,000; got %d", c.Strips)}
	}
	plots := c.Plots
	if plots == 0 {
		family, ok := strips.FamilyOf(c.Process)
		if !ok {
			return usageError{fmt.Errorf("--process %s: no plots are known for it; give one such as c41, e6-7 or bw, or --plots", c.Process)}
		}
		plots = family.Charted()
	}
	if plots < 1 || plots > 64 {
		return usageError{fmt.Errorf("--plots must be 1 to 64; got %d", plots)}
	}
	random := rand.New(rand.NewPCG(c.Seed, 0))
	one := strips.FalseRateOf(1, c.Strips, settings, random.NormFloat64)
	all := strips.FalseRateOf(plots, c.Strips, settings, random.NormFloat64)
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "strips between two false calls\tone plot\t%d plots\t\n", plots)
	for _, signal := range strips.AllSignals {
		fmt.Fprintf(w, "%s\t%s\t%s\t\n", signal, between(one.Signals[signal]), between(all.Signals[signal]))
	}
	fmt.Fprintf(w, "any signal but action-limit\t%s\t%s\t\n", between(one.Rules), between(all.Rules))
	fmt.Fprintf(w, "gate stops (two control-limit in a row)\t%s\t%s\t\n", between(one.Stops), between(all.Stops))
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write to stdout: %w", err)
	}
	return nil
}

// between words how many strips there are between two calls.
func between(strips float64) string {
	switch {
	case strips == 0:
		return "none"
	case strips < 100:
		return fmt.Sprintf("%.1f", strips)
	}
	return fmt.Sprintf("%.0f", strips)
}
