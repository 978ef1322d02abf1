package web

import (
	"context"
	"slices"
	"sync"
	"time"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

// gateDays is how far back strips bear on a gate.
const gateDays = 92

// gateBook are the gates of all units as last worked out: every unit that is
// shown carries its own. It is safe for concurrent use.
type gateBook struct {
	mu     sync.RWMutex
	byUnit map[string][]lab.StripGate
}

func (b *gateBook) of(unit string) []lab.StripGate {
	b.mu.RLock()
	defer b.mu.RUnlock()
	return b.byUnit[unit]
}

// replace takes new gates and names the units whose gates are others now.
func (b *gateBook) replace(byUnit map[string][]lab.StripGate) (changed []string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for unit, gates := range byUnit {
		if !slices.EqualFunc(gates, b.byUnit[unit], sameGate) {
			changed = append(changed, unit)
		}
	}
	b.byUnit = byUnit
	return changed
}

func sameGate(a, b lab.StripGate) bool {
	return a.Process == b.Process && a.Mix == b.Mix && a.Gate == b.Gate && a.Needs == b.Needs && a.Text == b.Text
}

// loadGates works out the gates of all units, and names those that changed.
func (s *Server) loadGates(ctx context.Context) (changed []string, err error) {
	g, err := s.gateKeeper(ctx, "")
	if err != nil {
		return nil, err
	}
	byUnit := map[string][]lab.StripGate{}
	for _, u := range s.cfg.Live.Units() {
		byUnit[u.ID] = g.ofUnit(u)
	}
	return s.gates.replace(byUnit), nil
}

// gatesChanged brings what is shown of the gates up to date after somebody
// entered something. What cannot be read now is read again later.
func (s *Server) gatesChanged(ctx context.Context) {
	changed, err := s.loadGates(ctx)
	if err != nil {
		s.log.Warn("cannot work out the gates of the control strips; trying later", "error", err)
		return
	}
	s.live.PublishUnits(s.liveUnits(changed))
}

func (s *Server) liveUnits(ids []string) []lab.Unit {
	var out []lab.Unit
	for _, id := range ids {
		if unit, err := lab.ParseUnitID(id); err == nil {
			if u, ok := s.cfg.Live.Unit(unit); ok {
				out = append(out, u)
			}
		}
	}
	return out
}

// gateKeeper has what gates are worked out of.
type gateKeeper struct {
	entries  map[string][]lab.Entry // by unit
	settings lab.StripSettings
	now      time.Time
}

// gateKeeper reads what the gates of a unit, or of all where unit is "", are
// worked out of.
func (s *Server) gateKeeper(ctx context.Context, unit string) (gateKeeper, error) {
	g := gateKeeper{entries: map[string][]lab.Entry{}}
	all, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{Unit: unit, What: []string{lab.EntryStrip, lab.EntryGate, lab.EntryTakesBack},
		Since: s.cfg.Clock.Now().AddDate(0, 0, -gateDays), Limit: maxLimit})
	if err != nil {
		return g, err
	}
	for _, e := range all {
		g.entries[e.Unit.String()] = append(g.entries[e.Unit.String()], e)
	}
	if g.settings, err = s.cfg.Store.StripSettings(ctx); err != nil {
		return g, err
	}
	settings, err := s.cfg.Store.LabSettings(ctx)
	g.now = s.cfg.Clock.Now().In(settings.Location())
	return g, err
}

// gate is that of a unit, process and mix.
func (g gateKeeper) gate(unit, process, mix string) strips.Gate {
	entries := g.entries[unit]
	var opened *strips.Opening
	if all := strips.Openings(entries, process, mix); len(all) > 0 {
		opened = &all[len(all)-1]
	}
	return strips.GateOf(strips.OfProcess(strips.Readings(entries), process, &mix), opened, slices.Contains(g.settings.Asked, process), g.now)
}

// ofUnit are the gates of a unit's processes that strips say something of, for
// the mix in use: that of the last strip.
func (g gateKeeper) ofUnit(u lab.Unit) []lab.StripGate {
	reads := strips.Readings(g.entries[u.ID])
	processes := slices.Clone(u.Processes)
	for _, r := range reads {
		if !slices.Contains(processes, r.Process) {
			processes = append(processes, r.Process)
		}
	}
	slices.Sort(processes)
	var out []lab.StripGate
	for _, p := range processes {
		mix := ""
		if mixes := strips.Mixes(strips.OfProcess(reads, p, nil)); len(mixes) > 0 {
			mix = mixes[0]
		}
		gate := g.gate(u.ID, p, mix)
		if gate.Gate == strips.GateNone {
			continue
		}
		v := lab.StripGate{Process: p, Mix: mix, Gate: gate.Gate, Needs: gate.Needs, Since: gate.OutSince, LastInAt: gate.LastInAt}
		if len(gate.Reasons) > 0 {
			v.Text = gate.Reasons[0]
		}
		out = append(out, v)
	}
	return out
}

// What a strip's job is called.
const (
	jobStrip  = "control strip"
	jobSecond = "second control strip"
)

// stopped tells whether no process of a unit may take customers' film, by its
// control strips.
func stopped(u lab.Unit) bool {
	return len(u.Processes) > 0 && !slices.ContainsFunc(u.Processes, func(p string) bool {
		return !slices.ContainsFunc(u.Gates, func(g lab.StripGate) bool { return g.Process == p && g.Gate == strips.GateStop })
	})
}

// jobs are those of the live units and the control strips that are wanted,
// soonest first. A second strip is due since the first was read; one of the
// day is due now, on units that are switched on.
func (s *Server) jobs() []lab.Job {
	out := slices.Clone(s.cfg.Live.Jobs())
	now := lab.At(s.cfg.Clock.Now())
	for _, u := range s.views() {
		if stopped(u) {
			out = slices.DeleteFunc(out, func(j lab.Job) bool { return j.Unit == u.ID && j.What == lab.JobReady })
		}
		if u.Link != lab.LinkOnline || u.Standing == lab.UnitOutOfService || u.Standing == lab.UnitRetired {
			continue
		}
		for _, g := range u.Gates {
			switch {
			case g.Needs == strips.NeedsSecond && g.Since != nil:
				out = append(out, lab.Job{Unit: u.ID, What: jobSecond, DueAt: *g.Since, Patient: true})
			case g.Needs == strips.NeedsStrip:
				out = append(out, lab.Job{Unit: u.ID, What: jobStrip, DueAt: now, Patient: true})
			}
		}
	}
	slices.SortStableFunc(out, lab.SoonestFirst)
	return out
}

// GateRequest opens a gate.
type GateRequest struct {
	Unit    string `json:"unit" maxLength:"65" doc:"The unit, lab/unit." example:"tern-street/plover"`
	Process string `json:"process" minLength:"1" maxLength:"64" doc:"The process." example:"c41"`
	Mix     string `json:"mix,omitempty" maxLength:"64" doc:"The mix. Absent: that of the last strip."`
	Reason  string `json:"reason" minLength:"1" maxLength:"1000" doc:"Why customers' film may run in spite of the strips."`
}

// gate works the gate of a unit, process and mix out of its strips.
func (s *Server) gate(ctx context.Context, unit, process, mix string) (strips.Gate, error) {
	g, err := s.gateKeeper(ctx, unit)
	if err != nil {
		return strips.Gate{}, err
	}
	return g.gate(unit, process, mix), nil
}

func (s *Server) getGate(ctx context.Context, in *struct {
	Unit    string `query:"unit" required:"true" maxLength:"65" doc:"The unit, lab/unit." example:"tern-street/plover"`
	Process string `query:"process" required:"true" maxLength:"64" doc:"The process." example:"c41"`
	Mix     string `query:"mix" maxLength:"64" doc:"The mix. Absent: that of the last strip."`
}) (*body[strips.Gate], error) {
	if err := checkUnit(in.Unit); err != nil {
		return nil, err
	}
	mix := in.Mix
	if mix == "" {
		var err error
		if mix, err = s.lastMix(ctx, in.Unit, in.Process); err != nil {
			return nil, err
		}
	}
	g, err := s.gate(ctx, in.Unit, in.Process, mix)
	return &body[strips.Gate]{g}, err
}

// lastMix is the mix of the last strip of a unit and process.
func (s *Server) lastMix(ctx context.Context, unit, process string) (string, error) {
	all, err := s.reads(ctx, unit)
	if mixes := strips.Mixes(strips.OfProcess(all, process, nil)); len(mixes) > 0 {
		return mixes[0], err
	}
	return "", err
}

func (s *Server) openGate(ctx context.Context, in *struct {
	Stating
	Body GateRequest
}) (*body[strips.Gate], error) {
	b := in.Body
	unit, err := lab.ParseUnitID(b.Unit)
	if err != nil {
		return nil, lab.Errorf(lab.KindInvalid, "body.unit: %w", err)
	}
	if _, err := s.unit(UnitPath{Lab: unit.Lab, Unit: unit.Unit}); err != nil {
		return nil, err
	}
	if b.Mix == "" {
		if b.Mix, err = s.lastMix(ctx, b.Unit, b.Process); err != nil {
			return nil, err
		}
	}
	if _, err := s.enter(ctx, in.Key, nil, lab.Entry{Unit: unit, What: lab.EntryGate}, lab.GateOpening{Process: b.Process, Mix: b.Mix, Reason: b.Reason}); err != nil {
		return nil, err
	}
	s.gatesChanged(ctx)
	g, err := s.gate(ctx, b.Unit, b.Process, b.Mix)
	return &body[strips.Gate]{g}, err
}
