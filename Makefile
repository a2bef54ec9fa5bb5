# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
#
#   make demo    install, and build the example sculpture: cut files, assembly, pictures
#   make test    install, and judge everything: style, types, all tests
#   make lint    style and types only          make bench   measured times
#   make format  put the style right           make clean   remove what was made here
#   make extension   the Blender extension as zips, one for each system, into dist
#   make gui-test    the same in a real Blender with its window, step by step, with pictures
#
# Needs Python 3.11 (or 3.13) and make; everything else is installed into .venv. A Python in an
# unusual place is named by PYTHON=..., PYTHON311=... or PYTHON313=...

SHELL := /bin/sh
.NOTPARALLEL:
.DELETE_ON_ERROR:

ifndef PYTHON
PYTHON := $(shell sh tools/find_python.sh 3.11 3.13 3.12 2>/dev/null)
endif
ifndef PYTHON311
PYTHON311 := $(shell sh tools/find_python.sh 3.11 2>/dev/null)
endif
ifndef PYTHON313
PYTHON313 := $(shell sh tools/find_python.sh 3.13 2>/dev/null)
endif

BIN := .venv/bin
ENVIRONMENTS := .venv $(if $(PYTHON311),.venv-bpy45) $(if $(PYTHON313),.venv-py313)
INSTALL_FILES := pyproject.toml setup.py tools/make_venv.sh tools/system_libraries.sh
OUT := out/demo
# Size and samples of the demo's pictures: a few minutes on two cores. A good print needs more, such
# as make demo PICTURE='--size 2400 1800 --samples 192'
PICTURE := --size 1000 750 --samples 24

.PHONY: help demo test lint format bench extension gui-test clean
help:
	@sed -n 's/^#   //p' Makefile

demo: .venv/.ready
	$(BIN)/pinwright build examples/demo.toml --out $(OUT)
	@printf '\nTwo pictures are rendered now; this takes some minutes\n'
	$(BIN)/python tools/limit.py 3600 $(BIN)/python -m pinwright.addon.headless examples/demo.toml --out $(OUT) $(PICTURE)
	@printf '\nThe sculpture is in %s:\n' "$(OUT)"
	@cd $(OUT) && find . -type f | sort | sed 's|^\./|    |'

test: $(ENVIRONMENTS:%=%/.ready)
	@$(BIN)/python tools/run_tests.py $(ENVIRONMENTS)

lint: .venv/.ready
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	MYPYPATH=.venv/types $(BIN)/mypy -p pinwright.core -p pinwright.addon

format: .venv/.ready
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

bench: .venv/.ready
	@for script in $(wildcard tests/bench/bench_*.py); do $(BIN)/python $$script || exit 1; done

extension: .venv/.ready
	@$(BIN)/python tools/make_extension.py

gui-test: .venv/.ready
	@$(BIN)/python tools/limit.py 900 $(BIN)/python tools/run_gui.py

# One stamp for each environment: made anew when what it is made from changes.
.venv/.ready: $(INSTALL_FILES)
	@test -n "$(PYTHON)" || { echo "No Python 3.11 was found; name one with PYTHON=/path/to/python3.11"; exit 1; }
	@sh tools/make_venv.sh .venv "$(PYTHON)" -e '.[dev,blender]'
	@mkdir -p .venv/types && ln -sfn ../.. .venv/types/pinwright
	@sh tools/system_libraries.sh .venv/bin/python
	@touch $@

.venv-bpy45/.ready: $(INSTALL_FILES)
	@sh tools/make_venv.sh .venv-bpy45 "$(PYTHON311)" -e '.[test]' 'bpy==4.5.*'
	@sh tools/system_libraries.sh .venv-bpy45/bin/python
	@touch $@

# bpy for Python 3.13 is not built for every machine: without it the core's tests still run.
.venv-py313/.ready: $(INSTALL_FILES)
	@sh tools/make_venv.sh .venv-py313 "$(PYTHON313)" -e '.[test,blender]' || \
	    { echo "bpy for Python 3.13 cannot be installed here: going on without it"; \
	      sh tools/make_venv.sh .venv-py313 "$(PYTHON313)" -e '.[test]'; }
	@sh tools/system_libraries.sh .venv-py313/bin/python
	@touch $@

clean:
	rm -rf .venv .venv-bpy45 .venv-py313 build dist out pinwright.egg-info
	rm -rf .pytest_cache .mypy_cache .ruff_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
