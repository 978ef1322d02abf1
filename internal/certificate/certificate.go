// Package certificate makes a certificate authority of the lab's own and a
// certificate by it, with which the board is opened over HTTPS and units reach
// the broker over TLS. The authority is good for the hosts it was made for and
// for nothing else: were its key stolen, it could pass for nobody else.
//
//	made, err := certificate.Make(dir, []string{"board.lab", "192.168.1.20"}, time.Now())
//
// Each file is put in its place in one go: whoever reads it meanwhile finds all
// of it or nothing. Two that make at once in one folder are not told apart.
package certificate

import (
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

	"wetside/internal/lab"
)

// How long what is made holds. Browsers refuse server certificates of more
// than 825 days (Apple, "Requirements for trusted certificates", from memory).
const (
	authorityFor   = 10 * 365 * 24 * time.Hour
	certificateFor = 820 * 24 * time.Hour
)

// Made is what Make made.
type Made struct {
	Authority bool      // a new one, which phones do not trust yet
	Until     time.Time // how long the certificate holds
}

// Make makes a certificate for hosts, names or addresses, by the authority in
// dir; where there is none it makes that first.
func Make(dir string, list []string, now time.Time) (m Made, err error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return m, fmt.Errorf("--out: %w", err)
	}
	hosts, err := splitHosts(list)
	if err != nil {
		return m, err
	}
	ca, key, made, err := authority(dir, hosts, now)
	if err != nil {
		return m, err
	}
	if err := hosts.covered(ca); err != nil {
		return m, err
	}
	until, err := certify(dir, ca, key, hosts, now)
	return Made{Authority: made, Until: until}, err
}

// The files, by their names in the folder.
const (
	CAFile    = "wetside-ca.pem"
	CAKeyFile = "wetside-ca-key.pem"
	CertFile  = "wetside.pem"
	KeyFile   = "wetside-key.pem"
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
			return h, lab.Errorf(lab.KindInvalid, "--host %q must be a name or an address without port, such as board.lab or 192.168.1.20", s)
		}
		h.names = append(h.names, strings.ToLower(s))
	}
	return h, nil
}

// authority gives the lab's authority in dir, making it where there is none.
// It is good for the hosts only: were its key stolen, it could pass for
// nothing else.
func authority(dir string, h hostNames, now time.Time) (ca *x509.Certificate, key *ecdsa.PrivateKey, made bool, err error) {
	pair, err := tls.LoadX509KeyPair(filepath.Join(dir, CAFile), filepath.Join(dir, CAKeyFile))
	if err == nil {
		key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
		if !ok || !pair.Leaf.IsCA || now.After(pair.Leaf.NotAfter) {
			return nil, nil, false, fmt.Errorf("%s is no authority that still holds; take it and its key away to make a new one", filepath.Join(dir, CAFile))
		}
		return pair.Leaf, key, false, nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, false, fmt.Errorf("the authority in %s: %w", dir, err)
	}
	if _, err := os.Stat(filepath.Join(dir, CAFile)); err == nil {
		return nil, nil, false, fmt.Errorf("%s is there, but not its key %s; bring it back to renew, or take the former away to make a new authority", CAFile, CAKeyFile)
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
	return ca, key, true, writePair(dir, CAFile, CAKeyFile, key, ca)
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
			return fmt.Errorf("the authority that is there does not cover %s; take %s and %s away to make a new one, and trust that on each phone", ip, CAFile, CAKeyFile)
		}
	}
	for _, name := range h.names {
		ok := false
		for _, d := range ca.PermittedDNSDomains {
			ok = ok || name == d || strings.HasSuffix(name, "."+d)
		}
		if !ok {
			return fmt.Errorf("the authority that is there does not cover %s; take %s and %s away to make a new one, and trust that on each phone", name, CAFile, CAKeyFile)
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
	return until, writePair(dir, CertFile, KeyFile, key, cert, ca)
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
