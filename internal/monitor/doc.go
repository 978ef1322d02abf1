// Package monitor is the wiring of the service: it brings database, listener,
// broker, worker, ingest, records, paging and pages up in order, joins them,
// and ends them the last first. It decides nothing about film; what it adds of
// its own is that the lab is watched on whatever happens to one of its parts.
//
//	p := monitor.New(monitor.Config{Broker: monitor.Embedded, Database: monitor.Embedded, ...})
//	go p.Run(ctx) // until ctx ends, or a part fails without which it cannot go on
//	<-p.Up()
//	fmt.Println(p.URL())
//
// One process holds the lease of the lab, by a row in the database, and serves
// it (leader); another on the same database stands by, forwards to it and takes
// over.
// A leader that loses lease, database or broker ends its parts, stands by and
// tries again, with the same listener, which says what is waited for. While
// the database is away, people are called with what was known of them.
//
// Run is called once. Up may be called at any time, URL, BrokerURL and
// DatabaseURL once Up is closed; all from any goroutine. Wrong usage comes
// back as an error of lab.KindInvalid that names the flag.
//
// Beside it stand what commands share with the service: OpenStore and
// OpenForCommand for the database, Zone, Units and OpenSheets for what the lab
// set, UnitKeys, AskTests and AwaitTests.
package monitor
