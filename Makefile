# Every developer command. `make serve` and `make test` need nothing but Python 3.11+ and make.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/pip --disable-pip-version-check

.PHONY: serve test test-long lint types unit benchmarks build docs clean

serve: $(VENV)/.installed
	$(BIN)/refdb build
	$(BIN)/refdb serve

test: lint types unit

test-long: $(VENV)/.installed-test
	$(BIN)/refdb build
	$(BIN)/pytest -m "long or not long" -n auto --ignore tests/benchmarks
	$(BIN)/pytest tests/benchmarks

lint: $(VENV)/.installed-test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports

types: $(VENV)/.installed-test
	$(BIN)/mypy
	$(BIN)/pyright --pythonpath $(BIN)/python

unit: $(VENV)/.installed-test
	$(BIN)/refdb build
	$(BIN)/pytest -m "not long" -n auto --ignore tests/benchmarks
	$(BIN)/pytest -m "not long" tests/benchmarks

build: $(VENV)/.installed
	$(BIN)/refdb build

# Writes the generated documents: shared/schemas, shared/openapi.json, shared/docs, the examples of README.md.
docs: $(VENV)/.installed-test
	$(BIN)/refdb build
	$(BIN)/python -m tests.tools.generated

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
