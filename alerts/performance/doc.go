// Package performance counts how the alerting of a lab did: how often people were
// called, whether they could act in time, which rules call most; beside the
// numbers that the published guides on alarms give. It is pure, and safe for
// concurrent use.
package performance
