package main

import (
	"context"
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/monitor/backup"
	"wetside/internal/postgres/dump"
)

type backupCmd struct {
	Folder   string   `arg:"" help:"Where backups lie, on another disk; each is a folder of its own in it, named after its moment."`
	Settings []string `placeholder:"PATH" help:"A file or folder to keep beside the database: what serve is given with --config and --rules. May be repeated."`
	Keep     int      `default:"0" placeholder:"N" help:"Keep the newest N whole backups in FOLDER and remove those before. 0 keeps all. Default: ${default}"`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*backupCmd) Help() string {
	return `Backs up a lab while it runs: telemetry, runs, records and their log, alerts, entries, people and settings, all as of one moment. The folder has its name only once it is whole. "wetside restore" brings it back.

The sealing key is not in a backup, on purpose: who has a backup must not be able to seal. Keep a copy of the file seal/key of the --data folder elsewhere, once. A backup holds names, password hashes and what phones are reached by: keep it from others. A backup that was never restored is none: try it on another machine.`
}

// Run implements the command.
func (c *backupCmd) Run(ctx context.Context, s streams) error {
	if c.Keep < 0 {
		return usagef("--keep must be 0 or more; got %d", c.Keep)
	}
	url, done, err := monitor.DatabaseFor(ctx, c.Database, c.Data, quiet(s), false)
	if err != nil {
		return err
	}
	defer done()
	folder, m, err := backup.Make(ctx, backup.Config{Database: url, Folder: c.Folder, Settings: c.Settings, Keep: c.Keep,
		Program: programName(), Progress: tells(s)})
	if err != nil {
		return err
	}
	fmt.Fprintf(s.err, "The backup holds the lab as of %s: %s, %s of the record log. Not in it: the sealing key; keep a copy of it elsewhere.\n",
		m.MadeAt.Local().Format("2006-01-02 15:04:05 MST"), lab.Counted(m.Lab.Rows["runs"], "run", "runs"), lab.Counted(m.Lab.Leaves, "leaf", "leaves"))
	return printLine(s, folder)
}

// tellEvery is how often long work says how far it is.
const tellEvery = 2 * time.Second

// tells says on stderr how far long work is, now and then.
func tells(s streams) dump.Progress {
	last := time.Now()
	return func(what string, n, of int) {
		if time.Since(last) < tellEvery {
			return
		}
		last = time.Now()
		fmt.Fprintf(s.err, "%s: %d of %d\n", what, n, of)
	}
}
