PY ?= python3
BIN := .venv/bin
PORT ?= 8765

.PHONY: demo test ifc verify check serve bench docs lock clean

.venv/.ok: requirements.lock pyproject.toml
	@$(PY) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Python 3.11 or newer is needed; set PY=/path/to/python3.11"; exit 1; }
	@echo "Setting up the environment in .venv (one to two minutes the first time) ..."
	@$(PY) -m venv .venv || { echo "python3 -m venv failed; on Debian: apt-get install python3-venv"; exit 1; }
	$(BIN)/python -m pip install -q --disable-pip-version-check --require-hashes --no-deps -r requirements.lock
	$(BIN)/python -m pip install -q --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@

# A second lock and marker: `make demo` needs none of these 120 MB and does not wait for them.
# One tool comes as source only; its build tool is pinned in requirements.lock, so nothing is fetched unpinned.
.venv/.verify: .venv/.ok requirements-verify.lock
	@echo "Fetching the outside tools that formulas are held against (less than a minute the first time) ..."
	$(BIN)/python -m pip install -q --disable-pip-version-check --require-hashes --no-deps --no-build-isolation -r requirements-verify.lock
	@touch $@

demo: .venv/.ok
	$(BIN)/undercourse demo

# What reads IFC models, for who has such plans.
.venv/.ifc: .venv/.ok requirements-ifc.lock
	@echo "Fetching the reader of IFC models (60 MB, 190 MB on disk) ..."
	$(BIN)/python -m pip install -q --disable-pip-version-check --require-hashes --no-deps -r requirements-ifc.lock
	@touch $@

ifc: .venv/.ifc

test: .venv/.ok
	@command -v chromium >/dev/null || { echo "Chromium is missing; installing it with apt-get for the browser tests ..."; apt-get update -q && apt-get install -y -q --no-install-recommends chromium; }
	$(BIN)/python -m pytest -n 2

verify: .venv/.verify .venv/.ifc
	$(BIN)/python -m pytest verify tests/files_plans/test_plan_ifc.py

check: .venv/.ok
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	@! grep -nE 'https?://|--index|--find-links' requirements*.lock || { echo "a lock records host names"; exit 1; }

serve: .venv/.ok
	$(BIN)/undercourse serve --port $(PORT)

bench: .venv/.ok
	$(BIN)/python -m benchmarks.run

docs: .venv/.ok
	$(BIN)/sphinx-build -q -W -b html docs docs/_build/html

# Compiles all locks again after a change in pyproject.toml; needs uv on the path. What several name, all pin alike.
lock:
	uv pip compile -q --universal --generate-hashes --no-header --group dev pyproject.toml -o requirements.lock
	uv pip compile -q --universal --generate-hashes --no-header --group pyproject.toml:verify -c requirements.lock -o requirements-verify.lock
	uv pip compile -q --universal --generate-hashes --no-header --extra ifc -c requirements.lock pyproject.toml -o requirements-ifc.lock

clean:
	rm -rf .venv out docs/_build
