package broker

import (
	"fmt"
	"log/slog"
)

// logger passes on what the engine has to say: its notices are our debug.
type logger struct {
	log   *slog.Logger
	fatal chan<- string
}

func (l logger) Noticef(format string, v ...any) { l.log.Debug("broker: " + fmt.Sprintf(format, v...)) }
func (l logger) Warnf(format string, v ...any)   { l.log.Warn("broker: " + fmt.Sprintf(format, v...)) }
func (l logger) Errorf(format string, v ...any)  { l.log.Error("broker: " + fmt.Sprintf(format, v...)) }
func (l logger) Debugf(string, ...any)           {}
func (l logger) Tracef(string, ...any)           {}

// Fatalf does not end the process: Start reports it.
func (l logger) Fatalf(format string, v ...any) {
	text := fmt.Sprintf(format, v...)
	l.log.Error("broker: " + text)
	select {
	case l.fatal <- text:
	default:
	}
}
