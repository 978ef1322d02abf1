package access

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/web/access/accesstest"
)

func TestTokens(t *testing.T) {
	s := accesstest.New()
	token, err := CreateToken(t.Context(), s, "board", lab.RoleViewer, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for hash := range s.ByHash {
		if strings.Contains(hash, token) || len(hash) != 32 {
			t.Errorf("the store has %q, want its SHA-256", hash)
		}
	}
	other, _ := CreateToken(t.Context(), s, "board", lab.RoleViewer, time.Time{})
	if other == token || len(token) < 40 {
		t.Errorf("tokens %q and %q", token, other)
	}
	for _, c := range [][2]string{{"board", "boss"}, {"board", ""}, {"", "viewer"}, {" x", "viewer"}, {"a\nb", "viewer"}} {
		if _, err := CreateToken(t.Context(), s, c[0], c[1], time.Time{}); lab.KindOf(err) != lab.KindInvalid {
			t.Errorf("name %q role %q: %v, want invalid", c[0], c[1], err)
		}
	}
}
