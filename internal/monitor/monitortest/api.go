package monitortest

import (
	"bytes"
	"cmp"
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/web/access"
)

// API calls the service's API.
type API struct {
	T      testing.TB
	Base   string
	Token  string
	Cookie string       // of a session, in place of a token
	Client *http.Client // Defaults to Client.
}

// NewAPI makes a token of a lead and calls the API with it.
func NewAPI(t testing.TB, base string, store *postgres.Store) *API {
	t.Helper()
	token, err := access.CreateToken(t.Context(), store, "test", lab.RoleLead, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	return &API{T: t, Base: base, Token: token, Client: Client}
}

// SignIn signs somebody in and gives the answer's status and the session.
func SignIn(t testing.TB, base, name, password string) (code int, session string) {
	t.Helper()
	body, _ := json.Marshal(map[string]string{"name": name, "password": password})
	resp, err := Client.Post(base+"/api/v1/session", "application/json", bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	for _, c := range resp.Cookies() {
		if strings.HasPrefix(c.Name, "wetside_session_") {
			session = c.Value
		}
	}
	return resp.StatusCode, session
}

// Client is what the tests call with. It keeps no connection that would be
// found when goroutines are counted.
var Client = &http.Client{Timeout: time.Minute, Transport: &http.Transport{DisableKeepAlives: true}}

// Do sends a request and gives what came back.
func (a *API) Do(method, path, body string) (int, []byte, error) {
	req, err := http.NewRequest(method, a.Base+path, strings.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	if a.Cookie != "" {
		req.AddCookie(&http.Cookie{Name: "wetside_session_" + req.URL.Port(), Value: a.Cookie})
	} else {
		req.Header.Set("Authorization", "Bearer "+a.Token)
	}
	if body != "" {
		req.Header.Set("Content-Type", "application/json")
	}
	resp, err := cmp.Or(a.Client, Client).Do(req)
	if err != nil {
		return 0, nil, err
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	return resp.StatusCode, b, err
}

// Get reads a path into v and tells whether it was there.
func (a *API) Get(path string, v any) bool {
	code, b, err := a.Do("GET", path, "")
	return err == nil && code == http.StatusOK && json.Unmarshal(b, v) == nil
}

// Alerts reads the alerts; query is added to what is asked, such as "&rule=x".
func (a *API) Alerts(query string) []lab.Alert {
	a.T.Helper()
	var got struct{ Alerts []lab.Alert }
	if !a.Get("/api/v1/alerts?limit=10000"+query, &got) {
		a.T.Fatal("the alerts cannot be read")
	}
	return got.Alerts
}
