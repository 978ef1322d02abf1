package postgres

import (
	"strings"
	"syscall"
)

// tcpUserTimeout is TCP_USER_TIMEOUT of linux/tcp.h (RFC 5482): how long what
// was sent may stay unconfirmed, in ms. Package syscall does not name it.
const tcpUserTimeout = 0x12

// boundUnconfirmed gives up a connection whose other end confirms nothing: by
// itself Linux sends again for a quarter of an hour.
func boundUnconfirmed(network, _ string, raw syscall.RawConn) error {
	if !strings.HasPrefix(network, "tcp") {
		return nil
	}
	var err error
	if e := raw.Control(func(fd uintptr) {
		err = syscall.SetsockoptInt(int(fd), syscall.IPPROTO_TCP, tcpUserTimeout, int(userTimeout.Milliseconds()))
	}); e != nil {
		return e
	}
	return err
}
