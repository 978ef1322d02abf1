package lab

import "cmp"

// What a person is wanted for where nothing is at stake yet.
const (
	JobFetchDry = "fetch film from the dryer" // it is dry, or will be then
	JobStart    = "start the loaded run"
	JobReady    = "ready to load"
)

// Job is where a person is needed next.
type Job struct {
	Unit  string `json:"unit"`
	What  string `json:"what" doc:"What is to be done."`
	DueAt Time   `json:"due_at" doc:"When."`
	Run   string `json:"run,omitempty"`

	// Patient: it is due by no minute, and wants nobody at once.
	Patient bool `json:"patient,omitempty"`
}

// SoonestFirst is the order of jobs: by when they are due, what is due by no
// minute behind the others.
func SoonestFirst(a, b Job) int {
	rank := func(j Job) int {
		if j.Patient {
			return 1
		}
		return 0
	}
	return cmp.Or(rank(a)-rank(b), a.DueAt.Compare(b.DueAt.Time), cmp.Compare(a.Unit, b.Unit))
}
