package main

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"
)

type certificateCmd struct {
	Host []string `required:"" placeholder:"HOST" help:"Name or address under which the board is opened, such as board.lab or 192.168.1.20. May be repeated."`
	Out  string   `default:"." placeholder:"DIR" help:"Folder for the four files. Default: ${default}"`
}

// Help implements kong.HelpProvider.
func (*certificateCmd) Help() string {
	return `Makes a certificate authority of the lab's own, good for these hosts only, and a certificate by it. Run again, it renews the certificate by the authority that is there: phones need not be touched again.`
}

// How long what is made holds. Browsers refuse server certificates of more
// than 825 days (Apple, "Requirements for trusted certificates", from memory).
const (
	authorityFor   = 10 * 365 * 24 * time.Hour
	certificateFor = 820 * 24 * time.Hour
)

// Run implements the command.
func (c *certificateCmd) Run(_ context.Context, s streams) error {
	now := time.Now()
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return fmt.Errorf("--out: %w", err)
	}
	hosts, err := splitHosts(c.Host)
	if err != nil {
		return usageError{err}
	}
	ca, key, made, err := authority(c.Out, hosts, now)
	if err != nil {
		return err
	}
	if err := hosts.covered(ca); err != nil {
		return err
	}
	until, err := certify(c.Out, ca, key, hosts, now)
	if err != nil {
		return err
	}
	c.explain(s, made, until)
	return nil
}

func (c *certificateCmd) explain(s streams, made bool, until time.Time) {
	at := func(name string) string { return filepath.Join(c.Out, name) }
	fmt.Fprintf(s.out, "The certificate holds until %s.\n\n", until.Format("2 January 2006"))
	fmt.Fprintf(s.out, "1. Start wetside with: --tls-cert %s --tls-key %s --address https://%s:PORT\n", at(certFile), at(certKeyFile), c.Host[0])
	if !made {
		fmt.Fprintln(s.out, "2. A running wetside takes the new certificate by itself. Phones that trust the lab's authority need nothing.")
		return
	}
	fmt.Fprintf(s.out, "2. Bring %s (only this file) to each phone and computer, and trust it there:\n", at(caFile))
	fmt.Fprintln(s.out, "   Android: Settings, Security, Encryption and credentials, Install a certificate, CA certificate.")
	fmt.Fprintln(s.out, "   iPhone: open the file, install the profile, then Settings, General, About, Certificate Trust Settings: switch it on.")
	fmt.Fprintln(s.out, "   iPhone takes pages only once the board is on its home screen (Share, Add to Home Screen).")
	fmt.Fprintf(s.out, "3. Put %s in a safe place away from this machine: whoever has it can pass for these hosts. It is needed to renew.\n", at(caKeyFile))
}

// The files.
const (
	caFile      = "wetside-ca.pem"
	caKeyFile   = "wetside-ca-key.pem"
	certFile    = "wetside.pem"
	certKeyFile = "wetside-key.pem"
)

// hostNames are names and addresses apart.
type hostNames struct {
	names []string
	ips   []net.IP
}

func splitHosts(list []string) (h hostNames, err error) {
	for _, s := range list {
		if ip := net.ParseIP(s); ip != nil {
			h.ips = append(h.ips, ip)
			continue
		}
		if s == "" || len(s) > 253 || strings.ContainsAny(s, "/:* ") || strings.HasPrefix(s, ".") {
			return h, fmt.Errorf("--host %q must be a name or an address without port, such as board.lab or 192.168.1.20", s)
		}
		h.names = append(h.names, strings.ToLower(s))
	}
	return h, nil
}

// authority gives the lab's authority in dir, making it where there is none.
// It is good for the hosts only: were its key stolen, it could pass for
// nothing else.
func authority(dir string, h hostNames, now time.Time) (ca *x509.Certificate, key *ecdsa.PrivateKey, made bool, err error) {
	pair, err := tls.LoadX509KeyPair(filepath.Join(dir, caFile), filepath.Join(dir, caKeyFile))
	if err == nil {
		key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
		if !ok || !pair.Leaf.IsCA || now.After(pair.Leaf.NotAfter) {
			return nil, nil, false, fmt.Errorf("%s is no authority that still holds; take it and its key away to make a new one", filepath.Join(dir, caFile))
		}
		return pair.Leaf, key, false, nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, false, fmt.Errorf("the authority in %s: %w", dir, err)
	}
	if _, err := os.Stat(filepath.Join(dir, caFile)); err == nil {
		return nil, nil, false, fmt.Errorf("%s is there, but not its key %s; bring it back to renew, or take the former away to make a new authority", caFile, caKeyFile)
	}
	ca = &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{CommonName: "Wetside of this lab, made " + now.Format(time.DateOnly)},
		NotBefore: now.Add(-time.Hour), NotAfter: now.Add(authorityFor),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: h.names, PermittedIPRanges: h.ranges(),
	}
	if len(h.names) == 0 { // a constraint on addresses alone leaves names free
		ca.PermittedDNSDomains = []string{"wetside.invalid"}
	}
	if len(h.ips) == 0 {
		ca.ExcludedIPRanges = []*net.IPNet{{IP: net.IPv4zero.To4(), Mask: net.CIDRMask(0, 32)}, {IP: net.IPv6zero, Mask: net.CIDRMask(0, 128)}}
	}
	if key, err = ecdsa.GenerateKey(elliptic.P256(), rand.Reader); err != nil {
		return nil, nil, false, err
	}
	if ca, err = sign(ca, ca, key, key); err != nil {
		return nil, nil, false, err
	}
	return ca, key, true, writePair(dir, caFile, caKeyFile, key, ca)
}

func (h hostNames) ranges() []*net.IPNet {
	var out []*net.IPNet
	for _, ip := range h.ips {
		if v4 := ip.To4(); v4 != nil {
			ip = v4
		}
		out = append(out, &net.IPNet{IP: ip, Mask: net.CIDRMask(8*len(ip), 8*len(ip))})
	}
	return out
}

// covered tells whether the authority may speak for all hosts.
func (h hostNames) covered(ca *x509.Certificate) error {
	for _, ip := range h.ips {
		ok := false
		for _, r := range ca.PermittedIPRanges {
			ok = ok || r.Contains(ip)
		}
		if !ok {
			return fmt.Errorf("the authority that is there does not cover %s; take %s and %s away to make a new one, and trust that on each phone", ip, caFile, caKeyFile)
		}
	}
	for _, name := range h.names {
		ok := false
		for _, d := range ca.PermittedDNSDomains {
			ok = ok || name == d || strings.HasSuffix(name, "."+d)
		}
		if !ok {
			return fmt.Errorf("the authority that is there does not cover %s; take %s and %s away to make a new one, and trust that on each phone", name, caFile, caKeyFile)
		}
	}
	return nil
}

// certify makes the server's certificate.
func certify(dir string, ca *x509.Certificate, caKey *ecdsa.PrivateKey, h hostNames, now time.Time) (until time.Time, err error) {
	until = now.Add(certificateFor)
	if until.After(ca.NotAfter) {
		until = ca.NotAfter
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return until, err
	}
	cert, err := sign(&x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{CommonName: "Wetside"}, NotBefore: now.Add(-time.Hour), NotAfter: until,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
		DNSNames: h.names, IPAddresses: h.ips,
	}, ca, key, caKey)
	if err != nil {
		return until, err
	}
	return until, writePair(dir, certFile, certKeyFile, key, cert, ca)
}

func serial() *big.Int {
	n, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		panic(err) // crypto/rand does not fail
	}
	return n
}

func sign(cert, by *x509.Certificate, key, byKey *ecdsa.PrivateKey) (*x509.Certificate, error) {
	der, err := x509.CreateCertificate(rand.Reader, cert, by, &key.PublicKey, byKey)
	if err != nil {
		return nil, fmt.Errorf("make the certificate: %w", err)
	}
	return x509.ParseCertificate(der)
}

// writePair writes a certificate, with those above it, and its key.
func writePair(dir, certName, keyName string, key *ecdsa.PrivateKey, chain ...*x509.Certificate) error {
	var certs []byte
	for _, c := range chain {
		certs = append(certs, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: c.Raw})...)
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	if err := replaceFile(filepath.Join(dir, keyName), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), 0o600); err != nil {
		return err
	}
	return replaceFile(filepath.Join(dir, certName), certs, 0o644)
}

// replaceFile writes a file in one go: whoever reads it finds all or nothing.
func replaceFile(name string, b []byte, mode os.FileMode) error {
	tmp := name + ".new"
	if err := os.WriteFile(tmp, b, mode); err != nil {
		return err
	}
	return os.Rename(tmp, name)
}
