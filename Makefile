# Everything is built and tested with the tag goolm: end-to-end encryption in
# pure Go. A plain `go build ./...` works too.
GO    ?= go
TAGS  := -tags goolm
BIN   := bin/weftroom

.PHONY: all build demo test check bench fuzz docs tools clean

all: build

build: $(BIN)

$(BIN): FORCE
	$(GO) build $(TAGS) -o $@ ./bot/cmd/weftroom

FORCE:

# The main job on the embedded default: an invented class, from its looms to
# its proven plans.
demo: build
	./$(BIN) demo

# All tests. What a machine lacks is fetched where that can be done as root,
# and otherwise its tests are skipped with the reason.
test: tools
	$(GO) test $(TAGS) ./...

# What the tests want of the machine: a program that tells whether it is there,
# its Debian package, and what is skipped without it.
tools:
	@$(call fetch,units,units,the check of the yarn numbers against GNU units)
	@$(call fetch,/usr/lib/postgresql/*/bin/initdb,postgresql,every test on PostgreSQL)

# The tests start a PostgreSQL of their own, on a socket in a temporary folder;
# the one that Debian sets up with the package is not touched.
fetch = command -v $(1) >/dev/null || { \
	  if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	    export DEBIAN_FRONTEND=noninteractive; \
	    (apt-get install -y -q $(2) || { apt-get update -q && apt-get install -y -q $(2); }) >/dev/null 2>&1 \
	      || echo "SKIP: $(2) could not be installed; $(3) will be skipped"; \
	  else echo "SKIP: $(2) is not installed; $(3) will be skipped"; fi; }

check:
	@unformatted=$$(gofmt -l $$(git ls-files '*.go' 2>/dev/null || find . -name '*.go')); \
	  if [ -n "$$unformatted" ]; then echo "not gofmted: $$unformatted"; exit 1; fi
	$(GO) vet $(TAGS) ./...
	$(GO) tool staticcheck $(TAGS) ./...
	$(GO) build ./...
	$(GO) test $(TAGS) -run 'TestLayers|TestReadme' ./bot/cmd/weftroom

# Figures are ratios to a floor measured in the same run.
bench:
	$(GO) test $(TAGS) -run '^$$' -bench . -benchmem ./calc/lace ./bot/cmd/weftroom

# Every fuzz target in turn, FUZZTIME each.
FUZZTIME ?= 60s
fuzz:
	@for pkg in $$($(GO) list $(TAGS) ./...); do \
	  for f in $$($(GO) test $(TAGS) -list '^Fuzz' $$pkg | grep '^Fuzz'); do \
	    echo "== $$pkg $$f"; \
	    $(GO) test $(TAGS) -run '^$$' -fuzz "^$$f$$" -fuzztime $(FUZZTIME) $$pkg || exit 1; \
	  done; \
	done

# Rewrite what in the README is made from the code.
docs:
	$(GO) test $(TAGS) -run TestReadme ./bot/cmd/weftroom -args -update

clean:
	rm -rf bin out
