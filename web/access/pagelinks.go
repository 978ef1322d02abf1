package access

import (
	"crypto/hmac"
	"hash/maphash"
	"net/http"
	"sync"
	"time"
)

// The buttons of a page's link work in any browser, over plain HTTP too,
// where none says which site a form stands on (Sec-Fetch-Site goes to secure
// origins only) and strict ones keep the Origin to themselves ("null"). So
// each form carries a mark of its own: only a page that wetside itself wrote
// for this link can have it, and it is good for that one button.

// FormMark is what the form of one button carries: a button that does what, with
// one alert or with all of the page ("").
func (a *Authenticator) FormMark(token, what, alert string) string {
	return a.keyed("form", token, what, alert)
}

// ForeignForm says why a form may not do anything; "" where it may. The
// request's form must have been parsed.
func (a *Authenticator) ForeignForm(r *http.Request, token, what string) string {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" && site != "none" {
		return "a page of another site may not press buttons here"
	}
	if o := r.Header.Get("Origin"); o != "" && o != "null" && !a.ours(o, r.Host) {
		return "a page of another site may not press buttons here"
	}
	given := r.PostForm.Get("mark")
	if !hmac.Equal([]byte(given), []byte(a.FormMark(token, what, r.PostForm.Get("alert")))) {
		return "Nothing was done: the page with this button did not come from here. Press the button again on the page below."
	}
	return ""
}

// How often links may be used in a minute from one address; common practice,
// no source.
const linksAnAddress = 240

// MayUseLink tells whether the address that asks may use a link once more in
// this minute, and counts it.
func (a *Authenticator) MayUseLink(r *http.Request) bool {
	return a.linkUses.take(a.clock.Now(), a.ClientAddr(r), linksAnAddress)
}

// perMinute counts uses by the minute, in a table of fixed size that no stranger
// can make grow. Keys with the same place in it share a count; the hash has a
// secret seed, so nobody can pick a key that uses up somebody else's count. It is
// safe for concurrent use.
type perMinute struct {
	mu    sync.Mutex
	begun time.Time
	seed  maphash.Seed
	seen  [4096]uint32
}

// take tells whether key may once more in this minute.
func (l *perMinute) take(now time.Time, key string, most int) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if age := now.Sub(l.begun); l.begun.IsZero() || age >= time.Minute || age < 0 {
		l.begun, l.seed = now, maphash.MakeSeed()
		clear(l.seen[:])
	}
	n := &l.seen[maphash.String(l.seed, key)%uint64(len(l.seen))]
	*n++
	return *n <= uint32(most)
}
