package monitor

import (
	"context"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	sheetbook "wetside/internal/process"
	"wetside/internal/report"
	"wetside/rules"
	"wetside/web"
)

// Sheets are the process sheets with what people changed of them on the pages.
// Safe for concurrent use: who judges reads while somebody changes.
type Sheets struct {
	store   *postgres.Store
	library atomic.Pointer[sheetbook.Library]
	one     sync.Mutex // one change at a time
}

// OpenSheets adds to a configuration what the lab changed of its sheets. A
// change that no longer makes a sheet, after a new program or another --rules,
// is left out and told of: the lab is watched all the same.
func OpenSheets(ctx context.Context, store *postgres.Store, cfg *rules.Config, log *slog.Logger) (*Sheets, error) {
	changes, err := store.SheetChanges(ctx)
	if err != nil {
		return nil, err
	}
	library := cfg.Library
	if library == nil {
		if library, err = sheetbook.NewLibrary(nil, nil); err != nil {
			return nil, err
		}
	}
	for _, c := range changes {
		next, err := library.With(asProcess(c))
		if err != nil {
			log.Error("a change of a process sheet holds no more; put it right on the settings page", "process", c.Process, "by", c.By, "at", c.At, "error", err)
			continue
		}
		library = next
	}
	s := &Sheets{store: store}
	s.library.Store(library)
	cfg.BookAt = func(t time.Time) *sheetbook.Book { return s.Library().At(t) }
	return s, nil
}

// Zone is the time zone of the lab: what its settings say, else what this
// machine has.
func Zone(ctx context.Context, store *postgres.Store) (*time.Location, error) {
	settings, err := store.LabSettings(ctx)
	if err != nil || settings.TimeZone == "" {
		return time.Local, err
	}
	return settings.Location(), nil
}

// Units gives the lab's units of measure; where they do not read, those that
// texts are written in.
func Units(store *postgres.Store) func(context.Context) lab.Units {
	return func(ctx context.Context) lab.Units {
		settings, err := store.LabSettings(ctx)
		if err != nil {
			return lab.Units{}
		}
		return settings.ReadIn()
	}
}

func asProcess(c lab.SheetChange) sheetbook.SheetChange {
	return sheetbook.SheetChange{ID: c.Process, Body: []byte(c.Text), From: c.At.Time}
}

// Library implements web.Sheets.
func (s *Sheets) Library() *sheetbook.Library { return s.library.Load() }

// ChangeSheet implements web.Sheets.
func (s *Sheets) ChangeSheet(ctx context.Context, c lab.SheetChange) error {
	s.one.Lock()
	defer s.one.Unlock()
	next, err := s.Library().With(asProcess(c))
	if err != nil {
		return lab.Errorf(lab.KindInvalid, "body.text: %w", err)
	}
	if sheet, ok := next.At(c.At.Time).Sheet(c.Process); ok { // what stood before is not asked about again
		for _, w := range sheetbook.WidenedLimits(sheet) {
			if w.Why == "" {
				return lab.Errorf(lab.KindInvalid, "body.text: %s", w.Missing())
			}
		}
	}
	if err := s.store.AddSheetChange(ctx, c); err != nil {
		return err
	}
	s.library.Store(next)
	return nil
}

// SheetChanges implements web.Sheets.
func (s *Sheets) SheetChanges(ctx context.Context) ([]lab.SheetChange, error) {
	return s.store.SheetChanges(ctx)
}

// ruleFigures are the figures of the rules as the pages show them.
func ruleFigures(d *rules.Data) []web.RuleFigure {
	if d == nil {
		d = rules.Builtin()
	}
	var out []web.RuleFigure
	for _, f := range d.List() {
		out = append(out, web.RuleFigure{Figure: f.Name, Value: f.Value, Provenance: f.Provenance, From: f.From})
	}
	return out
}

// noNewsForNewLabs marks the changes of figures as read in a lab that never
// ran with the ones before: there is nothing new to it.
func noNewsForNewLabs(ctx context.Context, store *postgres.Store) error {
	seen, err := store.FiguresSeen(ctx)
	if err != nil || seen.Lot > 0 {
		return err
	}
	runs, err := store.Runs(ctx, lab.RunFilter{Limit: 1})
	if err != nil || len(runs) > 0 {
		return err
	}
	return store.SetFiguresSeen(ctx, lab.FiguresSeen{Lot: sheetbook.LastLot(), By: "wetside", At: lab.At(time.Now())})
}

// symptoms lists the faults that film of a process can show, for the pages.
func symptoms(process string) []web.SymptomCode {
	var out []web.SymptomCode
	for _, s := range report.Symptoms(process) {
		out = append(out, web.SymptomCode{Seen: s.Seen, Label: s.Label})
	}
	return out
}
