package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

// StripTable answers a table of densities that was taken in.
type StripTable struct {
	Taken   int      `json:"taken" doc:"How many strips were taken in."`
	Known   int      `json:"known" doc:"How many were there already."`
	Ignored []string `json:"ignored" doc:"Columns that were not used."`
	Notes   []string `json:"notes" doc:"What a person should know of how they were judged, the first 20."`
}

// densitiesCSV gives strips as a table, a row a strip.
func (s *Server) densitiesCSV(ctx context.Context, in *StripQuery) (*download, error) {
	reads, err := s.picked(ctx, *in)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := strips.WriteDensities(&b, reads); err != nil {
		return nil, err
	}
	return &download{"text/csv; charset=utf-8", `attachment; filename="densities.csv"`, b.Bytes()}, nil
}

// takeDensities takes a table of densities in, oldest first. It is looked
// through first: one row that cannot be taken, and none is.
func (s *Server) takeDensities(ctx context.Context, in *struct {
	RawBody []byte `contentType:"text/csv"`
}) (*body[StripTable], error) {
	reads, lines, ignored, err := strips.ReadDensities(bytes.NewReader(in.RawBody))
	if err != nil {
		return nil, lab.Errorf(lab.KindInvalid, "body: %w", err)
	}
	out := StripTable{Ignored: ignored, Notes: []string{}}
	known := map[string]bool{}
	stored, err := s.reads(ctx, "")
	if err != nil {
		return nil, err
	}
	for _, r := range stored {
		known[sameStrip(r)] = true
	}
	at := make([]stripIn, len(reads))
	for i, r := range reads {
		if at[i], err = s.placed(ctx, stripOf(r)); err != nil {
			return nil, lab.Errorf(lab.KindOf(err), "body: line %d: %w", lines[i], err)
		}
		if err := s.stillToCome(at[i]); err != nil {
			return nil, lab.Errorf(lab.KindInvalid, "body: line %d: %w", lines[i], err)
		}
		if err := at[i].strip().Check(); err != nil {
			return nil, lab.Errorf(lab.KindInvalid, "body: line %d: %w", lines[i], err)
		}
	}
	for i, r := range reads {
		key := sameStrip(r)
		if known[key] {
			out.Known++
			continue
		}
		known[key] = true
		a, err := s.readIn(ctx, "", at[i])
		if err != nil {
			return nil, lab.Errorf(lab.KindOf(err), "line %d: %w; the rows before it are in", lines[i], err)
		}
		out.Taken++
		for _, note := range a.Notes {
			if len(out.Notes) < notesMost {
				out.Notes = append(out.Notes, r.At.String()+": "+note)
			}
		}
	}
	s.gatesChanged(ctx)
	return &body[StripTable]{out}, nil
}

// notesMost bounds the notes of a table.
const notesMost = 20

func stripOf(r strips.Reading) StripRequest {
	at := r.At.Time
	return StripRequest{Unit: r.Unit, Run: r.Run, Process: r.Process, Mix: r.Mix, Code: r.Code, ReadAt: &at, By: r.ReadBy, Densities: r.Densities, Note: r.Note}
}

// sameStrip names a strip by what was read, and where and when: a table that
// is taken in twice is taken in once.
func sameStrip(r strips.Reading) string {
	b, err := json.Marshal(stepsByName(r.Densities))
	if err != nil {
		return r.ID // numbers that JSON cannot hold: refused elsewhere
	}
	sum := sha256.Sum256([]byte(r.Unit + "\x00" + r.Process + "\x00" + r.At.String() + "\x00" + string(b)))
	return hex.EncodeToString(sum[:])
}
