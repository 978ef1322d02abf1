# make run     a whole lab on this machine
# make test    everything the project promises, checked
# make help    the rest

SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:

BIN        := bin/wetside
UI         := web/ui
UI_SOURCES := $(shell find $(UI) -type f -not -path '*/node_modules/*' 2>/dev/null)
GO_SOURCES := $(shell find . -name '*.go' -not -path './$(UI)/*' 2>/dev/null)
TEST_TIMEOUT := 15m
AT_ONCE    := 4 # tests of the whole program, which wait more than they work

# Where Debian keeps the PostgreSQL programs, which are not in the PATH.
HAVE_POSTGRES := command -v postgres >/dev/null || compgen -G '/usr/lib/postgresql/*/bin/postgres' >/dev/null

# install(packages): as root on Debian and its like they are installed; anybody
# else is told what is missing.
define install
if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	echo "installing $(1)"; \
	export DEBIAN_FRONTEND=noninteractive; \
	apt-get update -qq && apt-get install -y -qq --no-install-recommends $(1) </dev/null >/dev/null; \
else \
	echo "missing: $(1). Install with: sudo apt-get install $(1)" >&2; exit 1; \
fi
endef

.PHONY: help
help: ## this list
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /  make \1\t/' | expand -t 16

.PHONY: run
run: need-go need-postgres ui-if-possible ## the demonstration: broker, database, six simulated processors, the board
	$(MAKE) --no-print-directory $(BIN)
	exec ./$(BIN) demo

.PHONY: build
build: need-go ui-if-possible ## bin/wetside with the pages in it
	$(MAKE) --no-print-directory $(BIN)

$(BIN): $(GO_SOURCES) go.mod go.sum $(wildcard web/dist/* web/dist/assets/*) $(wildcard internal/process/sheets/* internal/postgres/migrations/* rules/*.yaml web/*.yaml)
	@mkdir -p $(@D)
	go build -trimpath -o $@ ./cmd/wetside

.PHONY: ui
ui: need-node web/dist/index.html ## the pages, built into web/dist

$(UI)/node_modules/.ready: $(UI)/package.json $(UI)/package-lock.json
	cd $(UI) && npm ci --no-audit --no-fund --loglevel=error </dev/null
	@touch $@

web/dist/index.html: $(UI)/node_modules/.ready $(UI_SOURCES)
	cd $(UI) && npm run --silent build </dev/null
	@touch $@

# The program works without the pages; it then shows a plain notice.
.PHONY: ui-if-possible
ui-if-possible:
	@if $(MAKE) --no-print-directory need-node 2>/dev/null; then \
		$(MAKE) --no-print-directory web/dist/index.html; \
	else \
		echo "The pages are not built: that needs Node 20 or newer and npm. The board will be a plain notice; the API is all there."; \
	fi

# Packages that compute and nothing else (archtest holds the list to its own): a
# goroutine is started in the simulation alone. Film by the hour goes through them, which takes six times
# as long under the race detector: they are tested whole without it, and in
# their short form (labtest.Few, labtest.Fewer) with it.
PURE := ./alerts ./alerts/escalate ./alerts/oncall ./internal/lab ./internal/process ./internal/records/seal ./internal/report ./internal/strips ./internal/chemistry ./internal/printable ./internal/wastebook ./internal/nextloads ./rules ./rules/level ./rules/timeline ./web/load ./web/propose ./web/rolltable
SIMULATION := ./internal/simulation/sim ./internal/simulation/judge

# A browser, brokers, databases and whole programs at once: not beside others.
WHOLE := ./cmd/wetside ./internal/monitor

.PHONY: check
check: need-go need-node $(UI)/node_modules/.ready ## while working, in under a minute: format, vet, staticcheck, pure packages in short, the pages' types
	@$(MAKE) --no-print-directory -j2 --output-sync=target formatted analyzed check-pure check-types

.PHONY: formatted analyzed check-pure check-types
formatted:
	@bad=$$(gofmt -l $$(git ls-files --cached --others --exclude-standard '*.go')); if [ -n "$$bad" ]; then echo "not formatted (gofmt -w): $$bad" >&2; exit 1; fi
analyzed:
	go vet ./...
	go tool staticcheck ./...
check-pure:
	go test -short ./internal/archtest $(PURE)
check-types:
	cd $(UI) && npm run --silent check </dev/null

.PHONY: test
test: need-go need-node need-postgres need-others ## format, vet, staticcheck, pages, and all Go tests with -race
	$(MAKE) --no-print-directory web/dist/index.html
	@$(MAKE) --no-print-directory -j2 --output-sync=line test-pages-and-fuzz test-parts
	go test -race -p 2 -timeout $(TEST_TIMEOUT) -parallel $(AT_ONCE) $(WHOLE)

# The pages' tests wait for a browser more than they work, so the others run
# beside them.
.PHONY: test-pages test-pages-and-fuzz test-parts
test-pages:
	cd $(UI) && npm run --silent check </dev/null && npm run --silent test </dev/null
test-pages-and-fuzz: test-pages
	$(MAKE) --no-print-directory fuzz TIME=200x
	@go test -count=1 -timeout $(TEST_TIMEOUT) -v ./internal/bench | grep --line-buffered -v '^=== ' # its table is seen, and fails on no time
test-parts: formatted analyzed
	go test -timeout $(TEST_TIMEOUT) $(PURE) $(SIMULATION)
	go test -race -short -timeout $(TEST_TIMEOUT) $(PURE) $(SIMULATION)
	go test -race -p 3 -timeout $(TEST_TIMEOUT) $$(go list ./... | grep -vxF -f <(go list $(PURE) $(SIMULATION) $(WHOLE) ./internal/bench))

# What a fuzz target finds is written under testdata/fuzz beside it, and is
# tried by every go test from then on. TIME may also be a count, such as 500x.
# A package is built once for all of its targets.
.PHONY: fuzz
fuzz: need-go ## every fuzz target for TIME each (TIME=30s); what is found is kept as a test
	@targets=$$(git grep --untracked -oE '^func Fuzz[A-Za-z]+' -- '*_test.go' | sed -E 's|^(.*)/[^/]*:func (.*)$$|\1 \2|' | sort) || { echo "no fuzz targets" >&2; exit 1; }; \
	made=$$(mktemp -d); trap 'rm -rf "$$made"' EXIT; known=$$(go env GOCACHE)/fuzz/$$(go list -m); built=; \
	while read -r dir name; do \
		echo "$$name in $$dir"; \
		[ "$$dir" = "$$built" ] || go test -c -fuzz=. -o "$$made/fuzz" ./$$dir; \
		built=$$dir; \
		(cd $$dir && "$$made/fuzz" -test.run='^$$' -test.fuzz="^$$name\$$" -test.fuzztime=$(or $(TIME),60s) -test.fuzzminimizetime=10x -test.fuzzcachedir="$$known/$$dir" </dev/null); \
	done <<<"$$targets"

.PHONY: house
house: need-go ## the picture and the table of the packages in DEVELOPERS.md, drawn from the sources
	go test -count=1 -run HouseIsDrawn ./internal/archtest -draw

.PHONY: words
words: need-go need-node $(UI)/node_modules/.ready ## every text that a person reads, by where it is read
	@go run ./internal/words/list

# The tests hold both files to what is served; here they are written anew.
.PHONY: types
types: need-go need-node $(UI)/node_modules/.ready ## web/testdata/openapi.yaml as it is served, and the pages' types out of it and of web/asyncapi.yaml
	go test -count=1 -run OpenAPIIsWhatTheTreeSays ./web -update
	cd $(UI) && npm run --silent types </dev/null

.PHONY: trials
trials: need-go ## the properties of the rules on a thousand cases each; no order given too late in four hundred runs
	go test -run 'SameFindings|SameAlerts' -rapid.checks 1000 -timeout 2h -v ./rules/timeline
	WETSIDE_ORDERS=400 go test -count=1 -run NoOrderIsGivenTooLate -timeout 2h -v ./internal/simulation/judge

.PHONY: judge
judge: need-go ## a thousand simulated runs, an odd world, a busy week and 600 unit-weeks of containers judged against what really happened; PART=runs, odd, week or levels, SEED=dev while working, MISSES=5 for examples, ONE=seed for one run
	go run ./internal/simulation/judge/run $(if $(ONE),-one $(ONE),-seed $(or $(SEED),judge) -part $(or $(PART),all) -misses $(or $(MISSES),0))

.PHONY: storm
storm: need-go need-postgres ## a thousand alerts, the process killed at random points: every page arrives
	WETSIDE_STORM=1000 go test -count=1 -run StormWithKills -v -timeout 1h ./alerts/delivery

.PHONY: torture
torture: need-go need-postgres need-others ## everything that can happen to it, and a table of what came of it; TRIES=10 of each, MINUTES=60 of memory, SEED=7
	WETSIDE_TORTURE_TRIES=$(or $(TRIES),10) WETSIDE_TORTURE_MINUTES=$(or $(MINUTES),60) WETSIDE_TORTURE_SEED=$(or $(SEED),1) \
		go test -count=1 -v -timeout 12h ./internal/torture
	WETSIDE_LONG_RUN=77000 go test -count=1 -v -run TestLongRun -timeout 1h ./internal/records

.PHONY: bench
bench: need-go need-postgres need-others ## the program's figures beside their ceilings in one run, and the curves of DEVELOPERS.md (a quarter of an hour); ROW=Backlog for one row
	WETSIDE_BENCH=long go test -count=1 -timeout 1h -v $(if $(ROW),-run 'Test($(ROW))$$') ./internal/bench $(if $(ROW),,-draw) | grep --line-buffered -v '^=== '

.PHONY: bench-parts
bench-parts: need-go need-postgres need-others ## the benchmarks of single packages
	go test -run '^$$' -bench . -benchmem -timeout $(TEST_TIMEOUT) ./...

.PHONY: screens
screens: need-go need-node need-postgres need-others ## pictures of the board into testdata/screens
	$(MAKE) --no-print-directory web/dist/index.html
	WETSIDE_SCREENS=$(CURDIR)/testdata/screens go test -count=1 -run TestScreens -v -timeout $(TEST_TIMEOUT) ./cmd/wetside

.PHONY: soak-board
soak-board: need-node need-others ## the board under load: an hour of 40 units at 10 Hz run faster, then a slow tablet (some minutes)
	$(MAKE) --no-print-directory $(UI)/node_modules/.ready
	cd $(UI) && node scripts/drive.mjs soak && node scripts/drive.mjs tablet

.PHONY: clean
clean: ## what was built
	rm -rf bin $(UI)/node_modules
	find web/dist -mindepth 1 -not -name notice.html -delete

.PHONY: need-go need-node need-postgres need-others
need-go:
	@command -v go >/dev/null || { echo "missing: Go 1.26 or newer; see the Go project's download page" >&2; exit 1; }
need-node:
	@{ command -v node >/dev/null && command -v npm >/dev/null; } || { $(call install,nodejs npm); }
	@node -e 'process.exit(Number(process.versions.node.split(".")[0]) < 20 ? 1 : 0)' || { echo "node is $$(node --version); the pages need Node 20 or newer" >&2; exit 1; }
need-postgres:
	@{ $(HAVE_POSTGRES); } || { $(call install,postgresql); }
need-others:
	@missing=(); \
	command -v systemd-analyze >/dev/null || missing+=(systemd); \
	command -v mosquitto >/dev/null || [ -x /usr/sbin/mosquitto ] || missing+=(mosquitto); \
	command -v mosquitto_pub >/dev/null || missing+=(mosquitto-clients); \
	command -v chromium >/dev/null || missing+=(chromium); \
	command -v psql >/dev/null || missing+=(postgresql-client); \
	if [ "$${#missing[@]}" != 0 ]; then $(call install,$${missing[*]}); fi
