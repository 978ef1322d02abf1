package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// RefusedList answers GET /units/{lab}/{unit}/refused.
type RefusedList struct {
	Refused  []RefusedEntry   `json:"refused"`
	Messages []RefusedMessage `json:"messages"`
}

// RefusedEntry is what the broker did not let in, alike ones together.
type RefusedEntry struct {
	What    string   `json:"what"`
	Reason  string   `json:"reason"`
	From    string   `json:"from"`
	FirstAt lab.Time `json:"first_at"`
	LastAt  lab.Time `json:"last_at"`
	Count   int64    `json:"count"`
}

// RefusedMessage is a message of the unit in quarantine, without its payload.
type RefusedMessage struct {
	ReceivedAt lab.Time `json:"received_at"`
	Topic      string   `json:"topic"`
	Reason     string   `json:"reason"`
}

func (s *Server) refusedRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-refused", Method: http.MethodGet, Path: "/units/{lab}/{unit}/refused", Tags: []string{"units"},
		Summary:     "What was refused from a unit",
		Description: "Connections and publishes that the embedded broker did not let in, and messages in quarantine: the newest 20 of each, newest first. An outside broker refuses without telling; there only the messages in quarantine are known. A unit that was never received is answered too: it may be its key that is wrong.",
	}, s.listRefused)
}

func (s *Server) listRefused(ctx context.Context, in *UnitPath) (*body[RefusedList], error) {
	refusals, messages, err := s.cfg.Store.Refusals(ctx, in.id())
	if err != nil {
		return nil, err
	}
	out := RefusedList{Refused: make([]RefusedEntry, len(refusals)), Messages: make([]RefusedMessage, len(messages))}
	for i, r := range refusals {
		out.Refused[i] = RefusedEntry{What: r.What, Reason: r.Reason, From: r.From, FirstAt: lab.At(r.FirstAt.Time), LastAt: lab.At(r.LastAt.Time), Count: r.Count}
	}
	for i, m := range messages {
		out.Messages[i] = RefusedMessage{ReceivedAt: lab.At(m.Received), Topic: m.Topic, Reason: m.Reason}
	}
	return &body[RefusedList]{out}, nil
}
