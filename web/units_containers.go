package web

import (
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// ContainerPath is a container of a unit in a path.
type ContainerPath struct {
	UnitPath
	Name string `path:"name" maxLength:"128" doc:"The container's name; a slash in it is sent as %2F." example:"waste"`
}

// ContainerEventRequest says what a person did to a container.
type ContainerEventRequest struct {
	What   string     `json:"what" enum:"emptied,topped-up,swapped,set" doc:"What was done."`
	Litres *float64   `json:"litres,omitempty" minimum:"0" maximum:"2000" doc:"topped-up: liters that were added; absent: filled up. set: liters that it holds now; required. emptied, swapped: liters in it now; absent: an empty waste container, a full bottle."`
	Note   string     `json:"note,omitempty" maxLength:"1000" doc:"What else is to be known."`
	At     *time.Time `json:"at,omitempty" doc:"When it was done. Absent: now."`
}

// ContainerEventView is one of the things people did to a container.
type ContainerEventView struct {
	ID        string     `json:"id"`
	Container string     `json:"container" doc:"The container."`
	What      string     `json:"what" enum:"emptied,topped-up,swapped,set" doc:"What was done."`
	Litres    *float64   `json:"litres" doc:"topped-up: liters added. Else liters in it then. Null where nobody said."`
	Note      string     `json:"note,omitempty"`
	At        lab.Time   `json:"at" doc:"When it was done."`
	Entered   lab.Time   `json:"entered"`
	By        string     `json:"by"`
	TakenBack *TakenBack `json:"taken_back" doc:"Who undid it and when; null while it holds."`
}

// ContainerEventList answers GET .../events.
type ContainerEventList struct {
	Events []ContainerEventView `json:"events"`
}

// CapacityRequest says how much a container really holds.
type CapacityRequest struct {
	CapacityL float64 `json:"capacity_l" minimum:"0" maximum:"2000" doc:"How many liters it holds when it is full; 0: what the unit itself says."`
}

const eventsPath = "/units/{lab}/{unit}/containers/{name}/events"

func (s *Server) containerRoutes() {
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "set-capacity", Method: http.MethodPut, Path: "/units/{lab}/{unit}/containers/{name}", Tags: []string{"units"},
		Summary: "Say how much a container really holds", Description: "Where the unit says otherwise, or nothing. Counts from now on; undone like any entry.",
		Errors: []int{http.StatusNotFound},
	}, s.setCapacity)
	register(s, lab.RoleOperator, huma.Operation{
		OperationID: "add-container-event", Method: http.MethodPost, Path: eventsPath, Tags: []string{"units"},
		Summary:     "Emptied, topped up, swapped, or set",
		Description: "A level that is set counts from its moment on, beside a sensor too: what the sensor shows to come and go since is added, until it shows that somebody did something to the container (see measured of the container). What was emptied, topped up or swapped a sensor shows by itself; without one the level follows from this.",
		Errors:      []int{http.StatusNotFound, http.StatusConflict}, DefaultStatus: http.StatusCreated,
	}, s.addContainerEvent)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-container-events", Method: http.MethodGet, Path: eventsPath, Tags: []string{"units"},
		Summary: "What people did to a container, newest first", Description: "What was undone is in it and says so.",
		Errors: []int{http.StatusNotFound},
	}, s.listContainerEvents)
	register(s, lab.RoleOperator, huma.Operation{
		OperationID: "take-back-container-event", Method: http.MethodDelete, Path: eventsPath + "/{id}", Tags: []string{"units"},
		Summary: "Undo", Description: "It stays in the list, marked, and counts no more. Undone again it changes nothing.",
		Errors: []int{http.StatusNotFound, http.StatusConflict},
	}, func(ctx context.Context, in *struct {
		ContainerPath
		EntryPath
	}) (*body[ContainerEventView], error) {
		view, err := s.takeBack(ctx, in.ID, in.owns)
		if err != nil {
			return nil, err
		}
		return &body[ContainerEventView]{containerEvent(view)}, nil
	})
}

// owns tells whether an entry is an event of the container.
func (p ContainerPath) owns(e lab.Entry) error {
	var b lab.ContainerEvent
	if e.What != lab.EntryContainer || e.Unit != p.id() || json.Unmarshal(e.Body, &b) != nil || b.Container != p.Name {
		return lab.Errorf(lab.KindNotFound, "there is no event %q of %s of unit %s", e.ID, p.Name, p.id())
	}
	return nil
}

// container finds a container of a unit that was heard.
func (s *Server) container(p ContainerPath) (lab.Container, error) {
	u, err := s.unit(p.UnitPath)
	if err != nil {
		return lab.Container{}, err
	}
	var names []string
	for _, c := range u.Containers {
		if c.Name == p.Name {
			return c, nil
		}
		names = append(names, c.Name)
	}
	return lab.Container{}, lab.Errorf(lab.KindNotFound, "unit %s has no container %q; it has %s", p.id(), p.Name, orNone(names))
}

func orNone(names []string) string {
	if len(names) == 0 {
		return "none that is known"
	}
	return strings.Join(names, ", ")
}

func (s *Server) setCapacity(ctx context.Context, in *struct {
	ContainerPath
	Stating
	Body CapacityRequest
}) (*body[EntryView], error) {
	c, err := s.container(in.ContainerPath)
	if err != nil {
		return nil, err
	}
	return s.entered(ctx, in.Key, nil, lab.Entry{Unit: in.id(), What: lab.EntryCapacity},
		lab.ContainerCapacity{Container: c.Name, CapacityL: in.Body.CapacityL})
}

func (s *Server) addContainerEvent(ctx context.Context, in *struct {
	ContainerPath
	Stating
	Body ContainerEventRequest
}) (*body[ContainerEventView], error) {
	c, err := s.container(in.ContainerPath)
	if err != nil {
		return nil, err
	}
	b := in.Body
	if b.What == lab.SetLevel && b.Litres == nil {
		return nil, lab.Errorf(lab.KindInvalid, "body.litres is missing; set needs what %s holds now, in liters", c.Name)
	}
	if b.Litres != nil && c.CapacityL > 0 && *b.Litres > c.CapacityL {
		return nil, lab.Errorf(lab.KindInvalid, "body.litres must be 0 to %[3]g L, what %[2]s holds; got %[1]g L", *b.Litres, c.Name, c.CapacityL)
	}
	kept, err := s.enter(ctx, in.Key, b.At, lab.Entry{Unit: in.id(), What: lab.EntryContainer},
		lab.ContainerEvent{Container: c.Name, What: b.What, Litres: b.Litres, Note: strings.TrimSpace(b.Note)})
	if err != nil {
		return nil, err
	}
	s.logEmptying(ctx, c, kept)
	return &body[ContainerEventView]{containerEvent(viewEntry(kept, nil))}, nil
}

func (s *Server) listContainerEvents(ctx context.Context, in *struct {
	ContainerPath
	Listing
}) (*body[ContainerEventList], error) {
	if _, err := s.container(in.ContainerPath); err != nil {
		return nil, err
	}
	views, err := s.entries(ctx, lab.EntryFilter{Unit: in.id().String(), What: []string{lab.EntryContainer}}, maxLimit)
	if err != nil {
		return nil, err
	}
	views = slices.DeleteFunc(views, func(v EntryView) bool { return v.Body["container"] != in.Name })
	out := []ContainerEventView{}
	for _, v := range views[:min(len(views), in.capped())] {
		out = append(out, containerEvent(v))
	}
	return &body[ContainerEventList]{ContainerEventList{out}}, nil
}

func containerEvent(v EntryView) ContainerEventView {
	out := ContainerEventView{ID: v.ID, At: v.At, Entered: v.Entered, By: v.By, TakenBack: v.TakenBack}
	out.Container, _ = v.Body["container"].(string)
	out.What, _ = v.Body["what"].(string)
	out.Note, _ = v.Body["note"].(string)
	if l, ok := v.Body["litres"].(float64); ok {
		out.Litres = &l
	}
	return out
}
