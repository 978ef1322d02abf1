package web

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

func TestTokensEnd(t *testing.T) {
	x := busySite(t)
	_, b := x.do("POST", apiBase+"/tokens", lab.RoleLead, `{"name":"scanner","role":"operator","days":2}`)
	var made TokenView
	if err := json.Unmarshal(b, &made); err != nil || made.Token == "" || made.ExpiresAt == nil {
		t.Fatalf("%v %s", err, b)
	}
	use := func() int {
		resp, _ := x.do("GET", apiBase+"/units", "", "", func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+made.Token) })
		return resp.StatusCode
	}
	if use() != 200 {
		t.Error("a new token does not hold")
	}
	_, b = x.do("GET", apiBase+"/tokens", lab.RoleLead, "")
	if strings.Contains(string(b), made.Token) || !strings.Contains(string(b), `"name":"scanner"`) {
		t.Errorf("the list: %s", b)
	}
	var listed TokenList
	_ = json.Unmarshal(b, &listed)
	for _, v := range listed.Tokens {
		if v.Name == "scanner" && v.LastUsedAt == nil {
			t.Error("when it was last used is not noted")
		}
	}
	x.Mu.Lock()
	for k, v := range x.shop.ByHash {
		if v.Name == "scanner" {
			v.ExpiresAt = time.Now().Add(-time.Second)
			x.shop.ByHash[k] = v
		}
	}
	x.Mu.Unlock()
	if code := use(); code != 401 {
		t.Errorf("a token that has ended: %d, want 401", code)
	}
}
