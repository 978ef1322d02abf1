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
}
