package postgres_test

import (
	"testing"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// The last lead stays one and stays; where there is another, a lead may become
// something else or go, and so may who is none.
func TestTheLastLeadStays(t *testing.T) {
	t.Parallel()
	store := pgtest.Store(t, postgres.Config{URL: pgtest.New(t)})
	for name, role := range map[string]string{"Wren": lab.RoleLead, "Robin": lab.RoleOperator, "Heron": lab.RoleViewer} {
		if err := store.CreateUser(t.Context(), lab.User{Name: name, Role: role}); err != nil {
			t.Fatal(err)
		}
	}
	may := func(what string, err error) {
		t.Helper()
		if err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	mayNot := func(what string, err error, kind lab.Kind) {
		t.Helper()
		if lab.KindOf(err) != kind || err == nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	role := func(name, role string) error { return store.SetRole(t.Context(), name, role, "test") }
	remove := func(name string) error { return store.DeleteUser(t.Context(), name, "test") }
	mayNot("the only lead becomes an operator", role("Wren", lab.RoleOperator), lab.KindConflict)
	mayNot("the only lead is taken out", remove("Wren"), lab.KindConflict)
	mayNot("nobody becomes a lead", role("Finch", lab.RoleLead), lab.KindNotFound)
	mayNot("nobody is taken out", remove("Finch"), lab.KindNotFound)
	may("a viewer is taken out", remove("Heron"))
	may("an operator becomes a lead", role("Robin", lab.RoleLead))
	may("one of two leads becomes a viewer", role("Wren", lab.RoleViewer))
	mayNot("the lead that is left becomes an operator", role("Robin", lab.RoleOperator), lab.KindConflict)
	may("who was a lead is taken out", remove("Wren"))
}
