package torture

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"text/tabwriter"
	"time"
)

// row is what came of one fault.
type row struct {
	fault    string
	tries    int
	sent     int
	lost     int
	doubled  int
	pages    int             // that arrived
	again    int             // copies of a page under its own id, which are allowed
	recovery []time.Duration // from the end of the fault until wetside watches and has caught up
	told     []string        // what /readyz and the board said meanwhile
}

// plus adds another try of the same fault.
func (r *row) plus(x row) {
	r.tries, r.sent, r.lost, r.doubled = r.tries+x.tries, r.sent+x.sent, r.lost+x.lost, r.doubled+x.doubled
	r.pages, r.again = r.pages+x.pages, r.again+x.again
	r.recovery = append(r.recovery, x.recovery...)
	for _, said := range x.told {
		if !slices.Contains(r.told, said) {
			r.told = append(r.told, said)
		}
	}
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

// text is the table, "" where nothing was done.
func (r *rows) text() string {
	r.mu.Lock()
	defer r.mu.Unlock()
	if len(r.rows) == 0 {
		return ""
	}
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "fault\ttries\tsent\tlost\tdoubled\tpages\tcopies\trecovered in s (median, longest)\ttold meanwhile")
	for _, x := range r.rows {
		fmt.Fprintf(w, "%s\t%d\t%d\t%d\t%d\t%d\t%d\t%s\t%s\n", x.fault, x.tries, x.sent, x.lost, x.doubled, x.pages, x.again,
			seconds(x.recovery), strings.Join(x.told, " / "))
	}
	_ = w.Flush() // into memory
	return b.String()
}

func seconds(list []time.Duration) string {
	if len(list) == 0 {
		return "-"
	}
	s := slices.Sorted(slices.Values(list))
	return fmt.Sprintf("%.1f, %.1f", s[len(s)/2].Seconds(), s[len(s)-1].Seconds())
}
