package web

import (
	"wetside/internal/process"
)

// DeveloperList answers GET /developers.
type DeveloperList struct {
	Developers []DeveloperView `json:"developers"`
}

// DeveloperView is how fast one developer works at other temperatures.
type DeveloperView struct {
	ID       string            `json:"id"`
	Name     string            `json:"name"`
	Film     string            `json:"film"`
	Brew     string            `json:"brew"`
	Dilution string            `json:"dilution"`
	Format   string            `json:"format"`
	Times    []DeveloperTime   `json:"times"`
	Note     string            `json:"note,omitempty"`
	Sources  []DeveloperSource `json:"sources"`
}

// DeveloperTime is one time of a developer's table.
type DeveloperTime struct {
	AtC float64 `json:"at_c" doc:"At this temperature, degrees Celsius,"`
	S   float64 `json:"time_s" doc:"it takes this long, seconds."`
}

// DeveloperSource says where a figure comes from.
type DeveloperSource struct {
	Figure string `json:"figure"`
	From   string `json:"from"`
	Memory bool   `json:"memory"`
	// Provenance is how far the source goes.
	Provenance string `json:"standing"`
}

func viewDeveloper(d *process.Developer) DeveloperView {
	v := DeveloperView{ID: d.ID, Name: d.Name(), Film: d.Film, Brew: d.Brew, Dilution: d.Dilution, Format: d.Format,
		Note: d.Note, Times: []DeveloperTime{}, Sources: []DeveloperSource{}}
	for _, t := range d.Table {
		v.Times = append(v.Times, DeveloperTime{t.C, t.S})
	}
	for _, src := range d.Sources {
		v.Sources = append(v.Sources, DeveloperSource{src.Figure, src.From, src.Memory, src.Provenance()})
	}
	return v
}
