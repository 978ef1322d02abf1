package access

import (
	"net/http/httptest"
	"testing"

	"wetside/internal/lab"
	"wetside/web/access/accesstest"
)

func TestDemoPassword(t *testing.T) {
	s := accesstest.New()
	a := newAccess(t, s)
	_, first, err := DemoPassword(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	name, second, err := DemoPassword(t.Context(), s)
	if err != nil || first == second || len(s.ByName) != 1 {
		t.Fatalf("%q %q %v %v", first, second, err, s.ByName)
	}
	r := httptest.NewRequest("POST", "/", nil)
	if _, err := a.SignIn(r, name, first); err == nil {
		t.Error("the former password still lets in")
	}
	in, err := a.SignIn(r, name, second)
	if err != nil {
		t.Fatal(err)
	}
	if in.Who.Name != name || !in.Who.May(lab.RoleLead) || !in.Who.BySession() {
		t.Errorf("signed in as %+v", in.Who)
	}
	r.AddCookie(&in.Cookies[0])
	if who, err := a.Authenticate(r); err != nil || who != in.Who {
		t.Errorf("the cookie is of %+v, %v; want %+v", who, err, in.Who)
	}
}
