# Sets everything up in this folder and runs it: .venv for Python, .tools for uv where there is none.
# make brief | test | proof | bench | pictures | lock | clean

PYTHON ?= python3
BIN := .venv/bin
UV := $(or $(shell command -v uv 2>/dev/null),.tools/bin/uv)
INSTALL = $(UV) pip install --quiet --python $(BIN)/python --require-hashes -c requirements.lock
CORE := errors units words sayings kinds spreads tables lines roadform estimates streets \
	briefing roadway plans remarks shapes identity entries access geodesy datums grids planar \
	sun chains arcs bends elements drives noise tracks fitting standing smoothing centerline \
	designed spines shaping runs lanes middle driven alongside arcfit turns across locating \
	regions stationing stakes markers ties curves stopping sight legs matching coverage \
	walkwords walked corridor spots placing landmarks spans likeness ways odds things \
	association merging telling lateness robust shifts gathering averaging concluding evidence \
	numbering decided correcting depths deciding missed pipes searching stretches bands strips \
	drums passes ramps ground lifting whereabouts touching meetings handwork quantities planning \
	leftover disputes readiness job listing sealing changes wording linewords surveywords \
	whywords wheeling planwords outlines current recorded daychecks reviewing
empty :=
comma := ,
CORE_FILES := $(subst $(empty) $(empty),$(comma),$(CORE:%=routeprep/%.py))

# The core is measured with its own tests and examples alone; measuring doubles what a test takes.
MEASURED := $(wildcard $(CORE:%=tests/test_%.py))

# Proofs that press no page and state no time in figures: as many at once as there are processors.
# The others have the machine to themselves.
RECKONED := $(patsubst %,tests/proof/test_%.py,fuzz missed_proof simulated_proof smoothing_proof)

# Linear algebra on one thread: the matrices are small, and on a busy machine threads that wait for
# each other make it many times slower.
export OPENBLAS_NUM_THREADS := 1

# Compiled once while installing, so that no later start pays for it.
export UV_COMPILE_BYTECODE := 1

.PHONY: brief test proof bench pictures lock clean

brief: .venv/.brief
	@rm -rf out/demo
	$(BIN)/routeprep demo -o out/demo

test: .venv/.test
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy
	$(BIN)/coverage erase
	$(BIN)/coverage run -m pytest -n auto --dist worksteal routeprep $(MEASURED)
	$(BIN)/coverage combine --quiet
	$(BIN)/coverage report --fail-under=100 --include=$(CORE_FILES)
	$(BIN)/python -m pytest -n auto --dist worksteal tests --ignore=tests/proof --ignore=tests/bench \
		$(MEASURED:%=--ignore=%)

proof: .venv/.test
	$(BIN)/python -m pytest -n auto --dist worksteal $(RECKONED)
	$(BIN)/python -m pytest tests/proof $(RECKONED:%=--ignore=%)

bench: .venv/.test
	cd tests && ../$(BIN)/python -m bench.run

# The README's pictures, from the demo's pack; needs pdftoppm and chromium.
pictures: brief
	@mkdir -p data/pictures
	pdftoppm -r 90 -gray -f 2 -singlefile -png out/demo/pack/obstruction-sheet.pdf data/pictures/sheet
	chromium --headless --no-sandbox --hide-scrollbars --window-size=1100,760 \
		--screenshot=data/pictures/map.png out/demo/pack/map.html 2>/dev/null

lock: $(UV)
	$(UV) pip compile pyproject.toml --all-extras --universal --generate-hashes --upgrade --quiet \
		--no-emit-index-url --no-annotate --no-header --output-file requirements.lock

clean:
	rm -rf .venv .tools out build dist .coverage .hypothesis .mypy_cache .pytest_cache .ruff_cache
	find routeprep tests data -name __pycache__ -type d -prune -exec rm -rf {} +

# Every file that comes over the network is held to its hash in requirements.lock.
.tools/bin/uv:
	@mkdir -p .tools
	@sed -n '/^uv==/,/[^\\]$$/p' requirements.lock > .tools/uv.txt
	$(PYTHON) -m pip install --quiet --disable-pip-version-check --root-user-action ignore \
		--no-deps --upgrade --require-hashes --target .tools -r .tools/uv.txt

.venv/.made: | $(UV)
	@$(PYTHON) -c 'import sys; sys.version_info >= (3, 11) or sys.exit("routeprep needs Python 3.11 \
	or newer; $(PYTHON) is %d.%d. Try: make PYTHON=python3.12 ..." % sys.version_info[:2])'
	$(UV) venv --quiet --allow-existing --python $(PYTHON) .venv
	@touch $@

.venv/.brief: .venv/.made pyproject.toml requirements.lock
	$(INSTALL) --extra build -r pyproject.toml
	$(UV) pip install --quiet --python $(BIN)/python --no-deps --no-build-isolation -e .
	@touch $@

.venv/.test: .venv/.brief
	$(INSTALL) --extra build --extra test --extra proof -r pyproject.toml
	@touch $@
