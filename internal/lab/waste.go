package lab

import (
	"fmt"
	"slices"
	"unicode/utf8"
)

// WasteLine is one line of the waste log: a container that was emptied, or a
// weekly check.
type WasteLine struct {
	What      string   `json:"what" enum:"emptied,check" doc:"emptied: a container was emptied, or a drum was taken away. check: the weekly look at what stands there."`
	Unit      string   `json:"unit,omitempty" doc:"The unit, lab/unit; absent: of no unit."`
	Container string   `json:"container,omitempty" doc:"The container that was emptied."`
	Stream    string   `json:"stream,omitempty" doc:"The waste stream: silver-rich, bleach, developer, wash, mixed or other."`
	Litres    *float64 `json:"litres,omitempty" doc:"How much, liters; absent: not known."`
	LitresBy  string   `json:"litres_by,omitempty" enum:"estimate,person," doc:"estimate: from the container's level at that moment. person: a person said so."`
	To        string   `json:"to,omitempty" doc:"Where it went: a drum, a recovery unit, a hauler, a drain that local rules allow."`
	Drum      string   `json:"drum,omitempty" doc:"The label of the container that it was collected in."`
	Since     *Time    `json:"since,omitempty" doc:"When that container began to be filled: its start of accumulation."`
	Hauler    string   `json:"hauler,omitempty" doc:"Who took it away."`
	Manifest  string   `json:"manifest,omitempty" doc:"The number of the manifest."`
	SilverMgL *float64 `json:"silver_mg_per_liter,omitempty" doc:"What a silver test showed, mg/L."`
	SilverHow string   `json:"silver_how,omitempty" doc:"How silver was tested: test paper, or a laboratory."`
	Initials  string   `json:"initials,omitempty" doc:"Initials of who looked, for a check."`
	OK        *bool    `json:"ok,omitempty" doc:"The check found all in order: closed, labeled, no leak; false: see the note."`
	Note      string   `json:"note,omitempty" doc:"What else is to be known."`
	Removed   bool     `json:"removed,omitempty" doc:"It was a mistake: it stays in the log, crossed out, and counts no more."`
}

// What a line of the waste log is of.
const (
	WasteEmptied = "emptied"
	WasteCheck   = "check"
)

// Whose liters a line has.
const (
	LitresEstimate = "estimate"
	LitresPerson   = "person"
)

// Waste streams. Only the first holds silver that can be recovered.
const (
	StreamSilver    = "silver-rich"
	StreamBleach    = "bleach"
	StreamDeveloper = "developer"
	StreamWash      = "wash"
	StreamMixed     = "mixed"
	StreamOther     = "other"
)

// WasteStreams are the streams that are known.
var WasteStreams = []string{StreamSilver, StreamBleach, StreamDeveloper, StreamWash, StreamMixed, StreamOther}

// Check says what is wrong with l.
func (l WasteLine) Check() error {
	if err := oneOfThese("what", l.What, []string{WasteEmptied, WasteCheck}); err != nil {
		return Errorf(KindInvalid, "%w", err)
	}
	if l.Stream != "" && !slices.Contains(WasteStreams, l.Stream) {
		return Errorf(KindInvalid, "%s", MustBeOneOf("stream", l.Stream, WasteStreams))
	}
	if l.Unit != "" {
		if _, err := ParseUnitID(l.Unit); err != nil {
			return err
		}
	}
	if err := BoundLitres.CheckPtr("litres", l.Litres); err != nil {
		return Errorf(KindInvalid, "%w", err)
	}
	if l.SilverMgL != nil && !finite(*l.SilverMgL, 0, 100_000) {
		return Errorf(KindInvalid, "silver must be 0 to 100,000 mg/L; got %g", *l.SilverMgL)
	}
	if l.What == WasteCheck {
		if err := present("initials", l.Initials); err != nil {
			return Errorf(KindInvalid, "%w", err)
		}
	}
	for field, v := range map[string]string{"container": l.Container, "to": l.To, "drum": l.Drum, "hauler": l.Hauler, "manifest": l.Manifest, "silver_how": l.SilverHow, "initials": l.Initials} {
		if n := utf8.RuneCountInString(v); n > maxLine {
			return Errorf(KindInvalid, "%s has %d characters; at most %d are taken", field, n, maxLine)
		}
	}
	if n := utf8.RuneCountInString(l.Note); n > maxNote {
		return Errorf(KindInvalid, "note has %d characters; at most %d are taken", n, maxNote)
	}
	return nil
}

// WasteKey is the name of the setting that holds WasteSettings, as JSON.
const WasteKey = "waste"

// WasteSettings say whether the lab writes a waste log, and which container
// collects what.
type WasteSettings struct {
	StartedAt *Time             `json:"started_at" doc:"Since when the log is written; null: it is not, and nobody is asked."`
	Streams   map[string]string `json:"streams,omitempty" doc:"Which stream a container collects, by its name, such as waste or recovery-fixer."`
	To        map[string]string `json:"to,omitempty" doc:"Where a container is usually emptied into, by its name."`
	Site      string            `json:"site,omitempty" doc:"Name and address of the lab, as they stand on the log."`
}

// Check says what is wrong with s.
func (s WasteSettings) Check() error {
	if len(s.Streams) > maxLimits || len(s.To) > maxLimits {
		return Errorf(KindInvalid, "at most %d containers are taken", maxLimits)
	}
	for c, stream := range s.Streams {
		if !slices.Contains(WasteStreams, stream) {
			return Errorf(KindInvalid, "%s", MustBeOneOf(fmt.Sprintf("streams: %s", c), stream, WasteStreams))
		}
	}
	if n := utf8.RuneCountInString(s.Site); n > maxNote {
		return Errorf(KindInvalid, "site has %d characters; at most %d are taken", n, maxNote)
	}
	return nil
}
