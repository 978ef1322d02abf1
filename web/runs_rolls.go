package web

import (
	"context"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// RollRequest is a roll of film as it is loaded or scanned.
type RollRequest struct {
	TwinCheck string     `json:"twin_check" maxLength:"64" doc:"Its twin check, 1 to 32 digits and letters; capitals or not." example:"48213"`
	Process   string     `json:"process,omitempty" maxLength:"64" doc:"The process it is for. Missing: whatever is loaded." example:"c41"`
	Push      float64    `json:"push,omitempty" minimum:"-6" maximum:"6" doc:"The push it is for, stops."`
	Film      string     `json:"film,omitempty" maxLength:"64" doc:"What film it is."`
	Format    string     `json:"format,omitempty" maxLength:"32" doc:"135, 120 and so on."`
	Order     string     `json:"order,omitempty" maxLength:"64" doc:"The customer's order."`
	DueAt     *time.Time `json:"due_at,omitempty" doc:"When it is promised."`
	Note      string     `json:"note,omitempty" maxLength:"1000" doc:"What else is to be known."`
}

// RollsRequest adds rolls to a run or takes them out.
type RollsRequest struct {
	Add    []RollRequest `json:"add,omitempty" maxItems:"200" doc:"Rolls that are in it too. One that is there is described anew."`
	Rolls  []RollRequest `json:"rolls,omitempty" maxItems:"200" doc:"The same as add."`
	Remove []string      `json:"remove,omitempty" maxItems:"200" doc:"Twin checks of rolls that are not in it."`
}

func (s *Server) changeRolls(ctx context.Context, in *struct {
	RunPath
	Stating
	Body RollsRequest
}) (*body[lab.Run], error) {
	add, err := rollsOf(append(in.Body.Add, in.Body.Rolls...), "body.add")
	if err != nil {
		return nil, err
	}
	remove, err := twinChecks(in.Body.Remove, "body.remove")
	if err != nil {
		return nil, err
	}
	if len(add)+len(remove) == 0 {
		return nil, lab.Errorf(lab.KindInvalid, "body: nothing to change; give rolls in add, or twin checks in remove")
	}
	for _, r := range add {
		if slices.Contains(remove, r.TwinCheck) {
			return nil, lab.Errorf(lab.KindInvalid, "body: roll %s is in add and in remove; name it in one of them", r.TwinCheck)
		}
	}
	return s.enteredOfRun(ctx, in.Key, in.ID, lab.EntryRolls, lab.RollsChange{Add: add, Remove: remove})
}

// rollsOf checks rolls as they were sent and gives them as they are kept.
func rollsOf(sent []RollRequest, where string) ([]lab.Roll, error) {
	var rolls []lab.Roll
	seen := map[string]int{}
	for i, r := range sent {
		check, err := lab.TwinCheck(r.TwinCheck)
		if err != nil {
			return nil, lab.Errorf(lab.KindInvalid, "%s[%d]: %w", where, i, err)
		}
		if first, ok := seen[check]; ok {
			return nil, lab.Errorf(lab.KindInvalid, "%s[%d]: roll %s is there already, as number %d; name each roll once", where, i, check, first+1)
		}
		seen[check] = i
		roll := lab.Roll{TwinCheck: check, Process: strings.TrimSpace(r.Process), Push: r.Push, Film: strings.TrimSpace(r.Film),
			Format: strings.TrimSpace(r.Format), Order: strings.TrimSpace(r.Order), Note: strings.TrimSpace(r.Note)}
		if r.DueAt != nil {
			roll.DueAt = lab.AtPtr(*r.DueAt)
		}
		rolls = append(rolls, roll)
	}
	return rolls, nil
}

func twinChecks(sent []string, where string) ([]string, error) {
	var checks []string
	for i, s := range sent {
		check, err := lab.TwinCheck(s)
		if err != nil {
			return nil, lab.Errorf(lab.KindInvalid, "%s[%d]: %w", where, i, err)
		}
		if !slices.Contains(checks, check) {
			checks = append(checks, check)
		}
	}
	return checks, nil
}
