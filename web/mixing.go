package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/chemistry"
	"wetside/internal/lab"
)

// MixingHelp answers GET /mixing.
type MixingHelp struct {
	Solutions []SolutionView      `json:"solutions" doc:"What can be mixed: the chemical steps of the process sheets."`
	Waiting   []chemistry.MixNeed `json:"waiting" doc:"What the rolls that wait will take, for each solution with a volume a roll-equivalent."`
	Unsaid    int                 `json:"unsaid" doc:"Rolls that wait of which nobody said the process: they are not in it."`
}

// SolutionView is a solution that can be mixed.
type SolutionView struct {
	Solution string                `json:"solution" example:"c41/developer"`
	Name     string                `json:"name" doc:"What people call it."`
	Ways     []chemistry.MixingWay `json:"ways" doc:"How to mix the volume asked for: published tables and the lab's recipes. Empty: none is known; the maker's leaflet says."`
}

// ChemistryView is what mixes are judged by.
type ChemistryView struct {
	lab.ChemistrySettings
	Published []lab.MixLimit `json:"published" doc:"Limits that a source gives: used for a solution of which the lab has set none."`
}

func (s *Server) mixingRoutes() {
	op := func(id, method, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: method, Path: path, Tags: []string{"mixes"}, Summary: summary, Description: text}
	}
	register(s, lab.RoleViewer, op("mixing-help", http.MethodGet, "/mixing", "How much of each part for a batch, and what to mix for what waits",
		"Volumes by the published one-shot table of E-6 and by the lab's recipes. What waits: the rolls on the list that are in no run, by the lab's mL a roll-equivalent."), s.mixingHelp)
	register(s, lab.RoleViewer, op("get-chemistry", http.MethodGet, "/chemistry", "Limits for mixes, and recipes", "The lab's own, and the few that a source gives."),
		func(ctx context.Context, _ *struct{}) (*body[ChemistryView], error) {
			settings, err := s.cfg.Store.ChemistrySettings(ctx)
			return &body[ChemistryView]{ChemistryView{settings, chemistry.Published()}}, err
		})
	register(s, lab.RoleLead, op("set-chemistry", http.MethodPut, "/chemistry", "Change limits for mixes, and recipes", "The whole of it. Loads are judged by it from now on; sealed records stay."),
		func(ctx context.Context, in *struct{ Body lab.ChemistrySettings }) (*body[ChemistryView], error) {
			if err := s.cfg.Store.SetChemistrySettings(ctx, in.Body, identityOf(ctx).Name); err != nil {
				return nil, err
			}
			return &body[ChemistryView]{ChemistryView{in.Body, chemistry.Published()}}, nil
		})
}

func (s *Server) mixingHelp(ctx context.Context, in *struct {
	ML float64 `query:"ml" default:"1000" minimum:"1" maximum:"200000" doc:"How much to mix, milliliters."`
}) (*body[MixingHelp], error) {
	settings, err := s.cfg.Store.ChemistrySettings(ctx)
	if err != nil {
		return nil, err
	}
	waiting, err := s.cfg.Store.WaitingRolls(ctx, maxLimit)
	if err != nil {
		return nil, err
	}
	out := MixingHelp{Solutions: []SolutionView{}}
	for _, id := range s.book().IDs() {
		for _, solution := range s.solutionsOf(id) {
			out.Solutions = append(out.Solutions, SolutionView{solution, s.solutionName(solution), chemistry.Ways(solution, in.ML, settings.Recipes)})
		}
	}
	out.Waiting, out.Unsaid = chemistry.Waiting(waiting, settings, s.inBottles())
	return &body[MixingHelp]{out}, nil
}

// inBottles is what the bottles of all units in service hold, mL by solution;
// what one unit does not know leaves the solution out.
func (s *Server) inBottles() map[string]float64 {
	have, unknown := map[string]float64{}, map[string]bool{}
	for _, u := range s.views() {
		if u.Standing == lab.UnitRetired || u.Standing == lab.UnitOutOfService {
			continue
		}
		for _, c := range u.Containers {
			if c.Role != lab.RoleBottle {
				continue
			}
			if c.Litres == nil {
				unknown[c.Name] = true
				continue
			}
			have[c.Name] += *c.Litres * 1000
		}
	}
	for name := range unknown {
		delete(have, name)
	}
	return have
}
