package monitor_test

import (
	"testing"

	"wetside/internal/postgres/pgtest"
)

func TestMain(m *testing.M) { pgtest.Main(m) }
