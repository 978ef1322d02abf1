package web

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/chemistry"
	"wetside/internal/lab"
)

// Books is the part of the store that keeps what the lab writes by hand.
type Books interface {
	WriteLine(ctx context.Context, l lab.BookLine) (lab.BookLine, error)
	Lines(ctx context.Context, book string) ([][]lab.BookLine, error) // each with all its versions
	ChemistrySettings(ctx context.Context) (lab.ChemistrySettings, error)
	SetChemistrySettings(ctx context.Context, s lab.ChemistrySettings, by string) error
}

// MixView is a mix with where it stands and what went through it.
type MixView struct {
	ID string `json:"id" doc:"Its label." example:"MIX-7QK2F"`
	lab.Mix
	Version      int                `json:"version" doc:"How often it was written: a correction names the version that it corrects."`
	MixedAt      lab.Time           `json:"mixed_at" doc:"When it was mixed."`
	SolutionName string             `json:"solution_name" doc:"What people call the solution."`
	State        chemistry.MixState `json:"state"`
	Use          chemistry.MixUse   `json:"use"`
	Limit        lab.MixLimit       `json:"limit" doc:"Its limits; with no figure where there are none."`
	LimitFrom    string             `json:"limit_standing" doc:"the lab's own, or published; empty: no limit."`
	At           []MixPlace         `json:"at" doc:"Where it stands now."`
	Strip        *MixStrip          `json:"strip" doc:"The last control strip that was read of it; null: none."`
	History      []MixVersion       `json:"history" doc:"Every version, the first first."`
}

// MixPlace is a position at which a mix stands.
type MixPlace struct {
	Unit     string   `json:"unit"`
	Position string   `json:"position" doc:"What the unit draws from."`
	Since    lab.Time `json:"since"`
}

// MixStrip is how the last control strip of a mix stood.
type MixStrip struct {
	ReadAt lab.Time `json:"read_at" doc:"When it was read."`
	Status string   `json:"standing" enum:"in,action,out,unjudged" doc:"in: within the action limits. action: beyond one. out: beyond a control limit. unjudged: there is nothing yet to judge it by."`
}

// MixVersion is one writing of a mix.
type MixVersion struct {
	lab.BookLine
	lab.Mix
}

// MixList answers GET /mixes.
type MixList struct {
	Used  bool      `json:"used" doc:"The lab uses mixes: one was written, or a limit was set. Until then nothing is asked of them anywhere."`
	Mixes []MixView `json:"mixes" doc:"Those in use first, then the newest."`
}

// MixRequest is a mix as it is written.
type MixRequest struct {
	lab.Mix
	MixedAt *time.Time `json:"mixed_at,omitempty" doc:"When it was mixed; absent: now."`
}

// MixCorrection corrects a mix.
type MixCorrection struct {
	MixRequest
	Version int    `json:"version" minimum:"1" doc:"The version that is corrected."`
	Why     string `json:"why" minLength:"1" maxLength:"200" doc:"Why it is corrected."`
}

// MixMark marks a mix.
type MixMark struct {
	Reason string `json:"reason" minLength:"1" maxLength:"1000" doc:"Why."`
}

// MixPath is a mix in a path.
type MixPath struct {
	ID string `path:"mix" maxLength:"64" doc:"The mix's label; capitals or not." example:"MIX-7QK2F"`
}

func (s *Server) mixRoutes() {
	op := func(id, method, path, summary, text string, more ...int) huma.Operation {
		return huma.Operation{OperationID: id, Method: method, Path: path, Tags: []string{"mixes"}, Summary: summary, Description: text, Errors: more}
	}
	register(s, lab.RoleViewer, op("list-mixes", http.MethodGet, "/mixes", "Mixes, those in use first",
		"Each with where it stands, its age and the roll-equivalents that went through it, beside the lab's limits."), s.listMixes)
	write := op("add-mix", http.MethodPost, "/mixes", "A mix was made", "It gets a label that no roll has: stick it on the bottle.")
	write.DefaultStatus = http.StatusCreated
	register(s, lab.RoleOperator, write, s.addMix)
	register(s, lab.RoleViewer, op("get-mix", http.MethodGet, "/mixes/{mix}", "One mix", "With every version of what was written of it.", http.StatusNotFound),
		func(ctx context.Context, in *MixPath) (*body[MixView], error) { return s.oneMix(ctx, in.ID) })
	register(s, lab.RoleOperator, op("correct-mix", http.MethodPut, "/mixes/{mix}", "Correct a mix",
		"The whole of it. What stood there before stays in its history, with the reason.", http.StatusNotFound, http.StatusConflict), s.correctMix)
	mark := func(id, what, role, summary, text string, change func(*lab.Mix, string)) {
		register(s, role, op(id, http.MethodPost, "/mixes/{mix}/"+what, summary, text, http.StatusNotFound, http.StatusConflict),
			func(ctx context.Context, in *struct {
				MixPath
				Body MixMark
			}) (*body[MixView], error) {
				return s.markMix(ctx, in.ID, strings.TrimSpace(in.Body.Reason), func(m *lab.Mix) { change(m, strings.TrimSpace(in.Body.Reason)) })
			})
	}
	mark("withdraw-mix", "withdraw", lab.RoleOperator, "Withdraw a mix",
		"It must not be used any more: a unit whose bottle it stands in gets STOP. GET /mixes/{mix}/rolls lists every roll that met it.",
		func(m *lab.Mix, why string) { m.Withdrawn = why })
	mark("restore-mix", "restore", lab.RoleLead, "A withdrawn mix may be used after all", "The reason stays in its history.",
		func(m *lab.Mix, _ string) { m.Withdrawn, m.Done = "", false })
	mark("finish-mix", "finish", lab.RoleOperator, "A mix is used up or discarded", "It leaves the list of those in use.",
		func(m *lab.Mix, _ string) { m.Done = true })
	register(s, lab.RoleViewer, op("list-mix-rolls", http.MethodGet, "/mixes/{mix}/rolls", "Every roll that met a mix",
		"Runs that used it, oldest first, with their rolls and orders; runs that may have used it, where a step was not received, are among them and say so. Worked out anew from the stored runs each time: what was imported or came late is in it.", http.StatusNotFound), s.mixRolls)
	table := op("mix-rolls-csv", http.MethodGet, "/mixes/{mix}/rolls.csv", "Every roll that met a mix, as CSV", "A row a roll; a run of which no roll was scanned has one row.", http.StatusNotFound)
	table.Responses = fileResponse("text/csv")
	register(s, lab.RoleViewer, table, s.mixRollsCSV)
	s.bottleRoutes(op)
}

func (s *Server) listMixes(ctx context.Context, _ *struct{}) (*body[MixList], error) {
	k, err := s.mixKeeper(ctx)
	if err != nil {
		return nil, err
	}
	out := MixList{Used: k.used(), Mixes: []MixView{}}
	met, err := s.metOf(ctx, k, k.active())
	if err != nil {
		return nil, err
	}
	reads, err := s.reads(ctx, "")
	if err != nil {
		return nil, err
	}
	for _, lines := range k.lines {
		out.Mixes = append(out.Mixes, s.viewMix(k, lines, met, reads))
	}
	slices.SortStableFunc(out.Mixes, func(a, b MixView) int {
		return cmp.Or(min(1, len(b.At))-min(1, len(a.At)), b.MixedAt.Compare(a.MixedAt.Time))
	})
	return &body[MixList]{out}, nil
}

// oneMix gives one mix, whether it is in use or not.
func (s *Server) oneMix(ctx context.Context, id string) (*body[MixView], error) {
	k, err := s.mixKeeper(ctx)
	if err != nil {
		return nil, err
	}
	lines, err := k.find(id)
	if err != nil {
		return nil, err
	}
	met, err := s.metOf(ctx, k, []string{lines[0].ID})
	if err != nil {
		return nil, err
	}
	reads, err := s.reads(ctx, "")
	return &body[MixView]{s.viewMix(k, lines, met, reads)}, err
}

func (s *Server) addMix(ctx context.Context, in *struct {
	Stating
	Body MixRequest
}) (*body[MixView], error) {
	who := identityOf(ctx).Name
	id := newLabel(in.Key, who)
	if err := s.writeMix(ctx, lab.BookLine{ID: id, Version: 1, By: who}, in.Body); err != nil {
		return nil, err
	}
	return s.oneMix(ctx, id)
}

func (s *Server) correctMix(ctx context.Context, in *struct {
	MixPath
	Body MixCorrection
}) (*body[MixView], error) {
	k, err := s.mixKeeper(ctx)
	if err != nil {
		return nil, err
	}
	lines, err := k.find(in.ID)
	if err != nil {
		return nil, err
	}
	last := lines[len(lines)-1]
	was := lab.LineBody[lab.Mix](last)
	in.Body.Withdrawn, in.Body.Done = was.Withdrawn, was.Done // marks are set by their own calls
	if in.Body.MixedAt == nil {
		in.Body.MixedAt = &last.At.Time
	}
	line := lab.BookLine{ID: last.ID, Version: in.Body.Version + 1, By: identityOf(ctx).Name, Why: strings.TrimSpace(in.Body.Why)}
	if err := s.writeMix(ctx, line, in.Body.MixRequest); err != nil {
		return nil, err
	}
	return s.oneMix(ctx, last.ID)
}

func (s *Server) markMix(ctx context.Context, id, why string, change func(*lab.Mix)) (*body[MixView], error) {
	k, err := s.mixKeeper(ctx)
	if err != nil {
		return nil, err
	}
	lines, err := k.find(id)
	if err != nil {
		return nil, err
	}
	last := lines[len(lines)-1]
	m := lab.LineBody[lab.Mix](last)
	was := m.Withdrawn + "\x00" + boolWord(m.Done)
	change(&m)
	if was == m.Withdrawn+"\x00"+boolWord(m.Done) {
		return s.oneMix(ctx, last.ID) // it is so already
	}
	line := lab.BookLine{ID: last.ID, Version: last.Version + 1, By: identityOf(ctx).Name, Why: why}
	if err := s.writeMix(ctx, line, MixRequest{m, &last.At.Time}); err != nil {
		return nil, err
	}
	return s.oneMix(ctx, last.ID)
}

func boolWord(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// writeMix writes a mix into the book.
func (s *Server) writeMix(ctx context.Context, line lab.BookLine, in MixRequest) error {
	m := in.Mix
	m.Solution, m.Lot, m.Name = strings.TrimSpace(m.Solution), strings.TrimSpace(m.Lot), strings.TrimSpace(m.Name)
	m.MixedBy = cmp.Or(strings.TrimSpace(m.MixedBy), identityOf(ctx).Name)
	if line.Version == 1 {
		m.Withdrawn, m.Done = "", false
	}
	if err := m.Check(); err != nil {
		return err
	}
	line.Book, line.At = lab.BookMixes, lab.At(s.cfg.Clock.Now())
	if in.MixedAt != nil {
		if now := s.cfg.Clock.Now(); in.MixedAt.After(now.Add(time.Minute)) {
			return lab.Errorf(lab.KindInvalid, "mixed_at (%s) is still to come; it is %s now", lab.At(*in.MixedAt), lab.At(now))
		}
		line.At = lab.At(*in.MixedAt)
	}
	b, err := json.Marshal(m)
	if err != nil {
		return err
	}
	line.Body = b
	_, err = s.cfg.Store.WriteLine(ctx, line)
	return err
}
