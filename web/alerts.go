package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// AlertActions carries out what people do with alerts. An alert that is not
// there is KindNotFound, one that cannot be treated so KindConflict.
type AlertActions interface {
	Acknowledge(ctx context.Context, id, by, note string) (lab.Alert, error)
	Shelve(ctx context.Context, id, by string, minutes int, reason string) (lab.Alert, error)
	Unshelve(ctx context.Context, id, by string) (lab.Alert, error)
}

// AlertList answers GET /alerts.
type AlertList struct {
	Alerts []lab.Alert `json:"alerts"`
}

// AlertDetail is an alert with its history.
type AlertDetail struct {
	lab.Alert
	History []AlertHistory `json:"history"`
}

// AlertHistory is one entry of an alert's history, oldest first.
type AlertHistory struct {
	At         lab.Time `json:"at" doc:"When wetside recorded it."`
	What       string   `json:"what" doc:"What happened: raised, returned, cleared, acknowledged, shelved, unshelved, withdrawn, closed, priority."`
	Occurrence int      `json:"occurrence"`
	By         string   `json:"by,omitempty" doc:"Who did it."`
	Note       string   `json:"note,omitempty"`
}

// AcknowledgeRequest goes with an acknowledgement.
type AcknowledgeRequest struct {
	Note string `json:"note,omitempty" maxLength:"1000" doc:"What was found or done."`
}

// ShelveRequest shelves an alert for a while.
type ShelveRequest struct {
	Minutes int    `json:"minutes" minimum:"1" doc:"For how long, in minutes."`
	Reason  string `json:"reason" minLength:"1" maxLength:"1000" doc:"Why it may wait."`
}

type AlertPath struct {
	ID string `path:"id" doc:"The alert's id."`
}

func (s *Server) alertRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-alerts", Method: http.MethodGet, Path: "/alerts", Tags: []string{"alerts"},
		Summary: "Alerts, newest first", Description: "Open means not closed.",
	}, s.listAlerts)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-alert", Method: http.MethodGet, Path: "/alerts/{id}", Tags: []string{"alerts"},
		Summary: "One alert and its history", Description: "The history is append-only and oldest first.",
		Errors: []int{http.StatusNotFound},
	}, s.getAlert)
	change := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{
			OperationID: id, Method: http.MethodPost, Path: path, Tags: []string{"alerts"},
			Summary: summary, Description: text,
			Errors: []int{http.StatusNotFound, http.StatusConflict},
		}
	}
	register(s, lab.RoleOperator, change("acknowledge-alert", "/alerts/{id}/acknowledge", "Acknowledge an alert",
		"A cleared alert is then closed; one that lasts stays open until it clears."),
		func(ctx context.Context, in *struct {
			AlertPath
			Body *AcknowledgeRequest
		}) (*body[lab.Alert], error) {
			note := ""
			if in.Body != nil {
				note = in.Body.Note
			}
			return s.changed(s.cfg.Actions.Acknowledge(ctx, in.ID, identityOf(ctx).Name, note))
		})
	register(s, lab.RoleOperator, change("shelve-alert", "/alerts/{id}/shelve", "Shelve an alert for a while",
		"A shelved alert pages nobody until its time has ended. Its state goes on meanwhile."),
		func(ctx context.Context, in *struct {
			AlertPath
			Body ShelveRequest
		}) (*body[lab.Alert], error) {
			if strings.TrimSpace(in.Body.Reason) == "" {
				return nil, lab.Errorf(lab.KindInvalid, "body.reason: only spaces; give why the alert may wait")
			}
			return s.changed(s.cfg.Actions.Shelve(ctx, in.ID, identityOf(ctx).Name, in.Body.Minutes, in.Body.Reason))
		})
	register(s, lab.RoleOperator, change("unshelve-alert", "/alerts/{id}/unshelve", "Unshelve an alert",
		"It pages again as its priority says."),
		func(ctx context.Context, in *AlertPath) (*body[lab.Alert], error) {
			return s.changed(s.cfg.Actions.Unshelve(ctx, in.ID, identityOf(ctx).Name))
		})
}

// changed tells open sockets of an alert that a person changed.
func (s *Server) changed(a lab.Alert, err error) (*body[lab.Alert], error) {
	if err != nil {
		return nil, err
	}
	s.PublishAlerts([]lab.Alert{a})
	return &body[lab.Alert]{a}, nil
}

func (s *Server) listAlerts(ctx context.Context, in *struct {
	Listing
	Open  string    `query:"open" enum:"true,false" doc:"Only those that are open, or only those that are closed. Absent: both."`
	Unit  string    `query:"unit" doc:"Only those of this unit, lab/unit." example:"tern-street/plover"`
	Rule  string    `query:"rule" doc:"Only those of this rule." example:"bath-temperature"`
	Since time.Time `query:"since" doc:"Only those raised at this moment or later, RFC 3339."`
}) (*body[AlertList], error) {
	if err := checkUnit(in.Unit); err != nil {
		return nil, err
	}
	f := lab.AlertFilter{Unit: in.Unit, Rule: in.Rule, Since: in.Since, Limit: in.capped()}
	if in.Open != "" {
		open := in.Open == "true"
		f.Open = &open
	}
	alerts, err := s.cfg.Store.Alerts(ctx, f)
	if err != nil {
		return nil, err
	}
	return &body[AlertList]{AlertList{alerts}}, nil
}

func (s *Server) getAlert(ctx context.Context, in *AlertPath) (*body[AlertDetail], error) {
	a, err := s.cfg.Store.Alert(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	events, err := s.cfg.Store.AlertEvents(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	out := AlertDetail{Alert: a, History: make([]AlertHistory, len(events))}
	for i, e := range events {
		out.History[i] = AlertHistory{At: lab.At(e.At), What: e.What, Occurrence: e.Occurrence, By: e.By, Note: e.Note}
	}
	return &body[AlertDetail]{out}, nil
}
