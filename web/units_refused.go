package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// RefusedList answers GET /units/{lab}/{unit}/refused.
type RefusedList struct {
	Refused  []RefusedEntry   `json:"refused" doc:"Connections and publishes that were not let in."`
	Messages []RefusedMessage `json:"messages" doc:"Messages in quarantine."`
}

// RefusedEntry is what the broker did not let in, alike ones together.
type RefusedEntry struct {
	What    string   `json:"what" doc:"connection, publish, or slowed: taken, but no faster than the unit's share."`
	Reason  string   `json:"reason" doc:"What was wrong."`
	From    string   `json:"from" doc:"The address that it came from."`
	FirstAt lab.Time `json:"first_at" doc:"When it was refused the first time."`
	LastAt  lab.Time `json:"last_at" doc:"When it was refused the last time."`
	Count   int64    `json:"count" doc:"How often; a flood counts once a minute and connection."`
}

// RefusedMessage is a message of the unit in quarantine, without its payload.
type RefusedMessage struct {
	ReceivedAt lab.Time `json:"received_at" doc:"When it arrived."`
	Topic      string   `json:"topic" doc:"Where it was published."`
	Reason     string   `json:"reason" doc:"A short code, then what exactly was wrong."`
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
