# Two commands on a fresh machine: `make demo` and `make test`. Both install what they need.
PYTHON ?= python3
RECORDS ?=
BIN := .venv/bin
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check
PYTEST := $(BIN)/python -m pytest -n 2 --dist loadfile $(if $(RECORDS),--records=$(RECORDS))

.PHONY: demo test check format types contracts requirements clean

demo: .venv/for-running
	$(BIN)/swardtide demo

test: .venv/for-testing
	$(PYTEST)

check: .venv/for-testing format types contracts test

format: .venv/for-testing
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .

types: .venv/for-testing
	$(BIN)/mypy

contracts: .venv/for-testing
	$(BIN)/lint-imports

.venv/bin/python:
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Swardtide needs Python 3.11 or newer: set PYTHON=python3.11")'
	$(PYTHON) -m venv .venv

.venv/for-running: .venv/bin/python requirements.txt pyproject.toml
	$(PIP) --require-hashes -r requirements.txt
	$(PIP) --no-deps --no-build-isolation -e .
	touch $@

.venv/for-testing: .venv/bin/python requirements-dev.txt pyproject.toml tests/system_parts.sh tests/post/readers/package.json
	sh tests/system_parts.sh
	$(PIP) --require-hashes -r requirements-dev.txt
	$(PIP) --no-deps --no-build-isolation -e .
	touch $@ .venv/for-running

# After a change of dependencies: pins with hashes, without any registry's address.
requirements: .venv/bin/python
	$(PIP) uv
	$(BIN)/uv pip compile -q --universal --generate-hashes --no-header --no-annotate --python-version 3.11 --group build pyproject.toml -o requirements.txt
	$(BIN)/uv pip compile -q --universal --generate-hashes --no-header --no-annotate --python-version 3.11 --group dev pyproject.toml -o requirements-dev.txt

clean:
	rm -rf .venv .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache tests/post/readers/node_modules
