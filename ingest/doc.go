// Package ingest takes telemetry in: it decodes and validates what units
// publish over MQTT, hands it in batches to a store that commits it, and only
// then acknowledges it to the broker, in the order received. What does not
// parse or is out of range goes to the store as quarantined and stops nothing.
//
// Decode is the one reading of the telemetry contract; live ingest, import,
// replay and the store all use it. It is pure and safe to call from any number
// of goroutines.
//
// A Service is made by New, begun by Start and ended by Stop. It keeps one
// MQTT session under a fixed client id: what arrives while it is away waits at
// the broker. It promises at least once; the store drops copies by their key.
// It never acknowledges what was not committed, never blocks the MQTT client
// and never drops: when it cannot keep up, or the store is away, it leaves the
// broker, finishes what it holds and comes back. All methods of Service are
// safe to call at once.
package ingest
