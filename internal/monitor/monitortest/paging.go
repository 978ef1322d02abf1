package monitortest

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"wetside/alerts/notify"
	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// Arrived is a webhook as it came, and when.
type Arrived struct {
	At   time.Time
	Kind string
	Data struct {
		Person string         `json:"person"`
		Title  string         `json:"title"`
		Link   string         `json:"link"`
		Items  []lab.PageItem `json:"items"`
	}
}

// HookReceiver takes webhooks whose signature is right.
func HookReceiver(t testing.TB, secret string) (string, chan Arrived) {
	t.Helper()
	got := make(chan Arrived, 10_000)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a := Arrived{At: time.Now()}
		b, _ := io.ReadAll(r.Body)
		var stamp int64
		_, _ = fmt.Sscan(r.Header.Get("webhook-timestamp"), &stamp)
		want, _ := notify.Sign(secret, r.Header.Get("webhook-id"), time.Unix(stamp, 0), b)
		var body struct {
			Type string          `json:"type"`
			Data json.RawMessage `json:"data"`
		}
		if r.Header.Get("webhook-signature") != want || json.Unmarshal(b, &body) != nil || json.Unmarshal(body.Data, &a.Data) != nil {
			http.Error(w, "not signed by this lab", http.StatusForbidden)
			return
		}
		a.Kind = body.Type
		got <- a
	}))
	t.Cleanup(s.Close)
	return s.URL, got
}

// PagingLab is a whole wetside whose lead is reached by a webhook.
func PagingLab(t testing.TB, edit func(*monitor.Config)) (*monitor.Program, *postgres.Store, *API, chan Arrived, string) {
	t.Helper()
	return PagingLabBy(t, Client, edit)
}

// PagingLabBy is a PagingLab whose API is called by a client of the test's own.
func PagingLabBy(t testing.TB, client *http.Client, edit func(*monitor.Config)) (*monitor.Program, *postgres.Store, *API, chan Arrived, string) {
	t.Helper()
	_, broker := Mosquitto(t)
	database := pgtest.New(t)
	store := pgtest.Store(t, StoreConfig(database))
	secret := notify.NewSecret()
	hook, got := HookReceiver(t, secret)
	if err := store.CreateUser(t.Context(), lab.User{Name: "Wren", Role: lab.RoleLead, PasswordHash: "x"}); err != nil {
		t.Fatal(err)
	}
	cfg := monitor.Config{Broker: broker, Database: database, Data: t.TempDir()}
	if edit != nil {
		edit(&cfg)
	}
	p := Start(t, cfg)
	a := NewAPI(t, p.URL(), store)
	a.Client = client
	if code, b, err := a.Do("PUT", "/api/v1/people/Wren/contacts", fmt.Sprintf(`{"ways":["webhook"],"webhook":%q,"webhook_secret":%q}`, hook, secret)); err != nil || code != 200 {
		t.Fatalf("contacts: %d %s %v", code, b, err)
	}
	var now lab.DutyNow
	if !a.Get("/api/v1/duty", &now) {
		t.Fatal("the duty cannot be read")
	}
	plan := now.Plan
	plan.TimeZone, plan.Flood.Pages = "Europe/London", 0
	plan.Hours = []lab.DutyHours{{Days: []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}, From: "00:00", To: "24:00", People: []string{"Wren"}}}
	b, err := json.Marshal(map[string]any{"version": now.Version, "plan": plan})
	if err != nil {
		t.Fatal(err)
	}
	if code, b, err := a.Do("PUT", "/api/v1/duty", string(b)); err != nil || code != 200 {
		t.Fatalf("duty: %d %s %v", code, b, err)
	}
	return p, store, a, got, broker
}

// Aborting publishes a run of c41 that is in its developer, and then aborts:
// an urgent alert with no hold.
type Aborting struct {
	Pub  *Publisher
	Unit string

	seq int
	run int
}

func (u *Aborting) step(phase string) {
	u.seq++
	payload := fmt.Sprintf(`{"at":%q,"boot":"b-%s","seq":%d,"phase":%q,"run":"r-%d","process":"c41","push":0,"step":"developer","n":1,"of":6,"set_s":195,"elapsed_s":3}`,
		lab.At(time.Now()), u.Unit, u.seq, phase, u.run)
	u.Pub.Send(lab.Raw{Topic: "wetside/v1/tern-street/" + u.Unit + "/step", Payload: []byte(payload)})
}

// Ready begins another run.
func (u *Aborting) Ready() {
	u.run++
	u.step("filling")
	u.step("in-bath")
	u.Pub.Settle()
}

// Abort ends it, and gives when the last message went out.
func (u *Aborting) Abort() time.Time {
	at := time.Now()
	u.step("aborted")
	return at
}
