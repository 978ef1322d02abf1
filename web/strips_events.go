package web

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

// StripEvent is something on the time line that may have moved the plots.
type StripEvent struct {
	At   lab.Time `json:"at"`
	What string   `json:"what" doc:"mix, code, probe, house-aim, developer, note, strip-gate or sheet."`
	Text string   `json:"text" doc:"In words."`
}

// stripEvents are what people did to the unit that may have moved the plots:
// mixes, probe checks, sheets, moves.
func (s *Server) stripEvents(ctx context.Context, unit lab.UnitID, reads []strips.Reading, from, to time.Time) ([]StripEvent, error) {
	out := []StripEvent{}
	for i, r := range reads {
		if i > 0 && r.Mix != reads[i-1].Mix {
			out = append(out, StripEvent{r.At, "mix", "New mix: " + orUnnamed(r.Mix)})
		}
		if i > 0 && r.Code != reads[i-1].Code {
			out = append(out, StripEvent{r.At, "code", "New box of strips: code " + orUnnamed(r.Code)})
		}
	}
	entries, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{Unit: unit.String(), Limit: maxLimit,
		What: []string{lab.EntryProbe, lab.EntryHouseAim, lab.EntryDeveloper, lab.EntryNote, lab.EntryGate, lab.EntryTakesBack}})
	if err != nil {
		return nil, err
	}
	for _, e := range lab.InForce(entries) {
		out = append(out, StripEvent{lab.At(e.At), e.What, eventText(e)})
	}
	changes, err := s.cfg.Store.SettingChanges(ctx, "", defaultLimit)
	if err != nil {
		return nil, err
	}
	for _, c := range changes {
		if strings.HasPrefix(c.Key, "sheet") {
			out = append(out, StripEvent{c.At, "sheet", "Process sheet changed by " + c.By})
		}
	}
	out = slices.DeleteFunc(out, func(e StripEvent) bool { return e.At.Before(from) || !e.At.Before(to) })
	slices.SortStableFunc(out, func(a, b StripEvent) int { return a.At.Compare(b.At.Time) })
	return out, nil
}

func orUnnamed(s string) string {
	if s == "" {
		return "not named"
	}
	return s
}

func eventText(e lab.Entry) string {
	switch e.What {
	case lab.EntryProbe:
		var p lab.ProbeCheck
		_ = json.Unmarshal(e.Body, &p) // the store checked it
		return fmt.Sprintf("Probe checked: %+.2f °C", p.OffsetC)
	case lab.EntryHouseAim:
		return "House aim changed by " + e.By
	case lab.EntryDeveloper:
		return "Developer changed by " + e.By
	case lab.EntryGate:
		return "Gate opened by " + e.By
	}
	var n lab.Note
	_ = json.Unmarshal(e.Body, &n)
	return n.Text
}
