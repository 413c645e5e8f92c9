# Every developer command. `make serve` and `make test` need nothing but Python 3.11+ and make.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/pip --disable-pip-version-check

# Compiled test files are kept, so that the next run collects in seconds.
unexport PYTHONDONTWRITEBYTECODE

# Slowest tests are told at the end; the fixtures that processes share are made once (tests/shared.py).
PYTEST := $(BIN)/pytest --durations=10
PARALLEL := -n auto --dist worksteal

.PHONY: serve check test test-long lint types mypy pyright unit benchmarks build docs changelog clean

serve: $(VENV)/.installed
	$(BIN)/refdb build
	$(BIN)/refdb serve

test: lint types unit benchmarks

# The part of it that needs no server and does not work the whole ledger through.
check: lint types $(VENV)/.installed-test
	$(BIN)/refdb build
	$(PYTEST) -m "not long and not service" $(PARALLEL) --ignore tests/benchmarks

test-long: export HYPOTHESIS_PROFILE ?= campaign
test-long: $(VENV)/.installed-test
	$(BIN)/refdb build
	$(PYTEST) $(PARALLEL) --ignore tests/benchmarks
	$(PYTEST) tests/benchmarks

lint: $(VENV)/.installed-test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports

# Both at the same time, each on a processor of its own.
types: $(VENV)/.installed-test
	$(MAKE) --no-print-directory --jobs 2 mypy pyright

mypy: $(VENV)/.installed-test
	$(BIN)/mypy

pyright: $(VENV)/.installed-test
	$(BIN)/pyright --pythonpath $(BIN)/python

unit: $(VENV)/.installed-test
	$(BIN)/refdb build
	$(PYTEST) -m "not long" $(PARALLEL) --ignore tests/benchmarks

# Ratios are measured with nothing else running.
benchmarks: $(VENV)/.installed-test
	$(PYTEST) -m "not long" tests/benchmarks

build: $(VENV)/.installed
	$(BIN)/refdb build

# Writes the generated documents: shared/schemas, shared/openapi.json, shared/docs, the examples of README.md.
docs: $(VENV)/.installed-test
	$(BIN)/refdb build
	$(BIN)/python -m tests.tools.generated

# Collects the fragments of shared/changes into CHANGELOG.md: make changelog VERSION="2026r8, code 0.7.0"
changelog: $(VENV)/.installed-test
	$(if $(VERSION),,$(error Name the release: make changelog VERSION="2026r8, code 0.7.0"))
	$(BIN)/towncrier build --version "$(VERSION)" --yes

$(VENV)/.installed: pyproject.toml hatch_build.py
	$(PYTHON) -m venv $(VENV)
	$(PIP) install -e .
	touch $@

$(VENV)/.installed-test: pyproject.toml hatch_build.py
	$(PYTHON) -m venv $(VENV)
	$(PIP) install -e ".[test]"
	touch $@ $(VENV)/.installed

clean:
	rm -rf $(VENV) dist build .mypy_cache .ruff_cache .pytest_cache .import_linter_cache
