package main

import (
	"bytes"
	"os/exec"
	"strings"
	"syscall"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"
)

// What simulate publishes, record writes down, and replay can read.
func TestSimulateIsRecorded(t *testing.T) {
	t.Parallel()
	_, broker := monitortest.Mosquitto(t)
	capture := &monitortest.Output{}
	cmd := exec.Command(binary(t), "record", "--broker", broker)
	cmd.Stdout = capture
	rec := monitortest.StartProcess(t, cmd)
	labtest.Poll(t, "record listens", func() bool { return strings.Contains(rec.Log.Tail(1000), "recording") })
	sim := monitortest.StartProcess(t, exec.Command(binary(t), "simulate", "--broker", broker, "--units", "3", "--seed", "4"))
	labtest.Poll(t, "three units are recorded", func() bool {
		units := map[string]bool{}
		text := capture.Tail(1 << 20)
		if i := strings.LastIndexByte(text, '\n'); i >= 0 {
			for _, raw := range monitortest.ReadCapture(t, strings.NewReader(text[:i+1])) {
				if unit, channel, err := lab.ParseTopic(raw.Topic); err == nil && channel == lab.ChannelStep {
					units[unit.String()] = true
				}
			}
		}
		return len(units) == 3
	})
	for _, p := range []*monitortest.Process{sim, rec} {
		p.End(t, syscall.SIGTERM)
		if code := p.Cmd.ProcessState.ExitCode(); code != exitDone {
			t.Errorf("%v after SIGTERM: exit status %d; want 0: %s", p.Cmd.Args, code, p.Log.Tail(1000))
		}
	}
	raws := monitortest.ReadCapture(t, bytes.NewBufferString(capture.Tail(1<<20)))
	for _, l := range replayed(t, monitortest.WriteCapture(t, "recorded.jsonl", raws)) {
		if l.Run != nil && l.Run.Outcome != lab.OutcomeRunning {
			t.Errorf("run %s is %s after a few seconds", l.Run.ID, l.Run.Outcome)
		}
	}
}
