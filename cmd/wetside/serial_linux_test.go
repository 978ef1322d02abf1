package main

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"

	"golang.org/x/sys/unix"

	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"
)

// terminal is a serial line without the wire: what is written to the master
// arrives at the line.
func terminal(t *testing.T) (master *os.File, line string) {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { master.Close() })
	n, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	if err := unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		t.Fatal(err)
	}
	return master, fmt.Sprintf("/dev/pts/%d", n)
}

// A serial line is set to raw: a carriage return is not turned into a line
// feed, nothing is sent back, and an interrupt is how reading
// it ends.
func TestStripsReadFromASerialLine(t *testing.T) {
	t.Parallel()
	master, line := terminal(t)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var out, errOut monitortest.Output
	done := make(chan int, 1)
	go func() {
		done <- run(ctx, []string{"strips", "read", line, "--baud", "4800", "--format", "letters"}, streams{strings.NewReader(""), &out, &errOut})
	}()
	labtest.Poll(t, "the line is set up", func() bool { return strings.Contains(errOut.Tail(1000), "next: D-min") || len(done) > 0 })
	set, err := unix.IoctlGetTermios(int(master.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	if set.Lflag&(unix.ICANON|unix.ECHO|unix.ISIG) != 0 || set.Iflag&(unix.ICRNL|unix.IXON) != 0 || set.Cflag&unix.CBAUD != unix.B4800 || set.Cflag&unix.CSIZE != unix.CS8 {
		t.Errorf("the line is set to %+v", set)
	}
	for _, text := range []string{"V0.60 R 0.32 G 0.63 B 0.72\r", "R0.44 G0.76 ", "B0.98\r\n", "R1.30 G1.77 B2.03\r", "B 2.70\r", "B 2.98\r"} {
		if _, err := master.WriteString(text); err != nil {
			t.Fatal(err)
		}
	}
	labtest.Poll(t, "the strip is printed", func() bool { return strings.Contains(out.Tail(1000), `"dmax":{"b":2.98}`) })
	cancel()
	if code := labtest.Receive(t, done, "the command ends"); code != exitDone {
		t.Errorf("an interrupt gives %d: %s", code, errOut.Tail(1000))
	}
	var bad monitortest.Output
	if code := run(t.Context(), []string{"strips", "read", line, "--baud", "12"}, streams{strings.NewReader(""), &out, &bad}); code != exitFailed || !strings.Contains(bad.Tail(1000), "--baud must be one of 300") {
		t.Errorf("a speed that is none: %d, %s", code, bad.Tail(1000))
	}
}
