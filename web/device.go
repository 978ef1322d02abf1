package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"slices"
	"strings"
	"time"
)

// A device that somebody signed in from is known by a cookie of its own, which
// says nothing but that: it lets nobody in. It keeps a stranger's guesses from
// locking a person out where they work.

const (
	deviceCookie = "wetside_device"
	devicePeople = 8 // who signed in from one device last
	deviceFor    = 400 * 24 * time.Hour
)

// keyed signs what a browser brings back.
func (s *Server) keyed(parts ...string) string {
	mac := hmac.New(sha256.New, s.cfg.Key)
	for _, p := range parts {
		mac.Write([]byte(p))
		mac.Write([]byte{0})
	}
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil)[:18])
}

// deviceParts gives a device's id and the marks of who signed in from it.
func (s *Server) deviceParts(r *http.Request) (id string, marks []string) {
	c, err := r.Cookie(s.cookieName(r, deviceCookie))
	if err != nil || len(c.Value) > 512 {
		return "", nil
	}
	parts := strings.Split(c.Value, ".")
	return parts[0], parts[1:]
}

// knownDevice gives the id of the device if name signed in from it before.
func (s *Server) knownDevice(r *http.Request, name string) string {
	id, marks := s.deviceParts(r)
	want := s.keyed("device", id, name)
	for _, m := range marks {
		if hmac.Equal([]byte(m), []byte(want)) {
			return id
		}
	}
	return ""
}

// deviceOf gives the cookie that says that name signed in from this device.
func (s *Server) deviceOf(r *http.Request, name string) http.Cookie {
	id, marks := s.deviceParts(r)
	if id == "" {
		id = rand.Text()
	}
	mark := s.keyed("device", id, name)
	marks = append([]string{mark}, slices.DeleteFunc(marks, func(m string) bool { return m == mark })...)
	return http.Cookie{
		Name: s.cookieName(r, deviceCookie), Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: s.secure(r),
		Value: strings.Join(append([]string{id}, marks[:min(len(marks), devicePeople)]...), "."), MaxAge: int(deviceFor.Seconds()),
	}
}
