package notify

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/ecdh"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// decrypt reads a push message as a browser does: RFC 8291 over RFC 8188,
// written here from the RFCs. TestDecryptor holds it to RFC 8291's own example.
func decrypt(private *ecdh.PrivateKey, auth, message []byte) ([]byte, error) {
	if len(message) < 21+65 {
		return nil, errors.New("too short for its header")
	}
	salt, size, idlen := message[:16], binary.BigEndian.Uint32(message[16:20]), int(message[20])
	if idlen != 65 {
		return nil, fmt.Errorf("keyid of %d bytes; want the sender's public key", idlen)
	}
	senderKey, body := message[21:21+idlen], message[21+idlen:]
	if len(body) > int(size) {
		return nil, fmt.Errorf("more than one record (%d bytes, record size %d)", len(body), size)
	}
	sender, err := ecdh.P256().NewPublicKey(senderKey)
	if err != nil {
		return nil, err
	}
	shared, err := private.ECDH(sender)
	if err != nil {
		return nil, err
	}
	derive := func(secret, salt []byte, info string, n int) []byte {
		out, err2 := hkdf.Key(sha256.New, secret, salt, info, n)
		err = errors.Join(err, err2)
		return out
	}
	ikm := derive(shared, auth, "WebPush: info\x00"+string(private.PublicKey().Bytes())+string(senderKey), 32)
	key := derive(ikm, salt, "Content-Encoding: aes128gcm\x00", 16)
	nonce := derive(ikm, salt, "Content-Encoding: nonce\x00", 12)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, err
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		return nil, err
	}
	plain, err := gcm.Open(nil, nonce, body, nil)
	if err != nil {
		return nil, err
	}
	end := len(plain) - 1
	for end >= 0 && plain[end] == 0 {
		end--
	}
	if end < 0 || plain[end] != 2 { // RFC 8188, section 2: the last record's delimiter
		return nil, errors.New("no delimiter of a last record")
	}
	return plain[:end], nil
}

func raw64(t *testing.T, s string) []byte {
	t.Helper()
	b, err := base64.RawURLEncoding.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// RFC 8291, section 5 and appendix A.
func TestDecryptor(t *testing.T) {
	private, err := ecdh.P256().NewPrivateKey(raw64(t, "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := private.PublicKey().Bytes(), raw64(t, "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"); !slices.Equal(got, want) {
		t.Fatalf("the public key is %x; want %x", got, want)
	}
	got, err := decrypt(private, raw64(t, "BTBZMqHH6r4Tts7J_aSIgg"), raw64(t,
		"DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"))
	if want := "When I grow up, I want to be a watermelon"; err != nil || string(got) != want {
		t.Errorf("%q, %v; want %q", got, err, want)
	}
}

// phone is a browser that subscribed.
type phone struct {
	private *ecdh.PrivateKey
	auth    []byte
	lab.PushSubscription
}

func newPhone(t *testing.T, endpoint string) phone {
	t.Helper()
	p := phone{auth: make([]byte, 16)}
	rand.Read(p.auth)
	var err error
	if p.private, err = ecdh.P256().GenerateKey(rand.Reader); err != nil {
		t.Fatal(err)
	}
	p.PushSubscription = lab.PushSubscription{ID: 1, Person: "Wren", Device: "phone", Endpoint: endpoint,
		P256dh: base64.RawURLEncoding.EncodeToString(p.private.PublicKey().Bytes()), Auth: base64.RawURLEncoding.EncodeToString(p.auth)}
	return p
}

// pushService is an endpoint that speaks RFC 8030, over TLS.
func pushService(t *testing.T, answer http.HandlerFunc) (*httptest.Server, chan request) {
	t.Helper()
	got := make(chan request, 10)
	s := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var b []byte
		if r.ContentLength > 0 {
			b = make([]byte, r.ContentLength)
			if _, err := readFull(r, b); err != nil {
				http.Error(w, err.Error(), http.StatusBadRequest)
				return
			}
		}
		got <- request{r.Header, b}
		answer(w, r)
	}))
	t.Cleanup(s.Close)
	return s, got
}

func readFull(r *http.Request, b []byte) (int, error) {
	n := 0
	for n < len(b) {
		m, err := r.Body.Read(b[n:])
		n += m
		if err != nil && n < len(b) {
			return n, err
		}
	}
	return n, nil
}

func pusher(t *testing.T, s *httptest.Server) (*Push, VAPID) {
	t.Helper()
	keys, err := NewVAPID()
	if err != nil {
		t.Fatal(err)
	}
	p := NewPush(PushConfig{Keys: keys, Contact: "lead@tern-street.example", Transport: s.Client().Transport.(*http.Transport)})
	t.Cleanup(p.Close)
	return p, keys
}

func TestPush(t *testing.T) {
	s, got := pushService(t, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusCreated) })
	p, keys := pusher(t, s)
	ph := newPhone(t, s.URL+"/push/1")
	if err := CheckSubscription(ph.PushSubscription); err != nil {
		t.Fatal(err)
	}
	m := message()
	m.Body.Text = strings.Repeat("Check heater and preheat. ", 300) // more than a push holds
	if err := p.Send(t.Context(), lab.Contacts{Person: "Wren", Push: []lab.PushSubscription{ph.PushSubscription}}, m); err != nil {
		t.Fatal(err)
	}
	r := labtest.Receive(t, got, "the push")
	// RFC 8030: TTL (5.2) is needed, Urgency (5.3), Topic (5.4) at most 32 of
	// base64url; RFC 8291: aes128gcm, at most 4096 bytes.
	if ttl, err := strconv.Atoi(r.header.Get("TTL")); err != nil || ttl != 600 {
		t.Errorf("TTL is %q", r.header.Get("TTL"))
	}
	if r.header.Get("Urgency") != "high" || r.header.Get("Content-Encoding") != "aes128gcm" {
		t.Errorf("headers %v", r.header)
	}
	if topic := r.header.Get("Topic"); topic != "abc" {
		t.Errorf("Topic is %q", topic)
	}
	if len(r.body) > 4096 {
		t.Errorf("the body is %d bytes; want at most 4096", len(r.body))
	}
	plain, err := decrypt(ph.private, ph.auth, r.body)
	var n notice
	if err2 := json.Unmarshal(plain, &n); err != nil || err2 != nil || n.ID != "pg-1" || n.Link != m.Body.Link || n.Priority != lab.Urgent {
		t.Errorf("the phone reads %q: %v %v", plain, err, err2)
	}
	checkVAPID(t, r.header.Get("Authorization"), keys, s.URL)
}

// checkVAPID holds an Authorization header to RFC 8292: an ES256 token for
// this service, of at most 24 h, with a contact, signed by the key it names.
func checkVAPID(t *testing.T, header string, keys VAPID, audience string) {
	t.Helper()
	claims, k, err := readVAPID(header)
	if err != nil || k != keys.Public {
		t.Fatalf("Authorization is %q: %v", header, err)
	}
	if left := time.Until(time.Unix(claims.Exp, 0)); claims.Aud != audience || claims.Sub != "mailto:lead@tern-street.example" || left <= 0 || left > 24*time.Hour {
		t.Errorf("claims %+v", claims)
	}
}

// vapidClaims are what a token of RFC 8292 states.
type vapidClaims struct {
	Aud, Sub string
	Exp      int64
}

// readVAPID reads an Authorization header as a push service does, written here
// from RFC 8292: the token's claims and the key that signed it.
// TestReadVAPID holds it to the RFC's own example.
func readVAPID(header string) (claims vapidClaims, k string, err error) {
	rest, ok := strings.CutPrefix(header, "vapid ")
	token, k, ok2 := strings.Cut(rest, ", k=")
	parts := strings.Split(strings.TrimPrefix(token, "t="), ".")
	if !ok || !ok2 || len(parts) != 3 {
		return claims, "", errors.New("it is no vapid t=..., k=...")
	}
	var raw [3][]byte
	for i, p := range parts {
		if raw[i], err = base64.RawURLEncoding.DecodeString(p); err != nil {
			return claims, "", err
		}
	}
	var head struct{ Typ, Alg string }
	if err := errors.Join(json.Unmarshal(raw[0], &head), json.Unmarshal(raw[1], &claims)); err != nil {
		return claims, "", err
	}
	if head.Typ != "JWT" || head.Alg != "ES256" {
		return claims, "", fmt.Errorf("its head is %+v", head)
	}
	point, err := base64.RawURLEncoding.DecodeString(k)
	if err != nil {
		return claims, "", err
	}
	key, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), point)
	if err != nil {
		return claims, "", err
	}
	sum, sig := sha256.Sum256([]byte(parts[0]+"."+parts[1])), raw[2]
	if len(sig) != 64 || !ecdsa.Verify(key, sum[:], new(big.Int).SetBytes(sig[:32]), new(big.Int).SetBytes(sig[32:])) {
		return claims, "", errors.New("the signature is not by the key it names")
	}
	return claims, k, nil
}

// RFC 8292, section 2.4: its example is read as the RFC says it is, and with
// any part of it changed it is not.
func TestReadVAPID(t *testing.T) {
	const head, claims = "eyJ0eXAiOiJKV1QiLCJhbGciOiJFUzI1NiJ9", "eyJhdWQiOiJodHRwczovL3B1c2guZXhhbXBsZS5uZXQiLCJleHAiOjE0NTM1MjM3NjgsInN1YiI6Im1haWx0bzpwdXNoQGV4YW1wbGUuY29tIn0"
	const signature = "i3CYb7t4xfxCDquptFOepC9GAu_HLGkMlMuCGSK2rpiUfnK9ojFwDXb1JrErtmysazNjjvW2L9OkSSHzvoD1oA"
	const key = "BA1Hxzyi1RUM1b5wjxsn7nGxAszw2u61m164i3MrAIxHF6YK5h4SDYic-dRuU_RCPCfA5aq9ojSwk5Y2EmClBPs"
	example := "vapid t=" + head + "." + claims + "." + signature + ", k=" + key
	got, k, err := readVAPID(example)
	if want := (vapidClaims{"https://push.example.net", "mailto:push@example.com", 1453523768}); err != nil || got != want || k != key {
		t.Errorf("%+v, key %q, %v; want %+v", got, k, err, want)
	}
	another, err := NewVAPID()
	if err != nil {
		t.Fatal(err)
	}
	for what, bad := range map[string]string{
		"another service": strings.Replace(example, claims, base64.RawURLEncoding.EncodeToString([]byte(`{"aud":"https://push.example.org","exp":1453523768,"sub":"mailto:push@example.com"}`)), 1),
		"another key":     strings.Replace(example, key, another.Public, 1),
		"no signature":    strings.Replace(example, signature, "", 1),
		"another scheme":  strings.Replace(example, "vapid", "WebPush", 1),
	} {
		if _, _, err := readVAPID(bad); err == nil {
			t.Errorf("%s: it is taken", what)
		}
	}
}

// 404 and 410: the subscription is gone (RFC 8030, 7.3). One phone that takes
// it is enough.
func TestPushGone(t *testing.T) {
	s, _ := pushService(t, func(w http.ResponseWriter, r *http.Request) {
		switch r.URL.Path {
		case "/gone":
			w.WriteHeader(http.StatusGone)
		case "/none":
			w.WriteHeader(http.StatusNotFound)
		case "/busy":
			w.Header().Set("Retry-After", "12")
			w.WriteHeader(http.StatusTooManyRequests)
		default:
			w.WriteHeader(http.StatusCreated)
		}
	})
	p, _ := pusher(t, s)
	send := func(paths ...string) *Error {
		c := lab.Contacts{Person: "Wren"}
		for i, path := range paths {
			ph := newPhone(t, s.URL+path).PushSubscription
			ph.ID = int64(i + 1)
			c.Push = append(c.Push, ph)
		}
		if err := p.Send(t.Context(), c, message()); err != nil {
			return Of(err)
		}
		return nil
	}
	if e := send("/ok"); e != nil {
		t.Errorf("%v", e)
	}
	if e := send("/gone", "/none"); e == nil || e.Outcome != lab.OutcomeGone || len(e.Gone) != 2 {
		t.Errorf("both gone: %+v", e)
	}
	if e := send("/gone", "/ok"); e == nil || e.Outcome != lab.OutcomeSent || len(e.Gone) != 1 || e.Gone[0].ID != 1 {
		t.Errorf("one gone, one took it: %+v", e)
	}
	if e := send("/gone", "/busy"); e == nil || e.Outcome != lab.OutcomeFailed || e.After != 12*time.Second || len(e.Gone) != 1 {
		t.Errorf("one gone, one busy: %+v", e)
	}
}

// Without HTTPS, or without internet, push is not there: that is no failure.
func TestPushUnavailable(t *testing.T) {
	off := NewPush(PushConfig{Off: "HTTPS is not set up"})
	if e := Of(off.Send(t.Context(), lab.Contacts{}, message())); e.Outcome != lab.OutcomeUnavailable || e.Text != "HTTPS is not set up" {
		t.Errorf("%+v", e)
	}
	if key, why := off.Key(); key != "" || why == "" {
		t.Errorf("key %q, why %q", key, why)
	}
	s, _ := pushService(t, func(http.ResponseWriter, *http.Request) {})
	p, _ := pusher(t, s)
	ph := newPhone(t, s.URL)
	s.Close() // nothing listens there any more
	if e := Of(p.Send(t.Context(), lab.Contacts{Push: []lab.PushSubscription{ph.PushSubscription}}, message())); e.Outcome != lab.OutcomeUnavailable {
		t.Errorf("out of reach: %+v", e)
	}
}

func TestCheckSubscription(t *testing.T) {
	good := newPhone(t, "https://push.example/1").PushSubscription
	for what, edit := range map[string]func(*lab.PushSubscription){
		"http":    func(s *lab.PushSubscription) { s.Endpoint = "http://push.example/1" },
		"no host": func(s *lab.PushSubscription) { s.Endpoint = "https:///1" },
		"key":     func(s *lab.PushSubscription) { s.P256dh = "AAAA" },
		"not on it": func(s *lab.PushSubscription) {
			s.P256dh = base64.RawURLEncoding.EncodeToString(append([]byte{4}, make([]byte, 64)...))
		},
		"auth": func(s *lab.PushSubscription) { s.Auth = "AAAA" },
	} {
		s := good
		edit(&s)
		if lab.KindOf(CheckSubscription(s)) != lab.KindInvalid || CheckSubscription(s) == nil {
			t.Errorf("%s passes", what)
		}
	}
}
