package web

import (
	"fmt"

	"wetside/internal/process"
)

func lightWords(l process.LightSafe) string {
	switch {
	case l.Step == "":
		return ""
	case l.AtEnd:
		return "after the " + l.Step
	}
	return fmt.Sprintf("%.0f s into the %s", l.InS, l.Step)
}

func viewStep(st *process.Step) SheetStep {
	v := SheetStep{Step: st.ID, Label: st.Label, Kind: st.Kind, Wash: st.Wash, Optional: st.Optional, FromUnit: st.FromUnit,
		AimS: above0(st.AimS), LeastS: above0(st.LeastS), AimC: st.AimC, LowC: st.LowC, HighC: st.HighC,
		Push: []SheetPush{}, Usual: st.RangeC, Note: st.Note, Sources: viewSources(st.Sources)}
	for _, f := range st.Figures() {
		v.Figures = append(v.Figures, SheetValue{f, process.FigureLabel(f), st.Value(f), process.ProvenanceOf(st.Sources, f)})
	}
	if st.Factor.Best > 0 {
		v.Per10C = &SheetFactor{st.Factor.Best, st.Factor.Low, st.Factor.High}
	}
	if st.Push == nil {
		return v
	}
	for i, stops := range st.Push.Stops {
		p := SheetPush{Push: stops}
		if value := &st.Push.Values[i]; st.Push.Factors {
			p.Times = value
		} else {
			p.TimeS = value
		}
		v.Push = append(v.Push, p)
	}
	return v
}

func above0(v float64) *float64 {
	if v > 0 {
		return &v
	}
	return nil
}

func viewSources(list []process.Source) []SheetSource {
	out := make([]SheetSource, len(list))
	for i, s := range list {
		out[i] = SheetSource{Figure: s.Figure, From: s.From, Memory: s.Memory, Provenance: s.Provenance()}
	}
	return out
}
