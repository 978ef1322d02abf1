package sim

import (
	"bytes"
	"fmt"
	"strings"

	"wetside/internal/lab"
)

// badMessage is a malformed message and its channel. In body "$" stands for the
// envelope's fields.
type badMessage struct {
	channel string
	body    string
}

// badMessages are messages that every reader of the contract must refuse.
var badMessages = []badMessage{
	{"temp", `{$,"bath_c":37.8`},                                  // cut short
	{"temp", ``},                                                  // nothing
	{"temp", "\xff\xfe\x00garbage"},                               // not even text
	{"temp", `[37.8]`},                                            // an array
	{"temp", `37.8`},                                              // a number
	{"temp", `null`},                                              //
	{"temp", `{$,"bath_c":"warm"}`},                               // a text for a number
	{"temp", `{$,"bath_c":NaN}`},                                  // no JSON
	{"temp", `{$,"bath_c":-327.68}`},                              // a sensor that is not there
	{"temp", `{$,"bath_c":3276.7}`},                               // out of range
	{"temp", `{"bath_c":37.8}`},                                   // no envelope
	{"tank", `{$,"levels_l":{"waste":-0.8}}`},                     // a negative level
	{"tank", `{$,"levels_l":[1,2]}`},                              // an array for a map
	{"tank", `{$,"full":"waste"}`},                                // a text for a list
	{"step", `{$,"phase":"simmering","run":"r1"}`},                // no such phase
	{"step", `{$,"phase":"in-bath"}`},                             // no run
	{"step", `{$,"run":"r1"}`},                                    // no phase
	{"step", `{$,"phase":"heating","run":"a b","process":"c41"}`}, // no run's name
	{"power", `{$,"source":"hamster"}`},                           // no such source
	{"power", `{$,"battery_pct":140}`},                            // out of range
	{"motion", `{$,"rpm":-60}`},                                   // a negative speed
	{"motion", `{$,"rpm":[60]}`},                                  // an array for a number
	{"humidity", `{$,"percent":40}`},                              // no such channel
	{"status", `{$,"online":"yes"}`},                              // a text for a truth
	{"temp", `{"at":"yesterday","boot":"b","seq":1,"bath_c":37}`}, // no time
	{"temp", `{"at":"2026-03-01T09:30:00.000Z","boot":"","seq":1}`},
	{"temp", `{"at":"2026-03-01T09:30:00.000Z","boot":"b","seq":0}`},
	{"temp", `{"at":"2026-03-01T09:30:00.000Z","boot":"b","seq":1.5}`},
	{"temp", `{"at":"2026-03-01T09:30:00.000Z","seq":1}`},
	{"temp", `{$,"note":"LONG"}`}, // over 8 KiB
}

// sendMalformed sends malformed messages while a fault asks for them.
func (u *unit) sendMalformed() {
	if u.eff.malformed <= 0 || u.silent() || u.world.Float64() > u.eff.malformed/60*u.dt {
		return
	}
	n := badMessages[u.world.IntN(len(badMessages))]
	if u.eff.takesSeq {
		u.seq++
	}
	at := u.clock.read(u.sendTime(), u.eff.clockLost).UTC().Format(payloadTime)
	envelope := fmt.Sprintf(`"at":"%s","boot":"%s","seq":%d`, at, u.boot, u.seq+1)
	if u.eff.takesSeq {
		envelope = fmt.Sprintf(`"at":"%s","boot":"%s","seq":%d`, at, u.boot, u.seq)
	}
	body := bytes.Replace([]byte(n.body), []byte("$"), []byte(envelope), 1)
	body = bytes.Replace(body, []byte("LONG"), []byte(strings.Repeat("x", lab.MaxPayload)), 1)
	u.link.send(u.sendTime(), lab.Raw{Topic: lab.TopicPrefix + u.id.String() + "/" + n.channel, Payload: body}, u.eff.net)
	u.inTick++
}
