# make install · demo · test · check · bench
# Everything happens in .venv; nothing outside the checkout is changed, except that `make test`
# installs Debian packages that the tests need where it runs as root.

PYTHON ?= python3
VENV   ?= .venv
BIN    := $(VENV)/bin
INSTALLED := $(VENV)/.installed

.PHONY: install demo test lint check bench faults weights accuracy clean

install: $(INSTALLED) weights

$(INSTALLED): pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade pip
	$(BIN)/python -m pip install --quiet -c constraints.txt -e '.[test,check]'
	touch $@

weights: $(INSTALLED)
	$(BIN)/chordline weights

demo: install
	$(BIN)/chordline demo demo

test: install
	$(BIN)/python tools/system_packages.py
	-$(BIN)/python tools/fetch_axe.py
	CHORDLINE_REQUIRE_WEIGHTS=1 $(BIN)/python -m pytest tests -n 2 --dist worksteal

lint: $(INSTALLED)
	$(BIN)/ruff format --check src tests tools
	$(BIN)/ruff check src tests tools
	$(BIN)/mypy
	$(BIN)/lint-imports

# What a change breaks at once, in two minutes; pages, browsers, kills and long studies run in `make test`.
check: lint
	$(BIN)/python -m pytest tests/unit tests/properties tests/published tests/independent tests/scenarios -n 2 --dist worksteal -m 'not slow and not weights'

bench: install
	$(BIN)/python tools/bench.py
	$(BIN)/python tools/bench_mechanics.py
	$(BIN)/python tools/bench_pages.py
	$(BIN)/python tools/bench_plan.py
	$(BIN)/python tools/bench_video.py
	OPENBLAS_NUM_THREADS=1 $(BIN)/python tools/bench_progress.py

# Hostile files, kills, load, a day, erasing: FAULTS='--share 0.1 --only pictures' makes it short,
# FAULTS='--write docs/faults.md' writes the page; it takes about half an hour on two quiet cores.
faults: install
	PYTHONPATH=tools $(BIN)/python -m faults $(FAULTS)

accuracy: install
	$(BIN)/python tools/accuracy.py --write
	$(BIN)/python tools/short_screen.py --write docs/short_screen.md
	$(BIN)/python tools/power_table.py --write docs/power.md

clean:
	rm -rf $(VENV) demo build dist
