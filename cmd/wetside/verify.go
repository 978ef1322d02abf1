package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/monitor/sealkey"
	"wetside/internal/postgres"
	"wetside/internal/records"
	"wetside/internal/records/seal"
)

type verifyCmd struct {
	Key             []string `placeholder:"KEY" sep:"none" help:"Verifier key, or the file that holds it, that the checkpoints must be signed with; may be repeated. Default: the one of the sealing key under --data, else what the database says."`
	Checkpoint      string   `placeholder:"FILE" help:"A checkpoint that was kept elsewhere: the log must still contain what it signed."`
	ShowKey         bool     `help:"Print the verifier key of this wetside and nothing else: give it to whoever is to check."`
	PrintCheckpoint bool     `help:"Print the last checkpoint on stdout, to keep it elsewhere. It is printed only where all is well."`
	Again           bool     `help:"Also make each report again from its record alone, and compare. Takes longer. What an earlier version judged otherwise is listed as judged differently now: that is no change of the record."`
	Rules           string   `env:"WETSIDE_RULES" placeholder:"DIR" help:"Folder with changed rules and sheets, as serve has it; for --again."`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*verifyCmd) Help() string {
	return `Reads the whole record log and checks every record, report, entry, stored hash and signed checkpoint, and every run against its record. What was changed or is missing is named, a line each, and the exit status is 1.

A seal proves that what was recorded was not changed since it was sealed. It does not prove that it is true, nor that it is complete. Who has both the database and the sealing key can make another log: keep a checkpoint (--print-checkpoint) where they cannot reach it, and check with --checkpoint.`
}

// Run implements the command.
func (c *verifyCmd) Run(ctx context.Context, s streams) error {
	if c.ShowKey {
		return c.showKey(s)
	}
	return c.check(ctx, s, map[string]string{})
}

// check verifies with what the flags name and with kept, checkpoints that lie
// elsewhere by where they lie.
func (c *verifyCmd) check(ctx context.Context, s streams, kept map[string]string) error {
	o := records.VerifyOptions{Kept: kept, Again: c.Again}
	from, err := c.trust(&o)
	if err != nil {
		return err
	}
	if c.Again {
		cfg, err := loadRules(c.Rules)
		if err != nil {
			return err
		}
		o.Making = monitor.Making(cfg, programName(), quiet(s))
	}
	store, done, err := c.open(ctx, quiet(s), false)
	if err != nil {
		return err
	}
	defer done()
	if err := c.besideKey(ctx, store, &o); err != nil {
		return err
	}
	last := time.Now()
	o.Progress = func(what string, n, of int64) {
		if time.Since(last) < 2*time.Second {
			return
		}
		last = time.Now()
		if of > 0 {
			fmt.Fprintf(s.err, "%s: %d of %d\n", what, n, of)
			return
		}
		fmt.Fprintf(s.err, "%s: %d\n", what, n)
	}
	var v records.Verified
	err = store.ReadLog(ctx, func(view *postgres.LogView) (err error) {
		v, err = records.Verify(ctx, view, o)
		return err
	})
	if err != nil {
		return err
	}
	return c.tell(s, v, told{from, len(o.Kept) > 0})
}

// told is what a log was checked with.
type told struct {
	key  string // where the key is from; "": the database named it
	kept bool   // a checkpoint that was kept elsewhere
}

// trust finds the keys and checkpoints to check with, and says where the key
// is from.
func (c *verifyCmd) trust(o *records.VerifyOptions) (from string, err error) {
	if c.Checkpoint != "" {
		b, err := os.ReadFile(c.Checkpoint)
		if err != nil {
			return "", fmt.Errorf("--checkpoint: %w", err)
		}
		o.Kept[c.Checkpoint] = string(b)
	}
	for _, given := range c.Key {
		key, err := verifierKey(given)
		if err != nil {
			return "", usageError{err}
		}
		o.Keys = append(o.Keys, key)
	}
	if len(o.Keys) > 0 {
		return "the key given", nil
	}
	if key, err := sealkey.Given(); err != nil {
		return "", err
	} else if key != nil {
		o.Keys = []string{key.Verifier()}
		return sealkey.Env, nil
	}
	key, err := sealkey.Kept(c.Data)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	o.Keys = []string{key.Verifier()}
	return "the sealing key under --data", nil
}

// besideKey adds the checkpoint beside the sealing key under --data, where that
// key signed this log: the folder may be another lab's.
func (c *verifyCmd) besideKey(ctx context.Context, store *postgres.Store, o *records.VerifyOptions) error {
	key, err := sealkey.Kept(c.Data)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	signed, err := store.LogKeys(ctx)
	if err != nil || c.Database != monitor.Embedded && !slices.Contains(signed, key.Verifier()) {
		return err
	}
	last, err := sealkey.WitnessOf(c.Data).Last()
	if err == nil && last != "" {
		o.Kept["the folder of the sealing key"] = last
	}
	return err
}

func (c *verifyCmd) tell(s streams, v records.Verified, with told) error {
	for _, p := range slices.Concat(v.Problems, v.JudgedDifferently) {
		if err := printLine(s, p.String()); err != nil {
			return err
		}
	}
	notChecked := c.notChecked(v, with)
	if n := len(v.Problems); n > 0 {
		for _, line := range notChecked {
			fmt.Fprintln(s.err, line)
		}
		return fmt.Errorf("%s not as sealed; see the lines above", lab.Counted(int64(n), "thing is", "things are"))
	}
	if c.PrintCheckpoint {
		if _, err := fmt.Fprint(s.out, v.Last); err != nil {
			return fmt.Errorf("write to stdout: %w", err)
		}
		return nil
	}
	for _, line := range append([]string{found(v, with)}, notChecked...) {
		if err := printLine(s, line); err != nil {
			return err
		}
	}
	return nil
}

// found says what was checked and is as it was sealed.
func found(v records.Verified, with told) string {
	line := "Nothing is sealed in this database yet: there was nothing to check."
	if v.Leaves > 0 {
		line = fmt.Sprintf("All as sealed: %s, %s, %s in %s.",
			lab.Counted(v.Runs, "run", "runs"), lab.Counted(v.Records, "record", "records"), lab.Counted(v.Entries, "entry", "entries"), lab.Counted(v.Leaves, "leaf", "leaves"))
	}
	if n := int64(len(v.JudgedDifferently)); n > 0 {
		line += fmt.Sprintf(" %s differently now; see the lines above.", lab.Counted(n, "record is judged", "records are judged"))
	}
	if with.key != "" && v.Leaves > 0 {
		line += " Checked with " + with.key + "."
	}
	return line
}

// notChecked says what the check could not tell, a line each.
func (c *verifyCmd) notChecked(v records.Verified, with told) (out []string) {
	add := func(if_ bool, format string, args ...any) {
		if if_ {
			out = append(out, "Not checked: "+fmt.Sprintf(format, args...))
		}
	}
	add(v.Waiting > 0, "%s for a seal.", lab.Counted(v.Waiting, "run that waits", "runs that wait"))
	add(v.Unsealed > 0, "%s not sealed yet.", lab.Counted(v.Unsealed, "entry that is", "entries that are"))
	if v.Leaves == 0 {
		return out
	}
	add(with.key == "", "whether the log is the lab's own. The keys are those that the database itself names, and whoever changed it may have changed those. Name the lab's key with --key.")
	add(!with.kept, "whether the end of the log was taken off. No checkpoint was given that was kept elsewhere (--checkpoint), and there is none beside the key of this log under --data.")
	add(!c.Again, "whether each report comes out the same from its record (--again).")
	return out
}

func (c *verifyCmd) showKey(s streams) error {
	if key, err := sealkey.Given(); err != nil {
		return err
	} else if key != nil {
		return printLine(s, key.Verifier())
	}
	key, err := sealkey.Kept(c.Data)
	if errors.Is(err, fs.ErrNotExist) {
		return lab.Errorf(lab.KindNotFound, "there is no sealing key in %s: wetside serve makes one; name its --data folder", sealkey.Dir(c.Data))
	}
	if err != nil {
		return err
	}
	return printLine(s, key.Verifier())
}

// verifierKey gives the verifier key that a command was given: as it is, or
// as a file that holds it.
func verifierKey(given string) (string, error) {
	if strings.HasPrefix(given, seal.Origin+"+") {
		return seal.ParseVerifier(given)
	}
	b, err := os.ReadFile(given)
	if err != nil {
		return "", fmt.Errorf("--key: %q is neither a verifier key (%s+...) nor a file that holds one", given, seal.Origin)
	}
	return seal.ParseVerifier(string(b))
}
