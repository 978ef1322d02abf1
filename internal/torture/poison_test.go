package torture

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/gorilla/websocket"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// The unit that means harm, or is broken.
const vandal = "vandal"

func evil(channel, payload string) lab.Raw {
	return lab.Raw{Topic: "wetside/v1/" + sim.DemoLab + "/" + vandal + "/" + channel, Payload: []byte(payload)}
}

// numbers are the ends of what JSON, a float, the contract and common sense
// can hold.
var numbers = []string{"0", "-0", "1", "-1", "0.5", "-0.5", "6", "-6", "6.000001", "-6.000001", "2.9999999999999996", "64", "65", "100", "101", "1000", "1001",
	"2000", "2001", "-300", "-301", "50000", "50001", "604800", "604801", "315360000", "315360001", "4000000000", "1e9", "1e15", "9007199254740991", "9007199254740993",
	"1e18", "9223372036854775808", "1e100", "1e308", "1.7976931348623157e308", "-1.7e308", "1e309", "-1e400", "5e-324", "1e-300", "NaN", "Infinity", `"12"`, "null", "true", "[]", "{}"}

// numberFields are the fields of each channel that take a number, as the
// contract's table has them.
func numberFields(t *testing.T) map[string][]string {
	t.Helper()
	b, err := os.ReadFile("../../testdata/wire/fields.json")
	if err != nil {
		t.Fatal(err)
	}
	var table struct {
		Channels map[string]struct {
			Fields map[string]struct{ Type string }
		}
	}
	if err := json.Unmarshal(b, &table); err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{"status": {"up_s"}}
	for channel, c := range table.Channels {
		for name, f := range c.Fields {
			if f.Type == "number" || f.Type == "integer" {
				out[channel] = append(out[channel], name)
			}
		}
		slices.Sort(out[channel])
	}
	return out
}

// oneByOne gives every number in every field, on a run that stands in its
// developer, and shapes that no unit should send.
func oneByOne(fields map[string][]string) (out []lab.Raw) {
	seq := 0
	say := func(channel, format string, args ...any) {
		seq++
		out = append(out, evil(channel, fmt.Sprintf(`{"at":%q,"boot":"v","seq":%d,`, lab.At(time.Now().Add(time.Duration(seq)*time.Millisecond)), seq)+fmt.Sprintf(format, args...)+"}"))
	}
	base := map[string]string{
		"step":  `"phase":"in-bath","run":"v-1","process":"c41","step":"developer","n":1`,
		"temp":  `"room_c":20`,
		"power": `"source":"battery"`, "motion": `"rpm":30`, "status": `"online":true`,
	}
	say("step", `"phase":"idle"`)
	for _, channel := range []string{"status", "step", "temp", "motion", "power"} {
		for _, field := range fields[channel] {
			for _, v := range numbers {
				say("step", `"phase":"filling","run":"v-%d","process":"c41","step":"developer","n":1,"set_s":195`, seq)
				say("step", `"phase":"in-bath","run":"v-%d","process":"c41","step":"developer","n":1,"set_s":195`, seq-1)
				say(channel, `%s,%q:%s`, base[channel], field, v)
				say("temp", `"bath_c":37.8`)
			}
		}
	}
	for _, v := range numbers {
		say("tank", `"levels_l":{"waste":%s,"wash":%s}`, v, v)
		say("status", `"online":true,"containers":{"waste":{"role":"waste","capacity_l":%s}}`, v)
		say("temp", `"bath_c":37.8,"up_s":%s`, v)
		out = append(out, evil("temp", fmt.Sprintf(`{"at":%q,"boot":"v","seq":%s,"bath_c":38}`, lab.At(time.Now()), v)))
		out = append(out, evil("temp", fmt.Sprintf(`{"at":%s,"boot":"v","seq":1,"bath_c":38}`, v)))
	}
	many := make([]string, 2000)
	for i := range many {
		many[i] = fmt.Sprintf(`"c%d":1`, i)
	}
	long := strings.Repeat("x", 8100)
	for _, payload := range []string{
		"", " ", "{", "[]", "null", "0", `"`, "\x00", "{}", `{"at":1}`, "\xff\xfe", `{"online":false}`, `{"online":false,"x":1}`, strings.Repeat("[", 5000),
		strings.Repeat(`{"a":`, 1500), `{"at":"2026-02-30T00:00:00Z","boot":"v","seq":1}`, `{"at":"0000-00-00T00:00:00Z","boot":"","seq":0}`,
		`{"at":"9999-12-31T23:59:59.999Z","boot":"v","seq":1,"phase":"idle"}`, `{"at":"1970-01-01T00:00:00Z","boot":"\u0000","seq":1,"phase":"idle"}`,
		`{"boot":"` + long + `"}`, `{"at":"2026-01-01T00:00:00Z","boot":"v","seq":1,"levels_l":{` + strings.Join(many, ",") + `}}`,
		`{"at":"2026-01-01T00:00:00Z","boot":"v","seq":1,"seq":2,"phase":"idle","phase":"in-bath"}`,
	} {
		for _, channel := range []string{"status", "step", "temp", "tank", "power", "motion", "nonsense"} {
			out = append(out, evil(channel, payload))
		}
	}
	for i, phase := range []string{"idle", "heating", "filling", "in-bath", "draining", "waiting", "drying", "done", "aborted", "", "IDLE", "\u202e"} {
		for _, id := range []string{"developer", "nowhere", "", strings.Repeat("s", 200), "a b", "é"} {
			b, _ := json.Marshal(id)
			say("step", `"phase":%q,"run":"w-%d","process":"c41","step":%s,"n":%d,"waits_for":"chemistry"`, phase, i/3, b, i%7)
			say("step", `"phase":%q,"run":"w-%d","process":%s,"step":"developer","n":%d,"kind":%s`, phase, i/3, b, i%7, b)
		}
	}
	return out
}

// anything is n messages made of legal and illegal values by chance.
func anything(n int, fields map[string][]string) (out []lab.Raw) {
	r := rand.New(rand.NewPCG(uint64(seed), 77))
	pick := func(list ...string) string { return list[r.IntN(len(list))] }
	boot, seq := "x", 0
	for range n {
		channel := pick("status", "step", "step", "temp", "tank", "power", "motion")
		if r.IntN(40) == 0 {
			boot, seq = fmt.Sprintf("x%d", r.IntN(20)), r.IntN(50)
		}
		seq += 1 + r.IntN(3)/2
		at := time.Now().Add(time.Duration(r.IntN(200)-100) * time.Millisecond)
		if r.IntN(20) == 0 {
			at = at.Add(time.Duration(r.IntN(8)-4) * time.Hour)
		}
		m := map[string]string{"at": fmt.Sprintf("%q", lab.At(at)), "boot": fmt.Sprintf("%q", boot), "seq": fmt.Sprint(seq)}
		number := func() string {
			if r.IntN(3) == 0 {
				return numbers[r.IntN(len(numbers))]
			}
			return fmt.Sprintf("%g", r.Float64()*float64(int(1)<<r.IntN(12)))
		}
		for _, f := range fields[channel] {
			if r.IntN(2) == 0 {
				m[f] = number()
			}
		}
		switch channel {
		case "step":
			m["phase"] = fmt.Sprintf("%q", pick("idle", "heating", "filling", "in-bath", "draining", "waiting", "drying", "done", "aborted"))
			m["run"], m["process"] = fmt.Sprintf(`"y-%d"`, r.IntN(6)), fmt.Sprintf("%q", pick("c41", "e6-3", "e6-7", "bw", "ra4"))
			m["step"], m["n"] = fmt.Sprintf("%q", pick("developer", "first-developer", "bleach", "fixer", "wash-1", "final-rinse")), fmt.Sprint(r.IntN(9))
		case "tank":
			m["levels_l"] = fmt.Sprintf(`{%q:%s}`, pick("waste", "wash", "c41/fixer"), number())
			m["full"] = pick(`[]`, `["waste"]`, `[1]`)
		case "power":
			m["source"], m["event"] = fmt.Sprintf("%q", pick("mains", "battery")), fmt.Sprintf("%q", pick("lost", "restored", "resumed"))
		case "status":
			m["online"] = pick("true", "true", "false", "1")
		}
		var parts []string
		for k, v := range m {
			parts = append(parts, fmt.Sprintf("%q:%s", k, v))
		}
		slices.Sort(parts)
		out = append(out, evil(channel, "{"+strings.Join(parts, ",")+"}"))
	}
	return out
}

// One unit sends poison of every kind. The others' board, alerts and runs are
// as they would be without it, before and after a kill -9.
func TestPoison(t *testing.T) {
	s := newSite(t, parts{})
	messages, random := 2000, 2000
	if long {
		messages, random = 10_000, 50_000*tries
	}
	good := telemetry(t, messages)
	fields := numberFields(t)
	poison := append(oneByOne(fields), anything(random, fields)...)
	r := row{fault: fmt.Sprintf("poison from one unit, %d messages", len(poison)), tries: 2}
	l, bad := newLine(t, s.broker), newLine(t, s.broker)
	half := len(poison) / 2
	for i, raw := range good { // side by side
		l.send(raw)
		for j := i * half / len(good); j < (i+1)*half/len(good); j++ {
			bad.send(poison[j])
		}
	}
	l.settle(t, len(good))
	bad.settle(t, half)
	want := findings(replayed(t, captureOf(t, good)), sim.DemoLab+"/"+vandal)
	s.unharmed(&r, good, want, "before a kill")
	s.killWetside()
	r.recovery = append(r.recovery, s.recovers())
	for _, raw := range poison[half:] {
		bad.send(raw)
	}
	bad.settle(t, len(poison))
	s.killWetside()
	r.recovery = append(r.recovery, s.recovers())
	s.unharmed(&r, good, want, "after it")
	r.told = s.told.take()
	s.pagesOnce(&r)
	table.add(r)
}

// unharmed checks that the other units are seen, judged and stored as if
// nothing had been sent beside them.
func (s *site) unharmed(r *row, good []lab.Raw, want []finding, when string) {
	t := s.t
	t.Helper()
	var live []finding
	for range 1200 {
		live = findings(s.alerts(), sim.DemoLab+"/"+vandal)
		if slices.Equal(live, want) {
			break
		}
		<-tick()
	}
	if !slices.Equal(live, want) {
		t.Errorf("%s: without the poison (-) and beside it (+):\n%s", when, gocmp.Diff(want, live))
	}
	units := map[string]bool{}
	for _, raw := range good {
		if u, _, err := lab.ParseTopic(raw.Topic); err == nil {
			units[u.String()] = true
		}
	}
	var board struct{ Units []lab.Unit }
	if err := s.get("/api/v1/units", &board); err != nil {
		t.Fatalf("%s: %v", when, err)
	}
	seen := map[string]bool{}
	for _, u := range board.Units {
		seen[u.ID] = true
	}
	for u := range units {
		if !seen[u] {
			t.Errorf("%s: %s is not on the board", when, u)
		}
	}
	var runs struct{ Runs []json.RawMessage }
	if err := s.get("/api/v1/runs?limit=10000", &runs); err != nil || len(runs.Runs) == 0 {
		t.Errorf("%s: %d runs: %v", when, len(runs.Runs), err)
	}
	s.liveSnapshot(when, len(units))
	want2 := map[string][]byte{}
	for _, raw := range good {
		if name := named(raw); name != "" {
			want2[name] = raw.Payload
		}
	}
	r.sent = len(good)
	lost, doubled := compared(t, command(t, "export", "--database", s.databaseURL()), want2)
	r.lost, r.doubled = len(lost), doubled
	if r.lost+r.doubled > 0 {
		t.Errorf("%s: %d lost, %d doubled", when, r.lost, r.doubled)
	}
}

func (s *site) liveSnapshot(when string, atLeast int) {
	s.t.Helper()
	d := websocket.Dialer{HandshakeTimeout: 10 * time.Second}
	conn, _, err := d.Dial("ws://"+s.listen+"/api/v1/live", http.Header{"Authorization": {"Bearer " + s.token}})
	if err != nil {
		s.t.Errorf("%s: the live socket: %v", when, err)
		return
	}
	defer conn.Close()
	if err := conn.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		s.t.Fatal(err)
	}
	var f struct {
		Type  string
		Units []json.RawMessage
	}
	if err := conn.ReadJSON(&f); err != nil || f.Type != "snapshot" || len(f.Units) < atLeast {
		s.t.Errorf("%s: the first frame is %q with %d units: %v", when, f.Type, len(f.Units), err)
	}
}
