# `make run`, `make test`, `make walks`: each sets up all it needs on a bare Debian with Python 3.11.
PYTHON ?= python3.11
VENV := .venv
BIN := $(VENV)/bin
PORT ?= 8017

# Two tests run side by side: a second thread in each would only slow both.
export OPENBLAS_NUM_THREADS := 1
# What was compiled is kept: the tests start many processes.
export PYTHONDONTWRITEBYTECODE :=

.DEFAULT_GOAL := run
.PHONY: run test walks prove-numbers fire audit lint bench docs lock wheel clean

HELP := src/levelwind/web/help/site/index.html

run: $(VENV)/.run $(HELP) ## start the app on the demo shop
	@$(BIN)/levelwind open --demo --port $(PORT)

test: $(VENV)/.dev $(HELP) ## every rule, number, page and paper
	@$(BIN)/pytest -n 2 --dist loadfile --no-loadscope-reorder --ignore tests/browser

walks: $(VENV)/.dev $(HELP) ## what a person does with them, in a real Chromium
	@$(BIN)/pytest -n 2 --dist loadfile --no-loadscope-reorder tests/browser

prove-numbers: $(VENV)/.dev ## every simulation in its full size; writes docs/physics/figures.md
	@LEVELWIND_FULL_SIZE=yes $(BIN)/pytest -n 2 -m "sampled or hypothesis or full_size" --figures docs/physics/figures.md

# Of the embedded book alone: its backups, and its way back to older shapes.
EMBEDDED := book/test_schedule.py book/test_reading_backups.py test_older_books.py

fire: $(VENV)/.dev ## a shop killed 500 times, on a full disk, by a wrong clock; many benches; all of shop and web on PostgreSQL
	@$(BIN)/python scripts/fire.py --kills 500
	@$(BIN)/python scripts/benches.py
	@$(BIN)/python -m tests.postgres_server $(BIN)/pytest -n 2 tests/shop tests/web $(addprefix --ignore=tests/shop/,$(EMBEDDED))

audit: $(VENV)/.audit ## known holes in what the lock names, where the registry tells of any
	@$(VENV)/audit/bin/python scripts/audit.py

lint: $(VENV)/.dev ## what pre-commit and .ci/run call
	@set -e; $(BIN)/mypy & types=$$!; trap "kill $$types 2>/dev/null || true" EXIT; \
	$(BIN)/ruff check .; \
	$(BIN)/ruff format --check .; \
	$(BIN)/lint-imports --no-cache; \
	$(BIN)/djlint --check --lint --quiet src/levelwind/web/templates; \
	LEVELWIND_DATA=$(CURDIR)/var/lint $(BIN)/django-admin makemigrations --check --dry-run --settings levelwind.project.settings; \
	wait $$types

bench: $(VENV)/.bench ## timed cases against references, ratios only
	@for case in bench/*.py; do echo "== $$case"; $(BIN)/python $$case || exit 1; done

docs: $(VENV)/.dev ## write the command line's page, take the tutorial's pictures again and build the help
	@$(BIN)/python scripts/command_line.py
	@$(BIN)/python scripts/pictures.py
	@$(MAKE) --no-print-directory $(HELP)

lock: ## write the lock again (needs uv)
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-header --quiet --extra docs pyproject.toml -o requirements.txt
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-header --quiet --extra docs --extra dev -c requirements.txt pyproject.toml -o requirements-dev.txt
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-header --quiet --extra docs --extra dev --extra bench -c requirements-dev.txt pyproject.toml -o requirements-bench.txt

wheel: $(VENV)/.run $(HELP) ## one pure Python wheel in dist/, with all its data
	@rm -rf build dist
	@$(BIN)/python -m pip --disable-pip-version-check --quiet wheel --no-deps --no-build-isolation --wheel-dir dist .
	@rm -rf build
	@ls dist

clean:
	rm -rf $(VENV) var

$(VENV)/.run: requirements.txt pyproject.toml scripts/set-up
	@PYTHON=$(PYTHON) VENV=$(VENV) scripts/set-up run

# A link that leads nowhere stops it.
$(HELP): $(VENV)/.run $(wildcard docs/*.* docs/*/*.* docs/theme/static/*) src/levelwind/web/static/levelwind.css
	@$(BIN)/python -m sphinx -W --keep-going -q -b html -d var/docs docs $(@D)
	@touch $@

$(VENV)/.bench: requirements-bench.txt pyproject.toml scripts/set-up
	@PYTHON=$(PYTHON) VENV=$(VENV) scripts/set-up bench

# Apart from what the tests stand on, and from what it looks at.
$(VENV)/.audit: $(VENV)/.run
	@$(PYTHON) -m venv $(VENV)/audit
	@$(VENV)/audit/bin/python -m pip --disable-pip-version-check --quiet install "pip-audit>=2.9"
	@touch $@

$(VENV)/.dev: requirements-dev.txt pyproject.toml scripts/set-up
	@PYTHON=$(PYTHON) VENV=$(VENV) scripts/set-up dev
