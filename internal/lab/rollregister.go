package lab

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"
)

// RollMemory is how long a twin check is taken for the same roll: labs use
// their numbers again. Common practice, no source.
const RollMemory = 60 * 24 * time.Hour

// MaxRollList is how many rolls one list may have.
const MaxRollList = 500

// SamePush is by how much two pushes may differ and be the same, stops: a third
// is written as 0.33 and as 1/3.
const SamePush = 0.005

// KnownRoll is what the register knows of a roll: what it wants, whose it is
// and when it is promised, saved from the first card, list or entry on.
type KnownRoll struct {
	TwinCheck string   `json:"twin_check"`
	Process   string   `json:"process,omitempty"`
	Push      *float64 `json:"push"` // stops; null: nobody said
	Film      string   `json:"film,omitempty"`
	Format    string   `json:"format,omitempty"`
	Order     string   `json:"order,omitempty"`
	DueAt     *Time    `json:"due_at,omitempty"`
	Note      string   `json:"note,omitempty"`
	Stop      string   `json:"stop,omitempty"` // why it must not be run; "" nothing
	EnteredAt Time     `json:"entered_at"`
	EnteredBy string   `json:"entered_by"`
	ChangedAt Time     `json:"changed_at"`
	ChangedBy string   `json:"changed_by"`
}

// KnownOf gives what a roll says of itself as it is loaded or scanned.
func KnownOf(r Roll) KnownRoll {
	k := KnownRoll{TwinCheck: r.TwinCheck, Process: r.Process, Film: r.Film, Format: r.Format, Order: r.Order, DueAt: r.DueAt, Note: r.Note}
	if r.Process != "" || r.Push != 0 {
		push := r.Push
		k.Push = &push
	}
	return k
}

// Fill takes over what is not known yet, and tells whether that was anything.
// What is known stays: the first word counts until a person corrects it.
func (k KnownRoll) Fill(more KnownRoll) (KnownRoll, bool) {
	was := k
	if k.Process == "" && (k.Push == nil || more.Push == nil || *k.Push == *more.Push) {
		k.Process = more.Process
	}
	if k.Push == nil && k.Process == more.Process {
		k.Push = more.Push
	}
	fill := func(to *string, v string) {
		if *to == "" {
			*to = v
		}
	}
	fill(&k.Film, more.Film)
	fill(&k.Format, more.Format)
	fill(&k.Order, more.Order)
	fill(&k.Note, more.Note)
	if k.DueAt == nil {
		k.DueAt = more.DueAt
	}
	return k, !k.same(was)
}

// Put takes over all that is said, in place of what was known.
func (k KnownRoll) Put(said KnownRoll) (KnownRoll, bool) {
	was := k
	put := func(to *string, v string) {
		if v != "" {
			*to = v
		}
	}
	put(&k.Process, said.Process)
	put(&k.Film, said.Film)
	put(&k.Format, said.Format)
	put(&k.Order, said.Order)
	put(&k.Note, said.Note)
	put(&k.Stop, said.Stop)
	if said.Push != nil {
		k.Push = said.Push
	}
	if said.DueAt != nil {
		k.DueAt = said.DueAt
	}
	return k, !k.same(was)
}

func (k KnownRoll) same(o KnownRoll) bool {
	samePush := k.Push == o.Push || k.Push != nil && o.Push != nil && *k.Push == *o.Push
	sameDue := k.DueAt == o.DueAt || k.DueAt != nil && o.DueAt != nil && k.DueAt.Equal(o.DueAt.Time)
	return samePush && sameDue && k.Process == o.Process && k.Film == o.Film && k.Format == o.Format &&
		k.Order == o.Order && k.Note == o.Note && k.Stop == o.Stop
}

// Lapsed tells whether nothing has been said of a roll for longer than
// RollMemory: who uses its number now means another roll.
func (k KnownRoll) Lapsed(now time.Time) bool { return now.Sub(k.ChangedAt.Time) > RollMemory }

// RollSource is how the register came to know something of a roll. Its names
// are stored.
type RollSource string

// The sources of what is known of rolls.
const (
	RollByList  RollSource = "list" // stated: stands in place of what was known
	RollByLoad  RollSource = "load" // said with a load: fills in what was not known
	RollByRun   RollSource = "run"  // said with a run: likewise
	RollByStop  RollSource = "stop" // marked as not to be run
	RollRemoved RollSource = "removed"
)

// Register gives a roll as the register shall have it after something was said
// of it, and what became of it: RollNew, RollChanged or RollSame. known is the
// roll as the register has it, nil where it does not.
func (said KnownRoll) Register(known *KnownRoll, how RollSource, by string, now Time) (KnownRoll, string) {
	if known == nil || known.Lapsed(now.Time) {
		said.EnteredAt, said.EnteredBy, said.ChangedAt, said.ChangedBy = now, by, now, by
		return said, RollNew
	}
	merge := known.Fill
	if how == RollByList {
		merge = known.Put
	}
	row, changed := merge(said)
	if !changed {
		return row, RollSame
	}
	row.ChangedAt, row.ChangedBy = now, by
	return row, RollChanged
}

// Complete gives a roll as it is loaded what the register knows and it does
// not say itself.
func (k KnownRoll) Complete(r Roll) Roll {
	full, _ := KnownOf(r).Fill(k)
	r.Process, r.Film, r.Format, r.Order, r.DueAt, r.Note = full.Process, full.Film, full.Format, full.Order, full.DueAt, full.Note
	if full.Push != nil {
		r.Push = *full.Push
	}
	return r
}

// Differs tells whether a roll says that it wants something else than the
// register has of it.
func (k KnownRoll) Differs(r Roll) bool {
	said := KnownOf(r)
	if said.Process != "" && k.Process != "" && !DoesProcess(said.Process, k.Process) && !DoesProcess(k.Process, said.Process) {
		return true
	}
	return said.Push != nil && k.Push != nil && math.Abs(*said.Push-*k.Push) > SamePush
}

// Check says what is wrong with a roll of a list, as its sender reads it.
func (k KnownRoll) Check() error {
	if _, err := TwinCheck(k.TwinCheck); err != nil {
		return err
	}
	for _, f := range []struct {
		name, v string
		most    int
	}{{"process", k.Process, 64}, {"film", k.Film, 64}, {"format", k.Format, 32}, {"order", k.Order, 64}, {"note", k.Note, 1000}, {"stop", k.Stop, 200}} {
		if n := utf8.RuneCountInString(f.v); n > f.most {
			return fmt.Errorf("%s must be at most %d characters; got %d", f.name, f.most, n)
		}
		if !utf8.ValidString(f.v) || strings.Contains(f.v, "\x00") {
			return fmt.Errorf("%s holds a character that cannot be saved", f.name)
		}
	}
	if k.Push == nil {
		return nil
	}
	return BoundPush.Check("push", *k.Push)
}

// What became of a roll of a list.
const (
	RollNew     = "new"
	RollChanged = "changed"
	RollSame    = "same"
)
