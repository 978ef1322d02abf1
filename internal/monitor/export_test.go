package monitor

// What the tests of the package look at alone.
var (
	ReachedAt        = reachedAt
	NotSealed        = notSealed
	RunsNotSealed    = runsNotSealed
	NoNewsForNewLabs = noNewsForNewLabs
	ClientID         = clientID
)

const SealingPageAfter = sealingPageAfter
