package performance_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wetside/alerts/performance"
	"wetside/internal/lab"
)

var nine = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

func at(min float64) time.Time { return nine.Add(time.Duration(min * float64(time.Minute))) }

// alert stands at its last episode; acked is minutes after its noticing, < 0: never.
func alert(rule string, p lab.Priority, acked float64, state lab.AlertState, raised ...float64) lab.StoredAlert {
	a := lab.StoredAlert{Alert: lab.Alert{Rule: rule, Priority: p, State: state, Facts: map[string]any{"respond_s": 120.0}}}
	for i, m := range raised {
		a.Episodes = append(a.Episodes, lab.Episode{Occurrence: lab.Occurrence{Rule: rule, Priority: p, RaisedAt: at(m)}, Number: i + 1, Noticed: at(m)})
		a.RaisedAt, a.NoticedAt = lab.At(at(m)), lab.At(at(m))
	}
	if acked >= 0 {
		a.AcknowledgedAt = lab.AtPtr(a.NoticedAt.Add(time.Duration(acked * float64(time.Minute))))
	}
	return a
}

func gauge(t *testing.T, f lab.AlertFigures, code string) lab.Gauge {
	t.Helper()
	i := slices.IndexFunc(f.Measures, func(g lab.Gauge) bool { return g.Code == code })
	if i < 0 {
		t.Fatalf("no measure %q", code)
	}
	return f.Measures[i]
}

// TestCount: a morning counted by hand.
func TestCount(t *testing.T) {
	withdrawn := alert("unit-silent", lab.High, -1, lab.Closed, 30)
	withdrawn.Withdrawn, withdrawn.Episodes[0].Withdrawn = true, true
	found := alert("bath-temperature", lab.High, -1, lab.ClearedUnacknowledged, 31)
	found.FoundAfterwards, found.Episodes[0].FoundAfterwards = true, true
	alerts := []lab.StoredAlert{
		alert("bath-temperature", lab.Urgent, 1, lab.Closed, 5),
		alert("bath-temperature", lab.Urgent, 3, lab.Closed, 20),                      // late
		alert("waste-nearly-full", lab.High, 2, lab.Acknowledged, 40),                 // at the last second
		alert("waste-nearly-full", lab.High, -1, lab.ClearedUnacknowledged, 50),       // never
		alert("step-overrun", lab.Low, -1, lab.Unacknowledged, 10, 10.3, 10.6, 10.95), // chatters; needs no answer
		alert("clock-off", lab.Low, -1, lab.Unacknowledged, -2000),                    // stale
		alert("power-lost", lab.Urgent, -1, lab.Closed, -10),                          // before the period
		withdrawn, found,
	}
	pages := []lab.SentPage{
		{Person: "Wren", At: lab.At(at(5)), Rules: []string{"bath-temperature"}},
		{Person: "Wren", At: lab.At(at(20)), Rules: []string{"bath-temperature"}},
		{Person: "Robin", At: lab.At(at(21)), Rules: []string{"bath-temperature"}},
		{Person: "Wren", At: lab.At(at(40)), Rules: []string{"waste-nearly-full"}},
		{Person: "Wren", At: lab.At(at(41)), Rules: nil, Test: true},
		{Person: "Wren", At: lab.At(at(61)), Rules: []string{"waste-nearly-full"}}, // after it
	}
	f := performance.Count(nine, at(60), alerts, pages)
	if f.Alerts != 9 || f.Found != 1 || f.Pages != 4 {
		t.Errorf("%d alerts, %d found afterwards, %d pages; want 9, 1, 4", f.Alerts, f.Found, f.Pages)
	}
	if v := gauge(t, f, "in-time"); v.Value == nil || *v.Value != 0.5 || *v.Ok {
		t.Errorf("in time: %+v; want 2 of 4", v)
	}
	for code, want := range map[string]float64{"pages-worst-hour": 3, "pages-peak": 1, "stale": 1, "chattering": 1, "standing": 5, "withdrawn": 0.1} {
		if v := gauge(t, f, code); v.Value == nil || *v.Value != want {
			t.Errorf("%s is %v; want %v", code, *v.Value, want)
		}
	}
	// 3 pages in the hour to Wren: half a page in ten minutes
	if v := gauge(t, f, "pages-average"); *v.Value != 0.5 || !*v.Ok || *v.Limit != 1 {
		t.Errorf("average %+v", v)
	}
	if f.Rules[0].Rule != "bath-temperature" || f.Rules[0].Pages != 3 || f.Rules[0].InTime != 1 || f.Rules[0].Late != 1 || *f.Rules[0].MedianAckS != 120 {
		t.Errorf("the rule that pages most: %+v", f.Rules[0])
	}
	if f.People[0].Person != "Wren" || f.People[0].Pages != 3 || f.People[0].PerHour != 3 {
		t.Errorf("who is called most: %+v", f.People[0])
	}
}

// HSE's figures as they are given (CHIS 6, Better alarm handling: "the
// long-term average alarm rate during normal operation should be no more than
// one every ten minutes; and no more than ten displayed in the first ten
// minutes following a major plant upset"): a busy hour on a quiet day is no
// fault, a day of ten an hour is; ten in ten minutes are acceptable, eleven not.
func TestHSEAsGiven(t *testing.T) {
	sent := func(n int, gap float64) (out []lab.SentPage) {
		for i := range n {
			out = append(out, lab.SentPage{Person: "Wren", At: lab.At(at(float64(i) * gap)), Rules: []string{"x"}})
		}
		return out
	}
	for _, tt := range []struct {
		name          string
		pages         []lab.SentPage
		average, peak bool
	}{
		{"nine in one hour of a day", sent(9, 6), true, true},
		{"ten an hour all day", sent(240, 6), false, true},
		{"six an hour all day", sent(144, 10), true, true},
		{"ten within ten minutes", sent(10, 0.5), true, true},
		{"eleven within ten minutes", sent(11, 0.5), true, false},
	} {
		f := performance.Count(nine, at(24*60), nil, tt.pages)
		if a, p := gauge(t, f, "pages-average"), gauge(t, f, "pages-peak"); *a.Ok != tt.average || *p.Ok != tt.peak {
			t.Errorf("%s: average %.2f acceptable %v, most %g acceptable %v", tt.name, *a.Value, *a.Ok, *p.Value, *p.Ok)
		}
	}
	for _, g := range performance.Count(nine, at(60), nil, nil).Measures {
		if (g.Limit == nil) != (g.Provenance == "") || len(strings.Fields(g.Provenance)) > 3 {
			t.Errorf("%s: limit %v with the standing %q", g.Code, g.Limit, g.Provenance)
		}
	}
}

// TestPeak against counting from every page.
func TestPeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mins := rapid.SliceOfN(rapid.Float64Range(0, 119), 1, 40).Draw(t, "minutes")
		var pages []lab.SentPage
		for _, m := range mins {
			pages = append(pages, lab.SentPage{Person: "Wren", At: lab.At(at(m)), Rules: []string{"x"}})
		}
		want := 0
		for _, p := range pages {
			n := 0
			for _, q := range pages {
				if d := q.At.Sub(p.At.Time); d >= 0 && d < 10*time.Minute {
					n++
				}
			}
			want = max(want, n)
		}
		if got := performance.Count(nine, at(120), nil, pages).People[0].Peak10Min; got != want {
			t.Fatalf("peak %d; want %d", got, want)
		}
	})
}

// TestNothing: an empty week has no figures that look good or bad by chance.
func TestNothing(t *testing.T) {
	f := performance.Count(nine, at(60), nil, nil)
	if v := gauge(t, f, "in-time"); v.Value != nil || v.Ok != nil {
		t.Errorf("in time of nothing: %+v", v)
	}
	if f.Rules == nil || f.People == nil || f.Spread[0].Part != 0 {
		t.Errorf("%+v", f)
	}
}
