package health_test

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/monitor/health"
	"wetside/internal/postgres"
)

var now = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// healthy is a lab of which there is nothing to say.
func healthy() health.Facts {
	return health.Facts{Now: now,
		Database: postgres.Condition{Asked: now, Clock: now.Add(800 * time.Millisecond), Server: "17.2", Schema: 19, Program: 19, Holder: "plover",
			Terms: []postgres.LeaseTerm{{How: "free"}, {How: "free"}, {How: "free"}, {How: "ended"}, {How: "expired"}}, Partitions: now.AddDate(0, 0, 7), Refused: 99, Password: true},
		Disks:        []health.Disk{{What: "the database", Path: "/data", Free: 10, Size: 100}},
		Certificates: []health.Certificate{{Path: "a.pem", Ends: now.AddDate(0, 0, 22)}},
		Backups:      &health.Backups{Folder: "/backup", Newest: now.Add(-36 * time.Hour)}}
}

func TestFindings(t *testing.T) {
	if got := health.Findings(healthy()); len(got) != 0 {
		t.Errorf("of a healthy lab: %v", got)
	}
	for _, c := range []struct {
		spoil func(*health.Facts)
		want  string
	}{
		{func(f *health.Facts) { f.DatabaseAway = "refused" }, "The database cannot be asked: refused"},
		{func(f *health.Facts) { f.Database.Old, f.Database.Server = true, "14.9" }, "PostgreSQL 14.9"},
		{func(f *health.Facts) { f.Database.Clock = now.Add(-1100 * time.Millisecond) }, "-1.1 s off"},
		{func(f *health.Facts) { f.Database.Schema = 0 }, "There is no lab"},
		{func(f *health.Facts) { f.Database.Schema = 18 }, "at version 18; this program is at 19"},
		{func(f *health.Facts) { f.Database.Schema = 20 }, "by a newer wetside"},
		{func(f *health.Facts) { f.Database.Holder = "" }, "ever watched"},
		{func(f *health.Facts) { f.Database.Expired = true }, "No wetside watches the lab; the last was on plover"},
		{func(f *health.Facts) { f.Database.Terms[0].How = "again" }, "changed hands 3 times"},
		{func(f *health.Facts) { f.Database.Partitions = now.AddDate(0, 0, 2) }, "up to 2026-03-04 only"},
		{func(f *health.Facts) { f.Database.Overdue, f.Database.OverdueBy = 1, now }, "1 run is not sealed"},
		{func(f *health.Facts) { f.Database.Refused, f.Database.RefusedOf = 100, "tern-street/plover" }, "100 messages were refused in the last 24 hours, most of them from tern-street/plover"},
		{func(f *health.Facts) { f.Database.Password = false }, "Nobody has set a password"},
		{func(f *health.Facts) { f.SealKey = "no such file" }, "no sealing key: no such file"},
		{func(f *health.Facts) { f.Disks[0].Free = 9 }, "(/data) has 9.0 % free"},
		{func(f *health.Facts) { f.Certificates[0].Ends = now.AddDate(0, 0, 20) }, "in 20 days"},
		{func(f *health.Facts) { f.Certificates[0].Ends = now.Add(-time.Hour) }, "browsers and units refuse it"},
		{func(f *health.Facts) { f.Certificates[0].Bad = "not PEM" }, "does not read: not PEM"},
		{func(f *health.Facts) { f.Backups.Newest = time.Time{} }, "no whole backup in /backup"},
		{func(f *health.Facts) { f.Backups.Newest = now.Add(-38 * time.Hour) }, "38 hours old; 36 are allowed"},
	} {
		f := healthy()
		c.spoil(&f)
		got := health.Findings(f)
		if len(got) != 1 || !strings.Contains(got[0].What, c.want) || got[0].Do == "" || strings.Contains(got[0].String(), "\n") {
			t.Errorf("want one finding with %q; got %q", c.want, got)
		}
	}
}
