package oncall

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

// Who is on call already is not coming; a swap puts its person in their place;
// hours by the wall's clock move with summer time (Europe/London, 2026-03-29
// 01:00 UTC, IANA database).
func TestComingOn(t *testing.T) {
	p := plan()
	swaps := []lab.DutySwap{{Day: "2026-03-30", Off: "Robin", On: "Finch"}}
	got := ComingOn(p, swaps, at(t, "2026-03-28T12:00:00Z"), at(t, "2026-03-31T00:00:00Z"))
	want := []Coming{
		{"Heron", 1, at(t, "2026-03-28T22:00:00Z")},
		{"Wren", 1, at(t, "2026-03-30T07:00:00Z")},
		{"Finch", 2, at(t, "2026-03-30T07:00:00Z")},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	if got := ComingOn(p, nil, at(t, "2026-03-02T09:00:00Z"), at(t, "2026-03-02T21:00:00Z")); len(got) != 0 {
		t.Errorf("on call already: %v", got)
	}
	if got := ComingOn(lab.DutyPlan{TimeZone: "Nowhere"}, nil, time.Time{}, time.Time{}); got != nil {
		t.Errorf("a zone that is not known: %v", got)
	}
}
