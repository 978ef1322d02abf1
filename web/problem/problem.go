// Package problem tells over HTTP what is wrong: as problem details by RFC
// 9457, with the members that wetside adds.
//
// Use: Write, where no operation of the API answers (that makes its own from
// the errors it is given), with Status for what kind of error it is. All of it
// is safe for concurrent use.
package problem

import (
	"encoding/json"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// Details is an RFC 9457 problem detail with the members of wetside.
type Details struct {
	huma.ErrorModel
	// SetupNeeded: nobody has set a password yet; POST /setup from this machine.
	SetupNeeded bool `json:"setup_needed,omitempty"`
	// Reasons are all that is wrong, where there may be several.
	Reasons []string `json:"reasons,omitempty"`
}

// Status gives the HTTP status that says what kind of error err is.
func Status(err error) int {
	switch lab.KindOf(err) {
	case lab.KindInvalid:
		return http.StatusUnprocessableEntity
	case lab.KindNotFound:
		return http.StatusNotFound
	case lab.KindConflict:
		return http.StatusConflict
	case lab.KindForbidden:
		return http.StatusForbidden
	case lab.KindUnavailable:
		return http.StatusServiceUnavailable
	}
	return http.StatusInternalServerError
}

// Write answers with a problem; more may add members to it.
func Write(w http.ResponseWriter, status int, detail string, more ...func(*Details)) {
	p := Details{ErrorModel: huma.ErrorModel{Status: status, Title: http.StatusText(status), Detail: detail}}
	for _, f := range more {
		f(&p)
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(p) // the client went away: nobody to tell
}
