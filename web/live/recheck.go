package live

import (
	"context"
	"time"

	"wetside/internal/lab"
	"wetside/web/access"
)

// recheck looks again at the sign-ins behind open sockets.
func (h *Hub) recheck(ctx context.Context) {
	tick := time.NewTicker(h.timing.Recheck)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			h.recheckOnce(ctx)
		case <-h.look:
			h.recheckOnce(ctx)
		case <-ctx.Done():
			return
		}
	}
}

func (h *Hub) recheckOnce(ctx context.Context) {
	byCredential := map[access.Credential][]*client{}
	h.mu.Lock()
	for c := range h.clients {
		key := c.who.Credential()
		byCredential[key] = append(byCredential[key], c)
	}
	h.mu.Unlock()
	for credential, clients := range byCredential {
		ctx, cancel := context.WithTimeout(ctx, storeWait)
		id, err := h.access.Identify(ctx, credential)
		cancel()
		switch {
		case err == nil && id.May(lab.RoleViewer):
		case err == nil || lab.KindOf(err) == lab.KindForbidden:
			for _, c := range clients {
				c.close(CloseSignedOut, "signed out")
			}
		default: // the store is away: nobody is thrown out for that
			h.log.Warn("cannot look at a sign-in again; trying later", "error", err)
		}
	}
}

// EndSession closes the sockets of who signed out.
func (h *Hub) EndSession(credential access.Credential) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for c := range h.clients {
		if c.who.Credential() == credential {
			c.close(CloseSignedOut, "signed out")
		}
	}
}

// RecheckSoon looks at all sign-ins now: something was withdrawn.
func (h *Hub) RecheckSoon() {
	h.withdrawn.Add(1)
	h.recheckNow()
}

func (h *Hub) recheckNow() {
	select {
	case h.look <- struct{}{}:
	default: // a look is waiting already
	}
}
