package access

import (
	"context"
	"encoding/hex"
	"net/http"
	"strings"

	"wetside/internal/lab"
)

// A screen on a wall, where nobody signs in, comes with a link: a view-only
// token with a name of its own kind. The screen trades its key for a session,
// which ends when the token is withdrawn.

// ScreenPrefix begins the names of tokens that are screens' links.
const ScreenPrefix = "wall "

// sessionToken is what a screen's session is based on: the hash of its token.
const sessionToken = "token"

// ByScreen tells whether it is a screen.
func (id Identity) ByScreen() bool { return strings.HasPrefix(id.Name, ScreenPrefix) }

// CreateScreenKey makes the key of a screen's link. What it gives is shown
// once: it cannot be read back.
func CreateScreenKey(ctx context.Context, store Store, name string) (string, error) {
	return createToken(ctx, store, lab.Token{Name: ScreenPrefix + name, Role: lab.RoleViewer})
}

// OpenScreen lets a screen in by the key of its link.
func (a *Authenticator) OpenScreen(r *http.Request, key string) (SignedIn, error) {
	ctx := r.Context()
	who, err := a.identifyToken(ctx, key)
	if err != nil && lab.KindOf(err) != lab.KindForbidden {
		return SignedIn{}, err
	}
	if err != nil || !who.ByScreen() {
		return SignedIn{}, &CredentialError{"this link does not hold any more; ask a lead for a new one"}
	}
	cookie, err := a.startSession(ctx, r, map[string]any{sessionToken: hex.EncodeToString(hashToken(key))})
	if err != nil {
		return SignedIn{}, err
	}
	return SignedIn{Identity{who.Name, who.Role, Credential{session: cookie.Value}}, []http.Cookie{cookie}}, nil
}

// identifyScreen finds whose a session is that is based on a link: nobody's
// once the link was withdrawn.
func (a *Authenticator) identifyScreen(ctx context.Context, session, hash string) (Identity, error) {
	gone := lab.Errorf(lab.KindForbidden, "the link of this screen was withdrawn; ask a lead for a new one")
	raw, err := hex.DecodeString(hash)
	if err != nil {
		return Identity{}, gone
	}
	t, err := a.store.TokenByHash(ctx, raw)
	if lab.KindOf(err) == lab.KindNotFound && err != nil {
		return Identity{}, gone
	}
	if err == nil && a.expired(t) {
		return Identity{}, gone
	}
	return Identity{t.Name, t.Role, Credential{session: session}}, err
}
