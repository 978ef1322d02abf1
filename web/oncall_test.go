package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"wetside/internal/lab"
)

func planJSON() string {
	b, err := json.Marshal(dutyPlan())
	if err != nil {
		panic(err)
	}
	return string(b)
}

// dutyCalls are calls of who is on duty and how people are reached.
var dutyCalls = []call{
	{"get-duty", "GET", "/duty", "viewer", "", 200},
	{"set-duty", "PUT", "/duty", "lead", `{"version":3,"plan":` + planJSON() + `}`, 200},
	{"set-duty", "PUT", "/duty", "lead", `{"version":2,"plan":` + planJSON() + `}`, 409},
	{"set-duty", "PUT", "/duty", "lead", `{"version":3}`, 422},
	{"get-duty-status", "GET", "/duty/status", "viewer", "", 200},
	{"list-duty-log", "GET", "/duty/log?limit=5", "viewer", "", 200},
	{"swap-duty", "POST", "/duty/swaps", "operator", `{"day":"2026-03-05","off":"Wren","on":"Heron"}`, 201},
	{"swap-duty", "POST", "/duty/swaps", "operator", `{"day":"2026-03-05"}`, 422},
	{"end-duty-swap", "DELETE", "/duty/swaps/7", "operator", "", 204},
	{"end-duty-swap", "DELETE", "/duty/swaps/8", "operator", "", 404},
	{"go-dark", "POST", "/duty/dark", "operator", `{"minutes":10,"person":"Wren"}`, 200},
	{"go-dark", "POST", "/duty/dark", "operator", `{"minutes":0,"person":"Wren"}`, 200},
	{"go-dark", "POST", "/duty/dark", "operator", `{"minutes":90}`, 422},
	{"list-alert-pages", "GET", "/alerts/a-1/pages", "viewer", "", 200},
	{"list-alert-pages", "GET", "/alerts/none/pages", "viewer", "", 404},
	{"get-contacts", "GET", "/people/Wren/contacts", "lead", "", 200},
	{"get-contacts", "GET", "/people/Nobody/contacts", "lead", "", 404},
	{"set-contacts", "PUT", "/people/Wren/contacts", "lead", `{"ways":["mail"],"mail":"wren@tern-street.example"}`, 200},
	{"set-contacts", "PUT", "/people/Wren/contacts", "viewer", `{"mail":"x"}`, 422},
	{"test-pages", "POST", "/people/Wren/page-test", "lead", "", 200},
	{"list-page-tests", "GET", "/people/Wren/page-test", "lead", "", 200},
	{"get-push-key", "GET", "/push/key", "viewer", "", 200},
	{"subscribe-push", "POST", "/push/subscriptions", "viewer", `{"endpoint":"https://push.example/1","keys":{"p256dh":"x","auth":"y"}}`, 409}, // a token has no phone
	{"unsubscribe-push", "DELETE", "/push/subscriptions/1", "viewer", "", 404},
}

func init() { calls = append(calls, dutyCalls...) }

// One's own contacts and phones, for who is signed in.
func TestOwnContacts(t *testing.T) {
	x := busySite(t)
	cookie := x.signIn("Wren", "correct horse")
	as := func(r *http.Request) { r.AddCookie(cookie) }
	for _, c := range []struct {
		method, path, body string
		want               int
	}{
		{"GET", "/people/Wren/contacts", "", 200},
		{"GET", "/people/Heron/contacts", "", 403},
		{"PUT", "/people/Wren/contacts", `{"ways":[]}`, 200},
		{"PUT", "/people/Wren/contacts", `{"ways":[],"webhook":"http://192.168.1.1/admin"}`, 403}, // a lead sets it
		{"PUT", "/people/Heron/contacts", `{"ways":[]}`, 403},
		{"POST", "/people/Heron/page-test", "", 403},
		{"POST", "/people/Wren/page-test", "", 200},
		{"POST", "/push/subscriptions", `{"endpoint":"https://push.example/1","expirationTime":null,"keys":{"p256dh":"x","auth":"y"},"device":"phone"}`, 201},
		{"DELETE", "/push/subscriptions/1", "", 204},
		{"POST", "/duty/dark", `{"minutes":10}`, 200},
	} {
		if resp, b := x.do(c.method, apiBase+c.path, "", c.body, as); resp.StatusCode != c.want {
			t.Errorf("%s %s: %d, want %d: %s", c.method, c.path, resp.StatusCode, c.want, b)
		}
	}
	asked := fmt.Sprint(x.duty.asked)
	for _, want := range []string{"dark Wren 10 Wren", "unsubscribe 1 Wren Wren"} {
		if !strings.Contains(asked, want) {
			t.Errorf("the roster was asked %s; want %s in it", asked, want)
		}
	}
}

// Opening a link acknowledges nothing; pressing does. Nothing of it is kept
// by caches, told to other sites, or believed as HTML.
func TestLinkPage(t *testing.T) {
	x := busySite(t)
	resp, b := x.do("GET", "/p/good", "", "")
	page := string(b)
	if resp.StatusCode != 200 || !strings.HasPrefix(resp.Header.Get("Content-Type"), "text/html") {
		t.Fatalf("%d %s", resp.StatusCode, page)
	}
	for header, want := range map[string]string{"Cache-Control": "no-store", "Referrer-Policy": "same-origin", "X-Frame-Options": "DENY"} {
		if got := resp.Header.Get(header); got != want {
			t.Errorf("%s is %q; want %q", header, got, want)
		}
	}
	if csp := resp.Header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'self'") || !strings.Contains(csp, "form-action 'self'") {
		t.Errorf("the policy is %q", csp)
	}
	if strings.Contains(page, "<b>too</b>") || !strings.Contains(page, "&lt;b&gt;too&lt;/b&gt; warm &amp; ") {
		t.Errorf("the alert's text is believed as HTML: %s", page)
	}
	for _, want := range []string{`action="/p/good/acknowledge"`, `action="/p/good/shelve"`, `action="/p/good/call-next"`, "Page the next person: Robin</button>", "▲ urgent", "For Wren"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page has no %s", want)
		}
	}
	if a, _ := x.Alert(t.Context(), "a-1"); a.State != lab.Unacknowledged {
		t.Error("opening the link acknowledged")
	}
	if resp, b := x.do("GET", "/p/bad", "", ""); resp.StatusCode != 404 || !strings.Contains(string(b), "has expired") {
		t.Errorf("a bad link: %d %s", resp.StatusCode, b)
	}
	if resp, _ := x.do("GET", "/p/good/acknowledge", "", ""); resp.StatusCode != 404 && resp.StatusCode != 405 && resp.StatusCode != 200 {
		t.Errorf("GET of a button: %d", resp.StatusCode)
	}
	if a, _ := x.Alert(t.Context(), "a-1"); a.State != lab.Unacknowledged {
		t.Error("a GET acknowledged")
	}
}

// Where nobody else can be paged the link says so and has no button for it.
func TestLinkSaysThatNobodyIsNext(t *testing.T) {
	x := busySite(t)
	x.duty.noNext = "Nobody else can be paged now."
	_, b := x.do("GET", "/p/good", "", "")
	if page := string(b); strings.Contains(page, "call-next") || !strings.Contains(page, x.duty.noNext) || !strings.Contains(page, `action="/p/good/acknowledge"`) {
		t.Errorf("the page: %s", page)
	}
}

func form(v url.Values) (string, func(*http.Request)) {
	return v.Encode(), func(r *http.Request) { r.Header.Set("Content-Type", "application/x-www-form-urlencoded") }
}

func TestLinkButtons(t *testing.T) {
	x := busySite(t)
	body, as := form(url.Values{"alert": {"a-1"}, "minutes": {"30"}, "mark": {x.srv.access.FormMark("good", "shelve", "a-1")}})
	if resp, b := x.do("POST", "/p/good/shelve", "", body, as); resp.StatusCode != 409 || !strings.Contains(string(b), "reason is missing") {
		t.Errorf("shelving without a reason: %d %s", resp.StatusCode, b)
	}
	body, as = form(url.Values{"mark": {x.srv.access.FormMark("good", "acknowledge", "")}})
	foreign := func(r *http.Request) { as(r); r.Header.Set("Sec-Fetch-Site", "cross-site") }
	if resp, _ := x.do("POST", "/p/good/acknowledge", "", body, foreign); resp.StatusCode != 403 {
		t.Errorf("a page of another site pressed the button: %d", resp.StatusCode)
	}
	if a, _ := x.Alert(t.Context(), "a-1"); a.State != lab.Unacknowledged {
		t.Error("another site acknowledged")
	}
	resp, b := x.do("POST", "/p/good/acknowledge", "", body, as)
	if resp.StatusCode != 200 || !strings.Contains(string(b), "Done.") || strings.Contains(string(b), "/acknowledge\"") {
		t.Errorf("acknowledge: %d %s", resp.StatusCode, b)
	}
	if a, _ := x.Alert(t.Context(), "a-1"); a.State != lab.Acknowledged {
		t.Errorf("the alert is %s", a.State)
	}
	body, as = form(url.Values{"mark": {x.srv.access.FormMark("old", "acknowledge", "")}})
	if resp, _ := x.do("POST", "/p/old/acknowledge", "", body, as); resp.StatusCode != 404 {
		t.Errorf("an old link: %d", resp.StatusCode)
	}
}
