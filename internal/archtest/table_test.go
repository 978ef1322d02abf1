package archtest

// module is the prefix of our own packages.
const module = "wetside/"

// row says what the packages at and below a folder may import of ours, in
// code that is not a test.
type row struct {
	at    string
	may   []string // folders; what is below them counts
	notes string   // why no more
}

// table is searched for the longest folder that fits. A package may always
// import what is at or below its own row's folder.
var table = []row{
	{"internal/lab", nil, "the bedrock: nouns only, so that everybody may import it"},
	{"internal/process", []string{"internal/lab"}, "pure data and arithmetic: replay and simulator rest on it"},
	{"rules/level", nil, "arithmetic of one container, for the rules and the verdict on a load; knows nobody"},
	{"rules", []string{"internal/lab", "internal/process", "rules/level"}, "the film rules, one pure function: live, replay and reports cannot disagree"},
	{"rules/timeline", []string{"internal/lab", "rules"}, "puts a unit's messages in order for the rules, and never the other way round; pure"},
	{"rules/rulestest", []string{"internal/lab", "internal/process", "rules"}, "telemetry written by hand, for the tests of rules and timeline"},
	{"internal/report", []string{"internal/lab", "internal/process", "internal/chemistry", "internal/printable", "rules"}, "evidence in, report out; pure"},
	{"internal/strips", []string{"internal/lab"}, "statistics of control strips: numbers in, signals out; pure"},
	{"internal/printable", nil, "text in, what the fonts have out; pure"},
	{"internal/wastebook", []string{"internal/lab", "internal/printable"}, "what people entered and wrote in, a log out; pure"},
	{"internal/chemistry", []string{"internal/lab"}, "mixes, bottles and the arithmetic of both; pure"},
	{"internal/nextloads", nil, "arithmetic of schedules: minutes and sizes in, a plan out; pure"},
	{"internal/simulation/sim", []string{"internal/lab", "internal/process"}, "shares no encoder with ingest: two mistakes must not cancel out"},
	{"ingest", []string{"internal/lab", "internal/service"}, "knows nothing of what telemetry means, nor of the database"},
	{"ingest/recorder", []string{"internal/lab"}, "looks on: no decoder and no store"},
	{"alerts", []string{"internal/lab", "internal/service"}, "the life of an alert does not depend on which rule raised it"},
	{"web", []string{"internal/lab", "internal/service", "internal/process", "internal/strips", "internal/chemistry", "internal/wastebook", "internal/nextloads"}, "shows what others know, by the small interfaces that it states"},
	{"web/problem", []string{"internal/lab"}, "how an error is told over HTTP, the same by API, pages and socket"},
	{"web/access", []string{"internal/lab", "web/problem"}, "who is asking and what they may do: knows nothing of what they ask for"},
	{"web/live", []string{"internal/lab", "web/access", "web/problem"}, "what changed, to open sockets: what a unit looks like comes as an interface"},
	{"web/load", []string{"internal/lab", "internal/process", "internal/strips", "internal/chemistry", "rules/level"}, "the verdict on a load from what is gathered for it; pure"},
	{"web/propose", []string{"internal/lab", "internal/nextloads", "internal/process", "internal/chemistry"}, "what to load next from what is gathered for it; pure"},
	{"web/rolltable", []string{"internal/lab", "internal/process"}, "text in, rolls out; pure"},
	{"internal/postgres", []string{"internal/lab", "internal/service"}, "the store runs what it is given; it decides nothing"},
	{"internal/monitor", []string{"ingest", "rules", "alerts", "web", "internal/lab", "internal/process", "internal/service", "internal/postgres", "internal/records", "internal/report"},
		"the wiring: joins the rooms of the service; no simulator and no replay in it"},
	{"internal/monitor/disk", []string{"internal/lab"}, "free space in, faults out"},
	{"internal/monitor/health", []string{"internal/lab", "internal/postgres"}, "facts in, findings out; pure"},
	{"internal/monitor/listener", []string{"internal/lab"}, "answers before there is anything to show: it needs none of it"},
	{"internal/monitor/sealkey", []string{"internal/records/seal"}, "files of the key; a command that verifies needs no more"},
	{"internal/monitor/monitortest", []string{"ingest", "alerts", "web", "internal"}, "helps the tests of whole programs"},
	{"internal/monitor/watch", []string{"internal/lab", "internal/process", "internal/service", "rules", "alerts"}, "the worker joins rules and alerts; the store comes as an interface"},
	{"internal/records/seal", []string{"internal/lab"}, "a record's form, its log and its signatures: checked without anything else"},
	{"internal/records", []string{"internal/lab", "internal/process", "internal/service", "internal/report", "rules"}, "seals what audit makes of the evidence; the store comes as an interface"},
	{"internal/replay", []string{"internal/lab", "ingest", "rules", "alerts"}, "the decoder and the fold of the live service, with no service"},
	{"internal/replay/history", []string{"internal/lab", "internal/postgres", "internal/replay", "rules", "alerts"}, "what a replay finds, into the tables"},
	{"internal/certificate", []string{"internal/lab"}, "files of keys and certificates; knows nothing of who serves with them"},
	{"internal/service", nil, "what runs until it is stopped, whatever it does"},
	{"internal/labtest", []string{"internal/lab"}, "helps the tests of all; knows the nouns only"},
	{"internal/archtest", nil, "reads sources, links none"},
	{"internal/bench", nil, "tests alone: nobody imports it"},
	{"internal/words", nil, "reads sources, links none"},
	{"internal/simulation/judge", []string{"internal/lab", "internal/process", "internal/simulation/sim", "ingest", "rules"}, "plays the simulator through the decoder and the rules; no part of the program"},
	{"internal/simulation/demo", []string{"internal/lab", "internal/service", "internal/postgres", "internal/replay", "internal/strips", "internal/simulation/sim", "alerts/notify", "alerts/oncall", "rules"}, "what the demonstration's lab has, given to it by the ways that any lab has"},
	{"cmd", []string{"alerts/notify", "ingest/recorder", "rules", "web", "internal/certificate", "internal/lab", "internal/monitor", "internal/postgres", "internal/process", "internal/records", "internal/replay", "internal/report", "internal/simulation", "internal/strips"},
		"flags and commands: parts are joined in internal/monitor"},
	{"testdata", []string{"internal/lab"}, "shared truth, apart from those that are held to it"},
}

// outside says who alone may import what is not ours, tests set aside.
var outside = []struct {
	prefix string
	only   []string
	notes  string
}{
	{"github.com/jackc/pgx", []string{"internal/postgres"}, "SQL beside its scan, and nowhere else"},
	{"github.com/jackc/pgxlisten", []string{"internal/postgres"}, "SQL beside its scan, and nowhere else"},
	{"github.com/pressly/goose", []string{"internal/postgres"}, "migrations belong to the store"},
	{"database/sql", []string{"internal/postgres"}, "the store alone talks to the database"},
	{"github.com/eclipse/paho.mqtt.golang", []string{"ingest", "internal/simulation/sim"}, "telemetry comes in at one place; units are simulated at another"},
	{"github.com/nats-io", []string{"ingest"}, "the embedded broker is part of telemetry in"},
	{"github.com/gorilla/websocket", []string{"web/live"}, "one hub, which alone may drop"},
	{"github.com/danielgtaylor/huma", []string{"web"}, "the API is described where it is served"},
	{"github.com/wneessen/go-mail", []string{"alerts"}, "pages go out in one place"},
	{"github.com/SherClockHolmes/webpush-go", []string{"alerts"}, "pages go out in one place"},
	{"github.com/alecthomas/kong", []string{"cmd"}, "flags end at the command"},
	{"pgregory.net/rapid", nil, "for tests"},
	{"github.com/google/go-cmp", nil, "for tests"},
	{"go.uber.org/goleak", nil, "for tests"},
	{"github.com/chromedp", nil, "for tests"},
	{"github.com/getkin/kin-openapi", nil, "for tests"},
	{"github.com/santhosh-tekuri/jsonschema", nil, "for tests"},
	{"github.com/emersion", nil, "the mail server that the tests send to"},
}

// pure packages take no part in the world: what they give depends on what
// they are given.
var pure = []string{"alerts/oncall", "alerts/escalate", "internal/lab", "internal/process", "internal/report", "internal/records/seal", "internal/strips", "internal/chemistry", "internal/wastebook", "internal/printable", "internal/nextloads", "rules", "rules/level", "rules/timeline", "alerts", "web/load", "web/propose", "web/rolltable"}

// impure is what pure packages may not import: packages and what is below.
var impure = []string{"net", "os", "syscall", "database", "log", "math/rand", "github.com/jackc", "github.com/prometheus"}

// helpers are packages for tests: the program links none of them.
var helpers = []string{"web/access/accesstest", "internal/labtest", "internal/monitor/monitortest", "internal/archtest", "internal/words", "internal/postgres/pgtest", "internal/simulation/judge", "rules/rulestest"}
