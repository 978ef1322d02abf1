package web

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// RunList answers GET /runs.
type RunList struct {
	Runs []lab.Run `json:"runs"`
}

// QuarantineList answers GET /quarantine.
type QuarantineList struct {
	Messages []QuarantinedMessage `json:"messages"`
}

// QuarantinedMessage is a message that was refused, whole.
type QuarantinedMessage struct {
	ReceivedAt lab.Time `json:"received_at" doc:"When it arrived."`
	Topic      string   `json:"topic" doc:"Where it was published."`
	Reason     string   `json:"reason" doc:"A short code, then what exactly was wrong."`
	PayloadB64 []byte   `json:"payload_b64" doc:"What was published, in base64."`
}

// RunPath is a run in a path.
type RunPath struct {
	ID string `path:"id" doc:"The run's id."`
}

func (s *Server) runRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-runs", Method: http.MethodGet, Path: "/runs", Tags: []string{"runs"},
		Summary: "Runs, newest first", Description: "What was processed, and how it went.",
	}, s.listRuns)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-run", Method: http.MethodGet, Path: "/runs/{id}", Tags: []string{"runs"},
		Summary: "One run", Description: "The run with its steps, outages and gaps.",
		Errors: []int{http.StatusNotFound},
	}, func(ctx context.Context, in *RunPath) (*body[lab.Run], error) {
		run, err := s.cfg.Store.Run(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		return &body[lab.Run]{run}, nil
	})
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-quarantine", Method: http.MethodGet, Path: "/quarantine", Tags: []string{"quarantine"},
		Summary: "Messages that were refused, newest first", Description: "Each as it was received, with the reason. The newest 10,000 of each unit are kept, and 200,000 of all.",
	}, s.listQuarantine)
}

func (s *Server) listRuns(ctx context.Context, in *struct {
	Listing
	Roll     string    `query:"roll" doc:"Only runs that carried this roll, by its twin check; capitals or not."`
	Order    string    `query:"order" doc:"Only runs that carried a roll of this order; capitals or not."`
	Query    string    `query:"q" maxLength:"128" doc:"Only runs of which this is a roll, an order, or the beginning of the run's own name."`
	Unit     string    `query:"unit" doc:"Only those of this unit, lab/unit." example:"tern-street/plover"`
	Process  string    `query:"process" doc:"Only those of this process." example:"c41"`
	Verdict  string    `query:"verdict" enum:"in-control,inspect,out-of-control" doc:"Only those with this verdict."`
	Decision string    `query:"decision" enum:"release,hold,reprocess,correct,lost,none" doc:"Only those with this decision; none: those that nobody decided on."`
	From     time.Time `query:"from" doc:"Only those begun at this moment or later, RFC 3339."`
	To       time.Time `query:"to" doc:"Only those begun before this moment, RFC 3339."`
}) (*body[RunList], error) {
	if err := checkUnit(in.Unit); err != nil {
		return nil, err
	}
	if err := checkSpan(in.From, in.To); err != nil {
		return nil, err
	}
	runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Roll: in.Roll, Order: in.Order, Query: in.Query, Unit: in.Unit, Process: in.Process,
		Verdict: in.Verdict, Decision: in.Decision, From: in.From, To: in.To, Limit: in.capped()})
	if err != nil {
		return nil, err
	}
	return &body[RunList]{RunList{runs}}, nil
}

func (s *Server) listQuarantine(ctx context.Context, in *Listing) (*body[QuarantineList], error) {
	refused, err := s.cfg.Store.Quarantine(ctx, in.capped())
	if err != nil {
		return nil, err
	}
	out := make([]QuarantinedMessage, len(refused))
	for i, q := range refused {
		payload := q.Payload
		if payload == nil {
			payload = []byte{}
		}
		out[i] = QuarantinedMessage{ReceivedAt: lab.At(q.Received), Topic: q.Topic, Reason: q.Reason, PayloadB64: payload}
	}
	return &body[QuarantineList]{QuarantineList{out}}, nil
}
