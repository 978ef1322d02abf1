package archtest

import (
	"slices"
	"testing"
)

// floor is one storey of the house: its rooms know those of the floors below
// and nothing of each other, nor of anything above.
type floor struct {
	name  string
	rooms []string // folders; what is below them is in the room
	why   string
}

// floors are those of the house, from the ground up.
var floors = []floor{
	{"ground", []string{"internal/lab", "internal/service", "internal/printable", "rules/level"}, "nouns, start and stop: everybody may stand on them, and they know nobody"},
	{"figures", []string{"internal/process", "internal/strips", "internal/chemistry", "internal/wastebook", "internal/nextloads"}, "data and arithmetic of the trade, pure: what a process should be does not depend on who asks"},
	{"machines", []string{"ingest", "rules", "alerts", "web", "internal/postgres", "internal/certificate"}, "each does one thing and meets the others through small interfaces that it states itself, so that each can be read, tested and replaced alone"},
	{"evidence", []string{"internal/report", "internal/replay"}, "what the rules make of what happened, after the fact: they know the rules, the rules do not know them"},
	{"records", []string{"internal/records", "internal/simulation"}, "seals what reports make of the evidence; makes up labs, and sets what is found of them beside the truth"},
	{"monitor", []string{"internal/monitor"}, "the wiring: the only place where the machines meet"},
	{"program", []string{"cmd"}, "flags and commands: what a person types"},
}

// apart are the rooms that are no part of the program; no floor holds them.
var apart = []string{"internal/archtest", "internal/bench", "internal/labtest", "internal/torture", "internal/words", "testdata"}

// roomOf gives the room that a folder is in, and its floor; false where it is
// in none.
func roomOf(dir string) (room string, level int, ok bool) {
	for i, f := range floors {
		for _, r := range f.rooms {
			if under(dir, r) {
				return r, i, true
			}
		}
	}
	return "", 0, false
}

func isApart(dir string) bool {
	for _, a := range apart {
		if under(dir, a) {
			return true
		}
	}
	return false
}

// upward says what is wrong with an import between folders, "" where it stays
// in the room or goes down.
func upward(from, to string) string {
	a, above, ok := roomOf(from)
	if !ok {
		return "is on no floor"
	}
	b, below, ok := roomOf(to)
	switch {
	case !ok:
		return "imports " + to + ", which is on no floor"
	case a == b || below < above:
		return ""
	case below == above:
		return "imports " + to + ", a room of its own floor: " + floors[above].why
	}
	return "imports " + to + ", which is above it: " + floors[above].why
}

func TestNoArrowGoesUp(t *testing.T) {
	for _, s := range sources(t) {
		if s.test || s.ignored || isApart(s.dir) || slices.Contains(helpers, s.dir) {
			continue // helpers of tests may import labtest
		}
		for _, path := range s.imports {
			to, ours := cutModule(path)
			if !ours {
				continue
			}
			if wrong := upward(s.dir, to); wrong != "" {
				t.Errorf("%s: %s", s.path, wrong)
			}
		}
	}
}

func TestTheFloorsHold(t *testing.T) {
	for _, c := range []struct {
		from, to string
		ok       bool
	}{
		{"rules", "internal/process", true},
		{"rules", "alerts", false},
		{"rules", "rules/timeline", true},
		{"internal/report", "rules", true},
		{"rules", "internal/report", false},
		{"internal/records", "internal/report", true},
		{"internal/report", "internal/records/seal", false},
		{"internal/lab", "internal/service", false},
		{"cmd/wetside", "internal/monitor", true},
		{"internal/monitor", "cmd/wetside", false},
		{"web", "internal/labtest", false},
		{"attic", "internal/lab", false},
	} {
		if wrong := upward(c.from, c.to); (wrong == "") != c.ok {
			t.Errorf("%s imports %s: %q; want allowed %v", c.from, c.to, wrong, c.ok)
		}
	}
}
