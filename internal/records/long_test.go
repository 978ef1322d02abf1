package records_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/records"
	"wetside/internal/records/seal"
	"wetside/internal/report"
)

// longRun is how many messages a run has that is sealed in parts: of three
// parts in make test, and in make torture what a unit sends that waits for a
// person over a weekend.
var longRun = max(21_000, labtest.Setting("WETSIDE_LONG_RUN"))

// weekend is a run of so many messages: a developer, and then a unit that
// waits for somebody to empty its waste, with all that it sends meanwhile.
func weekend(t testing.TB, run string, messages int) []lab.Message {
	t.Helper()
	at, out := nine, make([]lab.Message, 0, messages)
	say := func(channel lab.Channel, after time.Duration, body string) {
		at = at.Add(after)
		raw := lab.Raw{Topic: lab.Topic(plover, channel), Received: at.Add(200 * time.Millisecond),
			Payload: fmt.Appendf(nil, `{"at":%q,"boot":"weekend","seq":%d,%s}`, lab.At(at), len(out)+1, body)}
		msg, err := ingest.Decode(raw)
		if err != nil {
			t.Fatalf("%s: %v", raw.Payload, err)
		}
		out = append(out, msg)
	}
	step := func(after time.Duration, phase, name string, n int, rest string) {
		say(lab.ChannelStep, after, fmt.Sprintf(`"phase":%q,"run":%q,"process":"c41","step":%q,"n":%d,"of":6,"set_s":195%s`, phase, run, name, n, rest))
	}
	say(lab.ChannelStatus, 0, `"online":true,"model":"x"`)
	step(10*time.Second, "heating", "developer", 1, "")
	step(time.Minute, "filling", "developer", 1, `,"fill_ml":500`)
	step(10*time.Second, "in-bath", "developer", 1, "")
	for range 38 {
		say(lab.ChannelTemp, 5*time.Second, `"bath_c":37.8,"room_c":21`)
	}
	step(5*time.Second, "draining", "developer", 1, "")
	for len(out) < messages-1 {
		step(2*time.Second, "waiting", "bleach", 2, `,"waits_for":"empty-waste"`)
		if len(out) < messages-1 {
			say(lab.ChannelTemp, time.Second, `"preheat_c":37.9,"room_c":20.5`)
		}
	}
	step(2*time.Second, "aborted", "bleach", 2, "")
	return out
}

// sends stores messages a few thousand at a time, as they come in.
func (m *morning) sends(msgs []lab.Message) {
	m.t.Helper()
	for part := range slices.Chunk(msgs, 8000) {
		m.arrive(part, part[len(part)-1].Received)
	}
}

// A run far longer than any record of one piece is sealed with every message
// of it, in parts; its report is made of all of them; and verify finds it as
// it was sealed, and whatever is changed in it.
func TestLongRunIsSealedInParts(t *testing.T) {
	t.Parallel()
	m := newMorning(t)
	msgs := weekend(t, "weekend", longRun)
	m.sends(msgs)
	m.sealAll()
	id := one[string](t, m.conn, `SELECT id FROM runs WHERE run = 'weekend'`)
	head := m.headOf(id)
	if len(head.Parts) < longRun/records.PartMessages || len(head.Messages) > 0 || head.Version != 2 {
		t.Errorf("%d parts, %d messages beside them, version %d", len(head.Parts), len(head.Messages), head.Version)
	}
	for i, p := range head.Parts {
		if p.Messages > records.PartMessages || p.Size > 16<<20 || i > 0 && p.From <= head.Parts[i-1].To {
			t.Errorf("part %d is %+v", i+1, p)
		}
	}
	if n := head.MessageCount(); n != longRun {
		t.Errorf("%d messages are sealed; want all %d", n, longRun)
	}
	if v := m.verify(records.VerifyOptions{Again: true, Making: m.making()}); len(v.Problems) > 0 || v.Records != 1 {
		t.Errorf("verified: %+v", v)
	}
	rep := m.report(id)
	if s := rep.Run.Steps[0]; s.TimeS == nil || *s.TimeS != 195 || len(rep.Run.Gaps) > 0 {
		t.Errorf("the developer of the report is %+v, gaps %v", s, rep.Run.Gaps)
	}
	whole := msgs[len(msgs)-1].At.Sub(msgs[1].At)
	if to := rep.Timeline.To.Sub(rep.Timeline.From.Time); to < whole {
		t.Errorf("the timeline is of %v; want of the whole run, %v", to, whole)
	}
	var csv bytes.Buffer
	if err := m.reports().TraceCSV(t.Context(), id, &csv); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(csv.String(), "\r\n"); n < longRun/2-100 {
		t.Errorf("%d lines of the trace; want every reading", n)
	}
}

// Late telemetry of a run in parts makes a new record, in parts as well, and
// both stay; whatever is changed in a part is found.
func TestPartsAreVerified(t *testing.T) {
	t.Parallel()
	m := newMorning(t)
	m.parts = 400
	msgs := weekend(t, "weekend", 1_700)
	late := msgs[40] // one of the developer's readings comes after the seal
	m.sends(slices.Delete(slices.Clone(msgs), 40, 41))
	m.sealAll()
	id := one[string](t, m.conn, `SELECT id FROM runs WHERE run = 'weekend'`)
	head := m.headOf(id)
	m.arrive([]lab.Message{late}, nine.Add(80*time.Hour))
	m.sealAll()
	again := m.headOf(id)
	if again.Supersedes == nil || again.Supersedes.Why != "1 more messages" || again.MessageCount() != head.MessageCount()+1 {
		t.Errorf("after one more message: %+v, %d messages", again.Supersedes, again.MessageCount())
	}
	if v := m.verify(records.VerifyOptions{Again: true, Making: m.making()}); len(v.Problems) > 0 || v.Records != 2 || len(again.Parts) != 5 {
		t.Errorf("%d parts, verified: %+v", len(again.Parts), v)
	}
	partsChanged(newTamper(t, m))
}

// headOf is the present record of a run, without its parts.
func (m *morning) headOf(run string) *seal.Record {
	m.t.Helper()
	stored, err := m.store.Record(m.t.Context(), run)
	if err != nil {
		m.t.Fatal(err)
	}
	b, err := records.Unpack(stored)
	if err != nil {
		m.t.Fatal(err)
	}
	rec, err := seal.Parse(b)
	if err != nil {
		m.t.Fatal(err)
	}
	return rec
}

// partsChanged changes, takes out and puts in parts behind the program's back.
func partsChanged(x tamper) {
	x.exec(`CREATE TEMPORARY TABLE whole_record_parts AS TABLE record_parts`)
	for _, sql := range []string{
		`UPDATE record_parts SET packed = set_byte(packed, 100, get_byte(packed, 100) # 1) WHERE n = 3`,
		`UPDATE record_parts SET packed_hash = sha256('x') WHERE n = 3`,
		`UPDATE record_parts p SET packed = o.packed, packed_hash = o.packed_hash FROM record_parts o WHERE p.n = 3 AND o.n = 4 AND p.leaf = o.leaf`,
		`UPDATE record_parts SET n = 99 WHERE n = 4`,
		`UPDATE record_parts SET run = 'x' WHERE n = 2`,
		`UPDATE record_parts SET messages = 1 WHERE n = 2`,
		`UPDATE record_parts SET size = 1 WHERE n = 2`,
		`UPDATE record_parts SET leaf = 7 WHERE n = 2 AND leaf = (SELECT max(leaf) FROM record_parts)`,
		`UPDATE record_parts SET leaf = NULL WHERE n = 2 AND leaf = (SELECT max(leaf) FROM record_parts)`,
		`DELETE FROM record_parts WHERE n = 1`,
		`DELETE FROM record_parts WHERE n = 4`,
		`DELETE FROM record_parts`,
		`INSERT INTO record_parts SELECT run, 100, leaf, messages, size, packed_hash, packed FROM record_parts WHERE n = 1`,
	} {
		x.exec(sql)
		if v := x.verify(records.VerifyOptions{}); len(v.Problems) == 0 || !names(v, "part") {
			x.t.Errorf("not noticed: %s: %v", sql, v.Problems)
		}
		x.restore("record_parts")
	}
	x.exec(`SET session_replication_role = origin`)
	for _, sql := range []string{`UPDATE record_parts SET n = n`, `DELETE FROM record_parts`, `TRUNCATE record_parts`} {
		if _, err := x.conn.Exec(x.t.Context(), sql); err == nil {
			x.t.Errorf("%s was allowed", sql)
		}
	}
}

// A run whose report fails by a fault of wetside's own is put off, longer
// each time, and told; every other run, and what people enter, is sealed
// meanwhile. Once the fault is mended it is sealed as if nothing had been.
func TestFailingRunHoldsUpNoOther(t *testing.T) {
	t.Parallel()
	m := newMorning(t)
	m.work(130*time.Minute, nil)
	m.sends(weekend(t, "weekend", 1_000))
	m.enter(lab.Entry{What: lab.EntryNote, Body: asJSON(t, lab.Note{Text: "a new bottle of bleach"})})
	m.clock.put(25 * time.Hour)
	w, err := records.NewWorker(m.config(m.store, nil))
	if err != nil {
		t.Fatal(err)
	}
	w.PartsOf(400)
	var mended atomic.Bool
	w.BeforeJudging(func(ev report.Evidence) {
		if ev.RunName == "weekend" && !mended.Load() {
			panic("index out of range [3] with length 3")
		}
	})
	if err := w.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer w.Stop()
	m.until("the others are sealed", func() bool {
		return one[int](t, m.conn, `SELECT count(*) FROM log_leaves`) == 3 && len(w.Failing()) == 1
	})
	f := w.Failing()[0]
	if f.Unit != plover.String() || f.Run != "weekend" || f.Failures != 1 || !strings.Contains(f.Why, "index out of range") || !strings.Contains(f.Why, "fault of wetside's own") {
		t.Errorf("told of it: %+v", f)
	}
	if why, _ := w.Trouble(); why != "" {
		t.Errorf("sealing is said to stand still: %s", why)
	}
	var waits []time.Duration
	for n := 2; n <= 4; n++ {
		next := w.Failing()[0].Next
		m.clock.put(next.Sub(m.clock.Now()) + time.Millisecond)
		m.until(fmt.Sprintf("it is tried %d times", n), func() bool { return w.Failing()[0].Failures == n })
		waits = append(waits, w.Failing()[0].Next.Sub(m.clock.Now()).Round(time.Minute))
	}
	if !slices.IsSorted(waits) || waits[0] < 5*time.Minute || waits[2] < time.Hour {
		t.Errorf("it waits %v; want longer each time", waits)
	}
	mended.Store(true)
	m.clock.put(24 * time.Hour)
	m.until("it is sealed", func() bool { return m.idle() && len(w.Failing()) == 0 })
	if v := m.verify(records.VerifyOptions{Again: true, Making: m.making()}); len(v.Problems) > 0 || v.Records != 3 {
		t.Errorf("verified: %+v", v)
	}
	if n := one[int](t, m.conn, `SELECT count(*) FROM record_parts WHERE leaf IS NULL`); n != 0 {
		t.Errorf("%d parts of tries that failed are left", n)
	}
}

// slowFor is a store that is away whenever one run's telemetry is read.
type slowFor struct {
	records.Store
	run string
}

func (s slowFor) RunMessages(ctx context.Context, r lab.RunRow, each func(lab.Message) error) error {
	if r.Run.Run == s.run {
		return lab.Errorf(lab.KindUnavailable, "canceling statement due to statement timeout")
	}
	return s.Store.RunMessages(ctx, r, each)
}

// A run at which the database gives up each time is put off like any other
// that fails.
func TestRunThatTheDatabaseNeverGives(t *testing.T) {
	t.Parallel()
	m := newMorning(t)
	m.work(130*time.Minute, nil)
	first := m.runs()[1] // the one that is due first
	m.clock.put(25 * time.Hour)
	w, err := records.NewWorker(m.config(slowFor{m.store, first.Run}, nil))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer w.Stop()
	m.until("the other run is sealed", func() bool {
		return one[int](t, m.conn, `SELECT count(*) FROM records`) == 1 && len(w.Failing()) == 1
	})
	if f := w.Failing()[0]; f.RunID != first.ID || !strings.Contains(f.Why, "statement timeout") {
		t.Errorf("told of it: %+v", f)
	}
}

// A record of a run that no longer reads holds up the next record of that run
// and no other.
func TestDamagedRecordHoldsUpItsRunAlone(t *testing.T) {
	t.Parallel()
	m := sealedMorning(t)
	first, second := m.runs()[1], m.runs()[0]
	x := newTamper(t, m)
	x.exec(`UPDATE records SET packed = 'x' WHERE run = $1`, first.ID)
	x.exec(`UPDATE record_queue SET put_off = NULL`)
	for _, r := range []lab.Run{first, second} {
		x.exec(`INSERT INTO record_queue (run, ended_at, noticed_at, changed_at, open_gap) VALUES ($1, now(), now(), now(), false)`, r.ID)
	}
	x.exec(`SET session_replication_role = origin`)
	m.clock.put(25 * time.Hour)
	w, err := records.NewWorker(m.config(m.store, nil))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer w.Stop()
	m.until("the other run is seen to", func() bool {
		return len(w.Failing()) == 1 && one[int](t, m.conn, `SELECT count(*) FROM record_queue`) == 1
	})
	if f := w.Failing()[0]; f.RunID != first.ID || !strings.Contains(f.Why, "wetside verify") {
		t.Errorf("told of it: %+v", f)
	}
}

// Telemetry that was altered after its run was sealed does not count in the
// next record: what was sealed stands, to the byte.
func TestAlteredTelemetryDoesNotCount(t *testing.T) {
	t.Parallel()
	m := newMorning(t)
	held := false
	m.work(130*time.Minute, func(msg lab.Message) bool {
		late := !held && msg.Temp != nil && msg.Temp.BathC != nil && msg.At.After(nine.Add(12*time.Minute))
		held = held || late
		return late
	})
	first := m.runs()[1]
	m.sealAll()
	before := m.headOf(first.ID)
	alter := `UPDATE telemetry SET `
	for _, set := range []string{
		`payload = replace(convert_from(payload, 'UTF8'), '"bath_c":3', '"bath_c":4')::bytea WHERE channel = 'temp'`,
		`received_at = received_at + interval '1 minute' WHERE channel = 'step'`,
		`at = at + interval '1 minute' WHERE channel = 'motion'`,
	} {
		if tag, err := m.conn.Exec(t.Context(), alter+set); err != nil || tag.RowsAffected() == 0 {
			t.Fatalf("%s: %v, %v", set, tag, err)
		}
	}
	m.arrive(m.held, nine.Add(131*time.Minute))
	m.sealAll()
	after := m.headOf(first.ID)
	if after.Supersedes == nil || len(after.Messages) != len(before.Messages)+1 {
		t.Fatalf("%d messages and then %d, supersedes %+v", len(before.Messages), len(after.Messages), after.Supersedes)
	}
	byArrival := map[int64]string{}
	for _, sm := range after.Messages {
		b, err := json.Marshal(sm)
		if err != nil {
			t.Fatal(err)
		}
		byArrival[sm.Arrival] = string(b)
	}
	for _, sm := range before.Messages {
		b, err := json.Marshal(sm)
		if err != nil {
			t.Fatal(err)
		}
		if byArrival[sm.Arrival] != string(b) {
			t.Fatalf("message %d was altered in the database and counts in the next record:\n%s\n%s", sm.Arrival, b, byArrival[sm.Arrival])
		}
	}
}
