package torture

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

// finding is what must be the same of an alert however it was found.
type finding struct{ Rule, Unit, Step, Raised, Cleared string }

// byArrival are judged by when things arrive, or are of the monitor's own
// making: a replay of what was sent all at once has others. So have faults of
// the monitor's own, which are of no unit.
var byArrival = []string{"unit-silent", "clock-off", "telemetry-refused", "unit-mixed-up"}

// findings gives the last occurrence of each alert, of the units that count.
func findings(list []lab.Alert, without ...string) []finding {
	last := map[string]lab.Alert{}
	for _, a := range list {
		if old, ok := last[a.ID]; a.Unit == "" || slices.Contains(byArrival, a.Rule) || a.Withdrawn || slices.Contains(without, a.Unit) || ok && !old.RaisedAt.Before(a.RaisedAt.Time) {
			continue
		}
		last[a.ID] = a
	}
	var out []finding
	for _, a := range last {
		f := finding{Rule: a.Rule, Unit: a.Unit, Step: a.Step, Raised: a.RaisedAt.String()}
		if a.ClearedAt != nil {
			f.Cleared = a.ClearedAt.String()
		}
		out = append(out, f)
	}
	slices.SortFunc(out, func(a, b finding) int {
		return cmp.Or(cmp.Compare(a.Raised, b.Raised), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Step, b.Step))
	})
	return out
}

// runs a command of the program to its end and gives what it prints.
func command(t testing.TB, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(binary(t), args...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("wetside %s: %v: %s", args[0], err, errs.String())
	}
	return out.Bytes()
}

// replayed gives what wetside replay finds in a capture.
func replayed(t testing.TB, capture []byte) (out []lab.Alert) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "capture.jsonl")
	if err := os.WriteFile(path, capture, 0o600); err != nil {
		t.Fatal(err)
	}
	for line := range bytes.Lines(command(t, "replay", path)) {
		var l struct{ Alert *lab.Alert }
		if err := json.Unmarshal(line, &l); err != nil {
			t.Fatalf("replay: %v: %s", err, line)
		}
		if l.Alert != nil {
			out = append(out, *l.Alert)
		}
	}
	return out
}

func captureOf(t testing.TB, raws []lab.Raw) []byte {
	t.Helper()
	var b bytes.Buffer
	w := lab.NewCaptureWriter(&b)
	for _, raw := range raws {
		if err := w.Write(raw); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

// proof compares what the database holds and what was found with what was
// sent and what replay finds in it. It fills in the figures of r.
func (s *site) proof(r *row, sent []lab.Raw) {
	t := s.t
	t.Helper()
	want := map[string][]byte{}
	for _, raw := range sent {
		if name := named(raw); name != "" {
			want[name] = raw.Payload
		}
	}
	cursor, n := int64(0), 0
	growsTo(len(want), func() int { // what does not come is counted below
		s.restartIfEnded()
		s.stored(&cursor, &n)
		return n
	})
	s.ready()
	export := command(t, "export", "--database", s.databaseURL())
	r.sent = len(sent)
	lost, doubled := compared(t, export, want)
	r.lost, r.doubled = len(s.lostByWetside(r, lost)), doubled
	if r.lost > 0 || r.doubled > 0 {
		t.Errorf("%s: of %d messages %d are lost and %d doubled", r.fault, len(want), r.lost, r.doubled)
	}

	replay := findings(replayed(t, export))
	var live []finding
	same := func() bool {
		live = findings(s.alerts())
		return slices.Equal(live, replay)
	}
	for range 1200 { // the rules follow within moments
		if same() {
			break
		}
		<-tick()
	}
	if !same() {
		t.Errorf("%s: a replay of the export (-) and what was found live (+) differ:\n%s", r.fault, gocmp.Diff(replay, live))
	}
	s.pagesOnce(r)
}

// brokerWrites is how long mosquitto may take to write what it acknowledged:
// it does so afterwards, all it holds at once.
const brokerWrites = 5 * time.Second

// lostByWetside takes out of what was lost that which the broker had
// acknowledged just before it was killed and had not written: nobody behind it
// ever had that. What it was is told in the table.
func (s *site) lostByWetside(r *row, lost []string) []string {
	early := time.Duration(0)
	mine := slices.DeleteFunc(slices.Clone(lost), func(name string) bool {
		at := s.ackedAt(name)
		i := slices.IndexFunc(s.brokerKilled, func(kill time.Time) bool { return !at.After(kill) && kill.Sub(at) < brokerWrites })
		if at.IsZero() || i < 0 {
			return false
		}
		early = max(early, s.brokerKilled[i].Sub(at))
		return true
	})
	if n := len(lost) - len(mine); n > 0 {
		r.told = append(r.told, fmt.Sprintf("%d acknowledged by mosquitto up to %.1f s before it was killed, and not written by it", n, early.Seconds()))
	}
	return mine
}

// ackedAt is when the broker acknowledged a message; zero: never.
func (s *site) ackedAt(name string) time.Time {
	for _, l := range s.lines {
		l.mu.Lock()
		i := slices.IndexFunc(l.acks, func(a ack) bool { return named(a.raw) == name })
		at := time.Time{}
		if i >= 0 {
			at = l.acks[i].at
		}
		l.mu.Unlock()
		if i >= 0 {
			return at
		}
	}
	return time.Time{}
}

// compared lists the messages that an export lacks and counts those it has
// twice or otherwise than they were sent.
func compared(t testing.TB, export []byte, want map[string][]byte) (lost []string, doubled int) {
	t.Helper()
	times := map[string]int{}
	c := lab.NewCaptureReader("export", bytes.NewReader(export))
	for {
		raw, err := c.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		name := named(raw)
		if payload, ours := want[name]; ours && !lab.SamePayload(payload, raw.Payload) {
			t.Errorf("%s was sent as %s and is stored as %s", name, payload, raw.Payload)
		}
		times[name]++
	}
	for name := range want {
		switch n := times[name]; {
		case n == 0:
			lost = append(lost, name)
		case n > 1:
			doubled++
		}
	}
	return lost, doubled
}

// pagesOnce waits until nobody is to be called any more and checks that nothing
// paged twice but under the same id.
func (s *site) pagesOnce(r *row) {
	t := s.t
	t.Helper()
	eventually(t, "every page is out", func() bool {
		var status lab.DutyStatus
		return s.get("/api/v1/duty/status", &status) == nil && status.Waiting == 0
	})
	items := map[string][]string{} // of a message, by its id
	repeats, lists := map[string]bool{}, map[string]bool{}
	var order []string
	for _, p := range s.hook.all() {
		item := fmt.Sprintf("%s occurrence %d %s", p.Item.AlertID, p.Item.Occurrence, p.Item.Priority)
		if items[p.ID] == nil {
			order = append(order, p.ID)
		}
		repeats[p.ID], lists[p.ID] = p.again, !p.more
		if slices.Contains(items[p.ID], item) {
			r.again++
			continue
		}
		items[p.ID] = append(items[p.ID], item)
		r.pages++
	}
	// A case that grows is told again with what is new, and one that nobody
	// acknowledges is told again in time. Any other message that says nothing new
	// is a page made twice.
	said := map[string]bool{}
	for _, id := range order {
		fresh := false
		for _, item := range items[id] {
			fresh = fresh || !said[item]
			said[item] = true
		}
		if !fresh && !repeats[id] {
			t.Errorf("%s: message %s pages anew what was paged: %s", r.fault, id, strings.Join(items[id], ", "))
		}
	}
	for _, a := range s.alerts() {
		var pages lab.AlertPages
		if err := s.get("/api/v1/alerts/"+a.ID+"/pages", &pages); err != nil {
			t.Errorf("%s: pages of %s: %v", r.fault, a.ID, err)
			continue
		}
		arrived := slices.ContainsFunc(s.hook.all(), func(p page) bool { return p.Item.AlertID == a.ID })
		// what was closed meanwhile, and what found no room among the most
		// pressing, is not listed
		if len(pages.Pages) > 0 && !arrived && pages.Pages[0].State == lab.PageSent && a.State != lab.Closed && lists[pages.Pages[0].MessageID] {
			t.Errorf("%s: the page about %s of %s counts as sent and never arrived", r.fault, a.Rule, a.Unit)
		}
	}
}
