package wastebook

import (
	"cmp"
	"slices"
	"time"

	"wetside/internal/lab"
)

// WasteRow is one line of the log as it stands, with all that was written of it.
type WasteRow struct {
	ID string `json:"id"`
	lab.WasteLine
	At       lab.Time       `json:"at" doc:"When it was so."`
	By       string         `json:"by" doc:"Who entered it."`
	Version  int            `json:"version" doc:"How often it was written; 0: only the emptying was entered, nothing by hand yet."`
	Missing  []string       `json:"missing" doc:"What an inspector would miss, by the names of its fields."`
	Versions []WasteVersion `json:"versions" doc:"Every version that was written by hand, the first first."`
}

// WasteVersion is one writing of a line.
type WasteVersion struct {
	lab.BookLine
	lab.WasteLine
}

// Log is the waste log of a time.
type Log struct {
	Rows   []WasteRow   `json:"rows" doc:"Emptyings and checks, newest first. What was undone or removed is in it, crossed out."`
	Months []WasteMonth `json:"months" doc:"Totals by month and stream, newest first; what was removed is not in them."`
	Gaps   []WasteGap   `json:"gaps" doc:"What is missing, oldest first."`
}

// WasteMonth is what one stream gave in a month.
type WasteMonth struct {
	Month   string  `json:"month" doc:"The month by the lab's clock." example:"2026-03"`
	Stream  string  `json:"stream" doc:"The waste stream; empty: not said."`
	Litres  float64 `json:"litres" doc:"Liters in all, of the emptyings whose liters are known."`
	Times   int     `json:"times" doc:"How many emptyings."`
	Unknown int     `json:"unknown" doc:"How many of them without liters: the total is at least that much."`
}

// WasteGap is something that is missing from the log.
type WasteGap struct {
	At   lab.Time `json:"at"`
	What string   `json:"what" enum:"check,line" doc:"check: no weekly check was written. line: a line lacks something."`
	Row  string   `json:"row,omitempty" doc:"The line that lacks something."`
	Text string   `json:"text" doc:"What is missing, in words."`
}

// Source is what a log is made of.
type Source struct {
	Settings lab.WasteSettings
	Lines    [][]lab.BookLine // of the book of waste, each with all its versions
	Entries  []lab.Entry      // container events with those that undo them
	Zone     *time.Location
	Now      time.Time
}

// Make makes the log from one moment to another; zero: from its beginning,
// until now.
func Make(s Source, from, to time.Time) Log {
	if s.Settings.StartedAt == nil {
		return Log{Rows: []WasteRow{}, Months: []WasteMonth{}, Gaps: []WasteGap{}}
	}
	from = later(from, s.Settings.StartedAt.Time)
	to = cmp.Or(to, s.Now.Add(time.Second))
	rows := slices.DeleteFunc(s.rows(), func(r WasteRow) bool { return r.At.Before(from) || !r.At.Before(to) })
	slices.SortStableFunc(rows, func(a, b WasteRow) int { return cmp.Or(b.At.Compare(a.At.Time), cmp.Compare(a.ID, b.ID)) })
	return Log{Rows: rows, Months: s.months(rows), Gaps: s.gaps(rows, from, to)}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// rows joins emptyings and lines: a line under the id of an emptying says more
// of it.
func (s Source) rows() []WasteRow {
	undone := map[string]bool{}
	for _, e := range s.Entries {
		if id := e.Target(); id != "" {
			undone[id] = true
		}
	}
	rows, at := []WasteRow{}, map[string]int{}
	for _, e := range s.Entries {
		b := lab.BodyOf[lab.ContainerEvent](e)
		if e.What != lab.EntryContainer || b.What != lab.Emptied && b.What != lab.Swapped || !collects(b.Container) {
			continue
		}
		at[e.ID] = len(rows)
		rows = append(rows, WasteRow{ID: e.ID, At: lab.At(e.At), By: e.By, Versions: []WasteVersion{}, WasteLine: lab.WasteLine{What: lab.WasteEmptied, Unit: e.Unit.String(),
			Container: b.Container, Stream: s.Settings.Streams[b.Container], To: s.Settings.To[b.Container], Note: b.Note, Removed: undone[e.ID]}})
	}
	for _, versions := range s.Lines {
		i, known := at[versions[0].ID]
		if !known {
			i = len(rows)
			rows = append(rows, WasteRow{ID: versions[0].ID, By: versions[0].By, Versions: []WasteVersion{}})
		}
		r := &rows[i]
		for _, l := range versions {
			r.Versions = append(r.Versions, WasteVersion{l, lab.LineBody[lab.WasteLine](l)})
		}
		last := r.Versions[len(r.Versions)-1]
		r.WasteLine, r.At, r.Version = last.WasteLine, last.At, last.Version
		r.Removed = r.Removed || undone[r.ID]
	}
	for i := range rows {
		rows[i].Missing = missing(rows[i])
	}
	return rows
}

// collects tells whether a container collects what was used: not the wash
// water, and no bottle. By its name, as units call them: what a unit that is
// gone had is known by nothing else.
func collects(container string) bool {
	for _, word := range []string{"waste", "recovery", "silver"} {
		if len(container) >= len(word) && container[:len(word)] == word {
			return true
		}
	}
	return false
}

// Collects is collects.
func Collects(container string, role lab.Role) bool {
	return role == lab.RoleWaste || role == lab.RoleRecovery || role == "" && collects(container)
}

func missing(r WasteRow) []string {
	out := []string{}
	if r.Removed || r.What != lab.WasteEmptied {
		return out
	}
	for _, f := range []struct {
		name string
		have bool
	}{{"litres", r.Litres != nil}, {"stream", r.Stream != ""}, {"to", r.To != ""}, {"manifest", r.Hauler == "" || r.Manifest != ""}} {
		if !f.have {
			out = append(out, f.name)
		}
	}
	return out
}

func (s Source) months(rows []WasteRow) []WasteMonth {
	out := []WasteMonth{}
	for _, r := range rows {
		if r.Removed || r.What != lab.WasteEmptied {
			continue
		}
		month := r.At.In(s.Zone).Format("2006-01")
		i := slices.IndexFunc(out, func(m WasteMonth) bool { return m.Month == month && m.Stream == r.Stream })
		if i < 0 {
			i = len(out)
			out = append(out, WasteMonth{Month: month, Stream: r.Stream})
		}
		m := &out[i]
		if m.Times++; r.Litres == nil {
			m.Unknown++
		} else {
			m.Litres = lab.Round(m.Litres+*r.Litres, 3)
		}
	}
	slices.SortStableFunc(out, func(a, b WasteMonth) int {
		return cmp.Or(cmp.Compare(b.Month, a.Month), cmp.Compare(order(a.Stream), order(b.Stream)))
	})
	return out
}

func order(stream string) int {
	if i := slices.Index(lab.WasteStreams, stream); i >= 0 {
		return i
	}
	return len(lab.WasteStreams)
}

// SilverRichGalADay is how much silver-rich solution was emptied a day over the
// last so many days, US gallons; false where a line of it has no liters, or the
// log is younger.
func SilverRichGalADay(rows []WasteRow, started, now time.Time, days int) (float64, bool) {
	from, sum := now.AddDate(0, 0, -days), 0.0
	if started.After(from) {
		return 0, false
	}
	for _, r := range rows {
		if r.Removed || r.What != lab.WasteEmptied || r.Stream != lab.StreamSilver || r.At.Before(from) {
			continue
		}
		if r.Litres == nil {
			return 0, false
		}
		sum += *r.Litres
	}
	return lab.Round(sum/lab.GallonL/float64(days), 3), true
}
