package listener

import (
	"crypto/tls"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"
)

// certificates is a certificate that is read again when its file was written
// again. Safe for concurrent use.
type certificates struct {
	cert, key string

	mu     sync.Mutex
	now    *tls.Certificate
	of     time.Time // when the file was written
	looked time.Time
}

const lookForRenewal = 10 * time.Second

// TLS reads a certificate and its key, and serves with them and with what
// renews them; it fails where they cannot be used.
func TLS(cert, key string) (*tls.Config, error) {
	c := &certificates{cert: cert, key: key}
	if _, err := c.get(nil); err != nil {
		return nil, err
	}
	return &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: c.get}, nil
}

func (c *certificates) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.now != nil && time.Since(c.looked) < lookForRenewal {
		return c.now, nil
	}
	c.looked = time.Now()
	info, err := os.Stat(c.cert)
	if err == nil && c.now != nil && info.ModTime().Equal(c.of) {
		return c.now, nil
	}
	pair, err2 := tls.LoadX509KeyPair(c.cert, c.key)
	if err = errors.Join(err, err2); err != nil {
		if c.now != nil {
			return c.now, nil // half written: the former still holds
		}
		return nil, fmt.Errorf("--tls-cert, --tls-key: %w", err)
	}
	c.now, c.of = &pair, info.ModTime()
	return c.now, nil
}
