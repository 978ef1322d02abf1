package records_test

import (
	"context"
	"errors"
	"strings"
	"sync/atomic"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/records"
)

// What comes after the seal never changes a record: late telemetry makes a
// new one that names the one before, and what people enter stands beside it.
func TestLaterEvidence(t *testing.T) {
	t.Parallel()
	m := sealedMorning(t)
	first := m.runs()[1]
	count := func(sql string) int { return one[int](t, m.conn, sql) }
	if n := count(`SELECT count(*) FROM records WHERE run = '` + first.ID + `'`); n != 2 {
		t.Errorf("%d records of the run with late telemetry; want 2", n)
	}
	if n := count(`SELECT count(*) FROM records n JOIN records o ON n.supersedes = o.leaf AND n.run = o.run`); n != 1 {
		t.Errorf("%d records supersede another of their run; want 1", n)
	}
	rep, err := m.reports().Report(t.Context(), first.ID)
	if err != nil {
		t.Fatal(err)
	}
	if len(rep.Run.Gaps) != 0 {
		t.Errorf("the gap that was filled is still shown: %v", rep.Run.Gaps)
	}
	if len(rep.Run.Rolls) != 1 || rep.Run.Decision == nil || rep.Run.Decision.Decision != "hold" {
		t.Errorf("rolls %v, decision %v", rep.Run.Rolls, rep.Run.Decision)
	}
	leaves := count(`SELECT count(*) FROM log_leaves`)
	note := m.enter(lab.Entry{RunID: first.ID, What: lab.EntryNote, Body: asJSON(t, lab.Note{Text: "scanned"})})
	m.enter(lab.Entry{RunID: first.ID, What: lab.EntryDecision, Body: asJSON(t, lab.Decision{Decision: "release"})})
	m.sealAll()
	rep = m.report(first.ID)
	if rep.Run.Decision.Decision != "release" || !has(rep.Entries, note.ID) {
		t.Errorf("entered after the seal: decision %v, entries %v", rep.Run.Decision, rep.Entries)
	}
	m.enter(lab.Entry{What: lab.EntryTakesBack, Body: asJSON(t, lab.TakesBack{ID: note.ID})})
	m.enter(lab.Entry{RunID: first.ID, What: lab.EntrySymptom, Body: asJSON(t, lab.Symptom{Seen: "thin"})})
	m.sealAll()
	rep = m.report(first.ID)
	if has(rep.Entries, note.ID) || len(rep.Seen) != 1 || rep.Run.Seal == nil {
		t.Errorf("after it was taken back and a fault was seen: entries %v, seen %v, seal %v", rep.Entries, rep.Seen, rep.Run.Seal)
	}
	if n := count(`SELECT count(*) FROM log_leaves`); n != leaves+4 {
		t.Errorf("%d leaves; want %d: one for each entry and no new record", n, leaves+4)
	}
	if v := m.verify(records.VerifyOptions{Again: true, Making: m.making()}); len(v.Problems) > 0 {
		t.Errorf("verified: %v", v.Problems)
	}
}

func has(entries []lab.Entry, id string) bool {
	for _, e := range entries {
		if e.ID == id {
			return true
		}
	}
	return false
}

func (m *morning) report(id string) lab.Report {
	m.t.Helper()
	rep, err := m.reports().Report(m.t.Context(), id)
	if err != nil {
		m.t.Fatal(err)
	}
	return rep
}

// lossy is a store whose replies get lost: every other write is committed and
// then fails, and the ones between fail before.
type lossy struct {
	records.Store
	n atomic.Int64
}

func (l *lossy) AppendLog(ctx context.Context, term int64, a lab.LogAppend) error {
	gone := lab.Errorf(lab.KindUnavailable, "the connection broke")
	switch l.n.Add(1) % 3 {
	case 1:
		return gone
	case 2:
		return errors.Join(gone, l.Store.AppendLog(ctx, term, a))
	}
	return l.Store.AppendLog(ctx, term, a)
}

// Whatever happens to a write, no record is lost and none is doubled.
func TestLostReplies(t *testing.T) {
	t.Parallel()
	m := newMorning(t)
	m.work(130*tMinute, nil)
	m.enter(lab.Entry{What: lab.EntryNote, Body: asJSON(t, lab.Note{Text: "a new bottle of bleach"})})
	m.clock.put(25 * 60 * tMinute)
	w, err := records.NewWorker(m.config(&lossy{Store: m.store}, nil))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	m.until("everything is sealed", m.idle)
	w.Stop()
	if v := m.verify(records.VerifyOptions{}); len(v.Problems) > 0 || v.Records != 2 || v.Entries != 1 || v.Leaves != 3 {
		t.Errorf("verified: %+v", v)
	}
}

// A holder whose term is over seals nothing more, and ends.
func TestStaleTermEnds(t *testing.T) {
	t.Parallel()
	m := newMorning(t)
	m.enter(lab.Entry{What: lab.EntryNote, Body: asJSON(t, lab.Note{Text: "x"})})
	cfg := m.config(m.store, nil)
	cfg.Term = m.term - 1
	w, err := records.NewWorker(cfg)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer w.Stop()
	<-w.Done()
	if lab.KindOf(w.Err()) != lab.KindConflict {
		t.Errorf("ended with %v; want that another wetside holds the lab", w.Err())
	}
	if n := one[int](t, m.conn, `SELECT count(*) FROM log_leaves`); n != 0 {
		t.Errorf("%d leaves were written in a term that is over", n)
	}
}

// inMemory is a witness that remembers.
type inMemory struct{ text string }

func (w *inMemory) Last() (string, error)  { return w.text, nil }
func (w *inMemory) Keep(text string) error { w.text = text; return nil }

// Nothing is added to a log that was changed or cut short: that would seal
// the change.
func TestChangedLogIsLeftAlone(t *testing.T) {
	t.Parallel()
	m := newMorning(t)
	kept := &inMemory{}
	for _, text := range []string{"one", "two", "three"} {
		m.enter(lab.Entry{What: lab.EntryNote, Body: asJSON(t, lab.Note{Text: text})})
		m.sealWith(m.store, kept)
	}
	if !strings.Contains(kept.text, "wetside-records\n") {
		t.Fatalf("the witness has %q", kept.text)
	}
	for name, sql := range map[string]string{
		"cut short":      `DELETE FROM record_entries; DELETE FROM log_leaves; DELETE FROM log_checkpoints; DELETE FROM log_hashes`,
		"a changed hash": `UPDATE log_hashes SET hash = set_byte(hash, 0, get_byte(hash, 0) # 1)`,
		"a changed note": `UPDATE log_checkpoints SET note = replace(note, 'at 2', 'at 3')`,
		"leaves put in":  `INSERT INTO log_leaves VALUES (1000, 'run', 'x', sha256('x'))`,
		"no checkpoint":  `DELETE FROM log_checkpoints`,
	} {
		tx := behind{t, m}
		tx.whileChanged(sql, func() {
			w, err := records.NewWorker(m.config(m.store, kept))
			if err != nil {
				t.Fatal(err)
			}
			if err := w.Start(t.Context()); err != nil {
				t.Fatal(err)
			}
			defer w.Stop()
			m.until(name+" is noticed", func() bool {
				why, since := w.Trouble()
				return strings.Contains(why, "wetside verify") && !since.IsZero()
			})
		})
	}
}

type behind struct {
	t *testing.T
	*morning
}

// whileChanged changes the log behind the program's back for the time of f.
func (x behind) whileChanged(sql string, f func()) {
	x.t.Helper()
	exec := func(sql string) {
		if _, err := x.conn.Exec(x.t.Context(), sql); err != nil {
			x.t.Fatalf("%s: %v", sql, err)
		}
	}
	exec(`SET session_replication_role = replica`)
	for _, table := range sealedTables {
		exec(`CREATE TEMPORARY TABLE whole_` + table + ` AS TABLE ` + table)
	}
	exec(sql)
	f()
	for _, table := range sealedTables {
		exec(`DELETE FROM ` + table + `; INSERT INTO ` + table + ` SELECT * FROM whole_` + table + `; DROP TABLE whole_` + table)
	}
	exec(`SET session_replication_role = origin`)
}
