package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/monitor/backup"
	"wetside/internal/monitor/sealkey"
)

type restoreCmd struct {
	Backup  string `arg:"" help:"The folder of one backup."`
	SealKey string `placeholder:"FILE" help:"The lab's sealing key, as it was kept elsewhere: put under --data, so that records are sealed on. Without it put it there before \"wetside serve\"."`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*restoreCmd) Help() string {
	return `Brings a backup back into an empty place: a --data folder without a lab, and with --database a database without tables (make one with createdb). Nothing that is there is ever written over. The backup is read through first; what was restored is compared with it, row counts and record log, and every record is verified. Then start "wetside serve" with the same flags.

Settings that were kept with the backup lie in its folder "settings"; put them where they belong by hand.`
}

// Run implements the command.
func (c *restoreCmd) Run(ctx context.Context, s streams) error {
	m, err := backup.Check(c.Backup)
	if err != nil {
		return err
	}
	if err := c.mustBeEmpty(); err != nil {
		return err
	}
	key, err := c.readKey()
	if err != nil {
		return err
	}
	if err := c.fill(ctx, s); err != nil {
		return err
	}
	if key != "" {
		if err := sealkey.Put(c.Data, key); err != nil {
			return err
		}
	}
	if m.Lab.Checkpoint != "" {
		if err := sealkey.WitnessOf(c.Data).Keep(m.Lab.Checkpoint); err != nil {
			return err
		}
	}
	fmt.Fprintf(s.err, "Restored as of %s: %s, %s of the record log. Now every record is verified.\n",
		m.MadeAt.Local().Format("2006-01-02 15:04:05 MST"), lab.Counted(m.Lab.Rows["runs"], "run", "runs"), lab.Counted(m.Lab.Leaves, "leaf", "leaves"))
	if err := c.verify(ctx, s, m); err != nil {
		return err
	}
	if _, err := sealkey.Kept(c.Data); errors.Is(err, fs.ErrNotExist) && os.Getenv(sealkey.Env) == "" {
		fmt.Fprintf(s.err, "The sealing key is not here: put it into %s before wetside serve, or that makes another one, and whoever verifies needs both.\n", sealkey.KeyFile(c.Data))
	}
	return nil
}

// mustBeEmpty refuses a folder in which a lab lies.
func (c *restoreCmd) mustBeEmpty() error {
	if c.Database == monitor.Embedded {
		if _, err := os.Stat(monitor.PostgresDir(c.Data)); !errors.Is(err, fs.ErrNotExist) {
			return lab.Errorf(lab.KindConflict, "there is a database in %s already; a backup is restored into an empty place only: name another --data folder", c.Data)
		}
	}
	last, err := sealkey.WitnessOf(c.Data).Last()
	if err == nil && last != "" {
		err = lab.Errorf(lab.KindConflict, "a lab was sealed in %s already: there is a checkpoint in %s. A backup is restored into an empty place only: name another --data folder", c.Data, sealkey.Dir(c.Data))
	}
	return err
}

// readKey gives the sealing key that is to be put in its place, "" for none.
func (c *restoreCmd) readKey() (string, error) {
	if c.SealKey == "" {
		return "", nil
	}
	b, err := os.ReadFile(c.SealKey)
	if err != nil {
		return "", fmt.Errorf("--seal-key: %w", err)
	}
	if err := sealkey.MayPut(c.Data, string(b)); err != nil {
		return "", usageError{fmt.Errorf("--seal-key %s: %w", c.SealKey, err)}
	}
	return string(b), nil
}

// fill restores the database. A private one that was begun and not finished is
// taken away again, so that the same command may be given once more.
func (c *restoreCmd) fill(ctx context.Context, s streams) (err error) {
	done := func() {}
	defer func() {
		done()
		if err != nil && c.Database == monitor.Embedded {
			err = errors.Join(err, os.RemoveAll(monitor.PostgresDir(c.Data)))
		}
	}()
	url, stop, err := monitor.DatabaseFor(ctx, c.Database, c.Data, quiet(s), true)
	if err != nil {
		return err
	}
	done = stop
	_, err = backup.Restore(ctx, c.Backup, url, tells(s))
	return err
}

// verify checks what was restored as "wetside verify" does, with the
// checkpoint of the backup as one that was kept elsewhere.
func (c *restoreCmd) verify(ctx context.Context, s streams, m backup.Manifest) error {
	check := verifyCmd{databaseFlags: c.databaseFlags}
	if m.Lab.Checkpoint == "" {
		return printLine(s, "Nothing was sealed in it yet.")
	}
	return check.check(ctx, s, map[string]string{"the backup": m.Lab.Checkpoint})
}
