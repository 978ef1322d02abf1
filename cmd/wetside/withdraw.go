package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/web/access"
)

// What was given to somebody, listed and taken back.

// byHand is who changed something at the command line.
const byHand = "the command line"

// parseLife reads how long a token holds: days, or a Go duration.
func parseLife(text string) (time.Duration, error) {
	d, err := time.ParseDuration(text)
	if days, ok := strings.CutSuffix(text, "d"); ok {
		var n int
		if n, err = strconv.Atoi(days); err == nil && n <= int(access.MaxTokenLife/(24*time.Hour)) {
			d = time.Duration(n) * 24 * time.Hour
		}
	}
	if err != nil || d < time.Minute || d > access.MaxTokenLife {
		return 0, usagef("--ttl must be 1m to 3650d, such as 30d or 12h; got %q", text)
	}
	return d, nil
}

// withStore opens the database for one task.
func (f *databaseFlags) withStore(ctx context.Context, s streams, do func(*postgres.Store) error) error {
	store, done, err := f.open(ctx, quiet(s), false)
	if err != nil {
		return err
	}
	defer done()
	return do(store)
}

// table prints lines of columns.
func table(s streams, lines [][]string) error {
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	for _, l := range lines {
		if _, err := fmt.Fprintln(w, strings.Join(l, "\t")); err != nil {
			return err
		}
	}
	return w.Flush()
}

func stamp(t time.Time, none string) string {
	if t.IsZero() {
		return none
	}
	return t.Local().Format("2006-01-02 15:04")
}

type tokenListCmd struct{ databaseFlags }

// Run implements the command.
func (c *tokenListCmd) Run(ctx context.Context, s streams) error {
	return c.withStore(ctx, s, func(store *postgres.Store) error {
		tokens, err := store.Tokens(ctx)
		if err != nil {
			return err
		}
		lines := [][]string{{"NAME", "ROLE", "MADE", "HOLDS UNTIL", "LAST USED"}}
		for _, t := range tokens {
			lines = append(lines, []string{t.Name, t.Role, stamp(t.CreatedAt, "-"), stamp(t.ExpiresAt, "withdrawn"), stamp(t.LastUsed, "never")})
		}
		return table(s, lines)
	})
}

type tokenRevokeCmd struct {
	Name string `required:"" placeholder:"NAME" help:"The token's name, as token list shows it."`
	databaseFlags
}

// Run implements the command.
func (c *tokenRevokeCmd) Run(ctx context.Context, s streams) error {
	return c.withStore(ctx, s, func(store *postgres.Store) error {
		if err := store.DeleteToken(ctx, c.Name); err != nil {
			return err
		}
		fmt.Fprintf(s.err, "The token %s is withdrawn.\n", c.Name)
		return nil
	})
}

type userListCmd struct{ databaseFlags }

// Run implements the command.
func (c *userListCmd) Run(ctx context.Context, s streams) error {
	return c.withStore(ctx, s, func(store *postgres.Store) error {
		users, err := store.Users(ctx)
		if err != nil {
			return err
		}
		lines := [][]string{{"NAME", "ROLE", "SINCE"}}
		for _, u := range users {
			lines = append(lines, []string{u.Name, u.Role, stamp(u.CreatedAt, "-")})
		}
		return table(s, lines)
	})
}

type userRoleCmd struct {
	Name string `required:"" placeholder:"NAME" help:"Whose role."`
	Role string `required:"" placeholder:"ROLE" enum:"viewer,operator,lead" help:"viewer reads, operator also acknowledges and shelves, lead also sets up."`
	databaseFlags
}

// Run implements the command.
func (c *userRoleCmd) Run(ctx context.Context, s streams) error {
	return c.withStore(ctx, s, func(store *postgres.Store) error {
		if err := store.SetRole(ctx, c.Name, c.Role, byHand); err != nil {
			return err
		}
		fmt.Fprintf(s.err, "%s is %s now.\n", c.Name, c.Role)
		return nil
	})
}

type userRemoveCmd struct {
	Name string `required:"" placeholder:"NAME" help:"Who."`
	databaseFlags
}

// Run implements the command.
func (c *userRemoveCmd) Run(ctx context.Context, s streams) error {
	return c.withStore(ctx, s, func(store *postgres.Store) error {
		if err := store.DeleteUser(ctx, c.Name, byHand); err != nil {
			return err
		}
		fmt.Fprintf(s.err, "%s is removed; their sign-ins and links have ended.\n", c.Name)
		return nil
	})
}

type userLinksCmd struct {
	Name string `required:"" placeholder:"NAME" help:"Whose links."`
	databaseFlags
}

// Run implements the command.
func (c *userLinksCmd) Run(ctx context.Context, s streams) error {
	return c.withStore(ctx, s, func(store *postgres.Store) error {
		if err := store.WithdrawLinks(ctx, c.Name, "", byHand); err != nil {
			return err
		}
		fmt.Fprintf(s.err, "The links sent to %s until now are withdrawn.\n", c.Name)
		return nil
	})
}

type unitKeyListCmd struct{ databaseFlags }

// Run implements the command.
func (c *unitKeyListCmd) Run(ctx context.Context, s streams) error {
	return c.withStore(ctx, s, func(store *postgres.Store) error {
		keys, err := store.UnitKeyList(ctx)
		if err != nil {
			return err
		}
		lines := [][]string{{"UNIT", "KEY SINCE"}}
		for _, k := range keys {
			lines = append(lines, []string{k.Unit, stamp(k.CreatedAt.Time, "-")})
		}
		return table(s, lines)
	})
}

type unitKeyWithdrawCmd struct {
	Unit string `arg:"" placeholder:"LAB/UNIT" help:"The unit, as in its topics: lab/unit."`
	databaseFlags
}

// Run implements the command.
func (c *unitKeyWithdrawCmd) Run(ctx context.Context, s streams) error {
	unit, err := lab.ParseUnitID(c.Unit)
	if err != nil {
		return usageError{err}
	}
	return c.withStore(ctx, s, func(store *postgres.Store) error {
		if err := store.DeleteUnitKey(ctx, unit); err != nil {
			return err
		}
		fmt.Fprintf(s.err, "The key of %s is withdrawn; its connection ends within a few seconds.\n", unit)
		return nil
	})
}
