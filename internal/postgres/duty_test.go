package postgres_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
)

// Every version of the plan stays; two who change it at once do not overwrite
// each other; the record of who did what cannot be changed.
func TestDutyIsKept(t *testing.T) {
	t.Parallel()
	store, _, conn := held(t)
	plan := lab.DutyPlan{TimeZone: "Europe/London", LinkHours: 24}
	for version := range 2 {
		plan.LinkHours += version
		if err := store.SetDutyPlan(t.Context(), plan, version, "Wren"); err != nil {
			t.Fatal(err)
		}
	}
	if err := store.SetDutyPlan(t.Context(), plan, 1, "Robin"); lab.KindOf(err) != lab.KindConflict {
		t.Errorf("a plan made from an old version: %v; want a conflict", err)
	}
	if n := one[int](t, conn, `SELECT count(*) FROM duty_plans`); n != 2 {
		t.Errorf("%d versions are kept; want 2", n)
	}
	if err := store.CreateUser(t.Context(), lab.User{Name: "Wren", Role: lab.RoleOperator}); err != nil {
		t.Fatal(err)
	}
	if err := store.SetContacts(t.Context(), lab.Contacts{Person: "Wren", Methods: []string{lab.MethodWebhook}, Webhook: "https://x.example", Secret: "whsec_hidden"}, "Wren"); err != nil {
		t.Fatal(err)
	}
	if n := one[int](t, conn, `SELECT count(*) FROM duty_log WHERE detail::text LIKE '%hidden%'`); n != 0 {
		t.Error("the record holds the key of a webhook")
	}
	until := time.Now().Add(time.Minute)
	if err := store.SetDutyDark(t.Context(), "Wren", until, "Wren"); err != nil {
		t.Fatal(err)
	}
	swap, err := store.AddDutySwap(t.Context(), lab.DutySwap{Day: time.Now().UTC().Format(time.DateOnly), Off: "Wren", On: "Robin"}, "Wren")
	if err != nil {
		t.Fatal(err)
	}
	st, err := store.DutyState(t.Context())
	if err != nil || st.Version != 2 || st.ChangedBy != "Wren" || st.Plan.LinkHours != 25 || len(st.Dark) != 1 || len(st.Swaps) != 1 || st.Swaps[0].Day != swap.Day || len(st.Contacts) != 1 {
		t.Errorf("%+v, %v", st, err)
	}
	if err := store.EndDutySwap(t.Context(), swap.ID, "Robin"); err != nil {
		t.Error(err)
	}
	if err := store.EndDutySwap(t.Context(), swap.ID, "Robin"); lab.KindOf(err) != lab.KindNotFound {
		t.Errorf("taken back twice: %v", err)
	}
	log, err := store.DutyLog(t.Context(), 10)
	var what []string
	for _, e := range log {
		what = append(what, e.By+" "+e.What)
	}
	if err != nil || len(log) != 6 || what[0] != "Robin swap-ended" || what[5] != "Wren plan" {
		t.Errorf("the record is %q, %v", what, err)
	}
	for _, sql := range []string{`UPDATE duty_log SET by = 'nobody'`, `DELETE FROM duty_log`, `TRUNCATE duty_log`, `DELETE FROM duty_plans`, `TRUNCATE page_deliveries`, `TRUNCATE page_log`} {
		if _, err := conn.Exec(t.Context(), sql); err == nil {
			t.Errorf("%s is allowed", sql)
		}
	}
}
