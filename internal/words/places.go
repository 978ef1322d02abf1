package words

import "strings"

// Places are where texts are read, in the order of make words.
var Places = []string{"board", "pages", "alerts and reasons", "rule cards", "pages by phone, mail and webhook", "reports", "figures and their sources", "errors", "command help", "API descriptions", "guides", "log"}

// places is searched for the first folder that fits.
var places = []struct{ at, place string }{
	{"web/ui/src/board/", "board"},
	{"web/ui/src/words/", "board"},
	{"web/ui/", "pages"},
	{"rules/cards/", "rule cards"},
	{"rules/figures", "figures and their sources"},
	{"rules/", "alerts and reasons"},
	{"internal/lab/", "alerts and reasons"},
	{"internal/monitor/watch/", "alerts and reasons"},
	{"internal/monitor/", "command help"},
	{"internal/certificate/", "command help"},
	{"internal/replay/", "command help"},
	{"ingest/recorder/", "command help"},
	{"internal/simulation/demo/", "command help"},
	{"alerts/delivery/", "pages by phone, mail and webhook"},
	{"alerts/notify/", "pages by phone, mail and webhook"},
	{"web/link/", "pages by phone, mail and webhook"},
	{"alerts/", "alerts and reasons"},
	{"internal/report/", "reports"},
	{"internal/records/", "reports"},
	{"internal/strips/", "reports"},
	{"internal/process/", "figures and their sources"},
	{"web/openapi", "API descriptions"},
	{"web/asyncapi", "API descriptions"},
	{"web/", "errors"},
	{"cmd/", "command help"},
	{"ingest/", "errors"},
	{"internal/", "errors"},
}

func placeOf(file string) string {
	for _, p := range places {
		if strings.HasPrefix(file, p.at) {
			return p.place
		}
	}
	return "guides"
}
