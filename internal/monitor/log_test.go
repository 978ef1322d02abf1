package monitor_test

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"strings"
	"testing"

	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
)

// What is secret passes through wetside and never into its log: not where a
// webhook fails whose address is its key, nor where somebody mistypes.
func TestLogHoldsNoSecrets(t *testing.T) {
	t.Parallel()
	var log monitortest.Output
	p, _, a, _, _ := monitortest.PagingLab(t, func(cfg *monitor.Config) {
		cfg.Log = slog.New(slog.NewTextHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))
		cfg.Broker = strings.Replace(cfg.Broker, "://", "://wren:broker-password@", 1)
	})
	monitortest.Ready(t, p.URL())
	do := func(method, path, body string) (got map[string]any) {
		t.Helper()
		code, b, err := a.Do(method, "/api/v1"+path, body)
		if err != nil || code >= 300 {
			t.Fatalf("%s %s: %d %s %v", method, path, code, b, err)
		}
		_ = json.Unmarshal(b, &got)
		return got
	}
	said := func(what string) func() bool {
		return func() bool { return strings.Contains(log.Tail(1<<20), what) }
	}

	const hookKey = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw" // the published example of Standard Webhooks 1.0.0
	do("PUT", "/people/Wren/contacts", fmt.Sprintf(`{"ways":["webhook"],"webhook":"http://127.0.0.1:%d/hook-path?key=hook-query","webhook_secret":%q}`, monitortest.FreePort(t), hookKey))
	do("POST", "/people/Wren/page-test", "")
	labtest.Poll(t, "the failed webhook is in the log", said("a page was not taken"))
	token := do("POST", "/tokens", `{"name":"printer","role":"viewer"}`)["token"]
	if code, _ := monitortest.SignIn(t, p.URL(), "password-as-name", "password-mistyped"); code < 400 {
		t.Fatalf("signed in as nobody: %d", code)
	}
	labtest.Poll(t, "the failed sign-in is in the log", said("sign-in failed"))

	all := log.Tail(1 << 20)
	for what, secret := range map[string]any{
		"the broker's password": "broker-password", "the path of a webhook": "hook-path", "the query of a webhook": "hook-query",
		"the key of a webhook": hookKey, "a token": token, "the token in use": a.Token,
		"a password": "password-mistyped", "a password typed as a name": "password-as-name",
	} {
		s, ok := secret.(string)
		if !ok || s == "" {
			t.Errorf("%s was not made: %v", what, secret)
			continue
		}
		if i := strings.Index(all, s); i >= 0 {
			from := strings.LastIndexByte(all[:i], '\n') + 1
			t.Errorf("%s stands in the log: %.400s", what, all[from:])
		}
	}
}
