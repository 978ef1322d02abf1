package lab

import "time"

// Roles of people and tokens, each with all that the one before it may do:
// a viewer reads, an operator acknowledges and shelves, a lead sets up.
const (
	RoleViewer   = "viewer"
	RoleOperator = "operator"
	RoleLead     = "lead"
)

// User is a person who signs in. PasswordHash is in the encoded form of the
// hash function and never leaves the store but for comparison.
type User struct {
	Name         string
	Role         string
	PasswordHash string
	CreatedAt    time.Time
}

// Token is an API token as it is kept: the token itself is shown once, to
// the person who made it; the store has its SHA-256.
type Token struct {
	Name      string
	Role      string
	Hash      []byte
	CreatedAt time.Time
	ExpiresAt time.Time // zero: until it is withdrawn
	LastUsed  time.Time // to the minute; zero: never
}

// UnitKeyInfo is a unit's key for the broker, as far as it may be shown.
type UnitKeyInfo struct {
	Unit      string `json:"unit"`
	CreatedAt Time   `json:"created_at"`
}

// LinkHolder is the person of a page's link, as they stand now.
type LinkHolder struct {
	Role      string               // "": there is no such person any more
	Withdrawn time.Time            // their links up to then are good for nothing
	Alerts    map[string]time.Time // so are those about these alerts
}

// MayAct tells whether a role acknowledges and shelves.
func MayAct(role string) bool { return role == RoleOperator || role == RoleLead }
