package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/google/go-cmp/cmp"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
	sheetbook "wetside/internal/process"
	"wetside/internal/simulation/demo"
)

// asyncExample is what the description of the telemetry says to those who
// build a unit.
type asyncExample struct {
	Processes map[string]struct {
		Name  string   `yaml:"name"`
		Steps []string `yaml:"steps"`
	} `yaml:"x-processes"`
	Run []exampleMessage `yaml:"x-example-run"`
}

type exampleMessage struct {
	Topic   string         `yaml:"topic" json:"topic"`
	Payload map[string]any `yaml:"payload" json:"payload"`
}

func describedTelemetry(t *testing.T, b []byte) (doc asyncExample) {
	t.Helper()
	if err := yaml.Unmarshal(b, &doc); err != nil {
		t.Fatal(err)
	}
	return doc
}

func captured(t *testing.T, b []byte) (raws []lab.Raw) {
	t.Helper()
	r := lab.NewCaptureReader("example", bytes.NewReader(b))
	for {
		raw, err := r.Next()
		if err == io.EOF {
			return raws
		}
		if err != nil {
			t.Fatal(err)
		}
		raws = append(raws, raw)
	}
}

// The description lists the ids of all built-in processes and steps, and its
// example is the beginning of each phase of the whole run that is served
// beside it, message for message.
func TestTheDescribedRun(t *testing.T) {
	t.Parallel()
	file, err := os.ReadFile("../../web/asyncapi.yaml")
	if err != nil {
		t.Fatal(err)
	}
	doc := describedTelemetry(t, file)
	book := sheetbook.Builtin()
	for _, id := range book.IDs() {
		sheet, _ := book.Sheet(id)
		if diff := cmp.Diff(sheet.StepIDs(), doc.Processes[id].Steps); diff != "" {
			t.Errorf("steps of %s (-sheet +described)\n%s", id, diff)
		}
		if doc.Processes[id].Name != sheet.Name {
			t.Errorf("%s is called %q; want %q", id, doc.Processes[id].Name, sheet.Name)
		}
	}
	if len(doc.Processes) != len(book.IDs()) {
		t.Errorf("%d processes are described; want %d", len(doc.Processes), len(book.IDs()))
	}
	whole, err := demo.ExampleRun()
	if err != nil {
		t.Fatal(err)
	}
	if want := excerpt(t, captured(t, whole)); asText(want) != asText(doc.Run) {
		t.Errorf("the example of web/asyncapi.yaml is not that of the run; x-example-run should be:\n%s", asYAML(want))
	}
}

// excerpt keeps the first message of each channel and of each phase of each
// step.
func excerpt(t *testing.T, raws []lab.Raw) (out []exampleMessage) {
	t.Helper()
	seen, phase := map[string]bool{}, ""
	for _, raw := range raws {
		var payload map[string]any
		if err := json.Unmarshal(raw.Payload, &payload); err != nil {
			t.Fatal(err)
		}
		channel := raw.Topic[strings.LastIndex(raw.Topic, "/")+1:]
		if channel == "step" {
			now := fmt.Sprint(payload["phase"], payload["step"], payload["waits_for"])
			if now == phase {
				continue
			}
			phase = now
		} else {
			inBath := strings.HasPrefix(phase, "in-bath")
			if channel != "status" && channel != "power" && !inBath || seen[channel] {
				continue
			}
			seen[channel] = true
		}
		out = append(out, exampleMessage{raw.Topic, payload})
	}
	return out
}

func asText(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return err.Error()
	}
	return string(b)
}

func asYAML(list []exampleMessage) string {
	var b strings.Builder
	for _, m := range list {
		fmt.Fprintf(&b, "  - %s\n", asText(m)) // JSON is YAML
	}
	return b.String()
}

// A unit that was built from the documents alone is watched: what they say of
// a run is decoded, folded to a run that is complete and without a complaint,
// and stored by a running wetside, with nothing in quarantine.
func TestAUnitBuiltFromTheDocuments(t *testing.T) {
	t.Parallel()
	database := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Database: database, Broker: monitor.Embedded, MQTTListen: "127.0.0.1:0", Data: t.TempDir(), ExampleRun: demo.ExampleRun})
	monitortest.Ready(t, p.URL())
	resp, err := monitortest.Client.Get(p.URL() + "/api/v1/example-run.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	whole, err := io.ReadAll(resp.Body)
	resp.Body.Close()
	if err != nil || resp.StatusCode != http.StatusOK || resp.Header.Get("Content-Type") != "application/jsonl" {
		t.Fatalf("the example run: %d %v", resp.StatusCode, err)
	}
	raws := captured(t, whole)
	for _, raw := range raws {
		if _, err := ingest.Decode(raw); err != nil {
			t.Fatalf("%s: %v", raw.Topic, err)
		}
	}
	runs := runsOfLines(replayed(t, monitortest.WriteCapture(t, "example.jsonl", raws)))
	if len(runs) != 1 || runs[0].Outcome != lab.OutcomeDone || runs[0].Verdict == nil || *runs[0].Verdict != lab.InControl || len(runs[0].Reasons)+len(runs[0].Gaps)+len(runs[0].Alerts) != 0 || len(runs[0].Steps) != 6 {
		t.Errorf("the example folds to %s", asText(runs))
	}

	store := pgtest.Store(t, monitortest.StoreConfig(database))
	a := monitortest.NewAPI(t, p.URL(), store)
	pub := monitortest.NewPublisher(t, p.BrokerURL())
	for _, raw := range raws {
		pub.Send(raw)
	}
	pub.Settle()
	var got lab.Run
	labtest.Poll(t, "the run is known as done", func() bool {
		return a.Get("/api/v1/runs/"+runs[0].ID, &got) && got.Outcome == lab.OutcomeDone
	})
	if got.Verdict == nil || *got.Verdict != lab.InControl || len(got.Alerts) != 0 {
		t.Errorf("watched live it is %s", asText(got))
	}
	var refused struct{ Messages []any }
	if !a.Get("/api/v1/quarantine", &refused) || len(refused.Messages) != 0 {
		t.Errorf("in quarantine: %s", asText(refused))
	}
}

// A run is printed without a broker, of any process, and an id that is not
// known is answered with the nearest.
func TestSimulatePrint(t *testing.T) {
	t.Parallel()
	code, out, errOut := run1(t, "", "simulate", "--print", "--process", "bw")
	if code != exitDone {
		t.Fatalf("status %d: %s", code, errOut)
	}
	name := filepath.Join(t.TempDir(), "bw.jsonl")
	if err := os.WriteFile(name, []byte(out), 0o600); err != nil {
		t.Fatal(err)
	}
	if runs := runsOfLines(replayed(t, name)); len(runs) != 1 || runs[0].Process != "bw" || runs[0].Outcome != lab.OutcomeDone {
		t.Errorf("it folds to %s", asText(runs))
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"simulate", "--print", "--process", "C-41"}, `got "C-41": did you mean "c41"?`},
		{[]string{"simulate"}, "--broker is missing"},
		{[]string{"simulate", "--broker", "mqtt://127.0.0.1:1", "--fault", "preheat_of"}, `did you mean "preheat-off"?`},
		{[]string{"sheets", "E6 3"}, `did you mean "e6-3"?`},
	} {
		if code, _, errOut := run1(t, "", c.args...); code != exitUsage || !strings.Contains(errOut, c.want) {
			t.Errorf("%v: status %d, %s; want %q", c.args, code, errOut, c.want)
		}
	}
}
