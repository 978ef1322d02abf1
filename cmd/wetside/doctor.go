package main

import (
	"context"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"wetside/internal/monitor"
	"wetside/internal/monitor/backup"
	"wetside/internal/monitor/disk"
	"wetside/internal/monitor/health"
	"wetside/internal/monitor/sealkey"
	"wetside/internal/postgres"
)

type doctorCmd struct {
	Backups string   `placeholder:"FOLDER" help:"Where backups lie: what \"wetside backup\" was given. Without it nothing is said of backups."`
	TLSCert []string `name:"tls-cert" placeholder:"FILE" help:"A certificate of this lab (PEM), to see when it ends. May be repeated."`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*doctorCmd) Help() string {
	return `A line for each thing that is wrong and what to do about it; exit status 1 where there is one, 0 where there is none. It changes nothing. Run it on the machine that wetside serve runs on, with its --database and --data. What is not looked at: mail and webhooks (see "wetside page-test"), records (see "wetside verify"), units' clocks and gaps (see the board).`
}

// errFindings makes the exit status of findings.
var errFindings = errors.New("something is wrong; the lines say what to do")

// Run implements the command.
func (c *doctorCmd) Run(ctx context.Context, s streams) error {
	findings := health.Findings(c.facts(ctx, s))
	for _, f := range findings {
		if err := printLine(s, f.String()); err != nil {
			return err
		}
	}
	if len(findings) > 0 {
		return errFindings
	}
	said := "Nothing wrong was found."
	if c.Backups == "" {
		said += " Backups were not looked at: name their folder with --backups."
	}
	if len(c.TLSCert) == 0 {
		said += " Certificates were not looked at: name them with --tls-cert."
	}
	return printLine(s, said)
}

func (c *doctorCmd) facts(ctx context.Context, s streams) health.Facts {
	f := health.Facts{Now: time.Now()}
	url, done, err := monitor.DatabaseFor(ctx, c.Database, c.Data, quiet(s), false)
	if err == nil {
		f.Database, err = postgres.Look(ctx, url)
		done()
	}
	if err != nil {
		f.DatabaseAway = strings.Join(strings.Fields(err.Error()), " ")
	}
	key, err := sealkey.Given()
	if key == nil && err == nil {
		_, err = sealkey.Kept(c.Data)
	}
	if err != nil {
		f.SealKey = err.Error()
	}
	for _, d := range []disk.Folder{{Path: c.Data, What: "the data folder"}, {Path: c.Backups, What: "the backups"}} {
		if free, size, err := disk.Room(d.Path); d.Path != "" && err == nil {
			f.Disks = append(f.Disks, health.Disk{What: d.What, Path: d.Path, Free: free, Size: size})
		}
	}
	for _, path := range c.TLSCert {
		f.Certificates = append(f.Certificates, certificateAt(path))
	}
	if c.Backups != "" {
		f.Backups = &health.Backups{Folder: c.Backups, Newest: newestBackup(c.Backups)}
	}
	return f
}

func certificateAt(path string) health.Certificate {
	c := health.Certificate{Path: path}
	b, err := os.ReadFile(path)
	if err == nil {
		c.Ends, err = endOf(b)
	}
	if err != nil {
		c.Bad = err.Error()
	}
	return c
}

// endOf gives when the first certificate in PEM ends.
func endOf(b []byte) (time.Time, error) {
	block, _ := pem.Decode(b)
	if block == nil || block.Type != "CERTIFICATE" {
		return time.Time{}, errors.New("it does not begin with a certificate in PEM")
	}
	leaf, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		return time.Time{}, err
	}
	return leaf.NotAfter, nil
}

// newestBackup gives the moment of the newest whole backup; zero: there is none.
func newestBackup(folder string) (newest time.Time) {
	entries, err := os.ReadDir(folder)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return newest
	}
	for _, e := range entries {
		if m, err := backup.Read(filepath.Join(folder, e.Name())); err == nil && m.MadeAt.After(newest) {
			newest = m.MadeAt.Time
		}
	}
	return newest
}
