package broker

import (
	"fmt"
	"log/slog"
	"strings"
	"sync/atomic"
)

// logger passes on what the engine has to say: its notices are our debug. The
// monitor's client id is left out: who knew it could take its session.
type logger struct {
	log      *slog.Logger
	fatal    chan<- string
	clientID string
	broken   *atomic.Bool // the store failed
}

func (l logger) text(format string, v []any) string {
	return "broker: " + strings.ReplaceAll(fmt.Sprintf(format, v...), l.clientID, "(the monitor)")
}

func (l logger) Noticef(format string, v ...any) { l.log.Debug(l.text(format, v)) }
func (l logger) Warnf(format string, v ...any)   { l.log.Warn(l.text(format, v)) }
func (l logger) Debugf(string, ...any)           {}
func (l logger) Tracef(string, ...any)           {}

func (l logger) Errorf(format string, v ...any) {
	text := l.text(format, v)
	if storeBroke(text) {
		l.broken.Store(true)
	}
	l.log.Error(text)
}

// Fatalf does not end the process: Start reports it.
func (l logger) Fatalf(format string, v ...any) {
	text := l.text(format, v)
	l.log.Error(text)
	select {
	case l.fatal <- text:
	default:
	}
}
