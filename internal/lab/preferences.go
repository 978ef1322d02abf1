package lab

import (
	"slices"
)

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
