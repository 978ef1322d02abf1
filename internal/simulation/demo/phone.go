package demo

import (
	"context"
	"crypto/subtle"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"wetside/alerts/notify"
	"wetside/alerts/oncall"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/simulation/sim"
)

// Phone stands for the phone of the one person in the demonstration: a
// webhook on this machine that prints what it is sent.
type Phone struct {
	out    io.Writer
	secret string
	server *http.Server
	url    string

	mu   sync.Mutex
	seen map[string]bool // ids of messages: a copy is dropped
}

// NewPhone starts one that prints on out.
func NewPhone(out io.Writer) (*Phone, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	p := &Phone{out: out, secret: notify.NewSecret(), url: "http://" + l.Addr().String() + "/phone", seen: map[string]bool{}}
	p.server = &http.Server{Handler: p, ReadHeaderTimeout: 5 * time.Second}
	go func() { _ = p.server.Serve(l) }() // until Close
	return p, nil
}

// Close ends it.
func (p *Phone) Close() { _ = p.server.Close() }

// ServeHTTP takes a page as Standard Webhooks 1.0.0 has it.
func (p *Phone) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(io.LimitReader(r.Body, 64<<10))
	if err != nil || !p.signed(r.Header, body) {
		http.Error(w, "not signed as it should be", http.StatusUnauthorized)
		return
	}
	var page struct {
		Data struct{ Title, Text, Link string }
	}
	if err := json.Unmarshal(body, &page); err != nil {
		http.Error(w, "not a page", http.StatusBadRequest)
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if id := r.Header.Get("Webhook-Id"); !p.seen[id] {
		p.seen[id] = true
		fmt.Fprintf(p.out, "  %s  a page to the phone: %s\n            %s\n", time.Now().Format(time.TimeOnly), page.Data.Title, page.Data.Text)
		if page.Data.Link != "" {
			fmt.Fprintf(p.out, "            %s\n", page.Data.Link)
		}
	}
	w.WriteHeader(http.StatusNoContent)
}

func (p *Phone) signed(h http.Header, body []byte) bool {
	at, err := strconv.ParseInt(h.Get("Webhook-Timestamp"), 10, 64)
	if err != nil {
		return false
	}
	want, err := notify.Sign(p.secret, h.Get("Webhook-Id"), time.Unix(at, 0), body)
	return err == nil && subtle.ConstantTimeCompare([]byte(want), []byte(h.Get("Webhook-Signature"))) == 1
}

// Furnish gives the demonstration what a lab sets up once: which units share a
// fuse and a network, and one person on call with this phone. Board is where
// the links in pages lead.
func (p *Phone) Furnish(ctx context.Context, store *postgres.Store, person, board string) error {
	state, err := store.DutyState(ctx)
	if err != nil {
		return err
	}
	if err := store.SetContacts(ctx, lab.Contacts{Person: person, Methods: []string{lab.MethodWebhook}, Webhook: p.url, Secret: p.secret}, "demo"); err != nil {
		return err
	}
	plan := oncall.Default()
	if state.Plan != nil {
		plan = *state.Plan
	}
	plan.Address = board
	if state.Plan == nil {
		plan.TimeZone = zoneName()
		plan.Hours = []lab.DutyHours{{Days: []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}, From: "00:00", To: "24:00", People: []string{person}}}
	}
	if err := store.SetDutyPlan(ctx, plan, state.Version, "demo"); err != nil {
		return err
	}
	settings, err := store.LabSettings(ctx)
	if err != nil || settings.TimeZone != "" {
		return err
	}
	settings = lab.LabSettings{TimeZone: zoneName(),
		Circuits: map[string][]string{"left wall": units("plover", "heron", "avocet"), "right wall": units("dunlin", "curlew", "turnstone")},
		Networks: map[string][]string{"shelf": units("plover", "heron", "avocet", "dunlin", "curlew", "turnstone")}}
	return store.SetLabSettings(ctx, settings, "demo")
}

func units(names ...string) []string {
	out := make([]string, len(names))
	for i, name := range names {
		out[i] = lab.UnitID{Lab: sim.DemoLab, Unit: name}.String()
	}
	return out
}

// AcceptUnits makes the six units the lab's own: they are not new to it.
func AcceptUnits(ctx context.Context, store *postgres.Store) error {
	known, err := store.UnitSettings(ctx)
	if err != nil {
		return err
	}
	for _, name := range sim.UnitNames(6) {
		unit := lab.UnitID{Lab: sim.DemoLab, Unit: name}.String()
		if _, ok := known[unit]; ok {
			continue
		}
		set := lab.UnitSetting{Unit: unit, Name: strings.ToUpper(name[:1]) + name[1:], Standing: "accepted"}
		if err := store.SetUnit(ctx, set, "demo"); err != nil {
			return err
		}
	}
	return nil
}

// zoneName is the IANA name of this machine's time zone, UTC where it has none.
func zoneName() string {
	if name := time.Local.String(); strings.Contains(name, "/") {
		return name
	}
	return "UTC"
}
