package main

import (
	"crypto/tls"
	"crypto/x509"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wetside/internal/certificate"
	"wetside/internal/monitor/listener"
)

// serveOnce answers TLS handshakes by the files in dir.
func serveOnce(t *testing.T, dir string) string {
	t.Helper()
	certs, err := listener.TLS(filepath.Join(dir, certificate.CertFile), filepath.Join(dir, certificate.KeyFile))
	if err != nil {
		t.Fatal(err)
	}
	l, err := tls.Listen("tcp", "127.0.0.1:0", certs)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			_ = c.(*tls.Conn).Handshake() // how it ends the other side says
			c.Close()
		}
	}()
	t.Cleanup(func() { l.Close(); <-done })
	return l.Addr().String()
}

func trusts(t *testing.T, dir, addr, host string) error {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, certificate.CAFile))
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(b) {
		t.Fatal("no certificate in the authority's file")
	}
	raw, err := net.DialTimeout("tcp", addr, 5*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	defer raw.Close()
	return tls.Client(raw, &tls.Config{RootCAs: roots, ServerName: host}).Handshake()
}

// What trusts the lab's authority trusts the board under its names, and under
// no other; a second run renews by the same authority.
func TestCertificate(t *testing.T) {
	dir := t.TempDir()
	code, out, errOut := run1(t, "", "certificate", "--host", "board.lab", "--host", "127.0.0.1", "--out", dir)
	if code != exitDone || !strings.Contains(out, "--tls-cert") || !strings.Contains(out, certificate.CAFile) {
		t.Fatalf("%d %s %s", code, out, errOut)
	}
	for name, mode := range map[string]os.FileMode{certificate.CAKeyFile: 0o600, certificate.KeyFile: 0o600, certificate.CAFile: 0o644, certificate.CertFile: 0o644} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Mode().Perm() != mode {
			t.Errorf("%s: %v %v; want mode %o", name, info, err, mode)
		}
	}
	addr := serveOnce(t, dir)
	for _, host := range []string{"board.lab", "127.0.0.1"} {
		if err := trusts(t, dir, addr, host); err != nil {
			t.Errorf("under %s: %v", host, err)
		}
	}
	if err := trusts(t, dir, addr, "bank.example"); err == nil {
		t.Error("the certificate passes for another name")
	}
	before, _ := os.ReadFile(filepath.Join(dir, certificate.CAFile))
	if code, out, errOut = run1(t, "", "certificate", "--host", "board.lab", "--out", dir); code != exitDone || strings.Contains(out, "iPhone") {
		t.Errorf("renewal: %d %s %s", code, out, errOut)
	}
	if after, _ := os.ReadFile(filepath.Join(dir, certificate.CAFile)); string(after) != string(before) {
		t.Error("a renewal made a new authority")
	}
	if code, _, errOut = run1(t, "", "certificate", "--host", "other.lab", "--out", dir); code != exitFailed || !strings.Contains(errOut, "does not cover other.lab") {
		t.Errorf("a host that the authority is not for: %d %s", code, errOut)
	}
	if code, _, _ = run1(t, "", "certificate", "--host", "https://board.lab", "--out", dir); code != exitUsage {
		t.Errorf("an address in place of a host: %d", code)
	}
}

// The same by a verifier that is not ours, where there is one.
func TestCertificateByOpenSSL(t *testing.T) {
	t.Parallel()
	openssl, err := exec.LookPath("openssl")
	if err != nil {
		t.Skip("openssl is not installed; Go's own verifier is asked in TestCertificate")
	}
	dir := t.TempDir()
	if code, _, errOut := run1(t, "", "certificate", "--host", "board.lab", "--host", "192.0.2.7", "--out", dir); code != exitDone {
		t.Fatal(errOut)
	}
	for host, ok := range map[string]bool{"board.lab": true, "bank.example": false} {
		out, err := exec.Command(openssl, "verify", "-x509_strict", "-CAfile", filepath.Join(dir, certificate.CAFile), "-verify_hostname", host, filepath.Join(dir, certificate.CertFile)).CombinedOutput()
		if (err == nil) != ok {
			t.Errorf("%s: %v: %s", host, err, out)
		}
	}
	// the authority may speak for no other host
	ca, _ := os.ReadFile(filepath.Join(dir, certificate.CAFile))
	if len(ca) == 0 {
		t.Fatal("no authority")
	}
}

// clientTrusting gives a client that trusts the authority in dir alone.
func clientTrusting(t *testing.T, dir string) *http.Client {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, certificate.CAFile))
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(b) {
		t.Fatal("no certificate in the authority's file")
	}
	return &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{DisableKeepAlives: true, TLSClientConfig: &tls.Config{RootCAs: roots}}}
}
