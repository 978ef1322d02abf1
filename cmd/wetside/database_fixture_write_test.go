package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"net/http"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"wetside/alerts/notify"
	"wetside/internal/lab"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/simulation/sim"
)

// writeDatabase makes a fixture of TestDatabasesOfOlderVersions. It takes four
// and a half minutes: the lab in it lives in real time.
var writeDatabase = flag.String("write-database-fixture", "", "fill a database with this program (its path, or \"this\" for the one of the tree) and keep it in a new folder of testdata/databases")

// How long the lab lives before it is kept, and how long before that the run
// ended that still waits for its seal then (a run is sealed 10 min after its
// end).
const (
	fixtureLives   = 240 * time.Second
	fixtureWaiting = 9*time.Minute + 40*time.Second
	fixtureNext    = 40 * time.Second // of what the units would have said next
)

func TestWriteDatabaseFixture(t *testing.T) {
	if *writeDatabase == "" {
		t.Skip("nothing is to be written: -write-database-fixture is for a release that changes the schema")
	}
	f := newFilledLab(t, *writeDatabase)
	f.furnish()
	f.past()
	f.liveFrom()
	f.people()
	f.sealed()
	f.atTheEnd()
	f.keep()
}

// Seeds of what the units do.
const (
	seedLive uint64 = 7 + iota
	seedPast
	seedYesterday
	seedToday
)

// filledLab is a lab that the program under -write-database-fixture fills.
type filledLab struct {
	t              *testing.T
	program        string
	data, database string
	broker         string
	server         *monitortest.Process
	lead, wren     *monitortest.API // a token, and Wren's session
	pub            *monitortest.Publisher
	began          time.Time // when its live telemetry begins
	labs           []*sim.Lab
	late           []lab.Raw // of turnstone's run, kept back
	stopPublishing func()
	said           databaseSaid
}

func newFilledLab(t *testing.T, program string) *filledLab {
	if program == "this" {
		program = binary(t)
	}
	f := &filledLab{t: t, program: program, data: t.TempDir(), database: pgtest.Empty(t)}
	_, f.broker = monitortest.Mosquitto(t)
	for name, role := range map[string]string{"Wren": "lead", "Robin": "operator", "Finch": "viewer"} {
		f.command("fixer on tuesday\n", "user", "create", "--name", name, "--role", role, "--database", f.database)
	}
	base := fmt.Sprintf("127.0.0.1:%d", monitortest.FreePort(t))
	f.server = monitortest.StartProcess(t, exec.Command(f.program, "serve", "--broker", f.broker, "--database", f.database, "--data", f.data, "--listen", base))
	base = "http://" + base
	f.lead = &monitortest.API{T: t, Base: base, Token: strings.TrimSpace(f.command("", "token", "create", "--name", "till", "--role", "lead", "--database", f.database))}
	monitortest.Ready(t, base)
	code, session := monitortest.SignIn(t, base, "Wren", "fixer on tuesday")
	if code != http.StatusOK {
		t.Fatalf("Wren cannot sign in: %d", code)
	}
	f.wren = &monitortest.API{T: t, Base: base, Cookie: session}
	f.pub = monitortest.NewPublisher(t, f.broker)
	f.said.Program = strings.TrimSpace(f.command("", "version"))
	return f
}

// command runs the program and gives what it printed.
func (f *filledLab) command(stdin string, args ...string) string {
	f.t.Helper()
	cmd := exec.Command(f.program, args...)
	cmd.Stdin = strings.NewReader(stdin)
	var out, errOut bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errOut
	if err := cmd.Run(); err != nil {
		f.t.Fatalf("%s %s: %v: %s", f.program, args[0], err, errOut.String())
	}
	return out.String()
}

// send asks something of the API as somebody and reads the answer into v.
func (f *filledLab) send(as *monitortest.API, method, path string, body, v any) {
	f.t.Helper()
	b := []byte{}
	if body != nil {
		var err error
		if b, err = json.Marshal(body); err != nil {
			f.t.Fatal(err)
		}
	}
	code, answer, err := as.Do(method, "/api/v1"+path, string(b))
	if err != nil || code/100 != 2 {
		f.t.Fatalf("%s %s: %d %s %v", method, path, code, answer, err)
	}
	if v == nil {
		return
	}
	if err := json.Unmarshal(answer, v); err != nil {
		f.t.Fatal(err)
	}
}

type fields = map[string]any

// await waits for what takes the program a while.
func (f *filledLab) await(what string, within time.Duration, ok func() bool) {
	f.t.Helper()
	tick := time.NewTicker(200 * time.Millisecond)
	defer tick.Stop()
	deadline := time.After(within)
	for !ok() {
		select {
		case <-tick.C:
		case <-deadline:
			f.t.Fatalf("waiting until %s: not within %s", what, within)
		}
	}
}

// furnish sets up the lab: sheets, clock, who is on call and how they are
// reached, strips, rolls.
func (f *filledLab) furnish() {
	zone := "Europe/London"
	f.send(f.wren, "PUT", "/house", fields{"time_zone": zone, "closed": false, "closed_until": nil,
		"circuits":   fields{"left wall": []string{"tern-street/plover", "tern-street/heron"}},
		"networks":   fields{"shelf": []string{"tern-street/plover", "tern-street/heron", "tern-street/avocet", "tern-street/dunlin"}},
		"check_days": fields{"hoses": 60}}, nil)
	f.send(f.wren, "PUT", "/sheets/c41", fields{"text": "id: c41\nsteps:\n  - id: developer\n    limits_c: [37.6, 38.0]\n    sources: [{figure: limits_c, from: \"our control strips stay in control up to here\"}]\n"}, nil)
	f.send(f.wren, "PUT", "/strips/settings", fields{"references": []fields{{"process": "c41", "code": stripCode, "box": "118", "stored_c": -18, "densities": densities(0)}}}, nil)

	secret := notify.NewSecret()
	hook, _ := monitortest.HookReceiver(f.t, secret)
	f.send(f.wren, "PUT", "/people/Wren/contacts", fields{"ways": []string{"webhook"}, "webhook": hook, "webhook_secret": secret}, nil)
	f.send(f.wren, "PUT", "/people/Robin/contacts", fields{"ways": []string{"webhook"}, "webhook": nobodyThere, "mail": "robin@lab.example"}, nil)
	var duty lab.DutyNow
	f.send(f.wren, "GET", "/duty", nil, &duty)
	plan := duty.Plan
	plan.TimeZone, plan.Address = zone, "https://board.example"
	plan.Hours = []lab.DutyHours{{Days: []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}, From: "00:00", To: "24:00", People: []string{"Wren", "Robin"}}}
	plan.Quiet = []lab.QuietHours{{Days: []string{"sun"}, From: "02:00", To: "03:00"}}
	f.send(f.wren, "PUT", "/duty", fields{"version": duty.Version, "plan": plan}, nil)
	f.send(f.wren, "POST", "/duty/swaps", fields{"day": time.Now().AddDate(0, 0, 9).Format(time.DateOnly), "off": "Wren", "on": "Robin", "note": "a day at the sea"}, nil)
	f.send(f.wren, "POST", "/duty/dark", fields{"person": "Finch", "minutes": 20}, nil)

	due := lab.At(time.Now().Add(20 * time.Hour))
	f.send(f.lead, "POST", "/rolls", fields{"rolls": []fields{
		{"twin_check": "48211", "process": "c41", "push": 0, "film": "a color negative", "format": "135", "order": "B-7", "due_at": due},
		{"twin_check": "48212", "process": "c41", "push": 0, "order": "B-7", "note": "torn leader"},
		{"twin_check": "48213", "process": "c41", "push": 1, "order": "B-8"},
		{"twin_check": "48214", "process": "e6-7", "order": "B-9", "due_at": due},
		{"twin_check": "48215", "process": "bw", "order": "B-9"},
		{"twin_check": "48216", "process": "bw", "order": "B-10"},
	}}, nil)
	f.send(f.wren, "POST", "/rolls/48212/stop", fields{"reason": "the customer asks to wait"}, nil)
}

// nobodyThere is where nobody takes a page: the port of the discard protocol.
const nobodyThere = "http://127.0.0.1:9/phone"

// past imports a morning of three days ago, and sends what turnstone kept of
// yesterday when its network was away.
func (f *filledLab) past() {
	morning := time.Now().UTC().AddDate(0, 0, -3).Truncate(24 * time.Hour).Add(8 * time.Hour)
	l := f.lab(seedPast, morning, sim.Schedule{Units: []sim.UnitPlan{
		{Name: "plover", Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41", Kind: lab.KindOfRunStrip}, {Process: "c41"}}},
		{Name: "heron", Processes: []string{"e6-7"}, Runs: []sim.RunPlan{{Process: "e6-7"}}},
		{Name: "dunlin", Processes: []string{"c41", "e6-3"}, Runs: []sim.RunPlan{{Process: "e6-3"}}},
	}, Faults: []sim.Fault{
		{Kind: sim.BathOffset, Unit: "dunlin", Run: 1, Step: "first-developer", After: 40 * time.Second, Strength: -1.2, Ramp: 30 * time.Second},
		{Kind: sim.PowerCut, Unit: "plover", Run: 2, Step: "bleach", After: time.Minute, For: 90 * time.Second},
	}})
	f.command("", "import", "--database", f.database, monitortest.WriteCapture(f.t, "morning.jsonl", l.Advance(morning.Add(2*time.Hour))))

	// A run with a hole that stays is sealed after a day, whatever is missing.
	yesterday := time.Now().UTC().Truncate(time.Second).Add(-26 * time.Hour)
	l = f.lab(seedYesterday, yesterday, sim.Schedule{Units: []sim.UnitPlan{{Name: "turnstone", Processes: []string{"bw"},
		Runs: []sim.RunPlan{{Process: "bw", SetS: 390}}}},
		Faults: []sim.Fault{{Kind: sim.ShortStep, Unit: "turnstone", Run: 1, Step: "developer", Strength: 40}}})
	buffer := l.Advance(yesterday.Add(70 * time.Minute))
	hole := slices.IndexFunc(buffer, func(r lab.Raw) bool { return bytes.Contains(r.Payload, []byte(`"fixer"`)) })
	for i := hole; len(f.late) == 0; i++ {
		if strings.HasSuffix(buffer[i].Topic, "/temp") && i > hole+10 {
			f.late = append(f.late, buffer[i])
			buffer = slices.Delete(buffer, i, i+1)
		}
	}
	for _, raw := range buffer {
		f.pub.Send(raw)
	}
	f.pub.Settle()
}

// lab simulates a schedule. Boots are named by the seed: each schedule has one
// of its own, or its telemetry would be copies of another's.
func (f *filledLab) lab(seed uint64, start time.Time, s sim.Schedule) *sim.Lab {
	f.t.Helper()
	l, err := sim.New(sim.Config{Lab: sim.DemoLab, Seed: seed, Start: start, Cadence: sim.Sparse, Schedule: s})
	if err != nil {
		f.t.Fatal(err)
	}
	return l
}

// curlew is a unit whose run has just ended when the lab is kept: it is not
// sealed yet.
func (f *filledLab) curlew() *sim.Lab {
	work := sim.Schedule{Units: []sim.UnitPlan{{Name: "curlew", Processes: []string{"bw"}, Runs: []sim.RunPlan{{Process: "bw", SetS: 360}}}}}
	start := f.began.Add(-time.Hour)
	for range 2 { // the time of day changes the heating a little
		start = start.Add(f.began.Add(fixtureLives - fixtureWaiting).Sub(endOfRun(f.t, f.lab(seedToday, start, work), start)))
	}
	return f.lab(seedToday, start.Truncate(time.Second), work)
}

// endOfRun is when the only run of a lab says that it is done.
func endOfRun(t *testing.T, l *sim.Lab, start time.Time) time.Time {
	t.Helper()
	for _, raw := range l.Advance(start.Add(2 * time.Hour)) {
		if bytes.Contains(raw.Payload, []byte(`"phase":"done"`)) {
			return raw.Received
		}
	}
	t.Fatal("the run does not end in two hours")
	return time.Time{}
}

// liveFrom lets four units of the demonstration work from now on: plover's
// developer drifts out of its limits, avocet's waste does not take its run,
// dunlin comes back from a power cut.
func (f *filledLab) liveFrom() {
	f.began = time.Now().UTC().Truncate(time.Second)
	plan := sim.DemoPlan(seedLive, f.began)
	plan.Units = plan.Units[:4]
	plan.Faults = slices.DeleteFunc(plan.Faults, func(x sim.Fault) bool {
		return !slices.ContainsFunc(plan.Units, func(u sim.UnitPlan) bool { return u.Name == x.Unit })
	})
	f.labs = []*sim.Lab{f.curlew(), f.lab(seedLive, f.began, plan)}
	ctx, stop := context.WithCancel(f.t.Context())
	var done sync.WaitGroup
	pub := monitortest.NewPublisher(f.t, f.broker)
	done.Go(func() {
		tick := time.NewTicker(250 * time.Millisecond)
		defer tick.Stop()
		for ctx.Err() == nil {
			now := time.Now()
			for _, l := range f.labs {
				for _, raw := range l.Advance(now) {
					pub.Send(raw)
				}
			}
			select {
			case <-ctx.Done():
			case <-tick.C:
			}
		}
	})
	f.stopPublishing = sync.OnceFunc(func() { stop(); done.Wait(); pub.Settle() })
	f.t.Cleanup(f.stopPublishing)
}

// people do what people do in a lab: kinds of entry, decisions, alerts.
func (f *filledLab) people() {
	at := func(ago time.Duration) lab.Time { return lab.At(time.Now().Add(-ago)) }
	f.await("the units are known", time.Minute, func() bool {
		var got struct{ Units []lab.Unit }
		return f.lead.Get("/api/v1/units", &got) && len(got.Units) == 6
	})
	unit := func(name string) string { return "/units/" + sim.DemoLab + "/" + name }
	for name, called := range map[string]string{"plover": "Plover", "avocet": "Avocet", "dunlin": "Dunlin", "curlew": "Curlew by the sink"} {
		f.send(f.wren, "PATCH", unit(name), fields{"name": called, "standing": "accepted"}, nil)
	}
	f.send(f.wren, "PATCH", unit("turnstone"), fields{"standing": "out-of-service"}, nil)

	// avocet's run begins 45 s after the beginning
	f.send(f.wren, "POST", unit("avocet")+"/load", fields{"process": "c41", "rolls": []fields{{"twin_check": "48211"}, {"twin_check": "48213"}}}, nil)
	f.send(f.wren, "POST", unit("curlew")+"/load", fields{"process": "bw", "rolls": []fields{{"twin_check": "48216"}}}, nil)
	f.send(f.wren, "DELETE", unit("curlew")+"/load", nil, nil)
	f.send(f.wren, "POST", unit("curlew")+"/load", fields{"process": "bw", "rolls": []fields{{"twin_check": "48215"}, {"twin_check": "48216"}}}, nil)

	for _, figure := range []fields{
		{"probe": fields{"offset_c": 0.1, "uncertainty_c": 0.1, "reference": "glass No. 4"}, "at": at(100 * time.Hour)},
		{"probe_kind": fields{"class": "A"}, "at": at(100 * time.Hour)},
		{"step_time": fields{"with_fill": true, "with_drain": false}},
		{"house_aim": fields{"process": "c41", "step": "developer", "push": 0, "equivalent_s": 192}},
	} {
		f.send(f.wren, "POST", unit("plover")+"/figures", figure, nil)
	}
	f.send(f.wren, "POST", unit("turnstone")+"/figures", fields{"developer": fields{"process": "bw", "step": "developer", "developer": f.someDeveloper()}}, nil)
	f.send(f.wren, "POST", unit("heron")+"/step-names", fields{"process": "e6-7", "name": "rinse-x"}, nil)
	f.send(f.wren, "POST", unit("plover")+"/checks", fields{"check": "float", "ok": false, "note": "it sticks"}, nil)
	f.send(f.wren, "POST", unit("dunlin")+"/checks", fields{"check": "hoses", "ok": true}, nil)
	f.send(f.wren, "POST", unit("plover")+"/notes", fields{"text": "a new lid"}, nil)
	f.send(f.wren, "PUT", unit("heron")+"/containers/waste", fields{"capacity_l": 15}, nil)
	f.send(f.wren, "POST", unit("heron")+"/containers/wash/events", fields{"what": "topped-up", "litres": 2}, nil)
	f.send(f.wren, "POST", unit("curlew")+"/containers/waste/events", fields{"what": "emptied", "at": at(80 * time.Minute)}, nil)
	var event struct{ ID string }
	f.send(f.wren, "POST", unit("plover")+"/containers/waste/events", fields{"what": "set", "litres": 3}, &event)
	f.send(f.wren, "DELETE", unit("plover")+"/containers/waste/events/"+event.ID, nil, nil)

	f.ofRuns(at)
	f.refused()
	f.ofAlerts()
}

func (f *filledLab) someDeveloper() string {
	var got struct{ Developers []struct{ ID string } }
	f.send(f.lead, "GET", "/developers", nil, &got)
	if len(got.Developers) == 0 {
		f.t.Fatal("there is no developer to choose")
	}
	return got.Developers[0].ID
}

// runs lists what is known of runs.
func (f *filledLab) runs() []lab.Run {
	var got struct{ Runs []lab.Run }
	f.send(f.lead, "GET", "/runs?limit=1000", nil, &got)
	return got.Runs
}

// runOf is the newest run of a unit that ended.
func (f *filledLab) runOf(unit string) (run lab.Run) {
	f.t.Helper()
	f.await("a run of "+unit+" has ended", time.Minute, func() bool {
		for _, r := range f.runs() {
			if r.Unit == sim.DemoLab+"/"+unit && r.Outcome == lab.OutcomeDone {
				run = r
				return true
			}
		}
		return false
	})
	return run
}

// ofRuns enters what is of a run, each kind once at least.
func (f *filledLab) ofRuns(at func(time.Duration) lab.Time) {
	spoiled, strip, film, cut := f.runOf("turnstone"), lab.Run{}, lab.Run{}, lab.Run{}
	for _, r := range f.runs() {
		switch {
		case r.Unit == "tern-street/plover" && r.Kind == lab.KindOfRunStrip:
			strip = r
		case r.Unit == "tern-street/dunlin" && r.Outcome == lab.OutcomeDone:
			film = r
		case r.Unit == "tern-street/plover" && len(r.Outages) > 0:
			cut = r
		}
	}
	run := "/runs/" + spoiled.ID
	f.send(f.wren, "POST", run+"/rolls", fields{"add": []fields{{"twin_check": "301", "process": "bw"}, {"twin_check": "302", "process": "bw"}, {"twin_check": "303"}}}, nil)
	f.send(f.wren, "POST", run+"/rolls", fields{"remove": []string{"303"}}, nil)
	f.send(f.wren, "POST", run+"/symptoms", fields{"seen": "thin", "all_rolls": true, "note": "shadows gone"}, nil)
	f.send(f.wren, "POST", run+"/owner", fields{"owner": "Robin"}, nil)
	f.send(f.wren, "POST", run+"/decision", fields{"decision": "reprocess", "note": "after the customer said so", "rolls": []string{"301"}}, nil)
	f.send(f.wren, "POST", run+"/decision", fields{"decision": "correct", "note": "in scan", "rolls": []string{"302"}}, nil)
	f.send(f.wren, "POST", run+"/statements", fields{"what": "note", "text": "the reel stuck"}, nil)
	f.send(f.wren, "POST", run+"/measured", fields{"at": lab.At(spoiled.StartedAt.Add(15 * time.Minute)), "c": 20.1}, nil)
	lost := cut.Outages[0].LostAt
	f.send(f.wren, "POST", "/runs/"+cut.ID+"/statements", fields{"what": "turned-by-hand", "from": lab.At(lost.Add(20 * time.Second)), "to": lab.At(lost.Add(70 * time.Second))}, nil)
	f.send(f.wren, "POST", "/runs/"+f.runOf("curlew").ID+"/continues", fields{"run": nil}, nil)
	f.send(f.wren, "POST", "/runs/"+film.ID+"/decision", fields{"decision": "hold", "note": "cool first developer"}, nil)
	f.send(f.wren, "POST", "/runs/"+f.runOf("curlew").ID+"/kind", fields{"kind": "film"}, nil)

	f.send(f.wren, "POST", "/strips", fields{"unit": strip.Unit, "run": strip.ID, "mix": "B12", "code": stripCode, "by": "Robin",
		"read_at": lab.At(strip.EndedAt.Add(40 * time.Minute)), "densities": densities(0.01)}, nil)
	for k := range 2 { // far out, and confirmed
		f.send(f.wren, "POST", "/strips", fields{"unit": "tern-street/dunlin", "process": "c41", "mix": "B12", "code": stripCode,
			"read_at": at(time.Duration(2-k) * time.Hour), "densities": densities(0.26)}, nil)
	}
	f.send(f.wren, "POST", "/strips/gate/open", fields{"unit": "tern-street/dunlin", "process": "c41", "reason": "the strips were fogged"}, nil)
}

// stripCode is the code number of the lab's box of control strips.
const stripCode = "2461"

// densities are those of a control strip, its low-density step in red so much
// above the reference strip's. Invented, as the lab is.
func densities(off float64) fields {
	return fields{
		"dmin": fields{"r": 0.22, "g": 0.60, "b": 0.70}, "ld": fields{"r": 0.44 + off, "g": 0.76, "b": 0.98},
		"hd": fields{"r": 1.30, "g": 1.77, "b": 2.03}, "yellow": fields{"b": 2.70}, "dmax": fields{"b": 2.98},
	}
}

// refused is telemetry that is none: enough for an alert.
func (f *filledLab) refused() {
	for i := range 12 {
		f.pub.Send(lab.Raw{Topic: "wetside/v1/tern-street/heron/temp", Payload: fmt.Appendf(nil, `{"at":"2026-01-01T00:00:00Z","boot":"b-odd","seq":%d,"bath_c":"warm"}`, i+1)})
	}
	f.pub.Send(lab.Raw{Topic: "wetside/v1/tern-street/nonsense", Payload: []byte("no JSON")})
	f.pub.Settle()
}

// ofAlerts lets alerts be acknowledged and shelved; that of dunlin stays as it
// is.
func (f *filledLab) ofAlerts() {
	f.send(f.wren, "POST", "/alerts/"+f.raised("waste-will-not-fit", "avocet")+"/shelve", fields{"minutes": 30, "reason": "a new container is on its way"}, nil)
	f.send(f.wren, "POST", "/alerts/"+f.raised("bath-temperature", "plover")+"/acknowledge", fields{"note": "I look"}, nil)
	f.send(f.wren, "POST", "/alerts/"+f.raised("waste-nearly-full", "avocet")+"/acknowledge", fields{"note": "it is being emptied"}, nil)
	f.raised("power-resumed", "dunlin")
	f.send(f.wren, "POST", "/alerts/"+f.raised("telemetry-refused", "heron")+"/acknowledge", fields{}, nil)
}

// raised waits for an open alert of a rule and gives its id.
func (f *filledLab) raised(rule, unit string) (id string) {
	f.t.Helper()
	f.await(rule+" of "+unit+" is raised", 3*time.Minute, func() bool {
		for _, a := range f.lead.Alerts("&open=true") {
			if a.Rule == rule && a.Unit == sim.DemoLab+"/"+unit {
				id = a.ID
				return true
			}
		}
		return false
	})
	return id
}

// sealed waits for the seals of what ended before, and sends what was missing
// of turnstone's run: its record is superseded.
func (f *filledLab) sealed() {
	run := f.runOf("turnstone").ID
	var r lab.Run
	seal := func() (leaf int64) {
		if f.send(f.lead, "GET", "/runs/"+run, nil, &r); r.Seal != nil {
			return r.Seal.Index
		}
		return -1
	}
	f.await("turnstone's run is sealed", 3*time.Minute, func() bool { return seal() >= 0 })
	first := seal()
	for _, raw := range f.late {
		f.pub.Send(raw)
	}
	f.pub.Settle()
	f.await("turnstone's run is sealed again", 3*time.Minute, func() bool { return seal() > first })
	f.await("the imported runs are sealed", time.Minute, func() bool {
		return !slices.ContainsFunc(f.runs(), func(r lab.Run) bool {
			return r.Outcome == lab.OutcomeDone && r.Seal == nil && r.Unit != "tern-street/curlew"
		})
	})
}

// atTheEnd waits for the moment at which the lab is kept, ends telemetry and
// lets the program say what it knows.
func (f *filledLab) atTheEnd() {
	t := f.t
	end := f.began.Add(fixtureLives)
	if wait := time.Until(end); wait < 3*time.Second {
		t.Fatalf("the lab was not filled in time: %s to the end", wait)
	}
	f.send(f.wren, "PUT", "/people/Wren/contacts", fields{"ways": []string{"webhook"}, "webhook": nobodyThere}, nil) // whoever opens the fixture pages nobody
	<-time.After(time.Until(end))
	f.stopPublishing()
	f.await("everything is folded", 10*time.Second, f.quietFor(2*time.Second))
	f.said.AskedAt = time.Now().UTC().Truncate(time.Millisecond)
	f.said.Answers = databaseAnswers(t, f.lead)
	if took := time.Since(f.said.AskedAt); took > 1500*time.Millisecond {
		t.Logf("the answers took %s: what moves with the clock may differ by that much", took)
	}
	f.server.End(t, syscall.SIGTERM)
	f.said.Verify = strings.TrimSpace(f.command("", "verify", "--database", f.database, "--data", f.data))
}

// quietFor tells when the units' views have not taken anything in for so long.
func (f *filledLab) quietFor(d time.Duration) func() bool {
	var last string
	since := time.Now()
	return func() bool {
		var got struct {
			Units []struct {
				ID          string
				LastHeardAt *lab.Time `json:"last_heard_at"`
			}
		}
		f.send(f.lead, "GET", "/units", nil, &got)
		if now := fmt.Sprint(got); now != last {
			last, since = now, time.Now()
		}
		return time.Since(since) >= d
	}
}
