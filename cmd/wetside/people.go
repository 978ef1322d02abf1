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
	"time"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/web/access"
)

type tokenCmd struct {
	Create tokenCreateCmd `cmd:"" help:"Make an API token and print it, once."`
	List   tokenListCmd   `cmd:"" help:"API tokens, until when they hold and when each was last used."`
	Revoke tokenRevokeCmd `cmd:"" help:"Withdraw an API token."`
}

type tokenCreateCmd struct {
	Name string `required:"" placeholder:"NAME" help:"What the token is for."`
	Role string `required:"" placeholder:"ROLE" enum:"viewer,operator,lead" help:"viewer reads, operator also acknowledges and shelves, lead also sets up."`
	TTL  string `name:"ttl" default:"365d" placeholder:"TIME" help:"For how long it holds, such as 30d or 12h; 3650d at most. Default: ${default}"`
	databaseFlags
}

// Run implements the command.
func (c *tokenCreateCmd) Run(ctx context.Context, s streams) error {
	life, err := parseLife(c.TTL)
	if err != nil {
		return err
	}
	store, done, err := c.open(ctx, quiet(s), false)
	if err != nil {
		return err
	}
	defer done()
	token, err := access.CreateToken(ctx, store, c.Name, c.Role, time.Now().Add(life))
	if err != nil {
		return asUsage(err)
	}
	return printLine(s, token)
}

type userCmd struct {
	Create   userCreateCmd   `cmd:"" help:"Add a person who signs in to the board; the password is asked for, or read from stdin."`
	Password userPasswordCmd `cmd:"" help:"Set a person's password anew; it is asked for, or read from stdin."`
	List     userListCmd     `cmd:"" help:"Who may sign in, and as what."`
	Role     userRoleCmd     `cmd:"" help:"Change what a person may do."`
	Remove   userRemoveCmd   `cmd:"" help:"Remove a person; what they did stays in the books."`
	Links    userLinksCmd    `cmd:"" help:"Withdraw the links in pages that were sent to a person."`
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
	if err := access.CreateUser(ctx, store, c.Name, c.Role, password); err != nil {
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
	store, done, err := c.open(ctx, quiet(s), false)
	if err != nil {
		return err
	}
	defer done()
	if err := access.SetPassword(ctx, store, c.Name, password); err != nil {
		if lab.KindOf(err) == lab.KindNotFound {
			return fmt.Errorf("there is no user %q; add them with wetside user create", c.Name)
		}
		return asUsage(err)
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
			return "", usagef("no password came on stdin; give one line with it")
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
	List     unitKeyListCmd     `cmd:"" help:"Units that have a key, and since when."`
	Withdraw unitKeyWithdrawCmd `cmd:"" help:"Withdraw a unit's key; its connection ends."`
	Create   unitKeyCreateCmd   `cmd:"" help:"Make the key with which a unit connects to the embedded broker from beyond this machine, and print it, once."`
}

type unitKeyCreateCmd struct {
	Unit string `arg:"" placeholder:"LAB/UNIT" help:"The unit, as in its topics: lab/unit."`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*unitKeyCreateCmd) Help() string {
	return `The unit connects with its name lab/unit as user and the key as password, and may publish under its own topics only. A new key replaces the one before, and a connection made with that one ends.`
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
	key, err := monitor.UnitKeys{Store: store}.MakeUnitKey(ctx, unit)
	if err != nil {
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
