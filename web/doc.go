// Package web is wetside's face: the HTTP API under /api/v1 and the pages that
// browsers load.
//
// It keeps no truth of its own. What was stored it asks of a [Store], what is
// happening now of a [Live], what a person does to an alert it hands to an
// [AlertActions]; cmd passes the real ones, tests pass their own. Who is asking
// package access says; what open sockets have to be told package live keeps:
// the [Server.PublishUnits] and [Server.PublishAlerts] of the worker only leave
// a note there and never block.
//
// Use: New, Start, Serve (or Handler), Stop. All methods of Server are safe
// for concurrent use; Stop may be called twice or before Start.
//
// The API is described by /api/v1/openapi.yaml, which is made from the Go
// types that are really sent, and telemetry and the live socket by
// /api/v1/asyncapi.yaml; both are held to real traffic by the tests.
package web
