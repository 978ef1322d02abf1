package records_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/internal/records"
	"wetside/internal/simulation/sim"
)

// A run is sealed with what was heard and judged live; its report can be made
// again from the record alone and comes out the same; and nothing in the log
// is found changed.
func TestSealedRuns(t *testing.T) {
	t.Parallel()
	m := newMorning(t)
	cut := sim.Fault{Kind: sim.PowerCut, Unit: "plover", Run: 1, Step: "developer", After: time.Minute, For: 90 * time.Second}
	m.work(130*time.Minute, nil, cut)
	runs := m.runs()
	if len(runs) != 2 {
		t.Fatalf("%d runs; want 2", len(runs))
	}
	live := map[string]lab.Report{}
	for _, r := range runs {
		rep, err := m.reports().Report(t.Context(), r.ID)
		if err != nil {
			t.Fatal(err)
		}
		if rep.Run.Seal != nil {
			t.Errorf("run %s shows a seal before it has one", r.Run)
		}
		live[r.ID] = rep
	}
	m.sealAll()
	v := m.verify(records.VerifyOptions{Again: true, Making: m.making()})
	if len(v.Problems) > 0 || v.Records != 2 || v.Leaves != 2 || v.Checkpoints != 2 || v.Runs != 2 || v.Waiting != 0 {
		t.Errorf("verified: %+v", v)
	}
	for _, r := range m.runs() {
		rep, err := m.reports().Report(t.Context(), r.ID)
		if err != nil {
			t.Fatal(err)
		}
		if rep.Run.Seal == nil || r.Seal == nil || *rep.Run.Seal != *r.Seal {
			t.Errorf("run %s: seal %+v on the report, %+v on the run", r.Run, rep.Run.Seal, r.Seal)
		}
		if !records.SameJudgement(lab.RunRow{Run: rep.Run}, lab.RunRow{Run: r}) {
			t.Errorf("run %s: the report judges otherwise than the board did (-board +report):\n%s", r.Run, cmp.Diff(r, rep.Run))
		}
		want := live[r.ID]
		want.Run.Seal = rep.Run.Seal
		// the second run was compared with nothing while the first had no record
		want.Compared, rep.Compared = nil, nil
		want.Timeline.Envelope, rep.Timeline.Envelope = nil, nil
		if diff := cmp.Diff(want, rep); diff != "" {
			t.Errorf("run %s: the sealed report differs from the one made live (-live +sealed):\n%s", r.Run, diff)
		}
	}
}
