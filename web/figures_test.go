package web

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

// Of each figure the last counts, by the moment from which it holds; what was
// taken back and what came with history do not.
func TestFiguresInForce(t *testing.T) {
	aim := func(id string, after time.Duration, push, s float64) lab.Entry {
		return lab.Entry{ID: id, What: lab.EntryHouseAim, At: t0.Add(after), Entered: t0, By: "Wren",
			Body: fmt.Appendf(nil, `{"process":"c41","step":"developer","push":%g,"equivalent_s":%g}`, push, s)}
	}
	probe := func(id string, after time.Duration, offset float64) lab.Entry {
		return lab.Entry{ID: id, What: lab.EntryProbe, At: t0.Add(after), Entered: t0, By: "Wren", Body: fmt.Appendf(nil, `{"offset_c":%g}`, offset)}
	}
	dev := func(id, name string) lab.Entry {
		return lab.Entry{ID: id, What: lab.EntryDeveloper, At: t0, By: "Wren", Body: fmt.Appendf(nil, `{"process":"bw","step":"developer","developer":%q}`, name)}
	}
	got := figuresInForce([]lab.Entry{
		aim("a1", 0, 0, 198), aim("a2", time.Hour, 0, 200), aim("a3", time.Minute, 0, 190), aim("a4", 0, 1, 230), aim("a5", 0, 2, 250), aim("a6", 1, 2, 0),
		probe("p2", time.Hour, 0.2), probe("p1", 0, 0.1), dev("d1", "x"), dev("d2", ""),
	})
	if got.Probe == nil || got.Probe.ID != "p2" || got.Probe.OffsetC != 0.2 {
		t.Errorf("probe %+v; want p2", got.Probe)
	}
	var aims []string
	for _, a := range got.HouseAims {
		aims = append(aims, a.ID)
	}
	if diff := cmp.Diff([]string{"a4", "a2"}, aims); diff != "" || len(got.Developers) != 0 {
		t.Errorf("developers %v, house aims (-want +got):\n%s", got.Developers, diff)
	}
}
