package monitor_test

import (
	"testing"

	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// The client id at an outside broker is the lab's own, and the same again.
func TestClientIDIsTheLabsOwn(t *testing.T) {
	t.Parallel()
	store := pgtest.Store(t, monitortest.StoreConfig(pgtest.New(t)))
	one, err := monitor.ClientID(t.Context(), store)
	if err != nil || len(one) < 30 {
		t.Fatalf("%q, %v", one, err)
	}
	if again, err := monitor.ClientID(t.Context(), store); err != nil || again != one {
		t.Errorf("then %q, %v", again, err)
	}
	other, err := monitor.ClientID(t.Context(), pgtest.Store(t, monitortest.StoreConfig(pgtest.New(t))))
	if err != nil || other == one {
		t.Errorf("another lab's is %q, %v", other, err)
	}
}
