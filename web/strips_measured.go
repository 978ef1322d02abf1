package web

import (
	"context"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

// runsOfStrips is how many strips back their runs are looked at.
const runsOfStrips = 40

// measured gathers what telemetry says of the time since the last strip that
// was in before the newest one.
func (s *Server) measured(ctx context.Context, reads []strips.Reading) (strips.Telemetry, error) {
	last := reads[len(reads)-1]
	var m strips.Telemetry
	var goodAt time.Time
	for _, r := range reads[:len(reads)-1] {
		if r.Status == lab.StripIn {
			goodAt, m.NewMix = r.At.Time, ""
			if r.Mix != last.Mix {
				m.NewMix = orUnnamed(last.Mix)
			}
		}
	}
	m.Mix, m.MixDays, m.Moved = last.Mix, mixDays(reads), strips.MovedWithMix(reads)
	runs, err := s.runsOf(ctx, reads[max(0, len(reads)-runsOfStrips):])
	if err != nil {
		return m, err
	}
	byRuns(&m, reads, runs)
	since, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Unit: last.Unit, Process: last.Process, From: goodAt, To: last.At.Add(time.Second), Limit: batchMost})
	if err != nil {
		return m, err
	}
	bySince(&m, since)
	return m, nil
}

// mixDays is for how long the mix of the last strip has been read, in days.
func mixDays(reads []strips.Reading) *float64 {
	last := reads[len(reads)-1]
	if last.Mix == "" {
		return nil
	}
	i := slices.IndexFunc(reads, func(r strips.Reading) bool { return r.Mix == last.Mix })
	days := last.At.Sub(reads[i].At.Time).Hours() / 24
	return &days
}

// runsOf reads the runs that strips went through, by their ids.
func (s *Server) runsOf(ctx context.Context, reads []strips.Reading) (map[string]lab.Run, error) {
	out := map[string]lab.Run{}
	for _, r := range reads {
		if _, there := out[r.Run]; r.Run == "" || there {
			continue
		}
		run, err := s.cfg.Store.Run(ctx, r.Run)
		if lab.KindOf(err) == lab.KindNotFound && err != nil {
			continue
		}
		if err != nil {
			return nil, err
		}
		out[r.Run] = run
	}
	return out, nil
}

// byRuns sets the developer of the last strip's run beside those of strips
// that were in, and works out what push errors do to the plots here.
func byRuns(m *strips.Telemetry, reads []strips.Reading, runs map[string]lab.Run) {
	last := reads[len(reads)-1]
	push := map[string]float64{}
	var temps, times []float64
	for _, r := range reads {
		run, ok := runs[r.Run]
		if !ok {
			continue
		}
		if run.PushErrorStops != nil {
			push[r.Run] = *run.PushErrorStops
		}
		d := developerOf(run)
		if d == nil || r.ID == last.ID || r.Status != lab.StripIn {
			continue
		}
		if d.MeanC != nil {
			temps = append(temps, *d.MeanC)
		}
		if d.TimeS != nil {
			times = append(times, *d.TimeS)
		}
	}
	m.Slopes = strips.Slopes(reads, push)
	if run, ok := runs[last.Run]; ok {
		m.PushStops = run.PushErrorStops
		if d := developerOf(run); d != nil {
			m.WarmerC, m.LongerS = against(d.MeanC, temps), against(d.TimeS, times)
		}
	}
}

// bySince looks through the runs since the last strip that was in.
func bySince(m *strips.Telemetry, runs []lab.Run) {
	for _, r := range runs {
		for _, reason := range r.Reasons {
			bleach := strings.HasPrefix(reason.Step, "bleach")
			developer := strings.Contains(reason.Step, "developer")
			m.Rotation = m.Rotation || developer && reason.Code == "rotation"
			m.ShortFill = m.ShortFill || developer && reason.Code == "chemistry"
			m.ShortBleach = m.ShortBleach || bleach && (reason.Code == "step-short" || reason.Code == "bath-cool" || reason.Code == "step-skipped")
		}
	}
}

// developerOf is the step of a run that has push times.
func developerOf(r lab.Run) *lab.RunStep {
	i := slices.IndexFunc(r.Steps, func(st lab.RunStep) bool { return st.EquivalentS != nil })
	if i < 0 {
		return nil
	}
	return &r.Steps[i]
}

func against(v *float64, others []float64) *float64 {
	if v == nil || len(others) == 0 {
		return nil
	}
	sum := 0.0
	for _, o := range others {
		sum += o
	}
	d := *v - sum/float64(len(others))
	return &d
}
