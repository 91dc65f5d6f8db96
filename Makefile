# What people type:
#   make demo    install what is missing, build, and read a built-in take
#   make build   bin/ecart and bin/ecart-see
#   make pose    fetch the network that proposes marks, once, with npm (144 MB) into your data folder
#   make package out/ecart.deb, to install with apt on this Debian
#   make test    the tests, with their set-up
#   make pictures  the pictures in README, in testdata/pictures: the page with an invented squad
#   make check   gofmt, vet, staticcheck, the borders between packages
#   make bench   how fast, beside a reference run
#   make cover   how often the stated intervals hold the truth, over thousands of made takes
#   make cover-follow   the same for clips that are followed: stickers found, peaks held; slow
#                       SEED=n SEEDS=m: m sketches from seed n on
#   make cover-pose     what is proposed for clips of the drawn athlete, against the truth; slow
#   make hard    attack the built program: damaged files, kills, full disks, strangers at the page;
#                SEED=7 ONLY=takes CASE=131 makes one case again; TENTH=1 a tenth of it
.PHONY: demo build pose package test pictures check bench cover cover-follow cover-pose hard clean setup setup-test

GO ?= go
SEED ?= 1
SEEDS ?= 3
# gen2brain/heic would load a libheif of this machine where it finds one, of whatever version
export GOFLAGS := $(strip $(GOFLAGS) -tags=nodynamic)
# the changelog's newest version; ecart says it, and readings keep it
VERSION := $(shell sed -n 's/^\#\# \([0-9][0-9.]*\).*/\1/p' CHANGELOG.md | head -n 1)
BUILD := $(GO) build -trimpath -ldflags '-X ecart/cmd/internal/desk.released=$(VERSION)'
# where setup puts Go, if the machine's own is missing or too old
export PATH := $(CURDIR)/.cache/go/bin:$(PATH)

demo:
	@.ci/setup demo
	@$(BUILD) -o bin/ecart ./cmd/ecart
	@bin/ecart demo --figure out/demo.png

build: setup
	@$(BUILD) -o bin/ ./cmd/ecart ./cmd/ecart-see

pose:
	@.ci/setup pose
	@$(GO) run ./cmd/internal/getpose -to "$(if $(filter /%,$(XDG_DATA_HOME)),$(XDG_DATA_HOME),$(HOME)/.local/share)/ecart"

package: build
	@.ci/setup package
	@GO="$(GO)" .ci/package $(VERSION)

setup:
	@.ci/setup run

# Without the network its tests are listed as not run, and all others run.
setup-test:
	@.ci/setup test
	@$(GO) run ./cmd/internal/getpose -to .cache/pose || echo "the tests of proposed marks will not run" >&2

# 'make check' vets everything, the tests too: 'go test' need not do it a second time.
# RAPID_SEED fixes what the property tests draw, so that a tree passes or fails for good; 'make hard' draws anew.
test: export RAPID_SEED ?= 1
test: setup-test
	@GO="$(GO)" .ci/test -vet=off -timeout 30m ./...

pictures: setup-test
	@ECART_PICTURES="$(CURDIR)/testdata/pictures" $(GO) test -count=1 -run '^TestPictures$$' ./cmd/internal/page

check: setup-test
	@bad="$$(gofmt -l .)"; if [ -n "$$bad" ]; then echo "gofmt -l lists: $$bad" >&2; exit 1; fi
	$(GO) vet ./...
	$(GO) tool staticcheck ./...
	CGO_ENABLED=0 $(GO) vet ./geometry/... ./cmd/internal/strict ./cmd/internal/reading ./cmd/internal/rulebook \
		./cmd/internal/change ./cmd/internal/journal ./cmd/internal/draw ./cmd/internal/chart ./cmd/internal/session ./cmd/internal/quiz

bench: setup-test
	$(GO) test -run '^$$' -bench . ./...

cover: setup
	@$(GO) run ./cmd/internal/trial/cover -study angles
	@$(GO) run ./cmd/internal/trial/cover -study seasons

cover-follow: setup-test
	@$(GO) run ./cmd/internal/trial/cover -study stickers -seed $(SEED) -variants $(SEEDS)
	@$(GO) run ./cmd/internal/trial/cover -study peaks

cover-pose: setup-test
	@$(GO) build -trimpath -o bin/ ./cmd/ecart-see
	@ECART_SEE="$(CURDIR)/bin/ecart-see" ECART_POSE="$(CURDIR)/.cache/pose/pose-network.graph" $(GO) run ./cmd/internal/trial/cover -study pose -seed $(SEED) -variants $(SEEDS)

hard: setup-test
	@$(GO) run ./cmd/internal/trial/hard $(if $(filter-out file default undefined,$(origin SEED)),-seed $(SEED)) $(if $(ONLY),-only $(ONLY)) $(if $(CASE),-case $(CASE)) $(if $(KEEP),-keep $(KEEP)) $(if $(TENTH),-tenth)

clean:
	rm -rf bin out .cache
