package timeline_test

import "wetside/rules/rulestest"

// Scripts, benches and tables are written in every file here: short names for
// them.
type (
	script   = rulestest.Script
	event    = rulestest.Event
	bench    = rulestest.Bench
	scenario = rulestest.Scenario
)

var (
	nine, never = rulestest.Nine, rulestest.Never

	newScript, newBench    = rulestest.NewScript, rulestest.NewBench
	moment, line           = rulestest.Moment, rulestest.Line
	always, between        = rulestest.Always, rulestest.Between
	dev                    = rulestest.Developer
	c41Run                 = rulestest.C41Run
	enters, inOrder        = rulestest.Enters, rulestest.InOrder
	runScenarios           = rulestest.RunScenarios
	differ, sortByReceived = rulestest.Differ, rulestest.SortByReceived
)
