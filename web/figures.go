package web

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// figures are the entries that runs are judged by.
var figures = map[string]bool{lab.EntryProbe: true, lab.EntryHouseAim: true, lab.EntryDeveloper: true, lab.EntryStepTime: true, lab.EntryProbeKind: true}

// SetBy says who set a figure, and when.
type SetBy struct {
	ID      string   `json:"id"`
	By      string   `json:"by"`
	At      lab.Time `json:"at"`
	Entered lab.Time `json:"entered"`
}

// ProbeFigure is the last check of the bath's probe.
type ProbeFigure struct {
	lab.ProbeCheck
	SetBy
}

// ProbeKindFigure is the kind of the bath's probe.
type ProbeKindFigure struct {
	lab.ProbeKind
	SetBy
	WithinC float64 `json:"within_c" doc:"How far a probe of that class can be off in a bath of 38 degrees Celsius, never checked."`
}

// HouseAimFigure is a house aim in force.
type HouseAimFigure struct {
	lab.HouseAim
	SetBy
}

// DeveloperFigure is a choice of developer in force.
type DeveloperFigure struct {
	lab.DeveloperChoice
	SetBy
}

// FigureList answers GET /units/{lab}/{unit}/figures.
type FigureList struct {
	Probe      *ProbeFigure      `json:"probe" doc:"The last check of the bath's probe; null: never checked."`
	ProbeKind  *ProbeKindFigure  `json:"probe_kind"` // null: not known
	HouseAims  []HouseAimFigure  `json:"house_aims" doc:"House aims in force."`
	Developers []DeveloperFigure `json:"developers" doc:"Developers in force."`
	StepNames  []StepNameFigure  `json:"step_names" doc:"What names that the unit gives its steps mean."`
	StepTime   *StepTimeFigure   `json:"step_time" doc:"How the unit counts the time in a step; null: from the first in-bath to the last draining."`
	History    []EntryView       `json:"history" doc:"All that was ever set, newest first."`
}

// FigureRequest sets one figure.
type FigureRequest struct {
	Probe     *ProbeRequest     `json:"probe,omitempty" doc:"A check of the bath's probe against a reference thermometer."`
	ProbeKind *ProbeKindRequest `json:"probe_kind,omitempty" doc:"What kind of probe measures the bath."`
	HouseAim  *HouseAimRequest  `json:"house_aim,omitempty" doc:"The equivalent time that the lab's good runs get."`
	Developer *DeveloperRequest `json:"developer,omitempty" doc:"Which developer a bottle holds."`
	StepTime  *lab.StepTime     `json:"step_time,omitempty" doc:"From where to where the unit counts the time in a step."`
	At        *time.Time        `json:"at,omitempty" doc:"From when on it counts; runs that began before are not judged by it. Absent: now."`
}

// ProbeRequest is a check of the bath's probe.
type ProbeRequest struct {
	OffsetC      float64  `json:"offset_c" minimum:"-5" maximum:"5" doc:"What is added to the probe's reading, degrees Celsius: the reference less the probe."`
	UncertaintyC *float64 `json:"uncertainty_c,omitempty" minimum:"0" maximum:"2" doc:"How far the probe can be off then, degrees Celsius. Absent: 0.05."`
	Reference    string   `json:"reference,omitempty" maxLength:"200" doc:"The thermometer it was held against."`
}

// ProbeKindRequest says what kind of probe measures the bath.
type ProbeKindRequest struct {
	Class string `json:"class" enum:",A,B" doc:"Its tolerance class by IEC 60751, as its data sheet has it; empty: not known, class B is assumed."`
}

// HouseAimRequest sets a house aim.
type HouseAimRequest struct {
	Process     string  `json:"process" minLength:"1" maxLength:"64" example:"c41"`
	Step        string  `json:"step" minLength:"1" maxLength:"64" example:"developer"`
	Push        float64 `json:"push,omitempty" minimum:"-6" maximum:"6"`
	EquivalentS float64 `json:"equivalent_s" minimum:"0" maximum:"7200" doc:"Equivalent time at the sheet's temperature, seconds; 0: back to the sheet."`
}

// DeveloperRequest chooses a developer.
type DeveloperRequest struct {
	Process   string `json:"process" minLength:"1" maxLength:"64" example:"bw"`
	Step      string `json:"step" minLength:"1" maxLength:"64" example:"developer"`
	Developer string `json:"developer" maxLength:"128" doc:"The id of one of GET /developers; empty: the sheet's own."`
}

func (s *Server) figureRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-figures", Method: http.MethodGet, Path: "/units/{lab}/{unit}/figures", Tags: []string{"entries"},
		Summary: "What a unit's runs are judged by beside the sheet", Description: "The probe's offset, house aims, developers, names of steps and how time is counted, and all that were ever set, with who and when.",
		Errors: []int{http.StatusNotFound},
	}, s.getFigures)
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "add-figure", Method: http.MethodPost, Path: "/units/{lab}/{unit}/figures", Tags: []string{"entries"},
		Summary: "Set a figure", Description: "Exactly one of probe, probe_kind, house_aim, developer and step_time. It counts for the runs that begin after it.",
		Errors: []int{http.StatusNotFound, http.StatusConflict}, DefaultStatus: http.StatusCreated,
	}, s.addFigure)
	s.stepNameRoute()
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-developers", Method: http.MethodGet, Path: "/developers", Tags: []string{"entries"},
		Summary: "Developers with times of their own", Description: "What DeveloperRequest.developer may name.",
	}, func(context.Context, *struct{}) (*body[DeveloperList], error) {
		out := DeveloperList{[]DeveloperView{}}
		for _, d := range s.book().Developers() {
			out.Developers = append(out.Developers, viewDeveloper(d))
		}
		return &body[DeveloperList]{out}, nil
	})
}

func (s *Server) getFigures(ctx context.Context, in *UnitPath) (*body[FigureList], error) {
	if _, err := s.unit(*in); err != nil {
		return nil, err
	}
	all, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{Unit: in.id().String(),
		What: lab.FigureEntries})
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(e lab.Entry) bool { return e.Imported })
	out := figuresInForce(lab.InForce(all))
	out.History = viewEntries(all)
	slices.Reverse(out.History)
	return &body[FigureList]{out}, nil
}

// probeAtC is the bath at which a probe's tolerance is told: a color
// developer's.
const probeAtC = 38

// figuresInForce gives the last of each figure by the moment from which it
// counts.
func figuresInForce(entries []lab.Entry) FigureList {
	out := FigureList{HouseAims: []HouseAimFigure{}, Developers: []DeveloperFigure{}, StepNames: []StepNameFigure{}}
	entries = slices.Clone(entries)
	slices.SortStableFunc(entries, func(a, b lab.Entry) int { return a.At.Compare(b.At) })
	for _, e := range entries {
		by := SetBy{ID: e.ID, By: e.By, At: lab.At(e.At), Entered: lab.At(e.Entered)}
		switch e.What {
		case lab.EntryProbe:
			f := ProbeFigure{SetBy: by}
			if json.Unmarshal(e.Body, &f.ProbeCheck) == nil {
				out.Probe = &f
			}
		case lab.EntryProbeKind:
			f := ProbeKindFigure{SetBy: by}
			if json.Unmarshal(e.Body, &f.ProbeKind) != nil {
				continue
			}
			f.WithinC = math.Round(100*process.ProbeTolerance(f.Class, probeAtC)) / 100
			if out.ProbeKind = &f; f.Class == "" {
				out.ProbeKind = nil
			}
		case lab.EntryHouseAim:
			f := HouseAimFigure{SetBy: by}
			if json.Unmarshal(e.Body, &f.HouseAim) != nil {
				continue
			}
			out.HouseAims = slices.DeleteFunc(out.HouseAims, func(o HouseAimFigure) bool {
				return o.Process == f.Process && o.Step == f.Step && o.Push == f.Push
			})
			if f.EquivalentS > 0 {
				out.HouseAims = append(out.HouseAims, f)
			}
		case lab.EntryDeveloper:
			f := DeveloperFigure{SetBy: by}
			if json.Unmarshal(e.Body, &f.DeveloperChoice) != nil {
				continue
			}
			out.Developers = slices.DeleteFunc(out.Developers, func(o DeveloperFigure) bool {
				return o.Process == f.Process && o.Step == f.Step
			})
			if f.Developer != "" {
				out.Developers = append(out.Developers, f)
			}
		case lab.EntryStepName, lab.EntryStepTime:
			out.unitsOwn(e, by)
		}
	}
	return out
}

func (s *Server) addFigure(ctx context.Context, in *struct {
	UnitPath
	Stating
	Body FigureRequest
}) (*body[EntryView], error) {
	if _, err := s.unit(in.UnitPath); err != nil {
		return nil, err
	}
	what, content, err := s.figureOf(in.Body)
	if err != nil {
		return nil, err
	}
	return s.entered(ctx, in.Key, in.Body.At, lab.Entry{Unit: in.id(), What: what}, content)
}

func (s *Server) figureOf(r FigureRequest) (what string, content any, err error) {
	given := 0
	if p := r.Probe; p != nil {
		given++
		what, content = lab.EntryProbe, lab.ProbeCheck{OffsetC: p.OffsetC, UncertaintyC: p.UncertaintyC, Reference: strings.TrimSpace(p.Reference)}
	}
	if k := r.ProbeKind; k != nil {
		given++
		what, content = lab.EntryProbeKind, lab.ProbeKind{Class: k.Class}
	}
	if a := r.HouseAim; a != nil {
		given++
		what, content = lab.EntryHouseAim, lab.HouseAim{Process: a.Process, Step: a.Step, Push: a.Push, EquivalentS: a.EquivalentS}
		err = s.checkDeveloperStep("body.house_aim", a.Process, a.Step)
	}
	if d := r.Developer; d != nil {
		given++
		what, content = lab.EntryDeveloper, lab.DeveloperChoice{Process: d.Process, Step: d.Step, Developer: d.Developer}
		err = s.checkDeveloperStep("body.developer", d.Process, d.Step)
		if _, ok := s.book().Developer(d.Developer); err == nil && d.Developer != "" && !ok {
			err = lab.Errorf(lab.KindInvalid, "body.developer.developer: there is no developer %q; GET /developers lists those there are", d.Developer)
		}
	}
	if t := r.StepTime; t != nil {
		given++
		what, content = lab.EntryStepTime, *t
	}
	if given != 1 {
		return "", nil, lab.Errorf(lab.KindInvalid, "body must hold exactly one of probe, probe_kind, house_aim, developer and step_time; got %d", given)
	}
	return what, content, err
}

// checkDeveloperStep says what is wrong with a step that is to be a developer
// of a process.
func (s *Server) checkDeveloperStep(where, processID, step string) error {
	sheet, ok := s.book().Sheet(processID)
	if !ok {
		return lab.Errorf(lab.KindInvalid, "%s", lab.MustBeOneOf(where+".process", processID, s.book().IDs()))
	}
	var developers []string
	for _, st := range sheet.Steps {
		if st.Kind == process.Dev {
			developers = append(developers, st.ID)
		}
	}
	if !slices.Contains(developers, step) {
		return lab.Errorf(lab.KindInvalid, "%s.step: %q is no developer of %s; it has %s", where, step, processID, strings.Join(developers, ", "))
	}
	return nil
}
