package report

import (
	"encoding/json"
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

func p[T any](v T) *T { return &v }

func later(d time.Duration) lab.Time     { return lab.At(nine.Add(d)) }
func laterPtr(d time.Duration) *lab.Time { t := later(d); return &t }

// smallReport is a short run told by hand, for golden files: what the rules
// say changes, what is made of it should not.
func smallReport() lab.Report {
	const m, s = time.Minute, time.Second
	r := lab.Report{UnitName: "Héron №2", MadeBy: "wetside 1.0"}
	r.Run = lab.Run{ID: "run-1", Unit: "tern-street/heron", Run: "r17", Process: "bw", Push: 1, Kind: lab.KindOfRunFilm,
		StartedAt: later(0), EndedAt: laterPtr(22 * m), Outcome: lab.OutcomeDone, Verdict: p(lab.Inspect), PushErrorStops: p(0.4123),
		Reasons: []lab.Reason{
			{Code: "bath-warm", Step: "developer", Text: "Developer was too warm for 1:10 (19.90 to 21.62 °C)."},
			{Code: "step-short", Step: "fixer", Text: "Fixer lasted 1:40; the sheet wants 5:00."}},
		Steps: []lab.RunStep{
			{N: 1, Step: "developer", Fills: 1, StartedAt: laterPtr(3 * m), SheetS: p(390.0), SetS: p(390.0), TimeS: p(391.0), LowC: p(19.7), HighC: p(20.3),
				MeanC: p(20.41), MinC: p(19.9), MaxC: p(21.62), OutsideS: p(70.0), EquivalentS: p(421.0), PushErrorStops: p(0.4123), PushErrorLowStops: p(0.31), PushErrorHighStops: p(0.52)},
			{N: 2, Step: "fixer", Fills: 1, StartedAt: laterPtr(11 * m), SheetS: p(300.0), SetS: p(300.0), TimeS: p(100.0), LowC: p(18.0), HighC: p(24.0),
				MeanC: p(20.1), MinC: p(20.0), MaxC: p(20.2), OutsideS: p(0.0)}},
		Rolls:    []lab.Roll{{TwinCheck: "4711", Film: "panchromatic 400", Format: "135", Order: "A-12"}},
		Decision: &lab.Decision{Decision: "hold", By: "mara", At: later(30 * m), Note: "Fix again first."},
		Outages:  []lab.Outage{}, Gaps: []lab.Gap{{Boot: "b1", FromSeq: 40, ToSeq: 44}}}
	cfg := Criteria{}.config()
	r.JudgedBy, _ = judgedBy(nil, r.Run, cfg)
	r.JudgedBy.Sources = r.JudgedBy.Sources[:2]
	sp := stepsJudgedBy(cfg, "bw", nil)
	r.Timeline = lab.Timeline{From: later(0), To: later(22 * m),
		Still: []lab.Span{{From: later(12 * m), To: later(12*m + 30*s), Label: "stood still in the fixer"}},
		Steps: []lab.TimelineStep{
			{N: 1, Step: "developer", Label: "developer", Kind: process.Dev, PlannedS: p(390.0), StartedAt: laterPtr(3 * m), EndedAt: laterPtr(9*m + 31*s), LowC: p(19.7), HighC: p(20.3)},
			{N: 2, Step: "fixer", Label: "fixer", Kind: process.Min, PlannedS: p(300.0), StartedAt: laterPtr(11 * m), EndedAt: laterPtr(12*m + 40*s), LowC: p(18.0), HighC: p(24.0)},
			{N: 3, Step: "wash", Label: "wash", Kind: process.Min, PlannedS: p(300.0), LowC: p(18.0), HighC: p(24.0)}}}
	for i := range 80 {
		c := 20 + 1.62*max(0, 1-abs(float64(i)-40)/15)
		r.Timeline.Bath = append(r.Timeline.Bath, lab.CurvePoint{At: later(3*m + time.Duration(i)*5*s), C: &c})
	}
	r.Alerts = []lab.ReportAlert{{ID: "a", Rule: "bath-temperature", Step: "developer", Priority: lab.Urgent, RaisedAt: later(6 * m), Message: "Developer 1.3 °C too warm"}}
	body, _ := json.Marshal(lab.Symptom{Seen: "yellow-stain"})
	r.Entries = []lab.Entry{{ID: "e", Unit: lab.UnitID{Lab: "tern-street", Unit: "heron"}, RunID: "run-1", What: lab.EntrySymptom, At: nine.Add(40 * m), By: "mara", Body: body}}
	r.Look, r.Seen = lookFor(r.Run, sp), seenCauses(r, sp)
	r.Notes = notes(r)
	return r
}

// largeReport is as full as a run can be: 9 steps, a reason of every kind, 40
// rolls, alerts and outages throughout.
func largeReport() lab.Report {
	const m = time.Minute
	r := smallReport()
	r.Run.Process, r.Run.Steps, r.Run.Reasons, r.Run.Rolls, r.Alerts = "e6-7", nil, nil, nil, nil
	r.Timeline = lab.Timeline{From: later(0), To: later(150 * m)}
	r.JudgedBy, _ = judgedBy(nil, r.Run, Criteria{}.config())
	sp := stepsJudgedBy(Criteria{}.config(), "e6-7", nil)
	for i, st := range sp.sheet.Steps {
		at := time.Duration(10+15*i) * m
		s := lab.RunStep{N: i + 1, Step: st.ID, StartedAt: laterPtr(at), SheetS: p(st.AimS), SetS: p(st.AimS), TimeS: p(st.AimS + 100), LowC: p(st.LowC), HighC: p(st.HighC),
			MeanC: p(st.AimC), MinC: p(st.LowC - 1), MaxC: p(st.HighC + 1), OutsideS: p(75.0)}
		r.Run.Steps = append(r.Run.Steps, s)
		r.Timeline.Steps = append(r.Timeline.Steps, lab.TimelineStep{N: i + 1, Step: st.ID, Label: st.Label, Kind: st.Kind, PlannedS: p(st.AimS), StartedAt: laterPtr(at),
			EndedAt: laterPtr(at + secondsOf(st.AimS+100)), LowC: p(st.LowC), HighC: p(st.HighC)})
		for j := range 60 {
			c := st.AimC + 2*float64(j%7-3)/3
			r.Timeline.Bath = append(r.Timeline.Bath, lab.CurvePoint{At: later(at + time.Duration(j)*6*time.Second), C: &c})
		}
		r.Timeline.Bath = append(r.Timeline.Bath, lab.CurvePoint{At: later(at + 7*m)})
	}
	for i, code := range reasonCodes {
		step := sp.sheet.Steps[i%9].ID
		r.Run.Reasons = append(r.Run.Reasons, lab.Reason{Code: code, Step: step, Text: fmt.Sprintf("%s: something that takes a line to say, number %d of many.", capital(step), i+1)})
	}
	for i := range 40 {
		r.Run.Rolls = append(r.Run.Rolls, lab.Roll{TwinCheck: fmt.Sprint(7000 + i), Film: "daylight 100", Format: "120", Order: fmt.Sprintf("B-%03d", i)})
	}
	for i := range 60 {
		r.Alerts = append(r.Alerts, lab.ReportAlert{ID: fmt.Sprint(i), Priority: []lab.Priority{lab.Urgent, lab.High, lab.Low}[i%3],
			RaisedAt: later(time.Duration(i*i) * 2 * time.Second), Message: fmt.Sprintf("Something that went wrong, number %d", i+1)})
	}
	for i := range 3 {
		at := time.Duration(12+40*i) * m
		r.Run.Outages = append(r.Run.Outages, lab.Outage{LostAt: laterPtr(at), BackAt: laterPtr(at + 4*m), OutageS: p(240.0), Kind: "battery", Step: "bleach", Advice: "extend", Text: "Extend it by 2:10."})
		r.Timeline.Outages = append(r.Timeline.Outages, outageSpan(r.Run.Outages[i], r.Timeline))
	}
	r.Timeline.ByHand = []lab.Span{{From: later(13 * m), To: later(15 * m), Label: "turned by hand"}}
	r.Look = lookFor(r.Run, sp)
	return r
}
