# Every command makes its own environment first; nothing else needs to be installed.
PYTHON ?= python3
VENV := .venv
KILLS ?= 500
MINUTES ?= 7
BIN := $(VENV)/bin

.PHONY: chat demo test check accuracy bench torture fuzz calibrate lock clean

chat: $(VENV)/.run            ## a conversation in the terminal
	@$(BIN)/rackside chat

demo: $(VENV)/.run            ## play one of demo_conversations/
	@$(BIN)/rackside play demo_conversations/first-evening.chat

test: $(VENV)/.dev            ## the tests
	@$(BIN)/python -m pytest

check: $(VENV)/.dev           ## style, types, and the one arrow bot -> scheduler
	@$(BIN)/ruff check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports

accuracy: $(VENV)/.dev        ## how many messages are read right, also damaged ones
	@$(BIN)/python -m tests.bench.reading_accuracy

bench: $(VENV)/.dev           ## speed, beside peers in the same run
	@$(BIN)/python -m tests.bench.reading_speed
	@$(BIN)/python -m tests.bench.due_speed
	@$(BIN)/python -m tests.bench.service_speed
	@$(BIN)/python -m tests.bench.sms_segments

torture: $(VENV)/.dev         ## kills, faults and odd clocks for some minutes; counts what was lost
	@$(BIN)/python -m tests.torture --kills $(KILLS) --minutes $(MINUTES)

fuzz: $(VENV)/.dev            ## odd and malicious requests for a minute; fails where one does harm
	@$(BIN)/python -m tests.fuzz

calibrate: $(VENV)/.dev       ## how often the stated windows held, over simulated colonies
	@$(BIN)/python -m tests.bench.hatch_accuracy
	@$(BIN)/python -m tests.bench.calibrate

lock:                         ## write the lock files anew (needs uv)
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-header \
	  --no-emit-index-url pyproject.toml -o requirements.lock
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-header \
	  --no-emit-index-url pyproject.toml --group dev -c requirements.lock -o requirements-dev.lock

clean:                        ## remove the environment and what tools left
	rm -rf $(VENV) build *.egg-info .mypy_cache .ruff_cache .pytest_cache .hypothesis

$(VENV)/.run: requirements.lock pyproject.toml
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	@echo "Setting up (once; a minute or two)."
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps -e .
	@touch $@

$(VENV)/.dev: requirements-dev.lock $(VENV)/.run
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-dev.lock
	@touch $@
