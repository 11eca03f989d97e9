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

# GNU units is an outside judge of the yarn numbers.
tools:
	@command -v units >/dev/null || { \
	  if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	    (apt-get install -y -q units || { apt-get update -q && apt-get install -y -q units; }) >/dev/null 2>&1 \
	      || echo "SKIP: GNU units could not be installed; its check of the yarn numbers will be skipped"; \
	  else echo "SKIP: GNU units is not installed; its check of the yarn numbers will be skipped"; fi; }

check:
	@unformatted=$$(gofmt -l $$(git ls-files '*.go' 2>/dev/null || find . -name '*.go')); \
	  if [ -n "$$unformatted" ]; then echo "not gofmted: $$unformatted"; exit 1; fi
	$(GO) vet $(TAGS) ./...
	$(GO) tool staticcheck $(TAGS) ./...
	$(GO) build ./...
	$(GO) test $(TAGS) -run 'TestLayers|TestReadme' .

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
	$(GO) test $(TAGS) -run TestReadme . -args -update

clean:
	rm -rf bin out
