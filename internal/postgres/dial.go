package postgres

import (
	"context"
	"net"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
)

// How long the network may take before a connection counts as gone. A
// connection that vanishes without a word (a cable, a firewall that forgot
// it, a machine that lost its power) must end at both ends within half a
// minute; a database half a second away must still be usable.
const (
	connectTimeout = 15 * time.Second // several round trips: TCP, TLS, password
	settleTimeout  = 10 * time.Second // and the session's settings
	pingTimeout    = 5 * time.Second  // the check of a pooled connection
	userTimeout    = 20 * time.Second // what was sent is not confirmed by the other end
	keepIdle       = 10 * time.Second
	keepEvery      = 5 * time.Second
	keepCount      = 3
)

// session is how the connections of one part of the program behave.
type session struct {
	part     string
	conns    int32
	patience time.Duration     // this end: nothing comes for so long while an answer is waited for
	settings map[string]string // the server's end
}

// The server ends a session whose other end is gone: by TCP where that
// notices, and by its own clock where something between the two keeps the
// connection open. Every setting can be made by any user.
var everySession = map[string]string{
	"tcp_keepalives_idle":                 "10",
	"tcp_keepalives_interval":             "5",
	"tcp_keepalives_count":                "3",
	"tcp_user_timeout":                    "20000",
	"idle_in_transaction_session_timeout": "30s", // it would hold its locks
}

var (
	ingestSession = session{"ingest", 1, time.Minute, map[string]string{"statement_timeout": "45s", "idle_session_timeout": "15min"}}
	webSession    = session{"web", 6, 3 * time.Minute, map[string]string{"idle_session_timeout": "15min"}}
	// migrations run here, and may take their time
	controlSession = session{"control", 4, 30 * time.Minute, map[string]string{"idle_session_timeout": "15min"}}
	pagingSession  = session{"paging", 4, time.Minute, map[string]string{"statement_timeout": "45s", "idle_session_timeout": "15min"}}
	// The lab is held by a session that is asked every two seconds: one that is
	// not is gone, and must not lock out who comes next.
	leaseSession    = session{"holder", 1, time.Minute, map[string]string{"idle_session_timeout": "15s", "lock_timeout": "5s"}}
	listenerSession = session{"listener", 1, time.Minute, map[string]string{"idle_session_timeout": "2min"}}
)

// idleConns is how long an idle connection is kept: less than the server
// waits before it ends the session.
const idleConns = 5 * time.Minute

// apply prepares a connection's configuration.
func (n session) apply(cfg Config, cc *pgx.ConnConfig) {
	if cc.ConnectTimeout == 0 {
		cc.ConnectTimeout = connectTimeout
	}
	cc.RuntimeParams["application_name"] = cfg.App + " " + n.part
	cc.RuntimeParams["timezone"] = "UTC"
	cc.DialFunc = n.dial
}

func (n session) dial(ctx context.Context, network, addr string) (net.Conn, error) {
	d := net.Dialer{
		KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: keepIdle, Interval: keepEvery, Count: keepCount},
		Control:         boundUnconfirmed,
	}
	conn, err := d.DialContext(ctx, network, addr)
	if err != nil {
		return nil, err
	}
	return &patientConn{Conn: conn, patience: n.patience}, nil
}

// settle makes the session's settings at the server. They go by a query, not
// with the start of the connection: what stands between (a pooler) refuses
// parameters there that it does not know.
func (n session) settle(ctx context.Context, conn *pgx.Conn) error {
	ctx, cancel := context.WithTimeout(ctx, settleTimeout)
	defer cancel()
	var names, values []string
	for _, m := range []map[string]string{everySession, n.settings} {
		for k, v := range m {
			names, values = append(names, k), append(values, v)
		}
	}
	_, err := conn.Exec(ctx, `SELECT set_config(k, v, false) FROM unnest($1::text[], $2::text[]) AS s(k, v)`, names, values)
	return err
}

// connect opens a connection outside the pools.
func (s *Store) connect(ctx context.Context, n session) (*pgx.Conn, error) {
	cc := s.control.Config().ConnConfig
	n.apply(s.cfg, cc)
	conn, err := pgx.ConnectConfig(ctx, cc)
	if err != nil {
		return nil, err
	}
	if err := n.settle(ctx, conn); err != nil {
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		conn.Close(end)
		return nil, err
	}
	return conn, nil
}

// patientConn does not wait for ever: an answer for which nothing at all comes
// within its patience counts as lost. A deadline that somebody sets comes
// first.
type patientConn struct {
	net.Conn
	patience time.Duration

	mu    sync.Mutex
	until time.Time // the deadline that was set; zero: none
}

// Read implements net.Conn.
func (c *patientConn) Read(p []byte) (int, error) {
	c.mu.Lock()
	if c.until.IsZero() {
		if err := c.Conn.SetReadDeadline(time.Now().Add(c.patience)); err != nil {
			c.mu.Unlock()
			return 0, err
		}
	}
	c.mu.Unlock()
	return c.Conn.Read(p)
}

// SetDeadline implements net.Conn.
func (c *patientConn) SetDeadline(t time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.until = t
	return c.Conn.SetDeadline(t)
}

// SetReadDeadline implements net.Conn.
func (c *patientConn) SetReadDeadline(t time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.until = t
	return c.Conn.SetReadDeadline(t)
}
