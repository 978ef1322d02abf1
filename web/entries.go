package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// Entries is the part of the store that keeps what people state, do and set.
type Entries interface {
	// AppendEntry keeps an entry and gives it as it is kept: pressed twice,
	// it gives the first.
	AppendEntry(ctx context.Context, e lab.Entry) (lab.Entry, error)
	Entries(ctx context.Context, f lab.EntryFilter) ([]lab.Entry, error) // in the order of arrival
	Entry(ctx context.Context, id string) (lab.Entry, error)
}

// EntryView is what a person stated, did or set, with what became of it.
type EntryView struct {
	ID        string         `json:"id"`
	Unit      string         `json:"unit"`
	Run       string         `json:"run,omitempty" doc:"The id of the run it is of; absent where it is of the unit."`
	What      string         `json:"what" doc:"load, unload, container, turned-by-hand, drained, measured, film, continues, rolls, run-kind, decision, symptom, note, probe, probe-kind, house-aim, developer, strip or strip-gate."`
	At        lab.Time       `json:"at" doc:"When it was so."`
	Entered   lab.Time       `json:"entered"`
	By        string         `json:"by"`
	Body      map[string]any `json:"body" doc:"The particulars, by what."`
	TakenBack *TakenBack     `json:"taken_back" doc:"Who undid it and when; null while it holds."`
}

// TakenBack says who took an entry back.
type TakenBack struct {
	At lab.Time `json:"at" doc:"When it was undone."`
	By string   `json:"by"`
}

// EntryList answers GET /entries.
type EntryList struct {
	Entries []EntryView `json:"entries"`
}

// Stating is what every request that enters something may carry. It and the
// paths are exported because huma looks into exported structs only.
type Stating struct {
	Key string `header:"Idempotency-Key" maxLength:"128" doc:"A name for this request: sent again under the same name it counts once. Without it the same press by the same person within two seconds counts once."`
}

// EntryPath is an entry in a path.
type EntryPath struct {
	ID string `path:"id" doc:"The entry's id."`
}

func (s *Server) entryRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-entries", Method: http.MethodGet, Path: "/entries", Tags: []string{"entries"},
		Summary: "What people stated, did and set, newest first", Description: "What was undone is in it and says so.",
	}, s.listEntries)
	register(s, lab.RoleOperator, huma.Operation{
		OperationID: "take-back-entry", Method: http.MethodDelete, Path: "/entries/{id}", Tags: []string{"entries"},
		Summary: "Undo an entry", Description: "It stays in the list, marked, and counts no more. Undone again it changes nothing. Figures that runs are judged by are undone by a lead.",
		Errors: []int{http.StatusNotFound, http.StatusConflict},
	}, func(ctx context.Context, in *EntryPath) (*body[EntryView], error) {
		view, err := s.takeBack(ctx, in.ID, nil)
		return &body[EntryView]{view}, err
	})
	register(s, lab.RoleOperator, huma.Operation{
		OperationID: "add-unit-note", Method: http.MethodPost, Path: "/units/{lab}/{unit}/notes", Tags: []string{"entries"},
		Summary: "Note something of a unit", Description: "A fault found, a part changed: saved with the unit.",
		Errors: []int{http.StatusNotFound, http.StatusConflict}, DefaultStatus: http.StatusCreated,
	}, func(ctx context.Context, in *struct {
		UnitPath
		Stating
		Body NoteRequest
	}) (*body[EntryView], error) {
		if _, err := s.unit(in.UnitPath); err != nil {
			return nil, err
		}
		return s.entered(ctx, in.Key, in.Body.At, lab.Entry{Unit: in.id(), What: lab.EntryNote}, lab.Note{Text: in.Body.Text})
	})
}

// NoteRequest is plain text.
type NoteRequest struct {
	Text string     `json:"text" minLength:"1" maxLength:"4000" doc:"What was found or done."`
	At   *time.Time `json:"at,omitempty" doc:"When it was so. Absent: now."`
}

func (s *Server) listEntries(ctx context.Context, in *struct {
	Listing
	Unit  string    `query:"unit" doc:"Only those of this unit, lab/unit." example:"tern-street/plover"`
	Run   string    `query:"run" doc:"Only those of this run, by its id."`
	What  []string  `query:"what" doc:"Only those of these kinds, with commas between." example:"note,container"`
	Since time.Time `query:"since" doc:"Only those entered at this moment or later, RFC 3339."`
}) (*body[EntryList], error) {
	if err := checkUnit(in.Unit); err != nil {
		return nil, err
	}
	views, err := s.entries(ctx, lab.EntryFilter{Unit: in.Unit, RunID: in.Run, What: in.What, Since: in.Since}, in.capped())
	if err != nil {
		return nil, err
	}
	return &body[EntryList]{EntryList{views}}, nil
}

// entries reads what was entered, newest first, each with what became of it.
func (s *Server) entries(ctx context.Context, f lab.EntryFilter, limit int) ([]EntryView, error) {
	all, err := s.cfg.Store.Entries(ctx, f)
	if err != nil {
		return nil, err
	}
	views := viewEntries(all)
	slices.Reverse(views)
	return views[:min(len(views), limit)], nil
}

// viewEntries shows entries in the order given; those that take another back
// show in that other.
func viewEntries(all []lab.Entry) []EntryView {
	back := map[string]*TakenBack{}
	for _, e := range all {
		if id := e.Target(); id != "" {
			back[id] = &TakenBack{At: lab.At(e.Entered), By: e.By}
		}
	}
	views := []EntryView{}
	for _, e := range all {
		if e.What == lab.EntryTakesBack {
			continue
		}
		views = append(views, viewEntry(e, back[e.ID]))
	}
	return views
}

func viewEntry(e lab.Entry, back *TakenBack) EntryView {
	v := EntryView{ID: e.ID, Unit: e.Unit.String(), Run: e.RunID, What: e.What, At: lab.At(e.At), Entered: lab.At(e.Entered),
		By: e.By, Body: map[string]any{}, TakenBack: back}
	if len(e.Body) > 0 {
		_ = json.Unmarshal(e.Body, &v.Body) // the store checked it; else it shows as empty
	}
	return v
}

// enter keeps what a person entered, under the name of who is signed in.
func (s *Server) enter(ctx context.Context, key string, at *time.Time, e lab.Entry, content any) (lab.Entry, error) {
	e.By = identityOf(ctx).Name
	if key != "" {
		sum := sha256.Sum256([]byte(e.By + "\x00" + key))
		e.ID = "k" + hex.EncodeToString(sum[:])[:23]
	}
	if at != nil {
		if now := s.cfg.Clock.Now(); at.After(now.Add(time.Minute)) {
			return e, lab.Errorf(lab.KindInvalid, "at (%s) is still to come; it is %s now", lab.At(*at), lab.At(now))
		}
		e.At = *at
	}
	if content != nil {
		b, err := json.Marshal(content)
		if err != nil {
			return e, err
		}
		e.Body = b
	}
	return s.cfg.Store.AppendEntry(ctx, e)
}

// entered is enter for operations that answer with the entry.
func (s *Server) entered(ctx context.Context, key string, at *time.Time, e lab.Entry, content any) (*body[EntryView], error) {
	kept, err := s.enter(ctx, key, at, e, content)
	if err != nil {
		return nil, err
	}
	return &body[EntryView]{viewEntry(kept, nil)}, nil
}

// takeBack takes an entry back that fits.
func (s *Server) takeBack(ctx context.Context, id string, fits func(lab.Entry) error) (EntryView, error) {
	e, err := s.cfg.Store.Entry(ctx, id)
	if err != nil {
		return EntryView{}, err
	}
	if fits != nil {
		if err := fits(e); err != nil {
			return EntryView{}, err
		}
	}
	if who := identityOf(ctx); figures[e.What] && !who.May(lab.RoleLead) {
		return EntryView{}, lab.Errorf(lab.KindForbidden, "a figure that runs are judged by is undone by a lead; %s has the role %s", who.Name, who.Role)
	}
	back, err := s.enter(ctx, "", nil, lab.Entry{Unit: e.Unit, RunID: e.RunID, What: lab.EntryTakesBack}, lab.TakesBack{ID: id})
	if err != nil {
		return EntryView{}, err
	}
	if e.What == lab.EntryStrip || e.What == lab.EntryGate {
		s.gatesChanged(ctx)
	}
	return viewEntry(e, &TakenBack{At: lab.At(back.Entered), By: back.By}), nil
}
