// Package private runs a PostgreSQL of wetside's own from the binaries that
// are installed: durable, reached by a socket in a folder that only its owner
// and root can enter, as an unprivileged user when started by root.
//
//	cluster, err := private.Start(ctx, private.Config{Dir: dir})
//	store, err := postgres.Open(ctx, postgres.Config{URL: cluster.URL()})
//	...
//	cluster.Stop()
//
// Start adopts a server that an earlier process left running, clears away
// what a killed one left, and recovers. Several processes may Start the same
// folder: they share the server, and the last to Stop ends it. Find gives
// other programs the URL of a running one.
//
// The folder holds data/ (the cluster), run/ (the socket, unless the path is
// too long for one: then a short folder under the system's temporary folder),
// server.log, and lock files. Start and Find are safe for concurrent use, a
// Cluster is too.
package private
