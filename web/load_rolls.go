package web

import (
	"context"
	"encoding/json"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/web/load"
)

// gatherRolls finds what there is to ask about the rolls of a load.
func (s *Server) gatherRolls(ctx context.Context, unit string, rolls []lab.Roll) (load.Rolls, error) {
	f := load.Rolls{Said: map[string]lab.Roll{}, Elsewhere: map[string]load.Place{}, Ran: map[string]load.Place{}, Zone: s.zone(ctx)}
	var err error
	if f.Known, err = s.knownRolls(ctx, rolls); err != nil {
		return f, err
	}
	others := s.views()
	for _, r := range rolls {
		for _, o := range others {
			if l := nextLoad(o); o.ID != unit && has(l, r.TwinCheck) {
				p := load.Place{Of: o.ID, Unit: o.Name}
				if p.By, p.At, err = s.whoLoaded(ctx, o.ID, r.TwinCheck, time.Time{}); err != nil {
					return f, err
				}
				f.Elsewhere[r.TwinCheck] = p
			}
		}
		p, err := s.ranLately(ctx, r.TwinCheck)
		if err != nil {
			return f, err
		}
		if p.Run != nil {
			f.Ran[r.TwinCheck] = p
		}
	}
	return f, nil
}

func has(l *lab.Load, check string) bool {
	_, there := rollIn(l, check)
	return there
}

// ranLately is the last run of the last 60 days that had a roll, where that is
// worth a question. It is not where the roll was marked to be reprocessed, nor
// where another run went on with its film: that run has the roll too and is
// looked at by itself.
func (s *Server) ranLately(ctx context.Context, check string) (load.Place, error) {
	runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Roll: check, From: s.cfg.Clock.Now().Add(-lab.RollMemory), Limit: 20})
	if err != nil {
		return load.Place{}, err
	}
	for i := range runs {
		r := &runs[i]
		j := slices.IndexFunc(r.Rolls, func(x lab.Roll) bool { return sameCheck(x.TwinCheck, check) })
		if j >= 0 {
			if d := r.DecisionFor(r.Rolls[j]); d != nil && d.Decision == lab.Reprocess {
				continue
			}
		}
		if f := r.Film; f != nil && len(f.Runs) > 0 && f.Runs[len(f.Runs)-1].ID != r.ID {
			continue // rescued
		}
		p := load.Place{Of: r.ID, Unit: s.nameOf(r.Unit), Run: r}
		p.By, p.At, err = s.whoLoaded(ctx, r.Unit, check, r.StartedAt.Time)
		return p, err
	}
	return load.Place{}, nil
}

func sameCheck(a, b string) bool {
	x, err := lab.TwinCheck(a)
	return err == nil && x == b
}

// nameOf is what people call a unit.
func (s *Server) nameOf(unit string) string {
	if set, ok := s.settings.get(unit); ok && set.Name != "" {
		return set.Name
	}
	id, err := lab.ParseUnitID(unit)
	if err != nil {
		return unit
	}
	return id.Unit
}

// loadsLookedAt is how many loads of a unit are looked through for a roll.
const loadsLookedAt = 200

// whoLoaded tells who loaded a roll on a unit last, by a moment where that is
// given; nobody where it was not found.
func (s *Server) whoLoaded(ctx context.Context, unit, check string, by time.Time) (string, time.Time, error) {
	f := lab.EntryFilter{Unit: unit, What: []string{lab.EntryLoad}, Limit: loadsLookedAt}
	if !by.IsZero() {
		f.Since = by.Add(-24 * time.Hour)
	}
	all, err := s.cfg.Store.Entries(ctx, f)
	if err != nil {
		return "", time.Time{}, err
	}
	for _, e := range slices.Backward(all) {
		var l lab.Load
		if e.What == lab.EntryLoad && (by.IsZero() || !e.Entered.After(by)) && json.Unmarshal(e.Body, &l) == nil && has(&l, check) {
			return e.By, e.Entered, nil
		}
	}
	return "", time.Time{}, nil
}

// answered does what follows from answers about rolls: a roll that is here is
// removed from the other load, one that was not in a run is removed from it, one
// that is processed again on purpose gets that decision, and what a roll is for is
// corrected. The load is judged afterwards, by what then holds.
func (s *Server) answered(ctx context.Context, f load.Rolls, answers []lab.RollAnswer) error {
	for _, a := range answers {
		var err error
		switch p := f.Ran[a.Roll]; {
		case a.Code == load.AskDiffers && a.Answer == load.AnswerNow && f.Said[a.Roll].TwinCheck != "" && f.Known[a.Roll].ChangedAt.String() == a.Of:
			_, err = s.cfg.Store.PutRolls(ctx, []lab.KnownRoll{lab.KnownOf(f.Said[a.Roll])}, identityOf(ctx).Name)
		case a.Code == load.AskElsewhere && a.Answer == load.AnswerHere && f.Elsewhere[a.Roll].Of == a.Of:
			err = s.unloadRoll(ctx, a.Of, a.Roll)
		case a.Code != load.AskRan || p.Of != a.Of:
		case a.Answer == load.AnswerNotThere:
			err = s.ofTheRun(ctx, a.Of, lab.EntryRolls, lab.RollsChange{Remove: []string{a.Roll}})
		case a.Answer == load.AnswerReprocess:
			err = s.ofTheRun(ctx, a.Of, lab.EntryDecision, decisionBody{Decision: lab.Reprocess, Rolls: []string{a.Roll}})
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (s *Server) ofTheRun(ctx context.Context, run, what string, content any) error {
	e, _, err := s.ofRun(ctx, run, what)
	if err != nil {
		return err
	}
	_, err = s.enter(ctx, "", nil, e, content)
	return err
}

// unloadRoll loads a unit again without one roll.
func (s *Server) unloadRoll(ctx context.Context, unit, check string) error {
	id, err := lab.ParseUnitID(unit)
	if err != nil {
		return err
	}
	u, ok := s.cfg.Live.Unit(id)
	l := nextLoad(u)
	if !ok || !has(l, check) {
		return nil
	}
	rest := *l
	rest.Rolls = slices.DeleteFunc(slices.Clone(l.Rolls), func(r lab.Roll) bool { return sameCheck(r.TwinCheck, check) })
	_, err = s.enter(ctx, "", nil, lab.Entry{Unit: id, What: lab.EntryLoad}, rest)
	return err
}
