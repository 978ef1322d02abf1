package chemistry

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

var (
	noon   = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	plover = lab.UnitID{Lab: "tern-street", Unit: "plover"}
)

// put says that a mix was put at a position so many minutes after noon.
func put(n int, position, mix string, minutes float64) lab.Entry {
	b, _ := json.Marshal(lab.Bottle{Position: position, Mix: mix})
	return lab.Entry{ID: fmt.Sprint("e", n), Arrival: int64(n), Unit: plover, What: lab.EntryBottle, At: at(minutes), Entered: at(minutes), By: "Mina", Body: b}
}

func at(minutes float64) time.Time { return noon.Add(time.Duration(minutes * float64(time.Minute))) }

// runAt is a C-41 run of developer, bleach and fixer, four minutes each.
func runAt(minutes float64) lab.Run {
	r := lab.Run{ID: "r", Unit: plover.String(), Process: "c41", Kind: lab.KindOfRunFilm, Outcome: lab.OutcomeDone, StartedAt: lab.At(at(minutes)), EndedAt: lab.AtPtr(at(minutes + 14))}
	took := 240.0
	for i, step := range []string{"developer", "bleach", "fixer"} {
		r.Steps = append(r.Steps, lab.RunStep{N: i + 1, Step: step, Fills: 1, StartedAt: lab.AtPtr(at(minutes + 1 + 4*float64(i))), TimeS: &took})
	}
	return r
}

func said(list []lab.StepMix) string {
	var out []string
	for _, m := range list {
		doubt := ""
		if !m.Sure {
			doubt = "?"
		}
		out = append(out, m.Step+"="+m.Mix+doubt)
	}
	return strings.Join(out, " ")
}

func TestWhichMixAStepUsed(t *testing.T) {
	back, _ := json.Marshal(lab.TakesBack{ID: "e2"})
	base := []lab.Entry{put(1, "c41/developer", "A", 0), put(2, "c41/developer", "B", 60)}
	undone := append(base[:2:2], lab.Entry{ID: "e3", Arrival: 3, Unit: plover, What: lab.EntryTakesBack, Body: back})
	heron := put(9, "c41/bleach", "H", 0)
	heron.Unit.Unit = "heron"
	gapped := runAt(70)
	gapped.Steps = gapped.Steps[1:]
	gapped.Gaps = []lab.Gap{{Boot: "b", FromSeq: 2, ToSeq: 90}}
	whole := gapped
	whole.Gaps = nil
	twice := runAt(57)
	twice.Steps[0].Fills = 2
	elsewhere := runAt(70)
	elsewhere.Steps[0].DrawFrom = "bottle-4"
	for name, c := range map[string]struct {
		entries []lab.Entry
		run     lab.Run
		want    string
	}{
		"nobody uses mixes":               {nil, runAt(5), ""},
		"before the first":                {base, runAt(-30), "developer="},
		"the first":                       {base, runAt(5), "developer=A"},
		"swapped as it stood in the bath": {base, runAt(57), "developer=A"},
		"swapped, and filled again":       {base, twice, "developer=A developer=B?"},
		"swapped after the developer":     {base, runAt(50), "developer=A"},
		"the second":                      {base, runAt(60), "developer=B"},
		"the second undone":               {undone, runAt(70), "developer=A"},
		"said later of earlier":           {append(base[:2:2], put(3, "c41/developer", "C", 30)), runAt(35), "developer=C"},
		"taken off":                       {append(base[:2:2], put(3, "c41/developer", "", 65)), runAt(70), "developer="},
		"two of one moment":               {append(base[:2:2], put(3, "c41/developer", "C", 60)), runAt(70), "developer=C"},
		"another unit's":                  {[]lab.Entry{heron}, runAt(5), ""},
		"another process's":               {[]lab.Entry{put(1, "bw/developer", "A", 0)}, runAt(5), ""},
		"not heard":                       {base, gapped, "developer=B?"},
		"skipped, heard whole":            {base, whole, ""},
		"from another bottle":             {append(base[:2:2], put(3, "bottle-4", "D", 0)), elsewhere, "developer=D"},
	} {
		t.Run(name, func(t *testing.T) {
			if got := said(PositionsOf(c.entries).Mixes(c.run)); got != c.want {
				t.Errorf("%q, want %q", got, c.want)
			}
		})
	}
}

func TestWhereAMixStood(t *testing.T) {
	p := PositionsOf([]lab.Entry{put(1, "c41/developer", "A", 0), put(2, "c41/developer", "B", 60), put(3, "c41/developer", "A", 90)})
	spans := p.Spans("A")
	if len(spans) != 2 || !spans[0].To.Equal(at(60)) || !spans[1].To.IsZero() {
		t.Errorf("A stood %+v; want noon to 13:00, and from 13:30 on", spans)
	}
	if on := p.OfUnit(plover.String(), at(70)); len(on) != 1 || on[0].Bottle.Mix != "B" {
		t.Errorf("at 13:10 there is %+v", on)
	}
}

func limit(days, perL float64) Limit {
	l := Limit{Standing: "the lab's own"}
	if days > 0 {
		l.Days = &days
	}
	if perL > 0 {
		l.RollsPerL = &perL
	}
	return l
}

func TestStateOfAMix(t *testing.T) {
	mix := lab.Mix{VolumeL: 2}
	gone, withdrawn := mix, mix
	gone.Done, withdrawn.Withdrawn = true, "cloudy"
	for name, c := range map[string]struct {
		mix   lab.Mix
		days  float64
		rolls float64
		more  float64
		limit Limit
		want  string
		says  string
	}{
		"no limit":            {mix, 500, 500, 0, Limit{}, MixFine, ""},
		"young":               {mix, 1, 1, 0, limit(10, 10), MixFine, ""},
		"nine tenths of age":  {mix, 9, 1, 0, limit(10, 10), MixSoon, "9 days old; limit 10 days"},
		"on the limit of age": {mix, 10, 1, 0, limit(10, 10), MixSoon, "10 days"},
		"too old":             {mix, 10.1, 1, 0, limit(10, 10), MixOver, "10.1 days"},
		"full with this load": {mix, 1, 19, 1, limit(10, 10), MixSoon, "With this load 20 roll-equivalents"},
		"over with this load": {mix, 1, 19, 2, limit(10, 10), MixOver, "limit 20 roll-equivalents for 2 L"},
		"withdrawn":           {withdrawn, 1, 1, 0, Limit{}, MixWithdrawn, "It is withdrawn: cloudy"},
		"used up":             {gone, 1, 1, 0, Limit{}, MixDone, ""},
	} {
		t.Run(name, func(t *testing.T) {
			now := noon.Add(time.Duration(c.days * 24 * float64(time.Hour)))
			s := StateOf(c.mix, noon, MixUse{Rolls: c.rolls}, c.more, c.limit, now)
			if s.Is != c.want || !strings.Contains(strings.Join(s.Why, " "), c.says) {
				t.Errorf("%s %q; want %s, saying %q", s.Is, s.Why, c.want, c.says)
			}
		})
	}
}

// Where the lab sets none, only what a source gives is a limit: working fixer,
// two months and 20 rolls a liter of 1+4 (The Darkroom Cookbook, p. 108).
func TestLimitsHaveASource(t *testing.T) {
	if l := LimitOf("bw/fixer", lab.ChemistrySettings{}); *l.Days != 60 || *l.RollsPerL != 20 || l.Source == "" {
		t.Errorf("%+v", l)
	}
	if l := LimitOf("c41/developer", lab.ChemistrySettings{}); l.Days != nil || l.RollsPerL != nil || l.Standing != "" {
		t.Errorf("a limit without a source: %+v", l)
	}
	for _, l := range Published() {
		if l.Source == "" {
			t.Errorf("%s has no source", l.Solution)
		}
	}
	own := 30.0
	if l := LimitOf("bw/fixer", lab.ChemistrySettings{Limits: []lab.MixLimit{{Solution: "bw/fixer", Days: &own}}}); *l.Days != 30 || l.RollsPerL != nil {
		t.Errorf("the lab's own stands alone: %+v", l)
	}
}

func TestWhatALoadNeedsInTheTank(t *testing.T) {
	covers := []lab.TankCover{{Unit: "l/a", Reels: 2, ML: 500}, {Unit: "l/a", Reels: 5, ML: 900}, {Unit: "l/b", Reels: 3, ML: 1}}
	perRoll := 250.0
	l := Limit{MixLimit: lab.MixLimit{MLPerRoll: &perRoll}}
	load := []lab.Roll{{Format: "120"}, {Format: "135"}, {Format: "220"}}
	cover, film := TankML("l/a", load, l, covers)
	if *cover != 900 || *film != 1000 {
		t.Errorf("cover %v, film %v; want 900 for three reels and 4 × 250", *cover, *film)
	}
	if cover, film = TankML("l/c", nil, l, covers); cover != nil || film != nil {
		t.Errorf("nothing scanned, nothing known: %v %v", cover, film)
	}
	if cover, _ = TankML("l/a", append(load, load...), l, covers); cover != nil {
		t.Errorf("six reels: nobody said what covers them, got %v", *cover)
	}
}

func TestWhatToMixForWhatWaits(t *testing.T) {
	ml := 100.0
	s := lab.ChemistrySettings{Limits: []lab.MixLimit{{Solution: "c41/developer", MLPerRoll: &ml}, {Solution: "c41/fixer"}, {Solution: "bw/developer", MLPerRoll: &ml}}}
	waiting := []lab.KnownRoll{{TwinCheck: "1", Process: "c41", Format: "220"}, {TwinCheck: "2", Process: "c41"}, {TwinCheck: "3"}, {TwinCheck: "4", Process: "c41", Stop: "canceled"}}
	needs, unsaid := Waiting(waiting, s, map[string]float64{"c41/developer": 120})
	if unsaid != 1 || len(needs) != 1 || *needs[0].NeedML != 300 || *needs[0].MixML != 180 || needs[0].Assumed != 1 {
		t.Errorf("%+v, %d unsaid", needs, unsaid)
	}
	if needs, _ = Waiting(waiting, s, nil); needs[0].HaveML != nil || needs[0].MixML != nil {
		t.Errorf("what is in the bottles is not known, and said as %+v", needs[0])
	}
}
