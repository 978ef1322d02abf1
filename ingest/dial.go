package ingest

import (
	"context"
	"crypto/tls"
	"net"
	"net/url"
	"time"
)

const dialTimeout = 10 * time.Second

// dial opens the socket: no delay, so that acknowledgements do not wait for
// the peer's own.
func dial(ctx context.Context, broker *url.URL, config *tls.Config) (net.Conn, error) {
	d := net.Dialer{Timeout: dialTimeout, KeepAlive: 15 * time.Second}
	conn, err := d.DialContext(ctx, "tcp", broker.Host)
	if err != nil {
		return nil, err
	}
	if tcp, ok := conn.(*net.TCPConn); ok {
		if err := tcp.SetNoDelay(true); err != nil {
			conn.Close()
			return nil, err
		}
	}
	switch broker.Scheme {
	case "mqtts", "ssl", "tls":
		conn, err = handshake(ctx, conn, broker.Hostname(), config)
		if err != nil {
			return nil, err
		}
	}
	return newBufferedConn(conn), nil
}

func handshake(ctx context.Context, conn net.Conn, host string, config *tls.Config) (net.Conn, error) {
	if config == nil {
		config = &tls.Config{MinVersion: tls.VersionTLS12}
	}
	if config.ServerName == "" {
		config = config.Clone()
		config.ServerName = host
	}
	ctx, cancel := context.WithTimeout(ctx, dialTimeout)
	defer cancel()
	t := tls.Client(conn, config)
	if err := t.HandshakeContext(ctx); err != nil {
		conn.Close()
		return nil, err
	}
	return t, nil
}
