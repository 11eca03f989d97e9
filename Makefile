# Everything is built and tested with the tag goolm: end-to-end encryption in
# pure Go. A plain `go build ./...` works too.
GO    ?= go
TAGS  := -tags goolm
BIN   := bin/weftroom

# Outside judges that are npm packages, each in a small pinned project.
JUDGES := bot/timetable/testdata/judges adapters/discord/testdata/judges adapters/matrix/testdata/student

# The homeserver of the Matrix tests, and the folder of its programs, which
# outlives this one.
DENDRITE := v0.13.8
export WEFTROOM_TOOLS ?= $(or $(XDG_CACHE_HOME),$(HOME)/.cache)/weftroom/bin

.PHONY: all build demo test torture study soak-matrix bench-matrix check bench bench-discord bench-paper fuzz docs tools homeserver clean

all: build

build: $(BIN)

$(BIN): FORCE
	$(GO) build $(TAGS) -o $@ ./bot/cmd/weftroom

FORCE:

# The main job on the embedded default: an invented class, from its looms to
# its proven plans.
demo: build
	./$(BIN) demo

# All tests. What a machine lacks is fetched where that can be done as root, and
# otherwise its tests are skipped; the skipped ones are listed with their reasons
# at the end. TESTSUM are further flags of gotestsum.
test: tools
	$(GO) tool gotestsum --format pkgname $(TESTSUM) --packages ./... -- $(TAGS)

# The kill tests in their long form: 2,000 posts over 50 rooms and at least 100
# kills for each of four kinds, and what arrived.
torture: tools
	$(GO) test $(TAGS) -v -count=1 -timeout 60m -run 'TestKilled|TestCommandsReplayed|TestStopped' ./bot/cmd/weftroom/delivery -torture

# A class in encrypted rooms of a real homeserver, with the bot and the homeserver
# killed again and again.
SOAK ?= 20m
soak-matrix: homeserver
	$(GO) test $(TAGS) -count=1 -timeout 0 -run '^$$' -bench Soak -benchtime 1x ./adapters/matrix -soak $(SOAK)

# The assistant in Matrix beside a bare bot that echoes, on the same homeserver.
bench-matrix: homeserver
	$(GO) test $(TAGS) -run '^$$' -bench Matrix -benchtime 1x -timeout 60m ./bot/cmd/weftroom

# The study of how far the causes of a miscount can be trusted, and its page in
# testdata/miscounts.
study:
	$(GO) test $(TAGS) -count=1 -timeout 30m -run TestStudyOfMiscounts ./calc/lace -study 100000

# What the tests want of the machine: a command that tells whether it is there,
# its Debian packages, and what is skipped without it.
tools: $(JUDGES:=/node_modules/.package-lock.json)
	@$(MAKE) --no-print-directory -s homeserver || echo "SKIP: dendrite could not be built; the Matrix tests will be skipped"
	@$(call fetch,command -v units,units,the check of the yarn numbers against GNU units)
	@$(call fetch,command -v /usr/lib/postgresql/*/bin/initdb,postgresql,every test on PostgreSQL)
	@$(call fetch,/usr/bin/python3 -c "import vobject; import recurring_ical_events",python3-vobject python3-recurring-ical-events,the reading of calendars by vobject and recurring_ical_events)
	@$(call fetch,command -v qpdf && command -v gs && command -v pngcheck && command -v pdftotext,qpdf ghostscript pngcheck poppler-utils,the check of pictures and pages by other readers)

# The homeserver is built once for each version; that takes a minute or two.
homeserver: $(WEFTROOM_TOOLS)/.dendrite-$(DENDRITE)

$(WEFTROOM_TOOLS)/.dendrite-$(DENDRITE):
	@mkdir -p $(@D)
	@$(GO) version -m $(@D)/dendrite $(@D)/generate-keys 2>/dev/null | grep -c 'mod.*/dendrite.*$(DENDRITE)' | grep -qx 2 \
	  || GOFLAGS= GOBIN=$(@D) $(GO) install github.com/matrix-org/dendrite/cmd/dendrite@$(DENDRITE) github.com/matrix-org/dendrite/cmd/generate-keys@$(DENDRITE)
	@touch $@

# What npm leaves when it is done, so that it is asked once for each lock file.
%/node_modules/.package-lock.json: %/package-lock.json
	@if command -v npm >/dev/null && npm ci --prefix $* --fetch-retries=1 >/dev/null 2>&1; then touch $@; \
	  else echo "SKIP: npm ci in $* did not succeed; its judges will be skipped"; fi

# The tests start a PostgreSQL of their own, on a socket in a temporary folder;
# the one that Debian sets up with the package is not touched.
fetch = $(1) >/dev/null 2>&1 || { \
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
	$(GO) test -run TestWithoutEncryption ./adapters/matrix
	$(GO) test $(TAGS) -run 'TestLayers|TestReadme' ./bot/cmd/weftroom

# Figures are ratios to a floor measured in the same run.
bench:
	$(GO) test $(TAGS) -run '^$$' -bench . -skip Matrix -benchmem ./calc/lace ./bot/cmd/weftroom ./bot/store
	$(GO) test $(TAGS) -run '^$$' -bench Next ./bot/lesson
	$(GO) test $(TAGS) -run '^$$' -bench 'Mass|NoSend' -benchtime 1x ./bot/cmd/weftroom/delivery
	$(GO) test $(TAGS) -run '^$$' -bench Idle ./bot/cmd/weftroom/delivery

# On Discord, beside a bare bot on discordgo and one on discord.js, all on servers
# of the same make. With BENCH_LONG=1 also 20,000 interactions, and what they leave
# in memory.
bench-discord: tools
	$(GO) test $(TAGS) -run '^$$' -bench 'Discord(Step)?$$' -benchtime 300x ./bot/cmd/weftroom/chats
	$(GO) test $(TAGS) -run '^$$' -bench 'DiscordInFlight$$' -benchtime 6400x ./bot/cmd/weftroom/chats
	$(if $(BENCH_LONG),$(GO) test $(TAGS) -run '^$$' -bench 'DiscordMemory$$' -benchtime 20000x -timeout 60m ./bot/cmd/weftroom/chats)

# Pictures against encoding the same pixels (at most 2 ×), a handout against a row
# diagram (at most 3 ×), the solver at growing sizes, a picture that is kept against
# drawing it, a class's handouts.
bench-paper:
	$(GO) test $(TAGS) -run '^$$' -bench 'Drawing|Settle|Gallery' ./bot/paper
	$(GO) test $(TAGS) -run '^$$' -bench Handout ./bot/lesson

# Every fuzz target in turn, FUZZTIME each.
FUZZTIME ?= 60s
fuzz:
	@for pkg in $$($(GO) list $(TAGS) ./...); do \
	  for f in $$($(GO) test $(TAGS) -list '^Fuzz' $$pkg | grep '^Fuzz'); do \
	    echo "== $$pkg $$f"; \
	    $(GO) test $(TAGS) -run '^$$' -fuzz "^$$f$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 5x $$pkg || exit 1; \
	  done; \
	done

# Rewrite what in the README is made from the code, its pictures included.
docs:
	$(GO) test $(TAGS) -run TestReadme ./bot/cmd/weftroom -args -update

clean:
	rm -rf bin out
