// Package propose says what to load next: it lays the rolls that wait on the units
// that are ready, as a proposal, and says what it rests on and what is not in it.
//
// Use: gather [Facts], call [Propose]. It is a pure function; the search is that
// of internal/nextloads. What is not known is said: a unit whose processes, reels
// or times nobody knows is left out with that reason, and nothing is guessed.
package propose
