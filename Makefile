# Needs Python 3.11 or newer and make; everything else is installed into .venv.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: help demo tables pictures test test-all lint bench clean
.DEFAULT_GOAL := help

help: ## list these targets
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/:[^#]*## /\t/' | sort | expand -t 12

$(VENV)/ready-run: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable .
	@touch $@

$(VENV)/ready-test: $(VENV)/ready-run
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[test]'
	@touch $@

$(VENV)/ready-lint: $(VENV)/ready-run
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[lint]'
	@touch $@

demo: $(VENV)/ready-run ## install what is needed and grade the demo tables into output/
	$(BIN)/grading run
	@echo "To type 'grading' in any folder of this terminal, type once:"
	@echo '  export PATH="$$PATH:$(CURDIR)/$(BIN)"'

tables: $(VENV)/ready-run ## write the invented demo tables that are missing from tables/
	$(BIN)/python -m grading.outputs.starter tables

pictures: $(VENV)/ready-run ## draw the README's picture anew from the demo tables
	$(BIN)/python -m grading.outputs.pictures .pictures

test: $(VENV)/ready-test ## run the test suite
	$(BIN)/python -m pytest -n 2 --dist worksteal -m "not long" --doctest-modules grading tests

test-all: $(VENV)/ready-test ## run the test suite with the tests that take minutes
	EXAMPLES=thorough $(BIN)/python -m pytest -n 2 --dist worksteal --doctest-modules grading tests

lint: $(VENV)/ready-lint ## check style and types
	$(BIN)/ruff check grading tests
	$(BIN)/ruff format --check grading tests
	$(BIN)/mypy

bench: $(VENV)/ready-test ## time the run and the engine against floors; set slips into honest tables and count
	$(BIN)/python tests/bench
	$(BIN)/python tests/bench/audit_slips.py

clean: ## remove the virtual environment, caches, and what runs wrote into output/ if it is unchanged
	$(PYTHON) -m grading.publish.cleaning output
	rm -rf $(VENV) build dist *.egg-info .pytest_cache .hypothesis .mypy_cache .ruff_cache .coverage .bench
	find grading tests -name __pycache__ -type d -prune -exec rm -rf {} +
