package web

import _ "embed" // for asyncapi.yaml

// asyncAPI describes the telemetry and the live socket. It is written by
// hand; the tests hold its schemas to messages and frames that are really sent.
//
//go:embed asyncapi.yaml
var asyncAPI []byte
