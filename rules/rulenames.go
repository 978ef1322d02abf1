package rules

import (
	"slices"
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
