# Needs Python 3.11 or newer and make; everything else is installed into .venv.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

LOWEST := .venv-lowest
NEWEST := .venv-newest
TRIED ?= tests

# Modules and tests are compiled once, whatever the shell says: the programs that tests start read them by the dozen.
export PYTHONDONTWRITEBYTECODE :=

.PHONY: help demo tables pictures test test-all coverage test-lowest test-newest lint bench clean
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

$(VENV)/ready-bench: $(VENV)/ready-test
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[bench]'
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
	$(BIN)/python -m grading.jobs.picture .pictures

test: $(VENV)/ready-test ## run the test suite
	$(BIN)/python -m pytest -n 2 --dist worksteal -m "not long" --doctest-modules grading tests

test-all: $(VENV)/ready-test ## run the test suite with the tests that take minutes
	EXAMPLES=thorough $(BIN)/python -m pytest -n 2 --dist worksteal --doctest-modules grading tests

coverage: $(VENV)/ready-test ## run the test suite and tell which lines and branches no test reaches
	$(BIN)/python -m pytest -n 2 --dist worksteal -m "not long" --doctest-modules grading tests \
		--cov --cov-report=term-missing:skip-covered --cov-fail-under=98

$(LOWEST)/ready: pyproject.toml
	$(PYTHON) -m venv --clear $(LOWEST)
	sed -n '/^dependencies = \[/,/^\]/s/^ *"\(.*\)>=\(.*\)",$$/\1==\2/p' pyproject.toml > $(LOWEST)/versions.txt
	$(LOWEST)/bin/python -m pip install --quiet --disable-pip-version-check --constraint $(LOWEST)/versions.txt \
		--editable '.[test]'
	@touch $@

test-lowest: $(LOWEST)/ready ## run the suite, or what TRIED names of it, with the lowest versions permitted
	$(LOWEST)/bin/python -m pytest -n 2 --dist worksteal -m "not long" $(TRIED)

test-newest: ## run the suite with the newest Python of this machine, if it has one newer than the usual
	@for python in python3.14 python3.13 python3.12 $$(ls -rd $(HOME)/.pyenv/versions/3.1[2-9]*/bin/python3 2> /dev/null); do \
		if $$python -c "" 2> /dev/null; then \
			$$python -m venv $(NEWEST) && \
			$(NEWEST)/bin/python -m pip install --quiet --disable-pip-version-check --editable '.[test]' && \
			$(NEWEST)/bin/python -m pytest -n 2 --dist worksteal -m "not long" tests; exit; \
		fi; \
	done; echo "There is no Python 3.12 or newer on this machine: nothing was tried."

lint: $(VENV)/ready-lint ## check style and types
	$(BIN)/ruff check grading tests
	$(BIN)/ruff format --check grading tests
	$(BIN)/mypy

bench: $(VENV)/ready-bench ## time the run and the engine against floors; set slips into honest tables and count
	$(BIN)/python tests/bench
	$(BIN)/python tests/bench/audit_slips.py

clean: ## remove the virtual environment, caches, and what runs wrote into output/ if it is unchanged
	$(PYTHON) -m grading.publish.cleaning output
	rm -rf $(VENV) $(LOWEST) $(NEWEST) build dist *.egg-info .pytest_cache .hypothesis .mypy_cache .ruff_cache .coverage .bench
	find grading tests -name __pycache__ -type d -prune -exec rm -rf {} +
