package bench

import (
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"text/tabwriter"
	"time"
)

// row is one line of the table.
type row struct {
	what, ours, ceiling, ratio, target, command string
}

type rows struct {
	mu   sync.Mutex
	rows []row
}

var table rows

func (r *rows) add(x row) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.rows = append(r.rows, x)
}

// text is the table, "" where nothing was measured.
func (r *rows) text() string {
	r.mu.Lock()
	defer r.mu.Unlock()
	if len(r.rows) == 0 {
		return ""
	}
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "%d processors; a load of %s beside it\n", runtime.NumCPU(), load())
	fmt.Fprintln(w, "what\tours\tceiling, same run\tratio\ttarget\tcommand")
	for _, x := range r.rows {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\tmake bench ROW=%s\n", x.what, x.ours, x.ceiling, x.ratio, x.target, x.command)
	}
	_ = w.Flush() // into memory
	return b.String()
}

// load is what else the machine did at the end: figures of a busy one say
// little, ratios still something.
func load() string {
	b, err := os.ReadFile("/proc/loadavg")
	if f := strings.Fields(string(b)); err == nil && len(f) > 2 {
		return f[2] + " (over a quarter of an hour)"
	}
	return "unknown"
}

// share is a ratio as it is printed.
func share(ours, ceiling float64) string {
	if ceiling == 0 {
		return "-"
	}
	return fmt.Sprintf("%.2f", ours/ceiling)
}

func percentile(d []time.Duration, p float64) time.Duration {
	if len(d) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(d))
	return s[min(len(s)-1, int(p*float64(len(s))))]
}

// middleAndEnd are the 50th and the 99th percentile in milliseconds.
func middleAndEnd(d []time.Duration) string {
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	return fmt.Sprintf("%.1f / %.1f ms", ms(percentile(d, 0.5)), ms(percentile(d, 0.99)))
}
