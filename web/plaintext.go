package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"
	"unicode"
	"unicode/utf8"

	"wetside/web/problem"
)

// refuseUnstorable refuses zero bytes and bytes that are no UTF-8 anywhere in
// path and query, because no text of the database can hold them, and control
// characters in the texts of a JSON body, because names go on to terminals, mail
// and printers, which obey them.
func refuseUnstorable(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if where := unstorable(r.URL); where != "" {
			problem.Write(w, http.StatusUnprocessableEntity, where+" must be plain text; got a zero byte or bytes that are not UTF-8")
			return
		}
		if where := controlsIn(r); where != "" {
			problem.Write(w, http.StatusUnprocessableEntity, where+" must be plain text; got a control character")
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

// controlsIn names the field of a JSON body that holds a control character, ""
// where none does. The body is there to be read again afterwards; one that is
// too large or no JSON is for the operation to refuse.
func controlsIn(r *http.Request) string {
	if r.Body == nil || r.Method == http.MethodGet || !strings.Contains(r.Header.Get("Content-Type"), "json") {
		return ""
	}
	b, err := io.ReadAll(io.LimitReader(r.Body, maxBody+1))
	rest := r.Body
	r.Body = struct {
		io.Reader
		io.Closer
	}{io.MultiReader(bytes.NewReader(b), rest), rest}
	if err != nil || len(b) > maxBody {
		return ""
	}
	return fieldWithControls(b)
}

// fieldWithControls walks a JSON document. Lines may end and be indented in
// texts, but not in names, nor in what fields are called.
func fieldWithControls(b []byte) string {
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.UseNumber()
	var v any
	if err := dec.Decode(&v); err != nil && !errors.Is(err, io.EOF) {
		return ""
	}
	return walkTexts("body", "", v)
}

func walkTexts(where, field string, v any) string {
	switch v := v.(type) {
	case string:
		if strings.ContainsFunc(v, func(c rune) bool {
			return unicode.IsControl(c) && (strings.HasSuffix(field, "name") || c != '\n' && c != '\r' && c != '\t')
		}) {
			return where
		}
	case []any:
		for _, e := range v {
			if bad := walkTexts(where, field, e); bad != "" {
				return bad
			}
		}
	case map[string]any:
		for name, e := range v {
			if strings.ContainsFunc(name, unicode.IsControl) {
				return "a name in " + where
			}
			if bad := walkTexts(where+"."+name, name, e); bad != "" {
				return bad
			}
		}
	}
	return ""
}
