package main

import (
	"os/exec"
	"regexp"
	"strconv"
	"testing"

	"wetside/internal/labtest"
)

// The systemd unit leaves a program that was broken into little to do:
// systemd's own measure of that, from 0 to 10, stays under 2.
func TestSystemdUnit(t *testing.T) {
	t.Parallel()
	cmd := exec.Command(labtest.Need(t, "systemd-analyze", "systemd"), "security", "--offline=true", "../../deploy/wetside.service")
	out, err := cmd.CombinedOutput()
	found := regexp.MustCompile(`Overall exposure level for wetside\.service: ([0-9.]+)`).FindSubmatch(out)
	if err != nil || found == nil {
		t.Fatalf("systemd-analyze: %v\n%s", err, out)
	}
	if level, err := strconv.ParseFloat(string(found[1]), 64); err != nil || level >= 2 {
		t.Errorf("the exposure level is %s; want under 2.0", found[1])
	}
}
