package rules

import "wetside/internal/lab"

// enter takes what a person entered.
func (w *watch) enter(e *lab.Entry) {
	w.Arrival = max(w.Arrival, e.Arrival)
	w.touched = true
}
