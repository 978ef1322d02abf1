package rules_test

import "wetside/rules/rulestest"

// Scripts, benches and tables are written in every file here: short names for
// them.
type (
	script   = rulestest.Script
	event    = rulestest.Event
	bench    = rulestest.Bench
	scenario = rulestest.Scenario
	at       = rulestest.Course
)

var (
	nine = rulestest.Nine

	newScript, newBench = rulestest.NewScript, rulestest.NewBench
	moment, line        = rulestest.Moment, rulestest.Line
	always, between     = rulestest.Always, rulestest.Between
	dev, bleached       = rulestest.Developer, rulestest.Bleached
	c41Run, upTo, ends  = rulestest.C41Run, rulestest.UpTo, rulestest.Ends
	enters              = rulestest.Enters
	played, heardBy     = rulestest.Played, rulestest.HeardBy
	runScenarios        = rulestest.RunScenarios
	sortByReceived      = rulestest.SortByReceived
)
