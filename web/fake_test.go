package web

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"

	"wetside/internal/lab"
	"wetside/web/access"
	"wetside/web/access/accesstest"
)

func TestMain(m *testing.M) {
	accesstest.CheapPasswords()
	goleak.VerifyTestMain(m)
}

// shop is a store, a worker and the actions on alerts in memory.
type shop struct {
	*accesstest.Store
	alerts      map[string]lab.Alert
	runs        map[string]lab.Run
	units       map[string]lab.Unit
	entries     []lab.Entry
	known       map[string]lab.KnownRoll
	refused     []lab.Quarantined
	trace       []lab.TracePoint
	labSettings lab.LabSettings
	seen        lab.FiguresSeen
	strips      lab.StripSettings
	books       books
	likes       map[string]lab.Preferences
	asked       any // the last filter or limit
	duty        *roster
	withdrawn   [][3]string
	onUnits     func() // called once, after the units were read
}

func newShop() *shop {
	return &shop{
		Store: accesstest.New(), alerts: map[string]lab.Alert{}, runs: map[string]lab.Run{}, units: map[string]lab.Unit{},
	}
}

func (s *shop) Alerts(_ context.Context, f lab.AlertFilter) ([]lab.Alert, error) {
	defer s.Lock()()
	if s.Broken != nil {
		return nil, s.Broken
	}
	s.asked = f
	var out []lab.Alert
	for _, a := range s.alerts {
		open := a.State != lab.Closed
		if (f.Open == nil || *f.Open == open) && (f.Unit == "" || f.Unit == a.Unit) && (f.Rule == "" || f.Rule == a.Rule) {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, func(a, b lab.Alert) int {
		return cmp.Or(b.RaisedAt.Compare(a.RaisedAt.Time), cmp.Compare(a.ID, b.ID))
	})
	return out[:min(len(out), f.Limit)], nil
}

func (s *shop) Alert(_ context.Context, id string) (lab.Alert, error) {
	defer s.Lock()()
	a, ok := s.alerts[id]
	if s.Broken != nil {
		return a, s.Broken
	}
	if !ok {
		return a, lab.Errorf(lab.KindNotFound, "there is no alert %q", id)
	}
	return a, nil
}

func (s *shop) AlertEvents(_ context.Context, id string) ([]lab.AlertEvent, error) {
	return []lab.AlertEvent{{AlertID: id, Occurrence: 1, At: t0, What: "raised"}}, s.Broken
}

func (s *shop) Runs(_ context.Context, f lab.RunFilter) ([]lab.Run, error) {
	defer s.Lock()()
	s.asked = f
	var out []lab.Run
	for _, r := range s.runs {
		if f.Roll == "" || slices.ContainsFunc(r.Rolls, func(x lab.Roll) bool { return x.TwinCheck == f.Roll }) {
			out = append(out, r)
		}
	}
	return out, s.Broken
}

func (s *shop) Run(_ context.Context, id string) (lab.Run, error) {
	defer s.Lock()()
	r, ok := s.runs[id]
	if !ok {
		return r, lab.Errorf(lab.KindNotFound, "there is no run %q", id)
	}
	return r, nil
}

func (s *shop) Quarantine(_ context.Context, limit int) ([]lab.Quarantined, error) {
	defer s.Lock()()
	s.asked = limit
	return s.refused, s.Broken
}

func (s *shop) Refusals(_ context.Context, unit lab.UnitID) ([]lab.Refusal, []lab.Quarantined, error) {
	defer s.Lock()()
	s.asked = unit
	return []lab.Refusal{{Unit: unit, What: lab.RefusalConnection, Reason: "no such key for this unit", From: "192.168.1.9", FirstAt: lab.At(t0), LastAt: lab.At(t0), Count: 3}}, s.refused, s.Broken
}

func (s *shop) Trace(_ context.Context, _ lab.UnitID, from, to time.Time) ([]lab.TracePoint, error) {
	defer s.Lock()()
	s.asked = [2]time.Time{from, to}
	return s.trace, s.Broken
}

func (s *shop) Levels(_ context.Context, _ lab.UnitID, from, to time.Time, most int) ([]lab.LevelPoint, error) {
	defer s.Lock()()
	s.asked = [3]any{from, to, most}
	return []lab.LevelPoint{{At: lab.At(t0), LevelsL: map[string]float64{"waste": 4.5}}}, s.Broken
}

func (s *shop) SetUnit(_ context.Context, u lab.UnitSetting, _ string) error {
	defer s.Lock()()
	s.Settings[u.Unit] = u
	return s.Broken
}

func (s *shop) Units() []lab.Unit {
	s.Mu.Lock()
	var out []lab.Unit
	for _, u := range s.units {
		out = append(out, u)
	}
	hook := s.onUnits
	s.onUnits = nil
	s.Mu.Unlock()
	if hook != nil {
		hook()
	}
	return out
}

func (s *shop) Unit(id lab.UnitID) (lab.Unit, bool) {
	defer s.Lock()()
	u, ok := s.units[id.String()]
	return u, ok
}

func (s *shop) Jobs() []lab.Job {
	return []lab.Job{{Unit: "tern-street/plover", What: "reels to the dryer", DueAt: lab.At(t0.Add(time.Minute)), Run: "run-1"}}
}

func (s *shop) change(id string, f func(*lab.Alert)) (lab.Alert, error) {
	defer s.Lock()()
	a, ok := s.alerts[id]
	if !ok {
		return a, lab.Errorf(lab.KindNotFound, "there is no alert %q", id)
	}
	if a.State == lab.Closed {
		return a, lab.Errorf(lab.KindConflict, "alert %q is closed", id)
	}
	f(&a)
	s.alerts[id] = a
	return a, nil
}

func (s *shop) Acknowledge(_ context.Context, id, by, _ string) (lab.Alert, error) {
	return s.change(id, func(a *lab.Alert) {
		a.State, a.AcknowledgedAt, a.AcknowledgedBy = lab.Acknowledged, lab.AtPtr(t0), by
	})
}

func (s *shop) Shelve(_ context.Context, id, by string, minutes int, reason string) (lab.Alert, error) {
	return s.change(id, func(a *lab.Alert) {
		a.ShelvedUntil, a.ShelvedBy, a.ShelvedReason = lab.AtPtr(t0.Add(time.Duration(minutes)*time.Minute)), by, reason
	})
}

func (s *shop) Unshelve(_ context.Context, id, _ string) (lab.Alert, error) {
	return s.change(id, func(a *lab.Alert) { a.ShelvedUntil, a.ShelvedBy, a.ShelvedReason = nil, "", "" })
}

var t0 = time.Date(2026, 3, 1, 9, 30, 0, 0, time.UTC)

func ptr[T any](v T) *T { return &v }

// stock fills the shop with one of everything.
func (s *shop) stock() *shop {
	s.units["tern-street/plover"] = lab.Unit{
		ID: "tern-street/plover", Link: lab.LinkOnline, Activity: lab.ActivityRunning,
		Run: &lab.UnitRun{ID: "run-1", Run: "r-1", Process: "c41", Kind: "film", StartedAt: lab.At(t0), Step: "developer",
			N: 1, Of: 6, Phase: lab.PhaseInBath, SetS: ptr(195.0), Plan: []lab.PlanStep{{N: 1, Step: "developer", Label: "developer", Kind: "dev", State: "now"}}},
		Bath:        lab.Bath{C: ptr(37.9), LowC: ptr(37.65), HighC: ptr(37.95), Standing: lab.StandingWithin, At: lab.AtPtr(t0)},
		Light:       lab.Light{State: lab.LightDark, Since: lab.AtPtr(t0)},
		Power:       lab.PowerNow{Source: lab.SourceMains},
		Containers:  []lab.Container{{Name: "waste", Role: lab.RoleWaste, Litres: ptr(4.5), CapacityL: 18.9, Fraction: ptr(0.24), RunsLeft: ptr(2)}},
		LastHeardAt: lab.AtPtr(t0),
	}
	s.units["tern-street/heron"] = lab.Unit{ID: "tern-street/heron", Link: lab.LinkOffline, Activity: lab.ActivityIdle,
		Bath: lab.Bath{Standing: lab.StandingUnknown}, Light: lab.Light{State: lab.LightNone}, Power: lab.PowerNow{Source: "unknown"},
		Load: &lab.Load{Process: "c41"}, Outlook: &lab.Outlook{Step: "developer", Why: "battery", Action: "go-on"}}
	s.alerts["a-1"] = someAlert("a-1")
	s.runs["run-1"] = lab.Run{ID: "run-1", Unit: "tern-street/plover", Run: "r-1", Process: "c41", Kind: "film",
		StartedAt: lab.At(t0), Outcome: lab.OutcomeDone, EndedAt: lab.AtPtr(t0.Add(time.Hour)), Verdict: ptr(lab.Inspect),
		Steps:    []lab.RunStep{{N: 1, Step: "developer", Fills: 1, SheetS: ptr(195.0), TimeS: ptr(201.0)}},
		Outages:  []lab.Outage{{LostAt: lab.AtPtr(t0), Kind: "battery", Text: "the mains failed"}},
		Decision: &lab.Decision{Decision: "release", By: "Wren", At: lab.At(t0)}}
	s.refused = []lab.Quarantined{{Received: t0, Topic: "wetside/v1/tern-street/plover/temp", Reason: "not-json: x", Payload: []byte{0, 0xff}}}
	s.trace = []lab.TracePoint{{At: lab.At(t0), BathC: ptr(37.9)}}
	s.stockEntries()
	return s
}

func someAlert(id string) lab.Alert {
	return lab.Alert{ID: id, Rule: "bath-temperature", Unit: "tern-street/plover", Run: "run-1", Step: "developer",
		Priority: lab.Urgent, State: lab.Unacknowledged, Occurrence: 1, RaisedAt: lab.At(t0), NoticedAt: lab.At(t0),
		Message: "The developer is too warm.", Consequence: "The film is being pushed.", Response: "Cool it.", Facts: map[string]any{"c": 38.4}}
}

// site is a server over a shop, with a token for each role.
type site struct {
	*shop
	t      *testing.T
	srv    *Server
	http   *httptest.Server
	reg    *prometheus.Registry
	tokens map[string]string
}

func newSite(t *testing.T, s *shop, edit ...func(*Config)) *site {
	t.Helper()
	reg := prometheus.NewRegistry()
	s.duty = &roster{s: s}
	cfg := Config{Store: s, Keys: keyRing{"tern-street/plover": "old"}, Duty: s.duty, Links: s.duty, Live: s, Actions: s, Sessions: accesstest.Sessions{Store: s.Store}, Registerer: reg, Reports: reports{s}, Symptoms: symptoms,
		Ready: func(context.Context) error { return nil },
		Log:   slog.New(slog.NewTextHandler(t.Output(), nil))}
	for _, f := range edit {
		f(&cfg)
	}
	srv, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	if err := srv.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	x := &site{shop: s, t: t, srv: srv, http: httptest.NewServer(srv.Handler()), reg: reg, tokens: map[string]string{}}
	t.Cleanup(func() {
		if err := srv.Stop(context.Background()); err != nil {
			t.Error(err)
		}
		x.http.Close()
		http.DefaultClient.CloseIdleConnections()
	})
	for _, role := range []string{lab.RoleViewer, lab.RoleOperator, lab.RoleLead} {
		if x.tokens[role], err = access.CreateToken(t.Context(), s, "the "+role, role, time.Time{}); err != nil {
			t.Fatal(err)
		}
	}
	return x
}

// do sends a request as a role ("" for nobody) and gives status and body.
func (x *site) do(method, path, role, body string, edit ...func(*http.Request)) (*http.Response, []byte) {
	x.t.Helper()
	req, err := http.NewRequestWithContext(x.t.Context(), method, x.http.URL+path, strings.NewReader(body))
	if err != nil {
		x.t.Fatal(err)
	}
	if body != "" {
		req.Header.Set("Content-Type", "application/json")
		if strings.HasSuffix(path, ".csv") {
			req.Header.Set("Content-Type", "text/csv")
		}
	}
	if role != "" {
		req.Header.Set("Authorization", "Bearer "+x.tokens[role])
	}
	for _, f := range edit {
		f(req)
	}
	return send(x.t, req)
}

func send(t *testing.T, req *http.Request) (*http.Response, []byte) {
	t.Helper()
	resp, err := http.DefaultTransport.RoundTrip(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp, b
}

// signIn gives the cookie of a person who signs in.
func (x *site) signIn(name, password string) *http.Cookie {
	x.t.Helper()
	b, _ := json.Marshal(SignInRequest{name, password})
	resp, got := x.do("POST", "/api/v1/session", "", string(b))
	if resp.StatusCode != http.StatusOK {
		x.t.Fatalf("sign in: %d %s", resp.StatusCode, got)
	}
	for _, c := range resp.Cookies() {
		if strings.HasPrefix(c.Name, access.SessionCookie) {
			return c
		}
	}
	x.t.Fatal("no session cookie")
	return nil
}

var errStore = errors.New("the database is away: secret particulars")

func mustRead(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return bytes.TrimSpace(b)
}
