package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"

	"wetside/ingest/broker"
	"wetside/internal/lab"
	"wetside/web"
)

type tokenCmd struct {
	Create tokenCreateCmd `cmd:"" help:"Make an API token and print it, once."`
}

type tokenCreateCmd struct {
	Name string `required:"" placeholder:"NAME" help:"What the token is for."`
	Role string `required:"" placeholder:"ROLE" enum:"viewer,operator,lead" help:"viewer reads, operator also acknowledges and shelves, lead also sets up."`
	databaseFlags
}

// Run implements the command.
func (c *tokenCreateCmd) Run(ctx context.Context, s streams) error {
	store, done, err := c.open(ctx, quiet(s), false)
	if err != nil {
		return err
	}
	defer done()
	token, err := web.CreateToken(ctx, store, c.Name, c.Role)
	if err != nil {
		return asUsage(err)
	}
	return printLine(s, token)
}

type userCmd struct {
	Create   userCreateCmd   `cmd:"" help:"Add a person who signs in to the board; the password is asked for, or read from stdin."`
	Password userPasswordCmd `cmd:"" help:"Set a person's password anew; it is asked for, or read from stdin."`
}

type userCreateCmd struct {
	Name string `required:"" placeholder:"NAME" help:"The name to sign in with."`
	Role string `required:"" placeholder:"ROLE" enum:"viewer,operator,lead" help:"viewer reads, operator also acknowledges and shelves, lead also sets up."`
	databaseFlags
}

// Run implements the command.
func (c *userCreateCmd) Run(ctx context.Context, s streams) error {
	password, err := readPassword(s)
	if err != nil {
		return err
	}
	store, done, err := c.open(ctx, quiet(s), true)
	if err != nil {
		return err
	}
	defer done()
	if err := web.CreateUser(ctx, store, c.Name, c.Role, password); err != nil {
		return asUsage(err)
	}
	fmt.Fprintf(s.err, "%s can sign in as %s.\n", c.Name, c.Role)
	return nil
}

type userPasswordCmd struct {
	Name string `required:"" placeholder:"NAME" help:"Whose password."`
	databaseFlags
}

// Run implements the command.
func (c *userPasswordCmd) Run(ctx context.Context, s streams) error {
	password, err := readPassword(s)
	if err != nil {
		return err
	}
	hash, err := web.HashPassword(ctx, password)
	if err != nil {
		return asUsage(err)
	}
	store, done, err := c.open(ctx, quiet(s), false)
	if err != nil {
		return err
	}
	defer done()
	if err := store.SetPassword(ctx, c.Name, hash); err != nil {
		if lab.KindOf(err) == lab.KindNotFound {
			return fmt.Errorf("there is no user %q; add them with wetside user create", c.Name)
		}
		return err
	}
	fmt.Fprintf(s.err, "%s has a new password; their sign-ins have ended.\n", c.Name)
	return nil
}

// readPassword asks for a password twice on a terminal, and takes the first
// line of anything else.
func readPassword(s streams) (string, error) {
	in := bufio.NewReader(s.in)
	f, ok := s.in.(*os.File)
	if !ok || !isTerminal(f) {
		line, err := in.ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", fmt.Errorf("read the password from stdin: %w", err)
		}
		if line = strings.TrimRight(line, "\r\n"); line == "" {
			return "", usagef("no password came on stdin; want one line with it")
		}
		return line, nil
	}
	// The terminal shows nothing of what is typed, where it lets itself be told.
	tell := func(what string) {
		cmd := exec.Command("stty", what)
		cmd.Stdin = f
		_ = cmd.Run()
	}
	tell("-echo")
	defer tell("echo")
	var given [2]string
	for i, prompt := range []string{"Password: ", "Once more: "} {
		fmt.Fprint(s.err, prompt)
		line, err := in.ReadString('\n')
		fmt.Fprintln(s.err)
		if err != nil {
			return "", fmt.Errorf("read the password: %w", err)
		}
		given[i] = strings.TrimRight(line, "\r\n")
	}
	if given[0] != given[1] {
		return "", errors.New("the two passwords differ; nothing was changed")
	}
	return given[0], nil
}

func isTerminal(f *os.File) bool {
	st, err := f.Stat()
	return err == nil && st.Mode()&os.ModeCharDevice != 0 && f.Name() != os.DevNull
}

type unitKeyCmd struct {
	Create unitKeyCreateCmd `cmd:"" help:"Make the key with which a unit connects to the embedded broker from beyond this machine, and print it, once."`
}

type unitKeyCreateCmd struct {
	Unit string `arg:"" placeholder:"LAB/UNIT" help:"The unit, as in its topics: lab/unit."`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*unitKeyCreateCmd) Help() string {
	return `The unit connects with its name lab/unit as user and the key as password, and may publish under its own topics only. A new key replaces the one before.`
}

// Run implements the command.
func (c *unitKeyCreateCmd) Run(ctx context.Context, s streams) error {
	unit, err := lab.ParseUnitID(c.Unit)
	if err != nil {
		return usageError{err}
	}
	store, done, err := c.open(ctx, quiet(s), true)
	if err != nil {
		return err
	}
	defer done()
	key, hash := broker.NewKey()
	if err := store.CreateUnitKey(ctx, unit, hash); err != nil {
		return err
	}
	return printLine(s, key)
}

func printLine(s streams, line string) error {
	if _, err := fmt.Fprintln(s.out, line); err != nil {
		return fmt.Errorf("write to stdout: %w", err)
	}
	return nil
}
