# Everything that is done with this repository has one name here. `make help` lists them.

.DEFAULT_GOAL := help
.PHONY: help demo test lint format types scripts imports unit bench evaluate lock wheel clean set-up set-up-dev browser

BIN := .venv/bin
CHECKED := src tests tools benchmarks evaluation
# Processes that run tests side by side: make test WORKERS=4
WORKERS ?= 2
# More arguments for pytest: make unit TESTS="tests/unit/theory -x"
TESTS ?=

help: ## this list
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | awk -F '\t' '{ printf "  make %-12s %s\n", $$1, $$2 }'

demo: set-up ## build the demo course, and say where to look
	@$(BIN)/fretwright build demo --out build/demo
	@echo "The course is in build/demo: open build/demo/index.html in a browser."

test: lint types scripts imports unit ## every check of the project

lint: set-up-dev ## style and layout of the code
	$(BIN)/ruff check $(CHECKED)
	$(BIN)/ruff format --check --quiet $(CHECKED)

format: set-up-dev ## mend what can be mended by machine
	$(BIN)/ruff check --fix $(CHECKED)
	$(BIN)/ruff format $(CHECKED)

types: set-up-dev ## mypy, strict
	$(BIN)/mypy

scripts: ## types of the pages' own scripts (JSDoc, by tsc)
	@tools/check-scripts.sh

imports: set-up-dev ## who may import whom
	$(BIN)/lint-imports

unit: set-up-dev browser ## all tests, journeys included
	$(BIN)/python -m pytest -n $(WORKERS) --dist loadfile $(TESTS)

# The named reference of the benchmark, and the recorded guitars of the evaluation.
SOUND_FONT := fluidsynth=fluidsynth /usr/share/sounds/sf2/FluidR3_GM.sf2=fluid-soundfont-gm

bench: set-up-dev ## speed, as ratios against named references
	@tools/need.sh $(SOUND_FONT)
	@for script in benchmarks/[a-z]*.py; do echo "== $$script"; $(BIN)/python "$$script" || exit 1; done

evaluate: set-up-dev ## quality of sound and ear on data of known truth (ends in an error where a bar is missed)
	@tools/need.sh $(SOUND_FONT)
	$(BIN)/python -m evaluation.sound
	$(BIN)/python -m evaluation.ear
	$(BIN)/python -m evaluation.ear.chords

# The locks hold versions and hashes alone: no address of a registry, no path of a machine.
COMPILE := $(BIN)/uv pip compile --no-config --quiet --universal --fork-strategy fewest --python-version 3.11 \
	--generate-hashes --no-emit-index-url --no-emit-find-links --no-annotate --no-header --only-binary :all:

lock: set-up-dev ## pin every dependency anew (UPGRADE=--upgrade for the newest)
	$(COMPILE) $(UPGRADE) --group build --output-file requirements.lock pyproject.toml
	$(COMPILE) $(UPGRADE) --group dev --constraint requirements.lock --output-file requirements-dev.lock pyproject.toml

wheel: set-up ## the package as others install it, into dist/
	$(BIN)/python -m hatchling build --target wheel --directory dist

clean: ## remove what the targets above made
	rm -rf .venv build dist .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis

set-up:
	@tools/set-up.sh run

set-up-dev:
	@tools/set-up.sh dev

# Pages are tested in a real browser (whose driver wants libatomic), handouts page by page, the store on PostgreSQL.
browser:
	@tools/need.sh /usr/bin/chromium=chromium '/usr/lib/*-linux-gnu/libatomic.so.1=libatomic1' pdftoppm=poppler-utils \
		'/usr/lib/postgresql/*/bin/initdb=postgresql'
