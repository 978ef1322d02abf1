package lab

import (
	"fmt"
	"regexp"
	"strings"
)

// UnitID names a unit: "lab/unit".
type UnitID struct{ Lab, Unit string }

var idPart = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,31}$`)

// ParseUnitID reads "lab/unit".
func ParseUnitID(s string) (UnitID, error) {
	l, u, ok := strings.Cut(s, "/")
	id := UnitID{l, u}
	if !ok || !id.Valid() {
		return UnitID{}, Errorf(KindInvalid, "unit %q is not a unit name; it must be lab/unit, each 1-32 of a-z, 0-9 and -", s)
	}
	return id, nil
}

// Valid tells whether both parts match the contract.
func (u UnitID) Valid() bool { return idPart.MatchString(u.Lab) && idPart.MatchString(u.Unit) }

// IsZero tells whether u names no unit.
func (u UnitID) IsZero() bool { return u == UnitID{} }

// String gives "lab/unit"; nothing for no unit, as in an alert of the monitor
// itself.
func (u UnitID) String() string {
	if u.IsZero() {
		return ""
	}
	return u.Lab + "/" + u.Unit
}

// MarshalText implements encoding.TextMarshaler.
func (u UnitID) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (u *UnitID) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*u = UnitID{}
		return nil
	}
	v, err := ParseUnitID(string(b))
	*u = v
	return err
}

// Channel is the last part of a telemetry topic.
type Channel string

// The six channels.
const (
	ChannelStatus Channel = "status"
	ChannelStep   Channel = "step"
	ChannelTemp   Channel = "temp"
	ChannelTank   Channel = "tank"
	ChannelPower  Channel = "power"
	ChannelMotion Channel = "motion"
)

// Channels lists all channels in the contract's order.
var Channels = []Channel{ChannelStatus, ChannelStep, ChannelTemp, ChannelTank, ChannelPower, ChannelMotion}

// TopicPrefix begins every telemetry topic.
const TopicPrefix = "wetside/v1/"

// Topic is where a unit publishes one channel.
func Topic(u UnitID, c Channel) string {
	return TopicPrefix + u.Lab + "/" + u.Unit + "/" + string(c)
}

// ParseTopic takes a telemetry topic apart.
func ParseTopic(topic string) (UnitID, Channel, error) {
	parts := strings.Split(topic, "/")
	if len(parts) != 5 || parts[0] != "wetside" || parts[1] != "v1" {
		return UnitID{}, "", fmt.Errorf("topic %q is not wetside/v1/{lab}/{unit}/{channel}", topic)
	}
	u := UnitID{parts[2], parts[3]}
	if !u.Valid() {
		return UnitID{}, "", fmt.Errorf("topic %q: lab and unit must each be 1-32 of a-z, 0-9 and -, not beginning with -", topic)
	}
	for _, c := range Channels {
		if string(c) == parts[4] {
			return u, c, nil
		}
	}
	return u, "", fmt.Errorf("topic %q: channel %q is not one of status, step, temp, tank, power, motion", topic, parts[4])
}
