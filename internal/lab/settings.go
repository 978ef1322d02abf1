package lab

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
)

// LabSettingsKey is the name of the setting that holds the LabSettings, as JSON.
const LabSettingsKey = "house"

// RulesKey is the name of the setting that holds a RulesInUse, as JSON.
const RulesKey = "rules-in-use"

// RulesInUse is since when each lab has had each of the rules that are on
// trial at first: by lab, then by rule.
type RulesInUse map[string]map[string]Time

// Lacks tells whether a rule of a lab is missing.
func (u RulesInUse) Lacks(labs, rules []string) bool {
	for _, l := range labs {
		for _, r := range rules {
			if _, ok := u[l][r]; !ok {
				return true
			}
		}
	}
	return false
}

// Begin notes that labs have rules from now on, where they did not before.
func (u RulesInUse) Begin(labs, rules []string, now Time) {
	for _, l := range labs {
		if u[l] == nil {
			u[l] = map[string]Time{}
		}
		for _, r := range rules {
			if _, ok := u[l][r]; !ok {
				u[l][r] = now
			}
		}
	}
}

// LabSettings are what holds for the whole lab.
type LabSettings struct {
	TimeZone string `json:"time_zone" doc:"IANA name, such as Europe/Dublin."` // "" is UTC
	// By the lab's clock. Where some days are named, the others are closed.
	Hours       map[string][]string `json:"hours,omitempty" doc:"Opening hours by weekday, monday to sunday, each a list such as 09:00-18:00. With no day named the lab is always open."`
	Closed      bool                `json:"closed" doc:"A person closed the lab."`
	ClosedUntil *Time               `json:"closed_until" doc:"When it opens by itself; null: when somebody opens it."`
	ClosedBy    string              `json:"closed_by,omitempty"`
	// What takes all units of a circuit or a network is one cause.
	Circuits map[string][]string `json:"circuits,omitempty" doc:"Which units hang on one fuse, by its name."`
	Networks map[string][]string `json:"networks,omitempty" doc:"Which units hang on one network, by its name."`
	// A check that is not named is due as usual.
	CheckDays map[string]int `json:"check_days,omitempty" doc:"How often each check of a unit is due, days, by its id; 0: never."`
	CheckRuns map[string]int `json:"check_runs,omitempty" doc:"After how many runs of the unit each check is due, by its id, where that comes before its days; absent or 0: by days alone."`
	// What is to be loaded next is planned by these; a unit that is not named
	// holds what its fullest run of late had.
	Reels      map[string]float64 `json:"reels,omitempty" doc:"What the reels of each unit hold, rolls of 135 or 120, by the unit's id. Absent: the most that its runs of the last 60 days had."`
	DryerHolds float64            `json:"dryer_holds,omitempty" minimum:"0" maximum:"1000" doc:"What the lab's common dryer holds, rolls. 0: each unit dries its own film."`
	DryerMin   int                `json:"dryer_min,omitempty" minimum:"0" maximum:"1440" doc:"How long film dries there, minutes."`

	Units *Units `json:"units,omitempty" doc:"What pages by phone and mail, webhooks and reports on paper are written in, and the screens of those who chose nothing. Absent: c and l."`
}

// ReadIn are the lab's units of measure.
func (h LabSettings) ReadIn() Units {
	if h.Units == nil {
		return Units{Temperature: "c", Volume: "l"}
	}
	return *h.Units
}

// maxCheckEvery is the longest interval of a check, days or runs.
const maxCheckEvery = 5000

// Weekdays names the days as LabSettings.Hours does.
var Weekdays = []string{"sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"}

// Check says what is wrong with h.
func (h LabSettings) Check() error {
	if _, err := time.LoadLocation(h.TimeZone); err != nil {
		return Errorf(KindInvalid, "time_zone %q is not known; give an IANA name such as Europe/Dublin", h.TimeZone)
	}
	for _, day := range slices.Sorted(maps.Keys(h.Hours)) {
		if !slices.Contains(Weekdays, day) {
			return Errorf(KindInvalid, "hours: %q is not a day; give monday to sunday", day)
		}
		for _, span := range h.Hours[day] {
			if _, _, err := ParseHours(span); err != nil {
				return Errorf(KindInvalid, "hours: %s: %w", day, err)
			}
		}
	}
	if err := h.checkReels(); err != nil {
		return err
	}
	for what, m := range map[string]map[string]int{"check_days": h.CheckDays, "check_runs": h.CheckRuns} {
		for _, id := range slices.Sorted(maps.Keys(m)) {
			if m[id] < 0 || m[id] > maxCheckEvery {
				return Errorf(KindInvalid, "%s: %s must be 0 to %d; got %d", what, id, maxCheckEvery, m[id])
			}
		}
	}
	if h.Units != nil {
		if err := h.Units.Check(); err != nil {
			return err
		}
	}
	for what, groups := range map[string]map[string][]string{"circuits": h.Circuits, "networks": h.Networks} {
		seen := map[string]string{}
		for _, name := range slices.Sorted(maps.Keys(groups)) {
			for _, u := range groups[name] {
				if _, err := ParseUnitID(u); err != nil {
					return Errorf(KindInvalid, "%s: %s: %w", what, name, err)
				}
				if other, twice := seen[u]; twice {
					return Errorf(KindInvalid, "%s: %s is in %s and in %s; put it in one", what, u, other, name)
				}
				seen[u] = name
			}
		}
	}
	return nil
}

// mostReels is more than the reels of any unit hold, rolls.
const mostReels = 200

func (h LabSettings) checkReels() error {
	for _, unit := range slices.Sorted(maps.Keys(h.Reels)) {
		if _, err := ParseUnitID(unit); err != nil {
			return Errorf(KindInvalid, "reels: %w", err)
		}
		if n := h.Reels[unit]; !(n >= 0 && n <= mostReels) {
			return Errorf(KindInvalid, "reels: %s must hold 0 to %d rolls; got %v", unit, mostReels, n)
		}
	}
	if !(h.DryerHolds >= 0 && h.DryerHolds <= 1000) || h.DryerMin < 0 || h.DryerMin > 24*60 {
		return Errorf(KindInvalid, "the dryer must hold 0 to 1000 rolls and dry them in 0 to 1440 min; got %v and %d", h.DryerHolds, h.DryerMin)
	}
	return nil
}

// ParseHours reads "09:00-18:00" as minutes of the day. "24:00" is the end of
// the day.
func ParseHours(span string) (from, to int, err error) {
	a, b, ok := strings.Cut(span, "-")
	if ok {
		from, ok = minutes(a)
	}
	if ok {
		to, ok = minutes(b)
	}
	if !ok || to <= from {
		return 0, 0, fmt.Errorf("hours must be such as 09:00-18:00, the end after the beginning; got %q", span)
	}
	return from, to, nil
}

func minutes(s string) (int, bool) {
	h, m, ok := strings.Cut(strings.TrimSpace(s), ":")
	hours, err1 := strconv.Atoi(h)
	mins, err2 := strconv.Atoi(m)
	v := 60*hours + mins
	return v, ok && len(m) == 2 && err1 == nil && err2 == nil && hours >= 0 && mins >= 0 && mins < 60 && v <= 24*60
}

// ClosedAt tells whether the lab is closed at a moment: a person closed it, or
// it is outside its hours.
func (h LabSettings) ClosedAt(now time.Time) bool {
	if h.Closed && (h.ClosedUntil == nil || now.Before(h.ClosedUntil.Time)) {
		return true
	}
	return len(h.Hours) > 0 && !h.within(now)
}

// Location is the lab's time zone; UTC where it is not known.
func (h LabSettings) Location() *time.Location {
	loc, err := time.LoadLocation(h.TimeZone)
	if err != nil {
		return time.UTC
	}
	return loc
}

// within tells whether now is within the opening hours.
func (h LabSettings) within(now time.Time) bool {
	now = now.In(h.Location())
	at := 60*now.Hour() + now.Minute()
	for _, span := range h.Hours[Weekdays[now.Weekday()]] {
		if from, to, err := ParseHours(span); err == nil && at >= from && at < to {
			return true
		}
	}
	return false
}

// Sharing names the circuit or network of groups that a unit hangs on; "" where
// none is known.
func Sharing(groups map[string][]string, unit string) string {
	for _, name := range slices.Sorted(maps.Keys(groups)) {
		if slices.Contains(groups[name], unit) {
			return name
		}
	}
	return ""
}

// SettingChange is one change of a setting, for the record of who did it.
type SettingChange struct {
	At    Time            `json:"at"`
	By    string          `json:"by"`
	Key   string          `json:"key"` // house, or unit lab/unit
	Value json.RawMessage `json:"value"`
}

// UnitKey is the key under which changes of a unit's settings are kept.
func UnitKey(unit string) string { return "unit " + unit }

// SheetChange is one change that a lab made to a process sheet.
type SheetChange struct {
	Process string `json:"process"` // the sheet's id
	Text    string `json:"text"`    // in the form of a sheet's file; "": taken back
	By      string `json:"by"`
	At      Time   `json:"at"`
}

// Reach is where phones, screens and units find this wetside, and which flag
// it wants where they cannot.
type Reach struct {
	Board     []string `json:"board" doc:"Addresses at which other machines open the board; empty: none can."`
	BoardFlag string   `json:"board_flag" doc:"What to start wetside with so that they can; empty where they can."`
	OwnBroker bool     `json:"own_broker" doc:"Units connect to wetside's own broker."`
	Units     []string `json:"units" doc:"Where units connect, host:port; empty: units on this machine only."`
	UnitsHere string   `json:"units_here" doc:"Where a unit on this machine connects; empty with an outside broker."`
	UnitsTLS  bool     `json:"units_tls" doc:"Units speak TLS there."`
	UnitsFlag string   `json:"units_flag" doc:"What to start wetside with so that units elsewhere can connect; empty where they can."`
}

// UnitSetting is what people decided about a unit.
type UnitSetting struct {
	Unit     string `json:"unit"`
	Name     string `json:"name"`
	Standing string `json:"standing"` // new, accepted, out-of-service, retired
}

// What people decide about a unit.
const (
	UnitNew          = "new" // heard of, not accepted yet
	UnitAccepted     = "accepted"
	UnitOutOfService = "out-of-service"
	UnitRetired      = "retired"
)
