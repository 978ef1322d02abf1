package judge

import (
	"context"
	"fmt"
	"io"
	"runtime"
	"strings"
	"sync"
	"text/tabwriter"
)

// row is one line of the table of odd faults: a fault in several shapes, or a
// day on which nothing may be raised.
type row struct {
	name string
	make func(seed uint64) *trial
}

// oddCases is how many shapes of each row are tried.
const oddCases = 6

// oddRow is how a row came out.
type oddRow struct {
	row
	cases []trialOutcome
}

// Odd is the table of odd faults: probes that read wrong, units set or named
// wrong, film that no run goes on with.
type Odd struct {
	told, silent []oddRow
}

// JudgeOdd tries every row whose name contains only.
func JudgeOdd(ctx context.Context, seeds Seeds, only string) (*Odd, error) {
	out := &Odd{}
	cases, first := min(oddCases, seeds.Count), seeds.First+500_000 // apart from those of the runs
	for _, r := range toldRows() {
		if strings.Contains(r.name, only) {
			out.told = append(out.told, oddRow{row: r, cases: make([]trialOutcome, cases)})
		}
	}
	for _, r := range silentRows() {
		if strings.Contains(r.name, only) {
			out.silent = append(out.silent, oddRow{row: r, cases: make([]trialOutcome, cases)})
		}
	}
	var work []func()
	for _, list := range [][]oddRow{out.told, out.silent} {
		for i := range list {
			for k := range cases {
				work = append(work, func() { list[i].cases[k] = list[i].make(first + uint64(k)).judge(ctx) })
			}
		}
	}
	inParallel(work)
	for _, list := range [][]oddRow{out.told, out.silent} {
		for _, r := range list {
			for _, c := range r.cases {
				if c.err != nil {
					return nil, fmt.Errorf("%s: %w", r.name, c.err)
				}
			}
		}
	}
	return out, nil
}

// inParallel does all of the work with as many workers as processors.
func inParallel(work []func()) {
	next := make(chan func())
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for do := range next {
				do()
			}
		})
	}
	for _, do := range work {
		next <- do
	}
	close(next)
	wg.Wait()
}

func (r *oddRow) counts() (found, missed, wrong int) {
	for _, c := range r.cases {
		if len(c.missed) > 0 {
			missed++
		} else {
			found++
		}
		if len(c.wrong) > 0 {
			wrong++
		}
	}
	return found, missed, wrong
}

// Failed tells whether anything was missed or wrongly told.
func (o *Odd) Failed() bool {
	for _, list := range [][]oddRow{o.told, o.silent} {
		for _, r := range list {
			if _, missed, wrong := r.counts(); missed+wrong > 0 {
				return true
			}
		}
	}
	return false
}

// Print prints the table.
func (o *Odd) Print(w io.Writer) {
	t := tabwriter.NewWriter(w, 0, 8, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "fault\tcases\tfound\tmissed\twrongly told\t")
	for _, r := range o.told {
		found, missed, wrong := r.counts()
		fmt.Fprintf(t, "%s\t%d\t%d\t%d\t%d\t\n", r.name, len(r.cases), found, missed, wrong)
	}
	fmt.Fprintln(t, "\t\t\t\t\t\nmust stay silent\tcases\tsilent\t\twrongly told\t")
	for _, r := range o.silent {
		_, _, wrong := r.counts()
		fmt.Fprintf(t, "%s\t%d\t%d\t\t%d\t\n", r.name, len(r.cases), len(r.cases)-wrong, wrong)
	}
	t.Flush()
}

// Misses lists what was missed and wrongly told.
func (o *Odd) Misses(w io.Writer, most int) {
	for _, list := range [][]oddRow{o.told, o.silent} {
		for _, r := range list {
			n := 0
			for _, c := range r.cases {
				for _, x := range append(prefixed("missed: ", c.missed), prefixed("wrongly told: ", c.wrong)...) {
					if n++; n <= most {
						fmt.Fprintf(w, "%s (seed %d, %s): %s\n", r.name, c.seed, c.how, x)
					}
				}
			}
		}
	}
}

func prefixed(with string, list []string) (out []string) {
	for _, x := range list {
		out = append(out, with+x)
	}
	return out
}

// Say prints what wetside says of the first shape of each fault.
func (o *Odd) Say(w io.Writer) {
	for _, r := range o.told {
		c := r.cases[0]
		fmt.Fprintf(w, "%s (%s)\n", r.name, c.how)
		for _, x := range c.said {
			fmt.Fprintf(w, "    %s\n", x)
		}
	}
}
