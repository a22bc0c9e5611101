# What a newcomer needs: `make demo`, `make test`, `make lint`. Plain make and POSIX shell.

SECONDS_EACH ?= 20
OUT ?= out
PRODUCT = examples/products/river-logger
PARTS = examples/parts/river-logger.csv
LINES = fixed-roles head-swap

TARGET_DIR = $(if $(CARGO_TARGET_DIR),$(CARGO_TARGET_DIR),target)

.PHONY: help demo serve build test lint tools clean-out

help:
	@echo "make demo   build, plan the river logger on two lines, check the plans, write the reports"
	@echo "make serve  build, open the planning room with the demo's boards and lines in it"
	@echo "make test   run every test of the workspace"
	@echo "make lint   format, clippy and documentation, warnings as errors"

# Says what is missing and how to get it, before a long build fails on it.
tools:
	@command -v cargo >/dev/null 2>&1 && command -v rustc >/dev/null 2>&1 || { \
	  echo "Rust is not installed (cargo and rustc were not found)." >&2; \
	  echo "Install it from https://rustup.rs, open a new shell, and try again." >&2; exit 1; }
	@command -v cc >/dev/null 2>&1 || { \
	  echo "A C linker is not installed (cc was not found); Rust needs one." >&2; \
	  echo "On Debian: apt-get install build-essential" >&2; exit 1; }

# EVENLINE=FILE takes a program that stands already, as CI does with the one its tests were run on.
ifdef EVENLINE
build:
	@command -v $(EVENLINE) >/dev/null || { echo "EVENLINE: no program $(EVENLINE)" >&2; exit 1; }
else
EVENLINE = $(TARGET_DIR)/release/evenline
build: tools
	cargo build --release --locked -p cli
endif

demo: build
	@mkdir -p $(OUT)
	@set -e; for line in $(LINES); do \
	  echo; echo "== river-logger on $$line ($(SECONDS_EACH) s)"; \
	  $(EVENLINE) plan $(PRODUCT) --parts $(PARTS) --line examples/lines/$$line.toml --side top \
	    --seconds $(SECONDS_EACH) -o $(OUT)/river-logger-$$line.json; \
	  echo; echo "-- checked by the independent checker"; \
	  $(EVENLINE) verify $(OUT)/river-logger-$$line.json; \
	  $(EVENLINE) report $(OUT)/river-logger-$$line.json -o $(OUT)/river-logger-$$line >/dev/null; \
	done
	@echo; echo "Open next:"
	@for line in $(LINES); do echo "  $(OUT)/river-logger-$$line/report.html   (and report.pdf, report.xlsx beside it)"; done
	@echo "Ask more:"
	@for line in $(LINES); do echo "  $(EVENLINE) explain $(OUT)/river-logger-$$line.json"; done

# The room keeps what it has in $(OUT)/room.db; only an empty one is filled.
serve: build
	@mkdir -p $(OUT)
	$(EVENLINE) serve --store $(OUT)/room.db --fill examples/products examples/parts/*.csv examples/lines

test: tools
	cargo test --workspace --locked

lint: tools
	cargo fmt --all --check
	cargo clippy --workspace --all-targets --locked -- -D warnings
	RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps --locked

clean-out:
	rm -rf $(OUT)
