package main

import (
	"encoding/json"
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"wetside/internal/lab"
	"wetside/internal/monitor/monitortest"
)

// slow is a unit whose developer can be stopped from turning: an alert that
// comes, goes and comes again within a second of real time, since its clock
// runs ahead of its last reading as it would after a cut of the network.
type slow struct {
	pub  *monitortest.Publisher
	unit string
	seq  int
	at   time.Time // of its next message
}

func (u *slow) say(channel, format string, args ...any) {
	u.seq++
	body := fmt.Sprintf(`{"at":%q,"boot":"b-%s","seq":%d,%s}`, lab.At(u.at), u.unit, u.seq, fmt.Sprintf(format, args...))
	u.pub.Send(lab.Raw{Topic: "wetside/v1/tern-street/" + u.unit + "/" + channel, Payload: []byte(body)})
}

// begin puts it into its developer.
func (u *slow) begin() {
	u.say("status", `"online":true,"model":"tabletop","processes":["c41"]`)
	u.say("step", `"phase":"in-bath","run":"r1","process":"c41","step":"developer","n":1,"of":6,"set_s":195,"set_c":37.8,"elapsed_s":1`)
}

// turns tells of so many seconds in the developer at so many turns a minute.
func (u *slow) turns(seconds int, rpm float64) {
	for i := 0; i < seconds; i += 2 {
		u.say("temp", `"bath_c":37.8`)
		u.say("motion", `"rpm":%g`, rpm)
		u.at = u.at.Add(2 * time.Second)
	}
	u.pub.Settle()
}

// A page comes to the person on duty, its link opens on a phone without a
// sign-in, one big button says that somebody sees to it, and a board that is
// open elsewhere follows. Opening acknowledges nothing; the link of an
// occurrence that is over cannot acknowledge the next one.
func phonePath(t *testing.T, s *stage) {
	dutyOf(t, s, "wren")
	got := hooks(t, s, "wren")
	board := s.page.with(t)
	board.goTo("board")

	u := &slow{pub: monitortest.NewPublisher(t, s.broker), unit: "sanderling", at: time.Now().Add(-4 * time.Minute)}
	u.begin()
	u.turns(20, 40)
	s.accept(t, u.unit)
	u.turns(16, 0)
	first := paged(t, got, u.unit, 1)
	u.turns(30, 40)
	u.turns(16, 0)
	second := paged(t, got, u.unit, 2)

	var alert lab.Alert
	seen := func() bool {
		return s.api.Get("/api/v1/alerts/"+second.id, &alert) && alert.State == lab.Acknowledged
	}
	phone := s.page.with(t).another(390, 844)
	phone.run("the old link", chromedp.Navigate(first.link))
	phone.says("body", u.unit)
	if n := value[int](phone, `document.querySelectorAll("button.main").length`); n > 0 {
		phone.press("", "Acknowledge")
		phone.says("body", u.unit)
	}
	if seen() {
		t.Error("the link of the first occurrence acknowledged the second")
	}
	phone.run("the link", chromedp.Navigate(second.link))
	phone.says("h2", alert.Message)
	if seen() {
		t.Error("opening the link acknowledged")
	}
	if box := value[[]float64](phone, `(() => { const r = document.querySelector("button.main").getBoundingClientRect(); return [r.width, r.height, r.top, r.bottom]; })()`); box[0] < 300 || box[1] < 64 || box[2] < 0 || box[3] > 844 {
		t.Errorf("the button is %v (width, height, top, bottom) at 390x844; want at least 300 by 64, in sight", box)
	}
	board.run("the board shows it large", chromedp.WaitVisible(chromedp.CSS(lane(u.unit)+" .alert.urgent")))
	if found := axeFinds(phone); len(found) > 0 {
		t.Errorf("axe-core finds on the page of a link: %q", found)
	}
	phone.press("", "Acknowledge")
	phone.says("[role=status]", "")
	board.says(lane(u.unit)+" .seen", "acknowledged by wren")
	board.gone(lane(u.unit) + " .alert.urgent")
	if !seen() || alert.AcknowledgedBy != "wren" || alert.Occurrence != 2 {
		t.Errorf("acknowledged by %q, occurrence %d, state %s; want wren, 2, acknowledged", alert.AcknowledgedBy, alert.Occurrence, alert.State)
	}
	u.say("step", `"phase":"idle"`) // or its silence would be the next alert
	u.pub.Settle()
}

// dutyOf puts one person on duty at every hour; each alert is a page of its own.
func dutyOf(t testing.TB, s *stage, person string) {
	t.Helper()
	var now lab.DutyNow
	if !s.api.Get("/api/v1/duty", &now) {
		t.Fatal("the duty cannot be read")
	}
	plan := now.Plan
	plan.TimeZone, plan.Flood.Pages = "Europe/London", 0
	plan.Hours = []lab.DutyHours{{Days: []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}, From: "00:00", To: "24:00", People: []string{person}}}
	must(t, s.api, http.MethodPut, "/api/v1/duty", fmt.Sprintf(`{"version":%d,"plan":%s}`, now.Version, asJSON(t, plan)), 200)
}

type link struct{ id, link string }

// paged waits for the page of an occurrence of one unit's rotation alert.
func paged(t *testing.T, got chan monitortest.Arrived, unit string, occurrence int) link {
	t.Helper()
	deadline := time.NewTimer(browserPatience)
	defer deadline.Stop()
	for {
		select {
		case a := <-got:
			for _, item := range a.Data.Items {
				if item.Unit == "tern-street/"+unit && item.Rule == "rotation-stopped" && item.Occurrence == occurrence {
					return link{item.AlertID, a.Data.Link}
				}
			}
		case <-deadline.C:
			t.Fatalf("no page for occurrence %d of %s", occurrence, unit)
		}
	}
}

func asJSON(t testing.TB, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
