//go:build !linux

package postgres

import "syscall"

// boundUnconfirmed does nothing here: keepalives and deadlines are left.
func boundUnconfirmed(string, string, syscall.RawConn) error { return nil }
