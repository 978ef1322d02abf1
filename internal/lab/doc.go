// Package lab holds the nouns that cross a package border in wetside: units,
// telemetry messages, alerts, runs, the capture format, error kinds and the
// clock. It is the bedrock: it imports nothing but the standard library and
// opens no file, socket or database.
//
// Every JSON shape here is fixed by the contract (docs served at
// /api/v1/openapi.yaml and /api/v1/asyncapi.yaml): times are RFC 3339 with
// milliseconds, fields end in their unit (_s seconds, _c degrees Celsius, _l
// litres, _ml milliliters). All values are safe to copy; none is safe to
// change while another goroutine reads it.
package lab
