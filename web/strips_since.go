package web

import (
	"cmp"
	"context"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

// StripSince is what ran since the last strip that was in.
type StripSince struct {
	Unit    string          `json:"unit"`
	Process string          `json:"process"`
	Mix     string          `json:"mix"`
	Since   *lab.Time       `json:"since" doc:"Since when: the start of the strip's own run where that is known, else its reading; null: no strip was in yet."`
	Strip   *StripView      `json:"strip" doc:"The last strip that was in; null: none yet."`
	Runs    []StripSinceRun `json:"runs" doc:"Runs with customers' film since, oldest first."`
	Orders  []StripOrder    `json:"orders" doc:"Their rolls by customers' orders, the order that is due first before the others; rolls without an order last."`
	More    bool            `json:"more" doc:"There are more runs than are listed."`
}

// StripSinceRun is one run with customers' film.
type StripSinceRun struct {
	ID        string        `json:"id" doc:"The id of the run."`
	Run       string        `json:"run" doc:"The unit's own name of it."`
	Push      float64       `json:"push"`
	StartedAt lab.Time      `json:"started_at"`
	EndedAt   *lab.Time     `json:"ended_at"`
	Outcome   string        `json:"outcome" enum:"running,done,aborted,lost"`
	Verdict   *string       `json:"verdict" enum:"in-control,inspect,out-of-control"`
	Rolls     []lab.Roll    `json:"rolls"`
	Decision  *lab.Decision `json:"decision"`
}

// StripOrder is a customer's order with its rolls among them.
type StripOrder struct {
	Order string    `json:"order" doc:"The order; empty: none was given."`
	DueAt *lab.Time `json:"due_at" doc:"When it is due; null: not known."`
	Rolls []string  `json:"rolls" doc:"Twin checks."`
}

// dryingWithin is how long before its reading a strip may have run whose run
// is not known: what began within it and ended after the reading counts as
// run after the strip.
const dryingWithin = 12 * time.Hour

func (s *Server) stripSince(ctx context.Context, in *struct {
	Unit    string `query:"unit" required:"true" maxLength:"65" doc:"The unit, lab/unit." example:"tern-street/plover"`
	Process string `query:"process" required:"true" maxLength:"64" doc:"The process." example:"c41"`
	Mix     string `query:"mix" maxLength:"64" doc:"The mix. Absent: that of the last strip."`
}) (*body[StripSince], error) {
	if err := checkUnit(in.Unit); err != nil {
		return nil, err
	}
	all, err := s.reads(ctx, in.Unit)
	if err != nil {
		return nil, err
	}
	all = strips.OfProcess(all, in.Process, nil)
	out := StripSince{Unit: in.Unit, Process: in.Process, Mix: in.Mix, Runs: []StripSinceRun{}, Orders: []StripOrder{}}
	if mixes := strips.Mixes(all); out.Mix == "" && len(mixes) > 0 {
		out.Mix = mixes[0]
	}
	of := strips.OfProcess(all, in.Process, &out.Mix)
	if len(of) == 0 {
		return &body[StripSince]{out}, nil
	}
	ran, err := s.sinceStrip(ctx, &out, of)
	if err != nil {
		return nil, err
	}
	for _, r := range ran {
		out.Runs = append(out.Runs, StripSinceRun{ID: r.ID, Run: r.Run, Push: r.Push, StartedAt: r.StartedAt, EndedAt: r.EndedAt, Outcome: r.Outcome, Verdict: r.Verdict, Rolls: r.Rolls, Decision: r.Decision})
	}
	out.Orders = ordersOf(out.Runs)
	return &body[StripSince]{out}, nil
}

// sinceStrip finds the runs with film after the last strip that was in: after
// its own run where that is known, else those that ended after its reading.
// Where none was in, all since the first strip.
func (s *Server) sinceStrip(ctx context.Context, out *StripSince, of []strips.Reading) ([]lab.Run, error) {
	from, own := of[0].At.Time, lab.Run{}
	for _, r := range slices.Backward(of) {
		if r.Status != lab.StripIn {
			continue
		}
		v := viewStrip(r, r.By)
		out.Strip, out.Since, from = &v, &r.At, r.At.Time
		if r.Run != "" {
			run, err := s.cfg.Store.Run(ctx, r.Run)
			if err != nil && lab.KindOf(err) != lab.KindNotFound {
				return nil, err
			}
			if err == nil {
				own, from, out.Since = run, run.StartedAt.Time, &run.StartedAt
			}
		}
		break
	}
	asked := from
	if own.ID == "" {
		asked = from.Add(-dryingWithin)
	}
	runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Unit: out.Unit, Process: out.Process, From: asked, OldestFirst: true, Limit: batchMost + 1})
	if err != nil {
		return nil, err
	}
	if out.More = len(runs) > batchMost; out.More {
		runs = runs[:batchMost]
	}
	return slices.DeleteFunc(runs, func(r lab.Run) bool {
		film := r.Kind == "" || r.Kind == lab.KindOfRunFilm
		before := r.EndedAt != nil && r.EndedAt.Before(from)
		return !film || r.ID == own.ID || before || r.Unit != out.Unit || r.Process != out.Process
	}), nil
}

// ordersOf groups the rolls of runs by customers' orders, as ordersOfRolls does.
func ordersOf(runs []StripSinceRun) []StripOrder {
	var rolls []lab.Roll
	for _, r := range runs {
		rolls = append(rolls, r.Rolls...)
	}
	return ordersOfRolls(rolls)
}

// ordersOfRolls groups rolls by customers' orders, by when they are due; rolls
// without an order stand last.
func ordersOfRolls(rolls []lab.Roll) []StripOrder {
	out := []StripOrder{}
	for _, roll := range rolls {
		i := slices.IndexFunc(out, func(o StripOrder) bool { return o.Order == roll.Order })
		if i < 0 {
			i = len(out)
			out = append(out, StripOrder{Order: roll.Order, Rolls: []string{}})
		}
		o := &out[i]
		if roll.DueAt != nil && (o.DueAt == nil || roll.DueAt.Before(o.DueAt.Time)) {
			o.DueAt = roll.DueAt
		}
		o.Rolls = append(o.Rolls, roll.TwinCheck)
	}
	slices.SortStableFunc(out, func(a, b StripOrder) int {
		if (a.Order == "") != (b.Order == "") {
			return cmp.Compare(len(b.Order), len(a.Order))
		}
		switch {
		case a.DueAt == nil && b.DueAt == nil:
			return cmp.Compare(a.Order, b.Order)
		case a.DueAt == nil:
			return 1
		case b.DueAt == nil:
			return -1
		}
		return cmp.Or(a.DueAt.Compare(b.DueAt.Time), cmp.Compare(a.Order, b.Order))
	})
	return out
}
