package main

import (
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// noControl keeps a serial line from becoming the program's terminal.
const noControl = unix.O_NOCTTY

// speeds of serial lines that instruments have.
var speeds = map[int]uint32{300: unix.B300, 1200: unix.B1200, 2400: unix.B2400, 4800: unix.B4800, 9600: unix.B9600, 19200: unix.B19200,
	38400: unix.B38400, 57600: unix.B57600, 115200: unix.B115200}

// setLine sets up a serial line: raw, 8 bits, no parity, one stop bit. What is
// none is left as it is.
func setLine(f *os.File, baud int) error {
	raw, err := f.SyscallConn()
	if err != nil {
		return err
	}
	var failed error
	if err := raw.Control(func(fd uintptr) {
		t, err := unix.IoctlGetTermios(int(fd), unix.TCGETS)
		if err != nil {
			return // a file or a pipe
		}
		speed, ok := speeds[baud]
		if !ok {
			failed = fmt.Errorf("--baud must be one of 300, 1200, 2400, 4800, 9600, 19200, 38400, 57600 or 115200; got %d", baud)
			return
		}
		t.Iflag = unix.IGNBRK | unix.IGNPAR
		t.Oflag, t.Lflag = 0, 0
		t.Cflag = unix.CS8 | unix.CREAD | unix.CLOCAL | speed
		t.Ispeed, t.Ospeed = speed, speed
		t.Cc[unix.VMIN], t.Cc[unix.VTIME] = 1, 0
		failed = unix.IoctlSetTermios(int(fd), unix.TCSETS, t)
	}); err != nil {
		return err
	}
	return failed
}
