package web

import (
	"net/http"
	"net/url"
	"strings"
	"unicode/utf8"
)

// refuseUnstorable refuses what no database text holds, a zero byte or bytes
// that are no UTF-8, anywhere in path and query, before anybody looks at them.
func refuseUnstorable(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if where := unstorable(r.URL); where != "" {
			writeProblem(w, http.StatusUnprocessableEntity, where+" holds a zero byte or is no UTF-8; want plain text")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// unstorable names what cannot stand in a text, "" where all can.
func unstorable(u *url.URL) string {
	bad := func(s string) bool { return strings.ContainsRune(s, 0) || !utf8.ValidString(s) }
	if bad(u.Path) {
		return "the path"
	}
	for name, values := range u.Query() {
		if bad(name) {
			return "a name in the query"
		}
		for _, v := range values {
			if bad(v) {
				return "the query's " + name
			}
		}
	}
	return ""
}
