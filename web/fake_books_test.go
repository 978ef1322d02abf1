package web

import (
	"context"

	"wetside/internal/lab"
)

// books are what a shop's people wrote by hand.
type books struct {
	lines     []lab.BookLine
	chemistry lab.ChemistrySettings
	waste     lab.WasteSettings
}

// WriteLine keeps a line as the store promises to.
func (s *shop) WriteLine(_ context.Context, l lab.BookLine) (lab.BookLine, error) {
	defer s.Lock()()
	if l.Entered = lab.At(t0); l.At.IsZero() {
		l.At = l.Entered
	}
	if err := l.Check(); err != nil {
		return l, err
	}
	n := 0
	for _, old := range s.books.lines {
		if old.Book == l.Book && old.ID == l.ID {
			if n++; old.Version == l.Version && lab.SamePayload(old.Body, l.Body) {
				return old, nil
			}
		}
	}
	if n != l.Version-1 {
		return l, lab.Errorf(lab.KindConflict, "%s was changed meanwhile: it stands at version %d; read it again", l.ID, n)
	}
	s.books.lines = append(s.books.lines, l)
	return l, s.Broken
}

func (s *shop) Lines(_ context.Context, book string) (out [][]lab.BookLine, _ error) {
	defer s.Lock()()
	at := map[string]int{}
	for _, l := range s.books.lines {
		if l.Book != book {
			continue
		}
		i, known := at[l.ID]
		if !known {
			i = len(out)
			at[l.ID], out = i, append(out, nil)
		}
		out[i] = append(out[i], l)
	}
	return out, s.Broken
}

func (s *shop) ChemistrySettings(context.Context) (lab.ChemistrySettings, error) {
	defer s.Lock()()
	return s.books.chemistry, s.Broken
}

func (s *shop) SetChemistrySettings(_ context.Context, v lab.ChemistrySettings, _ string) error {
	defer s.Lock()()
	if err := v.Check(); err != nil {
		return err
	}
	s.books.chemistry = v
	return s.Broken
}

func (s *shop) WasteSettings(context.Context) (lab.WasteSettings, error) {
	defer s.Lock()()
	return s.books.waste, s.Broken
}

func (s *shop) SetWasteSettings(_ context.Context, v lab.WasteSettings, _ string) error {
	defer s.Lock()()
	if err := v.Check(); err != nil {
		return err
	}
	s.books.waste = v
	return s.Broken
}

// stockBooks writes a mix that stands on plover, one that is withdrawn, and a
// limit.
func (s *shop) stockBooks() {
	s.books.waste = lab.WasteSettings{StartedAt: lab.AtPtr(t0.AddDate(0, 0, -9)), Streams: map[string]string{"waste": lab.StreamSilver}}
	s.books.lines = append(s.books.lines,
		lab.BookLine{Book: lab.BookMixes, ID: "MIX-AAAAAA", Version: 1, At: lab.At(t0), Entered: lab.At(t0), By: "Wren", Body: []byte(`{"solution":"c41/developer","lot":"0931","volume_l":5,"mixed_by":"Wren"}`)},
		lab.BookLine{Book: lab.BookMixes, ID: "MIX-BBBBBB", Version: 1, At: lab.At(t0), Entered: lab.At(t0), By: "Wren", Body: []byte(`{"solution":"c41/fixer","volume_l":5,"mixed_by":"Wren","withdrawn":"cloudy"}`)})
	s.entries = append(s.entries, lab.Entry{ID: "bottle", Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"}, What: lab.EntryBottle, By: "Wren", At: t0.AddDate(0, 0, -1), Entered: t0,
		Body: []byte(`{"position":"c41/developer","mix":"MIX-AAAAAA"}`)})
}
