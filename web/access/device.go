package access

import (
	"crypto/hmac"
	"crypto/rand"
	"net/http"
	"slices"
	"strings"
	"time"
)

// A device that somebody signed in from is known by a cookie of its own. The
// cookie lets nobody in; it only keeps a stranger's wrong guesses from locking a
// person out at the device where they work.

const (
	deviceCookie = "wetside_device"
	devicePeople = 8 // who signed in from one device last
	deviceFor    = 400 * 24 * time.Hour
)

// deviceParts gives a device's id and the marks of who signed in from it.
func (a *Authenticator) deviceParts(r *http.Request) (id string, marks []string) {
	c, err := r.Cookie(a.cookieName(r, deviceCookie))
	if err != nil || len(c.Value) > 512 {
		return "", nil
	}
	parts := strings.Split(c.Value, ".")
	return parts[0], parts[1:]
}

// knownDevice gives the id of the device if name signed in from it before.
func (a *Authenticator) knownDevice(r *http.Request, name string) string {
	id, marks := a.deviceParts(r)
	want := a.keyed("device", id, name)
	for _, m := range marks {
		if hmac.Equal([]byte(m), []byte(want)) {
			return id
		}
	}
	return ""
}

// deviceOf gives the cookie that says that name signed in from this device.
func (a *Authenticator) deviceOf(r *http.Request, name string) http.Cookie {
	id, marks := a.deviceParts(r)
	if id == "" {
		id = rand.Text()
	}
	mark := a.keyed("device", id, name)
	marks = append([]string{mark}, slices.DeleteFunc(marks, func(m string) bool { return m == mark })...)
	return http.Cookie{
		Name: a.cookieName(r, deviceCookie), Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: a.Secure(r),
		Value: strings.Join(append([]string{id}, marks[:min(len(marks), devicePeople)]...), "."), MaxAge: int(deviceFor.Seconds()),
	}
}
