// Package delivery brings pages to people.
//
// A Worker takes what is new in the outbox into cases, lets the steps of the
// escalation come due (package escalate), and has a sender for each person, so
// that one who cannot be reached holds up no other. A try is written down
// before it is made, under an id that never changes: killed anywhere, the
// Worker goes on with what was under way, loses nothing, and repeats only what
// the other end never answered.
//
// A Roster is the part for people: the plan, swaps, contacts, tests, and what
// became of each page. Links serve the links in pages, without a sign-in. The
// Worker also watches itself: a contact method that keeps failing, or nobody on
// duty while a unit runs, is an alert of its own, and a heartbeat goes out at
// the end of a whole working loop.
//
// Worker, Roster and Links are safe for concurrent use.
package delivery
