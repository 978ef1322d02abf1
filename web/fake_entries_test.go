package web

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// AppendEntry keeps entries as the store promises to, but for what is pressed
// twice without a key.
func (s *shop) AppendEntry(_ context.Context, e lab.Entry) (lab.Entry, error) {
	defer s.Lock()()
	if s.Broken != nil {
		return e, s.Broken
	}
	for _, k := range s.entries {
		if e.ID != "" && k.ID == e.ID {
			if k.Unit != e.Unit || k.RunID != e.RunID || k.What != e.What || !lab.SamePayload(k.Body, e.Body) {
				return e, lab.Errorf(lab.KindConflict, "entry %q was made before with other content", e.ID)
			}
			return k, nil
		}
		if e.What == lab.EntryTakesBack && k.Target() == e.Target() {
			return k, nil
		}
	}
	if err := e.Check(); err != nil {
		return e, err
	}
	if e.ID == "" {
		e.ID = fmt.Sprint("e-", len(s.entries)+1)
	}
	e.Entered = t0
	if e.At.IsZero() {
		e.At = t0
	}
	e.Arrival = int64(len(s.entries) + 1)
	s.entries = append(s.entries, e)
	s.enterRun(e.RunID)
	return e, nil
}

func (s *shop) enterRun(id string) {
	r, ok := s.runs[id]
	if !ok {
		return
	}
	r.Decision = nil
	r = lab.RunRow{Run: r, FoldedKind: r.Kind, Imported: true}.Stated(s.entries)
	s.runs[id] = r
}

func (s *shop) Entries(_ context.Context, f lab.EntryFilter) ([]lab.Entry, error) {
	defer s.Lock()()
	var out []lab.Entry
	for _, e := range s.entries {
		what := e.What
		for _, k := range s.entries {
			if k.ID == e.Target() {
				what = k.What
			}
		}
		if (f.Unit == "" || e.Unit.String() == f.Unit) && (f.RunID == "" || e.RunID == f.RunID) && (len(f.What) == 0 || slices.Contains(f.What, what)) {
			out = append(out, e)
		}
	}
	return out, s.Broken
}

func (s *shop) Entry(_ context.Context, id string) (lab.Entry, error) {
	defer s.Lock()()
	for _, e := range s.entries {
		if e.ID == id {
			return e, nil
		}
	}
	return lab.Entry{}, lab.Errorf(lab.KindNotFound, "there is no entry %q", id)
}

// stockEntries adds an entry of each kind that the calls ask for.
func (s *shop) stockEntries() *shop {
	plover := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	for _, e := range []lab.Entry{
		{ID: "emptied", What: lab.EntryContainer, Body: []byte(`{"container":"waste","what":"emptied"}`)},
		{ID: "note", What: lab.EntryNote, Body: []byte(`{"text":"the hose drips"}`)},
		{ID: "probe", What: lab.EntryProbe, Body: []byte(`{"offset_c":0.1}`)},
		{ID: "aim", What: lab.EntryHouseAim, Body: []byte(`{"process":"c41","step":"developer","push":0,"equivalent_s":198}`)},
	} {
		e.Unit, e.By, e.At, e.Entered = plover, "Wren", t0, t0
		s.entries = append(s.entries, e)
	}
	return s
}

// reports stands in for what makes reports.
type reports struct{ *shop }

func (r reports) Report(ctx context.Context, id string) (lab.Report, error) {
	run, err := r.Run(ctx, id)
	at, c := lab.At(t0), 37.8
	return lab.Report{Run: run, UnitName: "Plover", JudgedBy: lab.JudgedBy{Sheet: "c41", HouseAims: []lab.HouseAim{{Process: "c41", Step: "developer", EquivalentS: 198}}},
		Look:     []lab.LookFor{{Code: "bath-warm", Step: "developer", Look: "dense negatives"}},
		Seen:     []lab.SeenCauses{{Seen: "thin", Label: "thin", Causes: []lab.Cause{{Text: "too short"}}}},
		Compared: &lab.Comparison{Runs: 12, From: at, To: at, Findings: []lab.Finding{{Step: "developer", Feature: "mean_c", Unit: "°C", Z: 4}}},
		Timeline: lab.Timeline{From: at, To: at, Bath: []lab.CurvePoint{{At: at, C: &c}, {At: at}}, Outages: []lab.Span{{From: at, To: at, Label: "battery"}},
			Envelope: []lab.BandPoint{{At: at, Low: 37.6, High: 38}}, Steps: []lab.TimelineStep{{N: 1, Step: "developer", Kind: "dev", StartedAt: &at}}},
		Entries: []lab.Entry{{ID: "e", Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"}, RunID: id, What: lab.EntryNote, At: t0, Entered: t0, By: "Wren", Body: []byte(`{"text":"x"}`)}},
		Alerts:  []lab.ReportAlert{{ID: "a-1", Priority: lab.Urgent, RaisedAt: at}}}, err
}

func (r reports) PDF(ctx context.Context, id string, w io.Writer) error {
	if _, err := r.Run(ctx, id); err != nil {
		return err
	}
	_, err := io.WriteString(w, "%PDF-1.4\n")
	return err
}

func (r reports) TraceCSV(ctx context.Context, id string, w io.Writer) error {
	if _, err := r.Run(ctx, id); err != nil {
		return err
	}
	_, err := io.WriteString(w, "at,bath_c\r\n")
	return err
}

func symptoms(process string) []SymptomCode {
	if strings.HasPrefix(process, "c41") || process == "" {
		return []SymptomCode{{Seen: "thin", Label: "thin negatives"}}
	}
	return nil
}

// within gives a moment of the shop's run.
func within(d time.Duration) string { return lab.At(t0.Add(d)).String() }
