package delivery

import (
	"context"
	"net/url"
	"slices"
	"strings"
	"time"

	"wetside/alerts/oncall"
	"wetside/internal/lab"
)

// The bounds of working in the dark, minutes.
const maxDark = 60

// Roster is where people see and change who is called, and how. Make it with
// Worker.NewRoster. Safe for concurrent use.
type Roster struct {
	w *Worker
	// PushKey gives what a browser subscribes with, or why it cannot.
	pushKey func() (key, why string)
}

// NewRoster makes a Roster. pushKey may be nil: push is then not there.
func (w *Worker) NewRoster(pushKey func() (key, why string)) *Roster {
	if pushKey == nil {
		pushKey = func() (string, string) { return "", "push is not set up" }
	}
	return &Roster{w, pushKey}
}

// SetPlan stores a new version of the plan, made from version.
func (ro *Roster) SetPlan(ctx context.Context, p lab.DutyPlan, version int, by string) (lab.DutyNow, error) {
	names, err := ro.names(ctx)
	if err != nil {
		return lab.DutyNow{}, err
	}
	if err := oncall.Check(p, names); err != nil {
		return lab.DutyNow{}, err
	}
	if err := checkAddress(p.Address); err != nil {
		return lab.DutyNow{}, err
	}
	if p.Hours == nil {
		p.Hours = []lab.DutyHours{}
	}
	if p.Quiet == nil {
		p.Quiet = []lab.QuietHours{}
	}
	if err := ro.w.cfg.Store.SetDutyPlan(ctx, p, version, by); err != nil {
		return lab.DutyNow{}, err
	}
	return ro.reloaded(ctx)
}

func checkAddress(address string) error {
	if address == "" {
		return nil
	}
	u, err := url.Parse(address)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return lab.Errorf(lab.KindInvalid, "address %q must be scheme and host such as https://board.example", address)
	}
	return nil
}

func (ro *Roster) names(ctx context.Context) ([]string, error) {
	users, err := ro.w.cfg.Store.Users(ctx)
	names := make([]string, len(users))
	for i, u := range users {
		names[i] = u.Name
	}
	return names, err
}

func (ro *Roster) reloaded(ctx context.Context) (lab.DutyNow, error) {
	if err := ro.w.Reload(ctx); err != nil {
		return lab.DutyNow{}, err
	}
	return ro.Duty(ctx)
}

// Swap puts one person in place of another for a day.
func (ro *Roster) Swap(ctx context.Context, s lab.DutySwap, by string) (lab.DutySwap, error) {
	names, err := ro.names(ctx)
	if err != nil {
		return s, err
	}
	if err := oncall.CheckSwap(s, names); err != nil {
		return s, err
	}
	if len(s.Note) > 500 {
		return s, lab.Errorf(lab.KindInvalid, "note must be at most 500 bytes long; got %d", len(s.Note))
	}
	if s, err = ro.w.cfg.Store.AddDutySwap(ctx, s, by); err != nil {
		return s, err
	}
	return s, ro.w.Reload(ctx)
}

// EndSwap takes a swap back.
func (ro *Roster) EndSwap(ctx context.Context, id int64, by string) error {
	if err := ro.w.cfg.Store.EndDutySwap(ctx, id, by); err != nil {
		return err
	}
	return ro.w.Reload(ctx)
}

// GoDark keeps a person's phone dark for some minutes; none ends that. When
// it returns, nothing more goes out to that phone but what was on its way.
func (ro *Roster) GoDark(ctx context.Context, person string, minutes int, by string) (lab.DutyDark, error) {
	out := lab.DutyDark{Person: person}
	if minutes < 0 || minutes > maxDark {
		return out, lab.Errorf(lab.KindInvalid, "minutes must be 1 to %[2]d, or 0 to end it; got %[1]d", minutes, maxDark)
	}
	names, err := ro.names(ctx)
	if err != nil {
		return out, err
	}
	if !slices.Contains(names, person) {
		return out, lab.Errorf(lab.KindInvalid, "there is nobody called %q; say who works in the dark", person)
	}
	var until time.Time
	if minutes > 0 {
		until = ro.w.now().Add(time.Duration(minutes) * time.Minute)
		out.Until = lab.At(until)
	}
	if err := ro.w.cfg.Store.SetDutyDark(ctx, person, until, by); err != nil {
		return out, err
	}
	return out, ro.w.Reload(ctx)
}

// Log gives the record of who changed what, newest first.
func (ro *Roster) Log(ctx context.Context, limit int) ([]lab.DutyEntry, error) {
	return ro.w.cfg.Store.DutyLog(ctx, limit)
}
