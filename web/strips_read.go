package web

import (
	"context"
	"maps"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

// StripAnswer is what became of a strip that was read in.
type StripAnswer struct {
	Strip StripView   `json:"strip" doc:"The strip as it is saved."`
	Gate  strips.Gate `json:"gate" doc:"The gate after it."`
	Notes []string    `json:"notes" doc:"What a person should know of how it was judged."`
}

// StripRequest is a control strip that was read.
type StripRequest struct {
	Unit      string             `json:"unit" maxLength:"65" doc:"The unit whose chemistry it went through, lab/unit." example:"tern-street/plover"`
	Run       string             `json:"run,omitempty" maxLength:"64" doc:"The id of the run that it went through, or the unit's own name of it. Absent: not known."`
	Process   string             `json:"process,omitempty" maxLength:"64" pattern:"^[A-Za-z0-9._-]*$" doc:"The process. Absent: that of the run." example:"c41"`
	Mix       string             `json:"mix,omitempty" maxLength:"64" doc:"The mix of chemistry. Absent: not known."`
	Code      string             `json:"code,omitempty" maxLength:"64" doc:"Code number of the box of strips, by which its aims are found." example:"2461"`
	ReadAt    *time.Time         `json:"read_at,omitempty" doc:"When it was read. Absent: now."`
	By        string             `json:"by,omitempty" maxLength:"64" doc:"Who read it. Absent: who is signed in."`
	Densities map[string]lab.RGB `json:"densities" doc:"Densities by step of the strip: dmin, ld, hd, yellow, dmax, and speed on black-and-white; r, g and b of each, those that were read."`
	Note      string             `json:"note,omitempty" maxLength:"1000" doc:"What else is to be known."`
}

// stepsByName gives densities under the names that the plots have.
func stepsByName(d map[string]lab.RGB) map[string]lab.RGB {
	out := map[string]lab.RGB{}
	for _, step := range slices.Sorted(maps.Keys(d)) {
		out[strips.StepName(step)] = d[step]
	}
	return out
}

func (s *Server) postStrip(ctx context.Context, in *struct {
	Stating
	Body StripRequest
}) (*body[StripAnswer], error) {
	at, err := s.placed(ctx, in.Body)
	if err != nil {
		return nil, err
	}
	answer, err := s.readIn(ctx, in.Key, at)
	if err != nil {
		return nil, err
	}
	s.gatesChanged(ctx)
	if answer.Gate, err = s.gate(ctx, answer.Strip.Unit, answer.Strip.Process, answer.Strip.Mix); err != nil {
		return nil, err
	}
	return &body[StripAnswer]{answer}, nil
}

// stripIn is a strip that is read in, with the unit and run it went through.
type stripIn struct {
	StripRequest
	unit lab.UnitID
	run  lab.Run // zero: not known
}

// strip as it is saved, not judged yet.
func (b stripIn) strip() lab.Strip {
	return lab.Strip{Process: b.Process, Mix: strings.TrimSpace(b.Mix), Code: strings.TrimSpace(b.Code), ReadBy: b.By, Densities: stepsByName(b.Densities), Note: b.Note}
}

// placed finds the unit and the run of a strip, and its process.
func (s *Server) placed(ctx context.Context, b StripRequest) (stripIn, error) {
	unit, err := lab.ParseUnitID(b.Unit)
	if err != nil {
		return stripIn{}, lab.Errorf(lab.KindInvalid, "body.unit: %w", err)
	}
	if _, err := s.unit(UnitPath{Lab: unit.Lab, Unit: unit.Unit}); err != nil {
		return stripIn{}, err
	}
	run, err := s.stripRun(ctx, unit, b.Run)
	if err != nil {
		return stripIn{}, err
	}
	if b.Process == "" {
		b.Process = run.Process
	}
	if b.Process == "" {
		return stripIn{}, lab.Errorf(lab.KindInvalid, "body.process is missing: name the process, or the run that the strip went through")
	}
	if run.Process != "" && run.Process != b.Process {
		return stripIn{}, lab.Errorf(lab.KindInvalid, "body.process is %s, but run %s was %s", b.Process, run.Run, run.Process)
	}
	return stripIn{b, unit, run}, nil
}

// stillToCome refuses a strip of a time that is not yet.
func (s *Server) stillToCome(b stripIn) error {
	if now := s.cfg.Clock.Now(); b.ReadAt != nil && b.ReadAt.After(now.Add(time.Minute)) {
		return lab.Errorf(lab.KindInvalid, "read_at (%s) is still to come; it is %s now", lab.At(*b.ReadAt), lab.At(now))
	}
	return nil
}

// readIn judges a strip by what is in force and saves it with that. The gate
// after it is not worked out.
func (s *Server) readIn(ctx context.Context, key string, b stripIn) (StripAnswer, error) {
	at := s.cfg.Clock.Now()
	if b.ReadAt != nil {
		at = *b.ReadAt
	}
	known, err := s.reads(ctx, b.unit.String())
	if err != nil {
		return StripAnswer{}, err
	}
	settings, err := s.cfg.Store.StripSettings(ctx)
	if err != nil {
		return StripAnswer{}, err
	}
	before := slices.DeleteFunc(strips.OfProcess(known, b.Process, nil), func(r strips.Reading) bool { return r.At.After(at) })
	strip, notes := strips.Evaluate(b.strip(), b.unit.String(), before, settings)
	kept, err := s.enter(ctx, key, b.ReadAt, lab.Entry{Unit: b.unit, RunID: b.run.ID, What: lab.EntryStrip}, strip)
	if err != nil {
		return StripAnswer{}, err
	}
	r := strips.Reading{Strip: strip, ID: kept.ID, Unit: b.unit.String(), Run: b.run.ID, At: lab.At(kept.At)}
	return StripAnswer{Strip: viewStrip(r, kept.By), Notes: notes}, nil
}

// stripRun finds the run that a strip went through, by its id or by the
// unit's name of it; none where none is named.
func (s *Server) stripRun(ctx context.Context, unit lab.UnitID, which string) (lab.Run, error) {
	if which == "" {
		return lab.Run{}, nil
	}
	run, err := s.cfg.Store.Run(ctx, which)
	if lab.KindOf(err) == lab.KindNotFound && err != nil {
		run, err = s.runNamed(ctx, unit, which)
	}
	switch {
	case lab.KindOf(err) == lab.KindNotFound && err != nil:
		return lab.Run{}, lab.Errorf(lab.KindInvalid, "body.run: there is no run %q of %s", which, unit)
	case err != nil:
		return lab.Run{}, err
	case run.Unit != unit.String():
		return lab.Run{}, lab.Errorf(lab.KindInvalid, "body.run: run %s is of %s, not of %s", run.Run, run.Unit, unit)
	}
	return run, nil
}

// runNamed finds a run by the unit's own name of it.
func (s *Server) runNamed(ctx context.Context, unit lab.UnitID, name string) (lab.Run, error) {
	runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Unit: unit.String(), Limit: maxLimit})
	if err != nil {
		return lab.Run{}, err
	}
	if i := slices.IndexFunc(runs, func(r lab.Run) bool { return r.Run == name }); i >= 0 {
		return runs[i], nil
	}
	return lab.Run{}, lab.Errorf(lab.KindNotFound, "there is no run %q of %s", name, unit)
}
