package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/alerts/notify"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// arrived is a webhook as it came, and when.
type arrived struct {
	at   time.Time
	kind string
	data struct {
		Person string         `json:"person"`
		Title  string         `json:"title"`
		Link   string         `json:"link"`
		Items  []lab.PageItem `json:"items"`
	}
}

// hookReceiver takes webhooks whose signature is right.
func hookReceiver(t testing.TB, secret string) (string, chan arrived) {
	t.Helper()
	got := make(chan arrived, 10_000)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a := arrived{at: time.Now()}
		b, _ := io.ReadAll(r.Body)
		var stamp int64
		_, _ = fmt.Sscan(r.Header.Get("webhook-timestamp"), &stamp)
		want, _ := notify.Sign(secret, r.Header.Get("webhook-id"), time.Unix(stamp, 0), b)
		var body struct {
			Type string          `json:"type"`
			Data json.RawMessage `json:"data"`
		}
		if r.Header.Get("webhook-signature") != want || json.Unmarshal(b, &body) != nil || json.Unmarshal(body.Data, &a.data) != nil {
			http.Error(w, "not signed by this lab", http.StatusForbidden)
			return
		}
		a.kind = body.Type
		got <- a
	}))
	t.Cleanup(s.Close)
	return s.URL, got
}

// pagingLab is a whole wetside whose lead is reached by a webhook.
func pagingLab(t testing.TB, edit func(*programConfig)) (*program, *postgres.Store, *api, chan arrived, string) {
	t.Helper()
	_, broker := mosquitto(t)
	database := pgtest.New(t)
	store := pgtest.Store(t, storeConfig(database))
	secret := notify.NewSecret()
	hook, got := hookReceiver(t, secret)
	if err := store.CreateUser(t.Context(), lab.User{Name: "Wren", Role: lab.RoleLead, PasswordHash: "x"}); err != nil {
		t.Fatal(err)
	}
	cfg := programConfig{Broker: broker, Database: database, Data: t.TempDir()}
	if edit != nil {
		edit(&cfg)
	}
	p := startProgram(t, cfg)
	a := newAPI(t, p.URL(), store)
	if code, b, err := a.do("PUT", "/api/v1/people/Wren/contacts", fmt.Sprintf(`{"ways":["webhook"],"webhook":%q,"webhook_secret":%q}`, hook, secret)); err != nil || code != 200 {
		t.Fatalf("contacts: %d %s %v", code, b, err)
	}
	var now lab.DutyNow
	if !a.get("/api/v1/duty", &now) {
		t.Fatal("the duty cannot be read")
	}
	plan := now.Plan
	plan.TimeZone, plan.Flood.Pages = "Europe/London", 0
	plan.Hours = []lab.DutyHours{{Days: []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}, From: "00:00", To: "24:00", People: []string{"Wren"}}}
	b, err := json.Marshal(map[string]any{"version": now.Version, "plan": plan})
	if err != nil {
		t.Fatal(err)
	}
	if code, b, err := a.do("PUT", "/api/v1/duty", string(b)); err != nil || code != 200 {
		t.Fatalf("duty: %d %s %v", code, b, err)
	}
	return p, store, a, got, broker
}

// aborting publishes a run of c41 that is in its developer, and then aborts:
// an urgent alert with no hold. It gives when the last message went out.
type aborting struct {
	pub  *publisher
	unit string
	seq  int
	run  int
}

func (u *aborting) step(phase string) {
	u.seq++
	payload := fmt.Sprintf(`{"at":%q,"boot":"b-%s","seq":%d,"phase":%q,"run":"r-%d","process":"c41","push":0,"step":"developer","n":1,"of":6,"set_s":195,"elapsed_s":3}`,
		lab.At(time.Now()), u.unit, u.seq, phase, u.run)
	u.pub.send(lab.Raw{Topic: "wetside/v1/tern-street/" + u.unit + "/step", Payload: []byte(payload)})
}

func (u *aborting) ready() {
	u.run++
	u.step("filling")
	u.step("in-bath")
	u.pub.settle()
}

func (u *aborting) abort() time.Time {
	at := time.Now()
	u.step("aborted")
	return at
}

// From telemetry to a person and back: the page comes signed, its link shows
// the alert without a sign-in, opening acknowledges nothing, pressing does,
// and the API tells of every try.
func TestFromTelemetryToAPerson(t *testing.T) {
	p, _, a, got, broker := pagingLab(t, nil)
	u := &aborting{pub: newPublisher(t, broker), unit: "plover"}
	u.ready()
	u.abort()
	page := labtest.Receive(t, got, "the page")
	if page.kind != "page" || page.data.Person != "Wren" || len(page.data.Items) != 1 || page.data.Items[0].Rule != "run-aborted" {
		t.Fatalf("%+v", page)
	}
	id := page.data.Items[0].AlertID
	if !strings.HasPrefix(page.data.Link, p.URL()+"/p/") {
		t.Fatalf("the link is %q", page.data.Link)
	}
	resp, err := client.Get(page.data.Link)
	if err != nil {
		t.Fatal(err)
	}
	var shown bytes.Buffer
	_, _ = shown.ReadFrom(resp.Body)
	resp.Body.Close()
	if resp.StatusCode != 200 || !strings.Contains(shown.String(), "plover") {
		t.Fatalf("the link shows %d %s", resp.StatusCode, shown.String())
	}
	var alert lab.Alert
	if a.get("/api/v1/alerts/"+id, &alert); alert.AcknowledgedAt != nil {
		t.Error("opening the link acknowledged")
	}
	mark := regexp.MustCompile(`/acknowledge"><input type="hidden" name="mark" value="([^"]+)"`).FindStringSubmatch(shown.String())
	if mark == nil {
		t.Fatalf("the page has no button to acknowledge: %s", shown.String())
	}
	resp, err = client.PostForm(page.data.Link+"/acknowledge", url.Values{"mark": {mark[1]}})
	if err != nil || resp.StatusCode != 200 {
		t.Fatalf("the button: %v %v", resp, err)
	}
	resp.Body.Close()
	if a.get("/api/v1/alerts/"+id, &alert); alert.AcknowledgedBy != "Wren" {
		t.Errorf("acknowledged by %q", alert.AcknowledgedBy)
	}
	labtest.Poll(t, "the page is shown with its tries and nobody else is called", func() bool {
		var pages lab.AlertPages
		return a.get("/api/v1/alerts/"+id+"/pages", &pages) && pages.Next == nil && len(pages.Pages) == 1 &&
			pages.Pages[0].State == lab.PageSent && len(pages.Pages[0].Tries) == 1 && pages.Pages[0].OpenedAt != nil
	})
	var status lab.DutyStatus
	if !a.get("/api/v1/duty/status", &status) || status.Push.Available || status.Push.Why == "" || status.Waiting != 0 {
		t.Errorf("the status is %+v", status)
	}
}

// The command line tests each way through the running wetside.
func TestPageTestCommand(t *testing.T) {
	p, _, _, got, _ := pagingLab(t, nil)
	code, out, errOut := run1(t, "", "page-test", "Wren", "--database", p.DatabaseURL())
	if code != exitDone || !strings.Contains(out, "webhook  sent") {
		t.Errorf("%d %s %s", code, out, errOut)
	}
	if page := labtest.Receive(t, got, "the test"); page.kind != "page.test" {
		t.Errorf("%+v", page)
	}
	if code, _, errOut = run1(t, "", "page-test", "Nobody", "--database", p.DatabaseURL()); code == exitDone || !strings.Contains(errOut, `nobody called "Nobody"`) {
		t.Errorf("%d %s", code, errOut)
	}
}

// HTTPS by a certificate of the lab's own makes push available.
func TestHTTPS(t *testing.T) {
	dir := t.TempDir()
	if code, _, errOut := run1(t, "", "certificate", "--host", "127.0.0.1", "--out", dir); code != exitDone {
		t.Fatal(errOut)
	}
	insecure := client
	defer func() { client = insecure }()
	client = clientTrusting(t, dir)
	beats := make(chan arrived, 100)
	watcher := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case beats <- arrived{at: time.Now()}:
		default:
		}
	}))
	defer watcher.Close()
	p, _, a, _, _ := pagingLab(t, func(c *programConfig) {
		c.Paging = pagingConfig{TLSCert: dir + "/" + certFile, TLSKey: dir + "/" + certKeyFile, Heartbeat: watcher.URL, HeartbeatEvery: time.Second}
	})
	if !strings.HasPrefix(p.URL(), "https://") {
		t.Errorf("the board is at %s", p.URL())
	}
	var key struct {
		Available bool
		Key       string
	}
	if !a.get("/api/v1/push/key", &key) || !key.Available || len(key.Key) != 87 { // 65 bytes in base64url
		t.Errorf("push: %+v", key)
	}
	labtest.Receive(t, beats, "a heartbeat")
}

// From the message that completes a condition to the POST leaving, beside a
// bare POST to the same receiver: under 300 ms at the 99th percentile. The
// figure is told in any run, and held to where nothing else runs (make bench).
func BenchmarkTelemetryToPage(b *testing.B) {
	_, _, _, got, broker := pagingLab(b, nil)
	u := &aborting{pub: newPublisher(b, broker), unit: "plover"}
	s := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	defer s.Close()
	defer http.DefaultClient.CloseIdleConnections()
	var took, bare []time.Duration
	for b.Loop() {
		u.ready()
		sent := u.abort()
		took = append(took, labtest.Receive(b, got, "the page").at.Sub(sent))
		began := time.Now()
		resp, err := http.Post(s.URL, "application/json", strings.NewReader(`{"type":"page"}`))
		if err != nil {
			b.Fatal(err)
		}
		resp.Body.Close()
		bare = append(bare, time.Since(began))
	}
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	p99 := percentile(took, 0.99)
	b.ReportMetric(ms(percentile(took, 0.5)), "ms/page-p50")
	b.ReportMetric(ms(p99), "ms/page-p99")
	b.ReportMetric(ms(percentile(bare, 0.99)), "ms/bare-post-p99")
	if p99 > 300*time.Millisecond {
		b.Errorf("%v at the 99th percentile; want under 300 ms", p99)
	}
}

func percentile(d []time.Duration, p float64) time.Duration {
	d = slices.Sorted(slices.Values(d))
	return d[min(len(d)-1, int(p*float64(len(d))))]
}
