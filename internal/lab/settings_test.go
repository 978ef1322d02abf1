package lab_test

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

// TestHouseHours: the hours are the lab's own, in summer and in winter. The
// clocks of Europe/Dublin went forward on 29 March 2026 at 01:00 UTC (source:
// the IANA time zone database).
func TestHouseHours(t *testing.T) {
	h := lab.LabSettings{TimeZone: "Europe/Dublin", Hours: map[string][]string{"friday": {"09:00-12:30", "13:30-18:00"}, "monday": {"09:00-24:00"}}}
	for at, closed := range map[string]bool{
		"2026-03-27T08:59:00Z": true, "2026-03-27T09:00:00Z": false, "2026-03-27T12:30:00Z": true, "2026-03-27T17:59:59Z": false, "2026-03-27T18:00:00Z": true,
		"2026-03-28T10:00:00Z": true,                                                               // Saturday
		"2026-03-30T07:59:00Z": true, "2026-03-30T08:00:00Z": false, "2026-03-30T22:59:00Z": false, // summer time
		"2026-03-30T23:00:00Z": true,
	} {
		now, err := time.Parse(time.RFC3339, at)
		if err != nil {
			t.Fatal(err)
		}
		if h.ClosedAt(now) != closed {
			t.Errorf("at %s closed is %v; want %v", at, !closed, closed)
		}
	}
}

// TestHouseButton: the button closes until it is pressed again or its time is up.
func TestHouseButton(t *testing.T) {
	now := time.Date(2026, 3, 27, 10, 0, 0, 0, time.UTC)
	if (lab.LabSettings{}).ClosedAt(now) {
		t.Error("a lab without hours is closed")
	}
	if !(lab.LabSettings{Closed: true}).ClosedAt(now) {
		t.Error("closed by the button, but open")
	}
	until := lab.LabSettings{Closed: true, ClosedUntil: lab.AtPtr(now)}
	if until.ClosedAt(now) || !until.ClosedAt(now.Add(-time.Second)) {
		t.Error("the button does not end when its time is up")
	}
}

func TestHouseCheck(t *testing.T) {
	for want, h := range map[string]lab.LabSettings{
		"time_zone":               {TimeZone: "Mars/Olympus"},
		"is not a day":            {Hours: map[string][]string{"funday": {"09:00-10:00"}}},
		"the end after":           {Hours: map[string][]string{"monday": {"10:00-09:00"}}},
		"must be such as":         {Hours: map[string][]string{"monday": {"9-10"}}},
		"is not a unit name":      {Circuits: map[string][]string{"left wall": {"plover"}}},
		"put it in one":           {Circuits: map[string][]string{"a": {"tern-street/plover"}, "b": {"tern-street/plover"}}},
		"networks: x: unit \"!\"": {Networks: map[string][]string{"x": {"!"}}},
	} {
		if err := h.Check(); err == nil || !strings.Contains(err.Error(), want) || lab.KindOf(err) != lab.KindInvalid {
			t.Errorf("%+v: %v; want one that says %q", h, err, want)
		}
	}
	ok := lab.LabSettings{TimeZone: "America/New_York", Hours: map[string][]string{"monday": {"09:00-24:00"}}, Circuits: map[string][]string{"a": {"tern-street/plover"}}}
	if err := ok.Check(); err != nil {
		t.Error(err)
	}
}
