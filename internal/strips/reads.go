package strips

import (
	"cmp"
	"encoding/json"
	"slices"

	"wetside/internal/lab"
)

// Readings takes the strips out of what was entered, those taken back left out,
// oldest first. An entry that cannot be parsed is left out: the store
// checked it when it came in, so that there should be none.
func Readings(entries []lab.Entry) []Reading {
	var out []Reading
	for _, e := range lab.InForce(entries) {
		var s lab.Strip
		if e.What != lab.EntryStrip || json.Unmarshal(e.Body, &s) != nil {
			continue
		}
		out = append(out, Reading{Strip: s, ID: e.ID, Unit: e.Unit.String(), Run: e.RunID, By: e.By, At: lab.At(e.At)})
	}
	slices.SortStableFunc(out, func(a, b Reading) int {
		return cmp.Or(a.At.Compare(b.At.Time), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// Openings takes the gate openings out of what was entered, oldest first.
func Openings(entries []lab.Entry, process, mix string) []Opening {
	var out []Opening
	for _, e := range lab.InForce(entries) {
		var g lab.GateOpening
		if e.What == lab.EntryGate && json.Unmarshal(e.Body, &g) == nil && g.Process == process && g.Mix == mix {
			out = append(out, Opening{By: e.By, At: lab.At(e.At), Reason: g.Reason})
		}
	}
	slices.SortStableFunc(out, func(a, b Opening) int { return a.At.Compare(b.At.Time) })
	return out
}

// OfProcess picks the strips of a process and mix; any mix where mix is nil.
func OfProcess(reads []Reading, process string, mix *string) []Reading {
	var out []Reading
	for _, r := range reads {
		if r.Process == process && (mix == nil || r.Mix == *mix) {
			out = append(out, r)
		}
	}
	return out
}

// Mixes lists the mixes of strips, the one read last first.
func Mixes(reads []Reading) []string {
	var out []string
	for _, r := range slices.Backward(reads) {
		if !slices.Contains(out, r.Mix) {
			out = append(out, r.Mix)
		}
	}
	return out
}

// Reading is a strip that was read, with where and when.
type Reading struct {
	lab.Strip
	ID   string
	Unit string
	Run  string // id; "" where it is not known
	By   string // who entered it
	At   lab.Time
}
