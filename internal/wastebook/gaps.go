package wastebook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

var missingWords = map[string]string{"litres": "liters", "stream": "the waste stream", "to": "where it went", "manifest": "the manifest number"}

// gaps are what an inspector would ask about: weeks without a check, and lines
// that lack something. A week goes from Monday to Sunday by the lab's clock;
// only whole weeks that are over count.
func (s Source) gaps(rows []WasteRow, from, to time.Time) []WasteGap {
	out := []WasteGap{}
	checked := map[string]bool{}
	for _, r := range rows {
		if r.What == lab.WasteCheck && !r.Removed {
			checked[monday(r.At.In(s.Zone)).Format(time.DateOnly)] = true
		}
		if len(r.Missing) > 0 {
			var what []string
			for _, m := range r.Missing {
				what = append(what, missingWords[m])
			}
			out = append(out, WasteGap{At: r.At, What: "line", Row: r.ID, Text: fmt.Sprintf("%s, %s: not written: %s.", r.At.In(s.Zone).Format("2006-01-02"), whatOf(r), strings.Join(what, ", "))})
		}
	}
	first := monday(from.In(s.Zone))
	if first.Before(from) {
		first = first.AddDate(0, 0, 7) // the week in which the log began is not held against it
	}
	for week := first; !week.AddDate(0, 0, 7).After(earlier(to, s.Now)); week = week.AddDate(0, 0, 7) {
		if !checked[week.Format(time.DateOnly)] {
			out = append(out, WasteGap{At: lab.At(week), What: "check", Text: fmt.Sprintf("Week of %s to %s: no weekly check was written.", week.Format("2006-01-02"), week.AddDate(0, 0, 6).Format("2006-01-02"))})
		}
	}
	slices.SortStableFunc(out, func(a, b WasteGap) int { return cmp.Or(a.At.Compare(b.At.Time), cmp.Compare(a.Row, b.Row)) })
	return out
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// monday is the beginning of the week that a moment is in.
func monday(t time.Time) time.Time {
	back := (int(t.Weekday()) + 6) % 7
	return time.Date(t.Year(), t.Month(), t.Day()-back, 0, 0, 0, 0, t.Location())
}

// whatOf names a line: the unit's container, or the drum.
func whatOf(r WasteRow) string {
	return cmp.Or(strings.TrimSpace(r.Unit+" "+r.Container), r.Drum, "a container")
}

// StreamWords are the streams in words.
var StreamWords = map[string]string{
	lab.StreamSilver: "silver-rich (fixer, bleach-fix, low-flow rinse)", lab.StreamBleach: "bleach", lab.StreamDeveloper: "developer", lab.StreamWash: "wash water",
	lab.StreamMixed: "mixed", lab.StreamOther: "other", "": "stream not said",
}
