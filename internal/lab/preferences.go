package lab

import (
	"slices"
)

// Preferences are how one person wants the pages. They change what is shown,
// never what is stored or sent.
type Preferences struct {
	Theme       string `json:"theme"`       // system, light or dark
	Temperature string `json:"temperature"` // c or f
	Volume      string `json:"volume"`      // l or gal (US)
	Sound       string `json:"sound"`       // on, urgent (only) or off
	Spoken      bool   `json:"spoken"`      // alerts are read aloud too
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
