// Package monitortest helps tests that run the whole monitor: it starts one in
// this process, or another program beside it, a real broker, a client of the
// API, a client that publishes as a unit does, and a lab whose lead is reached
// by a webhook. What it starts it ends with the test.
//
//	_, broker := monitortest.Mosquitto(t)
//	p := monitortest.Start(t, monitor.Config{Broker: broker, Database: pgtest.New(t)})
//	a := monitortest.NewAPI(t, p.URL(), store)
//
// For tests only; no program imports it. A Publisher and an Aborting belong to
// one goroutine each; everything else is safe for concurrent use.
package monitortest
