package timeline_test

import (
	"slices"

	"pgregory.net/rapid"

	"wetside/internal/lab"
	"wetside/rules"
)

// drawEntries writes what people may enter in the hour of drawDay.
func drawEntries(t *rapid.T, units [][]lab.Message) (out []lab.Entry) {
	for i := range units {
		u := units[i][0].Unit
		run := rules.RunID(u, rapid.SampledFrom([]string{"r1", "r2"}).Draw(t, "run"))
		for range rapid.IntRange(0, 5).Draw(t, "entries") {
			at := rapid.Float64Range(-60, 3600).Draw(t, "at")
			litres := rapid.Float64Range(0, 18).Draw(t, "litres")
			roll := lab.Roll{TwinCheck: "48213", Process: "c41", Push: float64(rapid.IntRange(0, 1).Draw(t, "push"))}
			var e lab.Entry
			switch rapid.IntRange(0, 11).Draw(t, "what") {
			case 0:
				e = enters(u, at, lab.EntryLoad, "", lab.Load{Process: "c41", Rolls: []lab.Roll{roll}})
			case 1:
				e = enters(u, at, lab.EntryLoad, run, lab.Load{Process: "c41", Rolls: []lab.Roll{roll}})
			case 2:
				e = enters(u, at, lab.EntryUnload, "", nil)
			case 3:
				e = enters(u, at, lab.EntryContainer, "", lab.ContainerEvent{Container: "waste", What: lab.Emptied})
			case 4:
				e = enters(u, at, lab.EntryContainer, "", lab.ContainerEvent{Container: "wash", What: lab.SetLevel, Litres: &litres})
			case 5:
				to := lab.At(moment(at + 40))
				e = enters(u, at, lab.EntryTurned, run, lab.Turned{From: lab.At(moment(at)), To: &to})
			case 6:
				e = enters(u, at, lab.EntryDrained, run, nil)
			case 7:
				e = enters(u, at, lab.EntryRolls, run, lab.RollsChange{Add: []lab.Roll{roll}})
			case 8:
				e = enters(u, at, lab.EntryKindOfRun, run, lab.KindChange{Kind: rapid.SampledFrom([]string{"film", "flush"}).Draw(t, "kind")})
			case 9:
				e = enters(u, at, lab.EntryProbe, "", lab.ProbeCheck{OffsetC: rapid.Float64Range(-0.3, 0.3).Draw(t, "offset")})
			case 10:
				e = enters(u, at, lab.EntryHouseAim, "", lab.HouseAim{Process: "c41", Step: "developer", EquivalentS: rapid.Float64Range(180, 210).Draw(t, "aim")})
			case 11:
				if len(out) > 0 {
					e = enters(out[len(out)-1].Unit, at, lab.EntryTakesBack, "", lab.TakesBack{ID: out[len(out)-1].ID})
				}
			}
			if e.What != "" && !slices.ContainsFunc(out, func(x lab.Entry) bool { return x.ID == e.ID }) {
				out = append(out, e)
			}
		}
	}
	return out
}
