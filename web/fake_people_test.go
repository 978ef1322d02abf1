package web

import (
	"context"

	"wetside/internal/lab"
)

func (s *shop) SetRole(_ context.Context, name, role, _ string) error {
	defer s.Lock()()
	u, ok := s.ByName[name]
	if !ok {
		return lab.Errorf(lab.KindNotFound, "there is nobody called %q", name)
	}
	if u.Role == lab.RoleLead && role != lab.RoleLead && s.leads() == 1 {
		return lab.Errorf(lab.KindConflict, "%s is the last lead", name)
	}
	u.Role = role
	s.ByName[name] = u
	return s.Broken
}

func (s *shop) leads() (n int) {
	for _, u := range s.ByName {
		if u.Role == lab.RoleLead {
			n++
		}
	}
	return n
}

func (s *shop) DeleteUser(_ context.Context, name, _ string) error {
	defer s.Lock()()
	u, ok := s.ByName[name]
	if !ok {
		return lab.Errorf(lab.KindNotFound, "there is nobody called %q", name)
	}
	if u.Role == lab.RoleLead && s.leads() == 1 {
		return lab.Errorf(lab.KindConflict, "%s is the last lead", name)
	}
	delete(s.ByName, name)
	return s.Broken
}

func (s *shop) WithdrawLinks(_ context.Context, person, alertID, by string) error {
	defer s.Lock()()
	s.withdrawn = append(s.withdrawn, [3]string{person, alertID, by})
	return s.Broken
}

// keyRing stands in for the keys of units.
type keyRing map[string]string

func (k keyRing) UnitKeyList(context.Context) (out []lab.UnitKeyInfo, _ error) {
	for u := range k {
		out = append(out, lab.UnitKeyInfo{Unit: u, CreatedAt: lab.At(t0)})
	}
	return out, nil
}

func (k keyRing) MakeUnitKey(_ context.Context, unit lab.UnitID) (string, error) {
	k[unit.String()] = "wsk_new"
	return "wsk_new", nil
}

func (k keyRing) DeleteUnitKey(_ context.Context, unit lab.UnitID) error {
	if _, ok := k[unit.String()]; !ok {
		return lab.Errorf(lab.KindNotFound, "unit %s has no key", unit)
	}
	delete(k, unit.String())
	return nil
}
