package web

import (
	_ "embed" // for asyncapi.yaml
	"net/http"

	"wetside/web/problem"
)

// asyncAPI describes the telemetry and the live socket. It is written by
// hand; the tests hold its schemas to messages and frames that are really sent.
//
//go:embed asyncapi.yaml
var asyncAPI []byte

// exampleRunPath is where one whole run of a unit is, message by message.
const exampleRunPath = apiBase + "/example-run.jsonl"

func (s *Server) serveExampleRun(w http.ResponseWriter, _ *http.Request) {
	if s.cfg.ExampleRun == nil {
		problem.Write(w, http.StatusNotFound, "this wetside has no example run; \"wetside simulate --print\" prints one")
		return
	}
	b, err := s.cfg.ExampleRun()
	if err != nil {
		s.log.Error("the example run cannot be made", "error", err)
		problem.Write(w, http.StatusInternalServerError, "the example run cannot be made; \"wetside simulate --print\" prints one")
		return
	}
	w.Header().Set("Content-Type", "application/jsonl")
	w.Header().Set("Cache-Control", "no-cache")
	_, _ = w.Write(b) // the client went away: nobody to tell
}
