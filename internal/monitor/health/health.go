// Package health says what is wrong with a wetside and what to do about it: a
// line a finding, from facts that somebody else gathered. Pure.
//
//	for _, f := range health.Findings(facts) {
//		fmt.Println(f)
//	}
//
// Safe for concurrent use.
package health

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
)

// Bounds beyond which something is a finding.
const (
	ClockMay    = time.Second         // between this machine and the database
	RoomTold    = 0.10                // of a disk, free
	RoomPlenty  = uint64(100 << 30)   // bytes: not short, whatever the size
	EndsSoon    = 21 * 24 * time.Hour // before a certificate ends
	DaysAhead   = 3 * 24 * time.Hour  // of partitions; a week is made
	BackupMay   = 36 * time.Hour      // be old: one a night, and one that failed
	FlapsFrom   = 3                   // changes of hands within an hour that nobody made
	RefusedFrom = int64(100)          // messages a day
)

// Facts are what is known; what was not looked at stays empty and is no
// finding.
type Facts struct {
	Now          time.Time
	DatabaseAway string // why the database cannot be asked; empty: it answers
	Database     postgres.Condition
	SealKey      string // why no sealing key can be read; empty: it can
	Disks        []Disk
	Certificates []Certificate
	Backups      *Backups // nil: nobody said where they lie
}

// Disk is a disk by what lies on it.
type Disk struct {
	What, Path string
	Free, Size uint64
}

// Certificate is one that is shown to browsers, units or phones.
type Certificate struct {
	Path string
	Ends time.Time
	Bad  string // why it cannot be read; empty: it can
}

// Backups are what lies in a folder of backups.
type Backups struct {
	Folder string
	Newest time.Time // zero: none
}

// Finding is one thing that is wrong.
type Finding struct {
	What string // with its figure
	Do   string
}

// String is a finding on one line.
func (f Finding) String() string { return f.What + ". " + f.Do }

// Findings lists what is wrong, what keeps the lab from being watched first.
func Findings(f Facts) (out []Finding) {
	found := func(do, what string, args ...any) { out = append(out, Finding{fmt.Sprintf(what, args...), do}) }
	if f.DatabaseAway != "" {
		found("Look at the database server and the network to it", "The database cannot be asked: %s", f.DatabaseAway)
	} else {
		database(f, found)
	}
	if f.SealKey != "" {
		found("Put the key back from where its copy is saved, or give it by WETSIDE_SEAL_KEY; without it no run is sealed", "There is no sealing key: %s", f.SealKey)
	}
	for _, d := range f.Disks {
		if d.Size > 0 && d.Free < RoomPlenty && float64(d.Free) < RoomTold*float64(d.Size) {
			found("Make room on that disk, or move the folder to a larger one", "The disk of %s (%s) has %.1f %% free; from %.0f %% it is told",
				d.What, d.Path, 100*float64(d.Free)/float64(d.Size), 100*RoomTold)
		}
	}
	for _, c := range f.Certificates {
		certificate(f.Now, c, found)
	}
	if b := f.Backups; b != nil {
		switch {
		case b.Newest.IsZero():
			found(`Make one: "wetside backup FOLDER", and let it be made every night (deploy/wetside-backup.timer)`, "There is no whole backup in %s", b.Folder)
		case f.Now.Sub(b.Newest) > BackupMay:
			found("Look at the log of the nightly backup, and make one now", "The newest backup in %s is of %s: %.0f hours old; %.0f are allowed",
				b.Folder, stamp(b.Newest), f.Now.Sub(b.Newest).Hours(), BackupMay.Hours())
		}
	}
	return out
}

type finder func(do, what string, args ...any)

func database(f Facts, found finder) {
	d := f.Database
	if d.Old {
		found("Move the lab to PostgreSQL 15 or newer, by a backup and a restore", "The database server is PostgreSQL %s", d.Server)
	}
	if by := d.Clock.Sub(d.Asked); by.Abs() > ClockMay {
		found("Let both machines set their clocks from one server (NTP)", "The clock of the database is %+.1f s off that of this machine; %.0f s is allowed", by.Seconds(), ClockMay.Seconds())
	}
	switch {
	case d.Schema == 0:
		found("Name the lab's own database, or start wetside serve on it once", "There is no lab in this database")
		return
	case d.Schema < d.Program:
		found("Start this version of wetside serve: it brings the database up to date", "The database is at version %d; this program is at %d", d.Schema, d.Program)
		return
	case d.Schema > d.Program:
		found("Install the newer wetside here as well", "The database is at version %d, by a newer wetside; this program knows %d", d.Schema, d.Program)
		return
	}
	lease(d, found)
	if d.Partitions.Before(f.Now.Add(DaysAhead)) {
		found("Look at the log of wetside for why none are made: its user must own the tables", "The tables for telemetry are made up to %s only; a week ahead is usual", d.Partitions.Format(time.DateOnly))
	}
	if d.Overdue > 0 {
		found(`Look at what the board says of sealing, and run "wetside verify"`, "%s not sealed a day after the end, the first of %s", lab.Counted(int64(d.Overdue), "run is", "runs are"), stamp(d.OverdueBy))
	}
	if d.Refused >= RefusedFrom {
		found("Look at that unit's page for the reasons, and tell who builds the unit", "%d messages were refused in the last 24 hours, most of them from %s", d.Refused, d.RefusedOf)
	}
	if !d.Password {
		found(`Make the first lead: "wetside user create --name NAME --role lead"`, "Nobody has set a password: nobody can sign in")
	}
}

func lease(d postgres.Condition, found finder) {
	switch {
	case d.Holder == "":
		found("Start wetside serve", "No wetside has ever watched this lab")
	case d.Expired:
		found("Start wetside serve on that machine or on another", "No wetside watches the lab; the last was on %s", d.Holder)
	}
	changes := 0
	for _, t := range d.Terms {
		if t.How == postgres.TakenEnded || t.How == postgres.TakenExpired || t.How == postgres.TakenAgain {
			changes++
		}
	}
	if changes >= FlapsFrom {
		found("Look at the network between the machines and the database, at their load and at the log of each wetside", "The lab changed hands %d times in the last hour, and nobody did it on purpose; it is on %s now", changes, d.Holder)
	}
}

func certificate(now time.Time, c Certificate, found finder) {
	switch left := c.Ends.Sub(now); {
	case c.Bad != "":
		found(`Make one: "wetside certificate"`, "The certificate in %s does not read: %s", c.Path, c.Bad)
	case left < 0:
		found("Renew it; wetside takes the new one by itself", "The certificate in %s ended on %s: browsers and units refuse it", c.Path, stamp(c.Ends))
	case left < EndsSoon:
		found("Renew it; wetside takes the new one by itself", "The certificate in %s ends on %s, in %s", c.Path, stamp(c.Ends), lab.Counted(int64(left/(24*time.Hour)), "day", "days"))
	}
}

func stamp(t time.Time) string { return t.Local().Format("2006-01-02 15:04 MST") }
