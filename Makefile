# Two commands do everything: `make demo` and `make test`.

GO ?= go
STATICCHECK = honnef.co/go/tools/cmd/staticcheck@v0.8.2
VULNCHECK = golang.org/x/vuln/cmd/govulncheck@v1.9.0
# What runs on several goroutines is tested under the race detector too, but for
# the tests in a browser (Page), which it makes four times as long.
RACY = ./input ./cmd/halfstick/internal/bench/...
# Where axes are done at once and nothing else is, those tests that do several.
AT_ONCE = ./fit/parallel ./fit/measure ./fit/propose
PACKAGES = pkg-config gcc libc6-dev libsdl2-dev
MACHINE_PACKAGES = qemu-system-x86 udev xz-utils
WINDOWS_PACKAGES = gcc-mingw-w64-x86-64 make dpkg-dev

.PHONY: demo test bench soak fuzz lint vulncheck truth device-test windows windows-test build deps browser clean

demo: build
	./halfstick demo --out demo --force

build: deps
	$(GO) build -o halfstick ./cmd/halfstick

# The pure-Go build comes first: everything but the device access must work
# without a C compiler.
test: deps browser
	CGO_ENABLED=0 $(GO) vet ./...
	CGO_ENABLED=0 $(GO) test ./cmd/halfstick ./input/sdl
	$(GO) test -race -skip Page $(RACY)
	$(GO) test -race -run 'Each|AtOnce|KeepTheirOrder' $(AT_ONCE)
	$(GO) test ./...

# HOURS is the length of the recording that everything is timed on.
HOURS ?= 1
bench: build browser
	$(GO) test -run '^$$' -bench . -benchmem ./...
	$(GO) run ./cmd/speed -hours $(HOURS)

# The live page under pages that come and go while it records: make soak SOAK=1h
SOAK = 2m
soak: deps browser
	HALFSTICK_SOAK=$(SOAK) $(GO) test -tags soak -count=1 -timeout 0 -run TestSoak -v ./cmd/halfstick/internal/bench

# Every reader with inputs that nobody thought of: make fuzz FUZZ=10m for each.
FUZZ = 1m
fuzz: deps
	@for target in input:FuzzRead input:FuzzHeader curves:FuzzProfile curves:FuzzParseCurve fit/translate:FuzzRead \
	    fit/measure:FuzzRecording cmd/halfstick/internal/bench:FuzzRequests; do \
	  echo "$$target"; \
	  $(GO) test -run '^$$' -fuzz "^$${target#*:}$$" -fuzztime $(FUZZ) "./$${target%:*}" || exit 1; \
	done

# Minutes of both cores: thousands of simulated devices against what is measured.
truth:
	$(GO) run ./cmd/truth -o testdata/truth.md

# The program with real HID devices, in small emulated machines (Linux only).
device-test: deps
	@if { ! command -v qemu-system-x86_64 || ! command -v xz || ! [ -x /usr/lib/systemd/systemd-udevd ] || \
	      ! apt-cache show linux-image-amd64; } >/dev/null 2>&1 && command -v apt-get >/dev/null; then \
	  echo "installing what the emulated machine needs: $(MACHINE_PACKAGES)"; \
	  as_root=; [ "$$(id -u)" = 0 ] || as_root=sudo; \
	  $$as_root apt-get update && \
	  $$as_root apt-get install --yes --no-install-recommends $(MACHINE_PACKAGES) || \
	  echo "that did not work; the test says what it lacks"; \
	fi
	$(GO) test -tags device -v -timeout 40m ./input/devicetest

# One self-contained file for Windows, cross-compiled on Debian or Ubuntu.
windows:
	@if ! command -v x86_64-w64-mingw32-gcc >/dev/null || ! command -v dpkg-source >/dev/null; then \
	  echo "installing what builds for Windows: $(WINDOWS_PACKAGES)"; \
	  as_root=; [ "$$(id -u)" = 0 ] || as_root=sudo; \
	  $$as_root apt-get update && \
	  $$as_root apt-get install --yes --no-install-recommends $(WINDOWS_PACKAGES); \
	fi
	GO="$(GO)" bash input/sdl/windows/build.sh halfstick.exe

# That file run under Wine; skipped with the reason where there is no Wine.
windows-test: windows deps
	HALFSTICK_EXE="$(CURDIR)/halfstick.exe" $(GO) test -count=1 -tags wine -run TestWindows -v ./cmd/halfstick

lint: deps
	@untidy="$$(gofmt -l cmd curves input fit)"; \
	  if [ -n "$$untidy" ]; then echo "run gofmt -w on: $$untidy"; exit 1; fi
	$(GO) vet ./...
	$(GO) vet -tags device,soak,wine ./...
	$(GO) run $(STATICCHECK) ./...
	@$(MAKE) --no-print-directory vulncheck

# Known vulnerabilities in what the program calls. Without the network, or
# without their database, it says that nobody looked, and fails nothing.
vulncheck: deps
	@if said="$$($(GO) run $(VULNCHECK) ./... 2>&1)"; then echo "no known vulnerabilities"; \
	elif echo "$$said" | grep -q "^exit status 3$$"; then echo "$$said"; exit 1; \
	else echo "known vulnerabilities were not looked for: $$(echo "$$said" | grep -v "^exit status" | tail -n 1)"; fi

# SDL 2 is the one system library. A C compiler and pkg-config come with it.
deps:
	@if pkg-config --exists sdl2 2>/dev/null && command -v gcc >/dev/null; then exit 0; fi; \
	if command -v apt-get >/dev/null; then \
	  echo "installing what is missing for SDL 2: $(PACKAGES)"; \
	  as_root=; [ "$$(id -u)" = 0 ] || as_root=sudo; \
	  $$as_root apt-get update && \
	  $$as_root apt-get install --yes --no-install-recommends $(PACKAGES); \
	else \
	  echo "halfstick needs a C compiler, pkg-config and the SDL 2 development files, and this system has no apt-get." >&2; \
	  echo "Install them with your package manager (SDL2-devel on Fedora, sdl2 on Arch or Homebrew), then run make again." >&2; \
	  exit 1; \
	fi

# The tests of the live page run in a real browser. Without one they are skipped,
# unless CI is set.
browser:
	@if command -v chromium >/dev/null || command -v chromium-browser >/dev/null || [ -n "$$CHROMIUM" ]; then exit 0; fi; \
	if command -v apt-get >/dev/null; then \
	  echo "installing a browser for the tests of the live page: chromium"; \
	  as_root=; [ "$$(id -u)" = 0 ] || as_root=sudo; \
	  $$as_root apt-get update && \
	  $$as_root apt-get install --yes --no-install-recommends chromium && exit 0; \
	fi; \
	echo "there is no chromium to be had: the tests of the live page will be skipped. Install it, or set CHROMIUM to its path, to run them." >&2

clean:
	rm -rf halfstick demo
