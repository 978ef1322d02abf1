package web

import (
	"context"
	"maps"
	"slices"

	"wetside/internal/lab"
)

// PutRolls keeps rolls as the store promises to.
func (s *shop) PutRolls(_ context.Context, rolls []lab.KnownRoll, by string) ([]string, error) {
	defer s.Lock()()
	if s.known == nil {
		s.known = map[string]lab.KnownRoll{}
	}
	var became []string
	for _, said := range rolls {
		old, there := s.known[said.TwinCheck]
		row, changed := old.Put(said)
		switch {
		case !there:
			row, changed = said, true
			row.EnteredAt, row.EnteredBy = lab.At(t0), by
			became = append(became, lab.RollNew)
		case changed:
			became = append(became, lab.RollChanged)
		default:
			became = append(became, lab.RollSame)
		}
		if changed {
			row.ChangedAt, row.ChangedBy = lab.At(t0), by
		}
		s.known[said.TwinCheck] = row
	}
	return became, s.Broken
}

func (s *shop) KnownRolls(_ context.Context, checks []string) (out []lab.KnownRoll, _ error) {
	defer s.Lock()()
	for _, c := range checks {
		if k, ok := s.known[c]; ok {
			out = append(out, k)
		}
	}
	return out, s.Broken
}

func (s *shop) WaitingRolls(context.Context, int) ([]lab.KnownRoll, error) {
	defer s.Lock()()
	var out []lab.KnownRoll
	for _, c := range slices.Sorted(maps.Keys(s.known)) {
		out = append(out, s.known[c])
	}
	return out, s.Broken
}

func (s *shop) StopRoll(_ context.Context, check, why, by string) (lab.KnownRoll, error) {
	if _, err := s.PutRolls(context.Background(), []lab.KnownRoll{{TwinCheck: check}}, by); err != nil {
		return lab.KnownRoll{}, err
	}
	defer s.Lock()()
	k := s.known[check]
	k.Stop, k.ChangedBy = why, by
	s.known[check] = k
	return k, nil
}

func (s *shop) RemoveRoll(_ context.Context, check, _ string) error {
	defer s.Lock()()
	if _, ok := s.known[check]; !ok {
		return lab.Errorf(lab.KindNotFound, "roll %s is not on the list", check)
	}
	delete(s.known, check)
	return s.Broken
}

func rolls(checks ...string) (out []lab.Roll) {
	for _, c := range checks {
		out = append(out, lab.Roll{TwinCheck: c})
	}
	return out
}
