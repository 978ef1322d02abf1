package lab

import (
	"slices"
	"time"
)

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

// Preferences are how one person wants the pages. They change what is shown,
// never what is stored or sent.
type Preferences struct {
	Theme       string `json:"theme" enum:"system,light,dark" doc:"Light or dark."`
	Temperature string `json:"temperature" enum:"c,f" doc:"Celsius or Fahrenheit, as shown."`
	Volume      string `json:"volume" enum:"l,gal" doc:"Liters or US gallons, as shown."`
	Sound       string `json:"sound" enum:"on,urgent,off" doc:"Which alerts sound on an open board."`
	Spoken      bool   `json:"spoken" doc:"Alerts are read aloud too."`
}

// DefaultPreferences are those of a person who never chose.
var DefaultPreferences = Preferences{Theme: "system", Temperature: "c", Volume: "l", Sound: "on"}

// Check says what is wrong with p.
func (p Preferences) Check() error {
	for _, f := range []struct {
		name, value string
		want        []string
	}{
		{"theme", p.Theme, []string{"system", "light", "dark"}},
		{"temperature", p.Temperature, []string{"c", "f"}},
		{"volume", p.Volume, []string{"l", "gal"}},
		{"sound", p.Sound, []string{"on", "urgent", "off"}},
	} {
		if !slices.Contains(f.want, f.value) {
			return Errorf(KindInvalid, "%s", MustBeOneOf(f.name, f.value, f.want))
		}
	}
	return nil
}
