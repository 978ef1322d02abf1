// Package backup makes a backup of a lab while it runs, and restores one into
// an empty place.
//
// A backup is a folder: the database of one moment, the settings files that it
// was told of, and manifest.json, which is written last: a folder without it is
// no backup. The manifest says what was so at that moment (rows of each table,
// size and last checkpoint of the record log) and the hash of each file, so that
// a restore can be compared with what was lost. The sealing key is not in it, on
// purpose: who has a backup must not be able to seal. What the embedded broker
// has not handed over is not in it either: units send again what was not
// acknowledged.
//
// Check reads a backup through without restoring it.
package backup
