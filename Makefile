# Everything a fresh machine needs: `make demo` to see it work, `make test` to prove it.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed

.PHONY: demo test lint docs bench clean references

demo: $(STAMP)
	@$(BIN)/python scripts/demo.py

test: $(VENV)/.installed-test references
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy
	$(BIN)/pytest -q -n auto

lint: $(VENV)/.installed-test
	$(BIN)/ruff check --fix
	$(BIN)/ruff format
	$(BIN)/mypy

docs: $(VENV)/.installed-docs
	$(BIN)/python scripts/write_docs.py
	$(BIN)/python scripts/write_nomenclature.py
	$(BIN)/python scripts/draw_pictures.py
	$(BIN)/mkdocs build --strict --quiet
	@echo "the pages are in site/index.html"

bench: $(VENV)/.installed-test references
	$(BIN)/python benchmarks/run.py

# What the tests hold the code against, from Debian: ngspice for circuits, ffmpeg for the loudness
# of music, and a free soundtrack to measure. Tests fail without them.
references:
	@{ command -v ngspice && command -v ffmpeg && dpkg -s asc-music; } >/dev/null 2>&1 \
	  || { [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null && apt-get update -qq \
	  && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq ngspice ffmpeg asc-music; } \
	  || { echo "the tests need ngspice, ffmpeg and asc-music: apt-get install them," \
	  "then make test again" >&2; exit 1; }

clean:
	rm -rf $(VENV) .mypy_cache .ruff_cache .pytest_cache .hypothesis

$(BIN)/python:
	$(PYTHON) -m venv $(VENV)

$(STAMP): $(BIN)/python pyproject.toml
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable .
	@touch $@

$(VENV)/.installed-docs: $(BIN)/python pyproject.toml
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable ".[docs]"
	@touch $@ $(STAMP)

$(VENV)/.installed-test: $(BIN)/python pyproject.toml
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable ".[test,lint]"
	@touch $@ $(STAMP)
