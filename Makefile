# Everything a fresh machine needs: Python 3.11 or newer and make.
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
READY  := $(VENV)/.ready
TESTED := $(VENV)/.ready-dev
ARGS   ?=

.PHONY: help setup demo test check audit bench lock schemas pictures browser clean

help:            ## this list
	@grep -E '^[a-z-]+: .*##|^[a-z-]+:  *##' $(MAKEFILE_LIST) | sed 's/:.*##/\t/' | expand -t 16

setup: $(READY)  ## the virtual environment alone

demo: $(READY)   ## the whole example kitchen on a fast clock (PRACTICE); ARGS="--speed 60"
	@$(BIN)/coldwright demo $(ARGS)

test: check browser   ## every check and every test
	$(BIN)/python -m pytest --numprocesses auto --maxprocesses 4 --dist loadfile $(ARGS)

check: $(TESTED) ## style, types and floors
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

audit: $(TESTED) ## withdrawn releases and known weaknesses of what is locked; the second asks pypi.org itself
	$(BIN)/python -m tests.audit

bench: $(TESTED) ## figures, as ratios measured side by side; ARGS="--full --json FILE"
	$(BIN)/python -m tests.benchmarks $(ARGS)

lock: $(TESTED)  ## write the lock files anew from requirements*.in
	$(BIN)/uv pip compile --universal --generate-hashes --python-version 3.11 -q --no-header requirements.in -o requirements.lock
	$(BIN)/uv pip compile --universal --generate-hashes --python-version 3.11 -q --no-header requirements-dev.in -c requirements.lock -o requirements-dev.lock

schemas: $(TESTED) ## write config/schemas and the noted schemas of events anew from the models
	$(BIN)/python -c "from pathlib import Path; from orchestrator.kitchen import write_schemas; write_schemas(Path('config'))"
	$(BIN)/python -m tests.core.event_schemas

pictures: $(TESTED) browser ## take the pictures of README.md from a running demo
	$(BIN)/python -m tests.pictures

# A marker file, made only when everything before it succeeded: an interrupted set-up begins again.
# The locks are whole, so pip is told to resolve nothing: asked to, it may look at releases newer than the locked ones
# for a package wanted with an extra, and then refuses for want of a hash.
$(READY): requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(0 if sys.version_info >= (3, 11) else "Coldwright needs Python 3.11 or newer; this is " + sys.version.split()[0] + ". Name another with: make PYTHON=python3.12 ...")'
	@echo "Setting up in $(VENV): a minute or so the first time ..."
	@$(PYTHON) -m venv $(VENV) || { rm -rf $(VENV); echo "This Python cannot make virtual environments. On Debian: apt-get install python3-venv"; exit 1; }
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes --no-deps -r requirements.lock
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation --editable .
	@touch $@

$(TESTED): $(READY) requirements-dev.lock
	@echo "Installing what the tests need ..."
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes --no-deps -r requirements-dev.lock
	@$(BIN)/python -m pip check
	@touch $@

browser:         ## Debian's Chromium and Mosquitto, for the tests that drive them
	@sh tests/needs.sh

clean:           ## forget the virtual environment and all caches
	rm -rf $(VENV) .pytest_cache .mypy_cache .ruff_cache .hypothesis .import_linter_cache build dist *.egg-info
