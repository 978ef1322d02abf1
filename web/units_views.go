package web

import (
	"context"
	"slices"
	"strings"
	"sync"

	"wetside/internal/lab"
)

// settings are the unit settings as last read: every unit that is shown
// carries its name and standing. It is safe for concurrent use.
type settings struct {
	store  Store
	mu     sync.RWMutex
	byUnit map[string]lab.UnitSetting
}

func (s *settings) load(ctx context.Context) error {
	all, err := s.store.UnitSettings(ctx)
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.byUnit = all
	return nil
}

func (s *settings) get(unit string) (lab.UnitSetting, bool) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	set, ok := s.byUnit[unit]
	return set, ok
}

// view gives a unit as it is shown: with its name, its standing, its gates and
// its open alerts. The alerts come from the live hub, so that a unit never names an
// alert that open sockets have not been told of.
func (s *Server) view(u lab.Unit) lab.Unit {
	set, ok := s.settings.get(u.ID)
	if !ok {
		set = lab.UnitSetting{Standing: lab.UnitNew}
	}
	if set.Name != "" {
		u.Name = set.Name
	}
	if u.Name == "" {
		_, u.Name, _ = strings.Cut(u.ID, "/")
	}
	u.Standing = set.Standing
	u.Gates = s.gates.of(u.ID)
	if ids, ok := s.live.OpenAlerts(u.ID); ok {
		u.OpenAlerts = ids
	}
	return filled(u)
}

// views gives all units as they are shown, by id.
func (s *Server) views() []lab.Unit {
	live := s.cfg.Live.Units()
	out := make([]lab.Unit, len(live))
	for i, u := range live {
		out[i] = s.view(u)
	}
	slices.SortFunc(out, func(a, b lab.Unit) int { return strings.Compare(a.ID, b.ID) })
	return out
}

// shownUnits gives the live socket the units as they are shown.
type shownUnits struct{ s *Server }

func (u shownUnits) Unit(id lab.UnitID) (lab.Unit, bool) { return u.s.cfg.Live.Unit(id) }

func (u shownUnits) View(unit lab.Unit) lab.Unit { return u.s.view(unit) }

func (u shownUnits) Views() []lab.Unit { return u.s.views() }

// Reload reads again what another process or a hand at the database may have
// changed, and the gates: a day may have ended, or a unit come for the first
// time.
func (u shownUnits) Reload(ctx context.Context) error {
	err := u.s.settings.load(ctx)
	u.s.gatesChanged(ctx)
	return err
}

// shownAlerts gives the live socket the store's alerts as they are shown.
type shownAlerts struct{ store Store }

func (a shownAlerts) Alerts(ctx context.Context, f lab.AlertFilter) ([]lab.Alert, error) {
	all, err := a.store.Alerts(ctx, f)
	return filled(all), err
}

func (a shownAlerts) Alert(ctx context.Context, id string) (lab.Alert, error) {
	one, err := a.store.Alert(ctx, id)
	return filled(one), err
}
