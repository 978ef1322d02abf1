package web

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"

	"wetside/internal/lab"
)

// MixRolls is every roll that met a mix.
type MixRolls struct {
	Mix       string       `json:"mix" doc:"The mix."`
	Withdrawn string       `json:"withdrawn" doc:"Why it was withdrawn; empty: it is not."`
	Runs      []MixRun     `json:"runs" doc:"Runs that used it, oldest first."`
	Orders    []StripOrder `json:"orders" doc:"Their rolls by customers' orders, the order that is due first before the others; rolls without an order last."`
	Rolls     int          `json:"rolls" doc:"How many rolls there are; a roll that went through twice counts once."`
	Unscanned int          `json:"unscanned" doc:"Runs with film of which no roll was scanned: whose film met it there is not known."`
}

// MixRun is a run that used a mix.
type MixRun struct {
	ID        string        `json:"id" doc:"The id of the run."`
	Unit      string        `json:"unit"`
	Run       string        `json:"run" doc:"The unit's own name of it."`
	Process   string        `json:"process"`
	Push      float64       `json:"push"`
	Kind      string        `json:"kind" enum:"film,strip,flush,water,prime" doc:"What ran."`
	StartedAt lab.Time      `json:"started_at"`
	EndedAt   *lab.Time     `json:"ended_at"`
	Outcome   string        `json:"outcome" enum:"running,done,aborted,lost"`
	Verdict   *string       `json:"verdict" enum:"in-control,inspect,out-of-control"`
	Steps     []string      `json:"steps" doc:"The steps that drew from it."`
	Sure      bool          `json:"sure" doc:"False: it may have used it; the step was not received, or the bottle was changed while it went on."`
	Rolls     []lab.Roll    `json:"rolls"`
	Decision  *lab.Decision `json:"decision"`
}

func (s *Server) mixRolls(ctx context.Context, in *MixPath) (*body[MixRolls], error) {
	out, err := s.metBy(ctx, in.ID)
	return &body[MixRolls]{out}, err
}

func (s *Server) metBy(ctx context.Context, id string) (MixRolls, error) {
	k, err := s.mixKeeper(ctx)
	if err != nil {
		return MixRolls{}, err
	}
	lines, err := k.find(id)
	if err != nil {
		return MixRolls{}, err
	}
	id = lines[0].ID
	out := MixRolls{Mix: id, Withdrawn: lab.LineBody[lab.Mix](lines[len(lines)-1]).Withdrawn, Runs: []MixRun{}}
	met, err := s.metOf(ctx, k, []string{id})
	if err != nil {
		return out, err
	}
	var all []lab.Roll
	for _, m := range met[id] {
		r := m.run
		x := MixRun{ID: r.ID, Unit: r.Unit, Run: r.Run, Process: r.Process, Push: r.Push, Kind: r.Kind, StartedAt: r.StartedAt, EndedAt: r.EndedAt,
			Outcome: r.Outcome, Verdict: r.Verdict, Steps: []string{}, Sure: m.sure(), Rolls: append([]lab.Roll{}, r.Rolls...), Decision: r.Decision}
		for _, u := range m.uses {
			if !slices.Contains(x.Steps, u.Step) {
				x.Steps = append(x.Steps, u.Step)
			}
		}
		for _, roll := range r.Rolls {
			if !slices.ContainsFunc(all, func(o lab.Roll) bool { return sameCheck(o.TwinCheck, roll.TwinCheck) && o.Order == roll.Order }) {
				all = append(all, roll)
			}
		}
		if len(r.Rolls) == 0 && (r.Kind == "" || r.Kind == lab.KindOfRunFilm) {
			out.Unscanned++
		}
		out.Runs = append(out.Runs, x)
	}
	out.Orders, out.Rolls = ordersOfRolls(all), len(all)
	return out, nil
}

var mixRollColumns = []string{"mix", "twin_check", "order", "due_at", "unit", "run", "run_id", "started_at", "process", "push", "steps", "sure", "verdict", "decision"}

func (s *Server) mixRollsCSV(ctx context.Context, in *MixPath) (*download, error) {
	met, err := s.metBy(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	rows := [][]string{mixRollColumns}
	for _, r := range met.Runs {
		rolls := r.Rolls
		if len(rolls) == 0 {
			rolls = []lab.Roll{{}}
		}
		for _, roll := range rolls {
			due, verdict, decision := "", "", ""
			if roll.DueAt != nil {
				due = roll.DueAt.String()
			}
			if r.Verdict != nil {
				verdict = *r.Verdict
			}
			if d := (&lab.Run{Decision: r.Decision}).DecisionFor(roll); d != nil {
				decision = d.Decision
			}
			rows = append(rows, []string{met.Mix, lab.CSVText(roll.TwinCheck), lab.CSVText(roll.Order), due, r.Unit, lab.CSVText(r.Run), r.ID, r.StartedAt.String(),
				lab.CSVText(r.Process), fmt.Sprintf("%g", r.Push), lab.CSVText(strings.Join(r.Steps, ", ")), boolWord(r.Sure), verdict, decision})
		}
	}
	return csvFile(met.Mix+"-rolls.csv", rows)
}

// csvFile is a table as a file, RFC 4180.
func csvFile(name string, rows [][]string) (*download, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	if err := w.WriteAll(rows); err != nil {
		return nil, err
	}
	return &download{"text/csv; charset=utf-8", fmt.Sprintf("attachment; filename=%q", name), b.Bytes()}, nil
}
