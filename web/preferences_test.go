package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"wetside/internal/lab"
)

func (s *shop) Preferences(_ context.Context, person string) (lab.Preferences, error) {
	defer s.Lock()()
	if p, ok := s.likes[person]; ok {
		return p, s.Broken
	}
	return lab.DefaultPreferences, s.Broken
}

func (s *shop) SetPreferences(_ context.Context, person string, p lab.Preferences) error {
	defer s.Lock()()
	if s.likes == nil {
		s.likes = map[string]lab.Preferences{}
	}
	s.likes[person] = p
	return p.Check()
}

// TestPreferences are each person's own.
func TestPreferences(t *testing.T) {
	x := busySite(t)
	cookie := x.signIn("Wren", "correct horse")
	as := func(r *http.Request) { r.AddCookie(cookie) }
	want := `{"theme":"dark","temperature":"f","volume":"gal","sound":"urgent","spoken":true}`
	if resp, b := x.do("PUT", apiBase+"/me/preferences", "", want, as); resp.StatusCode != http.StatusOK {
		t.Fatalf("%d %s", resp.StatusCode, b)
	}
	if _, b := x.do("GET", apiBase+"/me/preferences", "", "", as); strings.TrimSpace(string(b)) != want {
		t.Errorf("got %s; want %s", b, want)
	}
}
