// Package load judges what is loaded before start is pressed: go, or stop with
// the reasons, what the run will need beside what is there, and what there is
// to ask about the rolls.
//
// Use: gather a [Check], call [Judge]. It is a pure function; what is not
// known is said and does not stop. A question about a roll stops until the load
// carries an answer to it, which counts for the unit or run it was asked of.
package load
