// Package live tells open WebSockets what changes: units and alerts as they
// are now, to as many boards as are open, each at the pace it reads.
//
// Use: New, Start, then serve the [Hub] (it is an http.Handler for GET only);
// PublishUnits and PublishAlerts leave a note and never block; Stop closes
// every socket and waits. A client that falls behind is not queued for: it
// gets the newest of each thing, and a snapshot where it fell far behind. It
// is the one place where anything may be left out.
//
// All methods of Hub are safe for concurrent use; Stop may be called twice or
// before Start.
package live
