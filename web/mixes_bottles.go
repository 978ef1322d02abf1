package web

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/chemistry"
	"wetside/internal/lab"
	"wetside/web/load"
)

// BottleRequest puts a mix at a position of a unit.
type BottleRequest struct {
	Mix      string     `json:"mix" maxLength:"64" doc:"The mix's label; empty: what stands at the position is not known from now on." example:"MIX-7QK2F"`
	Position string     `json:"position,omitempty" maxLength:"128" doc:"What the unit draws from; absent: the solution's own, process/step." example:"c41/developer"`
	At       *time.Time `json:"at,omitempty" doc:"Since when it stands there; absent: now. What ran since then is counted to it."`
}

// BottleList answers GET /units/{lab}/{unit}/bottles.
type BottleList struct {
	Bottles []BottleView `json:"bottles" doc:"The unit's positions by process and step, and any other that a mix stands at."`
}

// BottleView is a position of a unit with what stands there.
type BottleView struct {
	Position string              `json:"position" doc:"What the unit draws from."`
	Name     string              `json:"name" doc:"What people call the solution."`
	Mix      string              `json:"mix" doc:"The mix; empty: not known."`
	Text     string              `json:"text" doc:"The mix in words; empty: not known."`
	Since    *lab.Time           `json:"since" doc:"Since when it stands there; null: not known."`
	State    *chemistry.MixState `json:"state" doc:"How the mix stands; null: not known."`
}

func (s *Server) bottleRoutes(op func(id, method, path, summary, text string, more ...int) huma.Operation) {
	const path = "/units/{lab}/{unit}/bottles"
	register(s, lab.RoleViewer, op("list-bottles", http.MethodGet, path, "Which mix stands where on a unit", "", http.StatusNotFound), s.listBottles)
	put := op("put-bottle", http.MethodPost, path, "A bottle was put at a position",
		"Scan the bottle, then the unit. Which mix each step used is worked out of this, and is in the record of each run. Undone like any entry.", http.StatusNotFound, http.StatusConflict)
	put.DefaultStatus = http.StatusCreated
	register(s, lab.RoleOperator, put, s.putBottle)
}

func (s *Server) putBottle(ctx context.Context, in *struct {
	UnitPath
	Stating
	Body BottleRequest
}) (*body[EntryView], error) {
	if _, err := s.unit(in.UnitPath); err != nil {
		return nil, err
	}
	b := lab.Bottle{Position: strings.TrimSpace(in.Body.Position)}
	if strings.TrimSpace(in.Body.Mix) == "" {
		if b.Position == "" {
			return nil, lab.Errorf(lab.KindInvalid, "body: mix is missing; give the label of the bottle, or the position of which nothing is known")
		}
		return s.entered(ctx, in.Key, in.Body.At, lab.Entry{Unit: in.id(), What: lab.EntryBottle}, b)
	}
	k, err := s.mixKeeper(ctx)
	if err != nil {
		return nil, err
	}
	lines, err := k.find(in.Body.Mix)
	if err != nil {
		return nil, err
	}
	last := lines[len(lines)-1]
	m := lab.LineBody[lab.Mix](last)
	b.Position = cmp.Or(b.Position, m.Solution)
	switch {
	case m.Withdrawn != "":
		return nil, lab.Errorf(lab.KindConflict, "mix %s is withdrawn: %s. Take another", last.ID, m.Withdrawn)
	case m.Done:
		return nil, lab.Errorf(lab.KindConflict, "mix %s is marked used up or discarded. Take another, or have a lead restore it", last.ID)
	case otherSolution(b.Position, m.Solution):
		return nil, lab.Errorf(lab.KindConflict, "mix %s is %s; position %s draws another solution. Look at the bottle", last.ID, s.solutionName(m.Solution), b.Position)
	}
	b.Mix, b.Name, b.Lot, b.MixedAt, b.MixedBy = last.ID, m.Name, m.Lot, &last.At, m.MixedBy
	return s.entered(ctx, in.Key, in.Body.At, lab.Entry{Unit: in.id(), What: lab.EntryBottle}, b)
}

// otherSolution tells whether a position is that of another step. One fixer may
// serve two processes; a position by another name is the lab's own.
func otherSolution(position, solution string) bool {
	_, at, err := lab.SolutionOf(position)
	_, is, _ := lab.SolutionOf(solution)
	return err == nil && at != is
}

func (s *Server) listBottles(ctx context.Context, in *UnitPath) (*body[BottleList], error) {
	u, err := s.unit(*in)
	if err != nil {
		return nil, err
	}
	k, err := s.mixKeeper(ctx)
	if err != nil {
		return nil, err
	}
	standing := k.positions.OfUnit(u.ID, k.now)
	ids := []string{}
	for _, x := range standing {
		ids = append(ids, x.Bottle.Mix)
	}
	met, err := s.metOf(ctx, k, ids)
	if err != nil {
		return nil, err
	}
	out := BottleList{Bottles: []BottleView{}}
	for _, position := range s.positionsOf(u, standing) {
		v := BottleView{Position: position, Name: s.solutionName(position)}
		if b, since, ok := k.positions.At(u.ID, position, k.now); ok {
			v.Mix, v.Text, v.Since = b.Mix, b.MixWords(), lab.AtPtr(since)
			if m, mixedAt, known := k.mix(b.Mix); known {
				st := chemistry.StateOf(m, mixedAt, useOf(met[b.Mix]), 0, chemistry.LimitOf(m.Solution, k.settings), k.now)
				v.State = &st
			}
		}
		out.Bottles = append(out.Bottles, v)
	}
	return &body[BottleList]{out}, nil
}

// positionsOf are the positions of a unit: those of its processes' chemical
// steps, and others that a mix stands at.
func (s *Server) positionsOf(u lab.Unit, standing []chemistry.Standing) []string {
	var out []string
	for _, p := range u.Processes {
		out = append(out, s.solutionsOf(p)...)
	}
	for _, x := range standing {
		if !slices.Contains(out, x.Position) {
			out = append(out, x.Position)
		}
	}
	return out
}

// solutionsOf are the solutions of a process: its steps but the washes.
func (s *Server) solutionsOf(process string) (out []string) {
	sheet, ok := s.book().Sheet(process)
	if !ok {
		return nil
	}
	for _, st := range sheet.Steps {
		if !st.Wash {
			out = append(out, process+"/"+st.ID)
		}
	}
	return out
}

// chemistryAt is what a load is judged by: the mixes at the unit's positions of
// its process, each with what would have gone through it with this load.
func (s *Server) chemistryAt(ctx context.Context, unit string, loaded lab.Load) (c load.Chemistry, err error) {
	k, err := s.mixKeeper(ctx)
	if err != nil || !k.used() {
		return c, err
	}
	c.Settings = k.settings
	var here []chemistry.Standing
	var ids []string
	for _, x := range k.positions.OfUnit(unit, k.now) {
		if strings.HasPrefix(x.Position, loaded.Process+"/") {
			here, ids = append(here, x), append(ids, x.Bottle.Mix)
		}
	}
	met, err := s.metOf(ctx, k, ids)
	if err != nil {
		return c, err
	}
	more, _ := chemistry.RollEquivalents(loaded.Rolls)
	for _, x := range here {
		m, mixedAt, known := k.mix(x.Bottle.Mix)
		if !known {
			continue
		}
		use := useOf(met[x.Bottle.Mix])
		state := chemistry.StateOf(m, mixedAt, use, more, chemistry.LimitOf(m.Solution, k.settings), k.now)
		c.At = append(c.At, load.Bottle{Position: x.Position, Label: x.Bottle.Mix, State: state, Use: use})
	}
	return c, nil
}
