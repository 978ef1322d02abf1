// Package process says what a process should be and what a departure from it
// amounts to: the sheets (steps, times, temperatures, limits, each with its
// source), their tolerances, and the kinetics that turn a temperature trace
// into an equivalent time and a push error.
//
// It is pure: no clock, file system beyond what is embedded or handed in,
// network or database. A Book and its Sheets are read only once loaded and
// may be shared between goroutines; a Bath (the running integral) belongs to
// one.
package process
