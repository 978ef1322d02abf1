// Package escalate decides who is called about what, and when: the pure heart
// of paging.
//
// Alerts of one cause that nobody has answered are one case (Group). Advance
// takes a case and the duty as they stand and says which steps are due: who
// gets a page now, who not before some moment, when to look again, and when
// the case is over. Take puts new pages of the outbox into cases. Queue
// decides what goes out to one person next: pages that wait become one
// message, so that a flood does not ring a phone to death, and what nobody
// needs any more is dropped.
//
// What holds a page back:
//   - it is answered, closed, withdrawn, or another occurrence took its place:
//     the case is over for it;
//   - it is shelved, held, or has cleared by itself: its steps pause, and go on
//     if it returns. Nobody is called out of bed for what is over;
//   - quiet hours, unless it is urgent or the monitor's own failure;
//   - a person works in the dark: that phone stays dark, for everything. What
//     is urgent goes to the next one at once.
//
// Everything here is a function of what it is given: safe for concurrent use.
package escalate
