package listener

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"crypto/tls"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/http/httputil"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// Holder is another wetside, which has the lab and shows it.
type Holder struct {
	Address     string // scheme and host
	Certificate string // SHA-256 in hex of its certificate; with https
	Key         []byte // signs for whom something is forwarded; nil: that is not said
}

// forwardedHeader says for whom a wetside that stands by forwards a request:
// the address and scheme it came by, when, and a signature by a key that only
// the two of them have. Who holds the lab then takes the request as if it had
// come to it directly, so that limits, cookies and what proxies say hold as
// always; without a signature that holds it is the request of the other
// machine.
const forwardedHeader = "Wetside-Forwarded"

// markHolds is how long a signature holds.
const markHolds = time.Minute

// forwarder passes requests on to one holder.
type forwarder struct {
	to    Holder
	proxy *httputil.ReverseProxy
	life  context.Context
	end   context.CancelFunc // ends what is under way, sockets too
	idle  func()
}

func newForwarder(to Holder, log *slog.Logger) (*forwarder, error) {
	base, err := url.Parse(to.Address)
	if err != nil || base.Host == "" {
		return nil, fmt.Errorf("%q is no address", to.Address)
	}
	transport := &http.Transport{
		DialContext:           (&net.Dialer{Timeout: 3 * time.Second}).DialContext,
		TLSHandshakeTimeout:   3 * time.Second,
		ResponseHeaderTimeout: time.Minute, // as long as the holder itself has
		TLSClientConfig:       pinned(to.Certificate),
	}
	f := &forwarder{to: to, idle: transport.CloseIdleConnections}
	f.life, f.end = context.WithCancel(context.Background())
	f.proxy = &httputil.ReverseProxy{
		Transport: transport,
		ErrorLog:  slog.NewLogLogger(log.Handler(), slog.LevelDebug),
		Rewrite: func(r *httputil.ProxyRequest) {
			r.SetURL(base)
			r.Out.Host = r.In.Host // cookies and origins go by it
			for _, name := range []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto"} {
				if v := r.In.Header.Values(name); len(v) > 0 {
					r.Out.Header[name] = v // what a proxy before this one said
				}
			}
			r.Out.Header.Set(forwardedHeader, mark(to.Key, r.In, time.Now()))
		},
	}
	return f, nil
}

// pinned trusts the one certificate that the holder wrote beside its address,
// where only who has the database can write.
func pinned(hash string) *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, InsecureSkipVerify: true, VerifyConnection: func(c tls.ConnectionState) error {
		if len(c.PeerCertificates) == 0 || hash == "" || Fingerprint(c.PeerCertificates[0].Raw) != hash {
			return errors.New("it shows another certificate than the one it named")
		}
		return nil
	}}
}

// Fingerprint names a certificate.
func Fingerprint(der []byte) string {
	sum := sha256.Sum256(der)
	return hex.EncodeToString(sum[:])
}

// mark says for whom a request is forwarded.
func mark(key []byte, r *http.Request, now time.Time) string {
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	said := strings.Join([]string{r.RemoteAddr, scheme, strconv.FormatInt(now.Unix(), 10)}, " ")
	if key == nil {
		return "unsigned"
	}
	return said + " " + signed(key, said, r)
}

func signed(key []byte, said string, r *http.Request) string {
	mac := hmac.New(sha256.New, key)
	fmt.Fprintf(mac, "%s\n%s\n%s\n%s", said, r.Method, r.Host, r.URL.RequestURI())
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// directly gives a request as it came to who forwarded it; one that does not
// say so for certain as it is.
func directly(key []byte, r *http.Request, now time.Time) *http.Request {
	text := r.Header.Get(forwardedHeader)
	if text == "" {
		return r
	}
	r = r.Clone(r.Context())
	r.Header.Del(forwardedHeader)
	said, mac, _ := cutLast(text, " ")
	parts := strings.Fields(said)
	if len(parts) != 3 || len(key) == 0 || !hmac.Equal([]byte(mac), []byte(signed(key, said, r))) {
		return r
	}
	at, err := strconv.ParseInt(parts[2], 10, 64)
	if age := now.Sub(time.Unix(at, 0)); err != nil || age > markHolds || age < -markHolds {
		return r
	}
	r.RemoteAddr, r.TLS = parts[0], nil
	if parts[1] == "https" {
		r.TLS = &tls.ConnectionState{}
	}
	return r
}

func cutLast(s, sep string) (before, after string, found bool) {
	i := strings.LastIndex(s, sep)
	if i < 0 {
		return s, "", false
	}
	return s[:i], s[i+len(sep):], true
}

// serve passes a request on. Where that fails, failed answers.
func (f *forwarder) serve(w http.ResponseWriter, r *http.Request, failed func(error)) {
	ctx, cancel := context.WithCancel(r.Context())
	defer cancel()
	defer context.AfterFunc(f.life, cancel)()
	proxy := *f.proxy
	proxy.ErrorHandler = func(_ http.ResponseWriter, _ *http.Request, err error) { failed(err) }
	proxy.ServeHTTP(w, r.WithContext(ctx))
}

func (f *forwarder) stop() {
	f.end()
	f.idle()
}

// Ready asks another wetside whether it watches: the status of its /readyz, 0
// where it does not answer.
func Ready(ctx context.Context, other Holder) int {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	transport := &http.Transport{TLSClientConfig: pinned(other.Certificate), DisableKeepAlives: true}
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, strings.TrimSuffix(other.Address, "/")+"/readyz", nil)
	if err != nil {
		return 0
	}
	resp, err := transport.RoundTrip(req)
	if err != nil {
		return 0
	}
	resp.Body.Close()
	return resp.StatusCode
}
