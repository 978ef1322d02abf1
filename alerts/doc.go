// Package alerts owns the life of an alert: its states, what people do to it,
// and the pages that it makes.
//
// Apply is the pure part. It takes the alerts of some conditions as they are
// stored and what the rules found out about those conditions, and gives the
// alerts as they shall stand, with the entries of their histories and the
// pages to send. The store runs it inside the worker's transaction, so that a
// finding, the transition it makes and the page for it are one commit. The
// same finding twice changes nothing.
//
// Actions are the part for people: acknowledge, shelve, unshelve.
//
// The states are those of ANSI/ISA-18.2 (IEC 62682), under the contract's
// names. Where an alert stands follows from three facts of its current
// occurrence, and Apply works it out anew each time:
//
//	               not acknowledged         acknowledged
//	it lasts       unacknowledged           acknowledged
//	it is over     cleared-unacknowledged   closed
//	it is latched  unacknowledged           closed
//
// An alert of which every occurrence was withdrawn is closed. Shelving is an
// axis of its own and only holds pages back; so do a unit out of service, a
// closed lab and chattering (Policy).
//
// Apply is safe to call from any goroutine; Actions are safe for concurrent use.
package alerts
