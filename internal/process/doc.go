// Package process says what a process should be and what a departure from it
// amounts to: the sheets (steps, times, temperatures, limits, each with its
// source), their tolerances, the developers (how fast each works at other
// temperatures), and the kinetics that turn a temperature trace into an
// equivalent time and a push error. For film that stands without power it has
// Newton's cooling, fitted to the unit's own, and works out until when to go
// on, when to drain and when it is too late; and once the power is back, how
// to end the step.
//
// A lab's own sheets lie in a folder, its own developers in the folder
// developers beneath; Load reads both over the built-in ones. What is not
// known comes as a Range whose bounds hold.
//
// It is pure: no clock, file system beyond what is embedded or handed in,
// network or database. A Book and its Sheets are read only once loaded and
// may be shared between goroutines; the rest are values.
package process
