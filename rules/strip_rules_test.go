package rules_test

import (
	"slices"
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
)

// Contract, section 2: strip-out. A strip beyond a control limit is confirmed
// by a second one; one that is in ends it. Each process and mix by its own.
func TestStripOut(t *testing.T) {
	u := newScript("c41").Unit
	read := func(at float64, mix, standing string) lab.Entry {
		dev, width := 0.09, 0.08
		return enters(u, at, lab.EntryStrip, "", lab.Strip{Process: "c41", Mix: mix, Status: standing,
			Densities: map[string]lab.RGB{"ld": {R: &dev}},
			Plots:     []lab.StripPlot{{Plot: "ld.r", Label: "LD red", Deviation: &dev, Control: &width, Side: "both", Status: standing}}})
	}
	for _, tt := range []struct {
		name    string
		entries []lab.Entry
		want    []string
	}{
		{"one alone asks for a second", []lab.Entry{read(-30, "", lab.StripOut)}, nil},
		{"two in a row", []lab.Entry{read(-60, "", lab.StripOut), read(-30, "", lab.StripOut)}, []string{"strip-out /c41 high -30-"}},
		{"the second is in", []lab.Entry{read(-60, "", lab.StripOut), read(-30, "", lab.StripIn), read(-20, "", lab.StripOut)}, nil},
		{"in again", []lab.Entry{read(-60, "", lab.StripOut), read(-30, "", lab.StripOut), read(1700, "", lab.StripIn)}, []string{"strip-out /c41 high -30-1700"}},
		{"two mixes are two matters", []lab.Entry{read(-60, "a", lab.StripOut), read(-30, "b", lab.StripOut)}, nil},
		{"one that could not be judged says nothing", []lab.Entry{read(-60, "", lab.StripOut), read(-40, "", lab.StripUnjudged), read(-30, "", lab.StripOut)}, []string{"strip-out /c41 high -30-"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := played(t, c41Run(t, nil), tt.entries...)
			b.Want(tt.want...)
			for _, o := range b.Found {
				if o.RunID != "" || o.Subject != "c41" {
					t.Errorf("of run %q, subject %q; a strip is of the chemistry", o.RunID, o.Subject)
				}
				if o.Message != "Control strip out twice: LD red +0.09 (limit ±0.08)" {
					t.Errorf("says %q", o.Message)
				}
			}
		})
	}
}

// The runs with film since the last strip that was in are named, and those
// that end while it lasts as well.
func TestStripOutNamesTheRuns(t *testing.T) {
	u := newScript("c41").Unit
	read := func(at float64, standing string) lab.Entry {
		return enters(u, at, lab.EntryStrip, "", lab.Strip{Process: "c41", Status: standing})
	}
	b := played(t, c41Run(t, nil), read(-60, lab.StripIn), read(1700, lab.StripOut), read(1710, lab.StripOut))
	if len(b.Found) != 1 {
		t.Fatalf("found %v, want one", b.Lines())
	}
	for _, o := range b.Found {
		runs, _ := o.Facts["runs"].([]string)
		if !slices.Equal(runs, []string{rules.RunID(u, "r1")}) || o.Facts["last_in_at"] != lab.At(moment(-60)).String() {
			t.Errorf("facts %v, want the run that went through since %s", o.Facts, lab.At(moment(-60)))
		}
	}
}

// A strip dries before it is read: film that ran meanwhile ran after it. One
// that is entered late, of an earlier time, changes nothing.
func TestStripOutCountsFromTheRunOfTheStrip(t *testing.T) {
	s := newScript("c41")
	s.Kind = lab.KindOfRunStrip
	end := s.C41(0)
	s.Kind, s.Run = "", "r2"
	last := s.C41(end + 60)
	read := func(at float64, run, standing string) lab.Entry {
		return enters(s.Unit, at, lab.EntryStrip, run, lab.Strip{Process: "c41", Status: standing})
	}
	for _, tt := range []struct {
		name string
		run  string
		want []string
	}{
		{"its run is known", rules.RunID(s.Unit, "r1"), []string{rules.RunID(s.Unit, "r2")}},
		{"its run is not known", "", []string{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := played(t, s, read(-60, "", lab.StripIn), read(last+10, tt.run, lab.StripIn), read(last+20, "", lab.StripOut), read(last+30, "", lab.StripOut))
			if len(b.Found) != 1 {
				t.Fatalf("found %v, want one", b.Lines())
			}
			for _, o := range b.Found {
				if runs, _ := o.Facts["runs"].([]string); !slices.Equal(runs, tt.want) {
					t.Errorf("runs %q, want %q", runs, tt.want)
				}
			}
		})
	}
}
