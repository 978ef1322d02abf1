package rules

import (
	"crypto/sha256"
	"encoding/base32"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// The rules by name.
const (
	RuleBathTemperature  = "bath-temperature"
	RuleReadingMissing   = "reading-missing"
	RuleStepOverrun      = "step-overrun"
	RuleStepShort        = "step-short"
	RuleStepSkipped      = "step-skipped"
	RuleWrongTimeSet     = "wrong-time-set"
	RuleRotationStopped  = "rotation-stopped"
	RulePhaseOverdue     = "phase-overdue"
	RuleRunAborted       = "run-aborted"
	RuleWasteNearlyFull  = "waste-nearly-full"
	RuleWasteWillNotFit  = "waste-will-not-fit"
	RuleWashWaterShort   = "wash-water-short"
	RulePowerLost        = "power-lost"
	RuleBatteryLow       = "battery-low"
	RulePowerResumed     = "power-resumed"
	RuleUnitSilent       = "unit-silent"
	RuleDryerTemperature = "dryer-temperature"
	RuleClockOff         = "clock-off"
	RuleTelemetryRefused = "telemetry-refused"
	RuleSheetMissing     = "sheet-missing"
	RuleRollMismatch     = "roll-mismatch"
	RuleChemistryShort   = "chemistry-short"
	RuleLevelDisagrees   = "level-disagrees"
	RuleDrainNotArriving = "drain-not-arriving"
	RuleStripOut         = "strip-out"
	RuleFilmStranded     = "film-stranded"

	RuleReadingDoubtful     = "reading-doubtful"
	RuleWrongTemperatureSet = "wrong-temperature-set"
	RulePreheatOff          = "preheat-off"
	RuleRotationSlow        = "rotation-slow"
	RulePushUnknown         = "push-unknown"
	RuleStepUnknown         = "step-unknown"
	RuleUnitMixedUp         = "unit-mixed-up"
	RuleFillSlow            = "fill-slow"
	RuleWrongDestination    = "wrong-destination"
)

var ruleNames = []string{RuleBathTemperature, RuleReadingMissing, RuleStepOverrun, RuleStepShort,
	RuleStepSkipped, RuleWrongTimeSet, RuleRotationStopped, RulePhaseOverdue, RuleRunAborted,
	RuleWasteNearlyFull, RuleWasteWillNotFit, RuleWashWaterShort, RulePowerLost, RuleBatteryLow,
	RulePowerResumed, RuleUnitSilent, RuleDryerTemperature, RuleClockOff, RuleTelemetryRefused, RuleSheetMissing,
	RuleRollMismatch, RuleChemistryShort, RuleLevelDisagrees, RuleDrainNotArriving, RuleStripOut, RuleFilmStranded,
	RuleReadingDoubtful, RuleWrongTemperatureSet, RulePreheatOff, RuleRotationSlow, RulePushUnknown,
	RuleStepUnknown, RuleUnitMixedUp, RuleFillSlow, RuleWrongDestination}

func knownRule(name string) bool { return slices.Contains(ruleNames, name) }

// Digest names a thing by what it is of: never a serial number, so that
// live, replay and a second pass agree.
func Digest(parts ...string) string {
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x1f")))
	return strings.ToLower(base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(sum[:15]))
}

// RunID is the id of a unit's run.
func RunID(u lab.UnitID, run string) string { return Digest("run", u.String(), run) }

func occurrenceID(key string, raised time.Time) string {
	return Digest("alert", key, lab.At(raised).String())
}
