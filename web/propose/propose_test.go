package propose

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

var ten = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)

func clock(hhmm string) lab.Time {
	t, err := time.Parse("15:04", hhmm)
	if err != nil {
		panic(err)
	}
	return lab.At(ten.Truncate(24 * time.Hour).Add(time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute))
}

func ptr[T any](v T) *T { return &v }

// unit is one that stands idle, with room for many runs.
func unit(name string, processes ...string) lab.Unit {
	return lab.Unit{ID: "tern-street/" + name, Name: strings.ToUpper(name[:1]) + name[1:], Standing: lab.UnitAccepted, Link: lab.LinkOnline,
		Activity: lab.ActivityIdle, Processes: processes}
}

// ran is a whole run of film of an hour ago: its baths took so long, and then it
// dried for 20 minutes.
func ran(name, processID string, baths time.Duration, rolls int) lab.Run {
	sheet, _ := process.Builtin().Sheet(processID)
	end := ten.Add(-time.Hour)
	r := lab.Run{Unit: "tern-street/" + name, Process: processID, Kind: lab.KindOfRunFilm, Outcome: lab.OutcomeDone, StartedAt: lab.At(end.Add(-baths)), EndedAt: lab.AtPtr(end.Add(20 * time.Minute))}
	for i := range sheet.Steps {
		s := lab.RunStep{Step: sheet.Steps[i].ID, SheetS: ptr(sheet.Steps[i].AimS), TimeS: ptr(sheet.Steps[i].AimS), StartedAt: &r.StartedAt}
		if i == len(sheet.Steps)-1 {
			s.StartedAt = lab.AtPtr(end.Add(-lab.Seconds(sheet.Steps[i].AimS)))
		}
		r.Steps = append(r.Steps, s)
	}
	for i := range rolls {
		r.Rolls = append(r.Rolls, lab.Roll{TwinCheck: fmt.Sprint("old", i)})
	}
	return r
}

// roll waits since so many minutes before ten.
func roll(check, processID string, push float64, due string) lab.KnownRoll {
	k := lab.KnownRoll{TwinCheck: check, Process: processID, Push: &push, Format: "135", EnteredAt: lab.At(ten.Add(-time.Hour))}
	if due != "" {
		k.DueAt = ptr(clock(due))
	}
	return k
}

// twoUnits: Heron has C-41 and E-6, Plover has C-41; each has shown a run of C-41 of
// 30 minutes in the baths with four rolls on its reels.
func twoUnits() Facts {
	return Facts{Now: ten.Add(20 * time.Second), Book: process.Builtin(), Units: []lab.Unit{unit("heron", "c41", "e6-7"), unit("plover", "c41")},
		Runs: []lab.Run{ran("heron", "c41", 30*time.Minute, 4), ran("plover", "c41", 30*time.Minute, 4)}}
}

// shown is a proposal in short: who runs what, from when.
func shown(p Proposal) string {
	var out []string
	for _, r := range p.Runs {
		s := r.Name + " " + r.ProcessName
		if r.Push == nil {
			s += " ?"
		} else if *r.Push != 0 {
			s += fmt.Sprintf(" %+g", *r.Push)
		}
		if r.FlushFirst {
			s += " flushed"
		}
		var rolls []string
		for _, x := range r.Rolls {
			rolls = append(rolls, x.TwinCheck)
		}
		out = append(out, s+" "+strings.Join(rolls, ",")+" "+r.StartAt.UTC().Format("15:04")+"-"+r.ReadyAt.UTC().Format("15:04"))
	}
	return strings.Join(out, "; ")
}

func said(p Proposal) string {
	var out []string
	for _, l := range p.Left {
		out = append(out, l.Why+" "+strings.Join(l.Rolls, ",")+": "+l.Text)
	}
	for _, u := range p.Units {
		out = append(out, u.Unit+" "+u.Process+": "+u.Text)
	}
	for _, r := range p.Rests {
		out = append(out, r.Text)
	}
	return strings.Join(out, "\n")
}

func TestProposal(t *testing.T) {
	for _, tt := range []struct {
		name string
		but  func(f *Facts)
		want string // the runs
		says string // among what is said
	}{
		{"nothing waits", func(f *Facts) { f.Rolls = nil }, "", ""},
		{"by process and push, the second unit two minutes later", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "11:30"), roll("2", "c41", 1, "11:30"), roll("3", "c41", 0, "")}
		}, "Heron C-41 1,3 10:00-10:50; Plover C-41 +1 2 10:02-10:53", ""},
		{"a push that nobody said runs by itself", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "11:00"), roll("2", "c41", 0, "")}
			f.Rolls[1].Push = nil
		}, "Heron C-41 1 10:00-10:50; Plover C-41 ? 2 10:02-10:52", ""},
		{"as much as the reels hold: 220 is two rolls, four sheets are one", func(f *Facts) {
			f.Units = f.Units[1:]
			for i, format := range []string{"220", "4x5", "4x5", "4x5", "4x5", "120", "135"} {
				f.Rolls = append(f.Rolls, roll(fmt.Sprint(i), "c41", 0, ""))
				f.Rolls[i].Format = format
			}
		}, "Plover C-41 0,1,2,3,4,5 10:00-10:50; Plover C-41 6 10:52-11:42", ""},
		{"what was promised first goes first, whoever came first", func(f *Facts) {
			f.Units = f.Units[1:]
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 1, ""), roll("2", "c41", 0, "10:55")}
		}, "Plover C-41 2 10:00-10:50; Plover C-41 +1 1 10:52-11:43", ""},
		{"a unit that runs is free when its film is dry", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "")}
			f.Units = f.Units[:1]
			f.Units[0].Activity = lab.ActivityRunning
			f.Units[0].Run = &lab.UnitRun{Process: "c41", EndsAt: ptr(clock("10:10"))}
		}, "Heron C-41 1 10:32-11:22", ""},
		{"and behind what is loaded for its next run", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "")}
			f.Units = f.Units[:1]
			f.Units[0].Load = &lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "9"}}}
		}, "Heron C-41 1 10:52-11:42", ""},
		{"nobody knows when it will be free", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "")}
			f.Units[0].Activity, f.Units[0].Run = lab.ActivityRunning, &lab.UnitRun{}
		}, "Plover C-41 1 10:00-10:50", "When Heron will be free is not known."},
		{"not while somebody is wanted elsewhere", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "")}
			f.Jobs = []lab.Job{{Unit: "tern-street/dunlin", DueAt: clock("10:01")}, {Unit: "tern-street/dunlin", DueAt: clock("10:00"), Patient: true}}
		}, "Heron C-41 1 10:03-10:53", ""},
		{"what stops a load stops a proposal, and is said", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, ""), roll("2", "e6", 0, "")}
			f.Stops = map[string]map[string][]string{"tern-street/heron": {"c41": {"Waste is full (float switch). Empty it first."}}}
		}, "Heron E-6 2 10:00-11:00; Plover C-41 1 10:02-10:52", "tern-street/heron c41: Waste is full (float switch). Empty it first."},
		{"reels that nobody knows", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "")}
			f.Runs[0].Rolls = nil
		}, "Plover C-41 1 10:00-10:50", "How many rolls Heron holds is not known. Enter it under Settings, Reels and dryer, or run it once with its rolls scanned."},
		{"the lab's own word counts before the fullest run", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, ""), roll("2", "c41", 0, "")}
			f.Units = f.Units[:1]
			f.Settings.Reels = map[string]float64{"tern-street/heron": 1}
		}, "Heron C-41 1 10:00-10:50; Heron C-41 2 10:52-11:42", ""},
		{"processes that nobody knows", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "")}
			f.Units[0].Processes = nil
		}, "Plover C-41 1 10:00-10:50", "Which processes Heron has is not known: it did not say. Load it by hand."},
		{"no run has shown the time: the sheet alone", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "")}
			f.Units, f.Runs = f.Units[1:], nil
			f.Settings.Reels = map[string]float64{"tern-street/plover": 4}
		}, "Plover C-41 1 10:00-10:30", "Plover has run no C-41 of late: its time is from the sheet, without heating."},
		{"a time that nobody knows", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 5, "")}
		}, "", "How long C-41 push 5 takes on Plover is not known: the sheet has no time for it, and no run has shown it."},
		{"one who must not run, one of which nobody said what for", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, ""), roll("2", "c41", 0, ""), roll("3", "", 0, "")}
			f.Rolls[1].Stop = "customer canceled"
		}, "Heron C-41 1 10:00-10:50", "stopped 2: Marked STOP: they must not be run.\nprocess-not-known 3:"},
		{"no unit that is ready has the process", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "bw", 0, "")}
		}, "", "no-unit 1: No unit that is ready can run them: B&W normal."},
		{"water for one run more", func(f *Facts) {
			f.Units = f.Units[1:]
			f.Units[0].Containers = []lab.Container{{Name: "wash", Role: lab.RoleWash, Litres: ptr(9.0), CapacityL: 20, OwedL: ptr(1.0)}}
			f.Units[0].RunVolumes = []lab.RunVolumes{{Process: "c41", DrawsL: map[string]float64{"wash": 5}}}
			for i := range 6 {
				f.Rolls = append(f.Rolls, roll(fmt.Sprint(i), "c41", 0, ""))
			}
		}, "Plover C-41 0,1,2,3 10:00-10:50", "nothing-left 4,5: Water, chemistry or room in the waste is used up by then: see to the containers."},
		{"flushed between processes where the lab does that", func(f *Facts) {
			f.Units = f.Units[:1]
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, ""), roll("2", "c41", 1, "")}
			e6, flush := ran("heron", "e6-7", 40*time.Minute, 4), lab.Run{Unit: "tern-street/heron", Kind: lab.KindOfRunFlush, Outcome: lab.OutcomeDone, StartedAt: lab.At(ten.Add(-48 * time.Hour)), EndedAt: lab.AtPtr(ten.Add(-48*time.Hour + 6*time.Minute))}
			f.Runs = append([]lab.Run{e6}, append(f.Runs, flush)...)
		}, "Heron C-41 flushed 1 10:06-10:56; Heron C-41 +1 2 10:58-11:49", ""},
		{"a common dryer with room for four", func(f *Facts) {
			f.Settings.DryerHolds, f.Settings.DryerMin = 4, 45
			for i := range 8 {
				f.Rolls = append(f.Rolls, roll(fmt.Sprint(i), "c41", 0, ""))
			}
		}, "Heron C-41 0,1,2,3 10:00-11:15; Heron C-41 4,5,6,7 10:47-12:02", ""},
		{"a format that is not known counts as one roll, and that is said", func(f *Facts) {
			f.Rolls = []lab.KnownRoll{roll("1", "c41", 0, "")}
			f.Rolls[0].Format = "127"
		}, "Heron C-41 1 10:00-10:50", "A roll of 127 counts as one roll of 135."},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := twoUnits()
			tt.but(&f)
			p := Propose(f)
			if got := shown(p); got != tt.want {
				t.Errorf("%s\nwant %s\n%s", got, tt.want, said(p))
			}
			if !strings.Contains(said(p), tt.says) {
				t.Errorf("%q does not say %q", said(p), tt.says)
			}
			in := 0
			for _, r := range p.Runs {
				in += len(r.Rolls)
			}
			for _, l := range p.Left {
				in += len(l.Rolls)
			}
			if in != len(f.Rolls) || p.Waiting != in {
				t.Errorf("%d rolls wait, %d are told of", len(f.Rolls), in)
			}
			if !reflect.DeepEqual(p, Propose(f)) {
				t.Error("the same facts give another proposal")
			}
		})
	}
}

// What it would gain: first come, first served runs the push first and is late for
// the roll that is promised.
func TestProposalSaysWhatItGains(t *testing.T) {
	f := twoUnits()
	f.Units = f.Units[1:]
	f.Rolls = []lab.KnownRoll{roll("1", "c41", 1, ""), roll("2", "c41", 0, "10:55")}
	p := Propose(f)
	if p.Figures.Late != 0 || p.First.Late != 1 || p.First.LateMin != 48 || !p.Better || !p.Proven {
		t.Errorf("%+v beside %+v, better %v, proven %v", p.Figures, p.First, p.Better, p.Proven)
	}
	f.Rolls = f.Rolls[:1]
	if p = Propose(f); p.Better || p.Figures.EndsAt == nil || *p.Figures.EndsAt != *p.First.EndsAt {
		t.Errorf("of one roll nothing is gained: %+v beside %+v", p.Figures, p.First)
	}
}

// Of a long list those promised first are planned, and the others are told of.
func TestProposalOfALongList(t *testing.T) {
	f := twoUnits()
	for i := range 100 {
		f.Rolls = append(f.Rolls, roll(fmt.Sprint(i), "c41", 0, "18:00"))
	}
	p := Propose(f)
	i := slices.IndexFunc(p.Left, func(l LeftRolls) bool { return l.Why == "too-many" })
	if i < 0 || len(p.Left[i].Rolls) != 100-mostRolls || p.Left[i].Rolls[0] != fmt.Sprint(mostRolls) {
		t.Errorf("left: %+v", p.Left)
	}
	if p.Figures.Late > 0 {
		t.Errorf("late: %+v", p.Figures)
	}
}
