# What a person runs. Everything lives in .venv; nothing is fetched after the first time.
PYTHON ?= python3
BIN := .venv/bin

.PHONY: demo test check bench figures docs lock clean

demo: .venv/ready
	$(BIN)/corallum demo

test: .venv/ready
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/lint-imports
	$(BIN)/mypy
	$(BIN)/numpydoc lint $$(git ls-files 'src/corallum/model/*.py' 'src/corallum/reference/*.py' 'src/corallum/measure/*.py' 'src/corallum/draw/*.py' 'src/corallum/observers/*.py' 'src/corallum/practice/*.py' 'src/corallum/estimate/*.py' 'src/corallum/notebook/*.py' 2>/dev/null)
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -q -rs -n 2 --dist loadfile -m "calibration or not calibration"

bench: .venv/ready
	$(BIN)/python bench/run.py

figures: .venv/ready
	$(BIN)/python bench/figures.py

docs: .venv/ready
	$(BIN)/python docs/refresh.py
	$(BIN)/python tools/drawings_page.py
	$(BIN)/python tools/colonies_page.py
	$(BIN)/python tools/notebook_pages.py
	$(BIN)/mkdocs build --strict

# Pins every package by hash, without saying where it is fetched from.
lock: .venv/ready
	$(BIN)/python -m pip install -q uv
	$(BIN)/uv pip compile --universal --python-version 3.11 --group dev --extra fast --extra notebook --generate-hashes --no-header --no-annotate --output-file requirements.txt pyproject.toml

.venv/ready: requirements.txt pyproject.toml
	@echo 'Setting up .venv: a minute or two, once.'
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install -q --disable-pip-version-check --require-hashes -r requirements.txt
	$(BIN)/python -m pip install -q --disable-pip-version-check --no-deps --no-build-isolation -e .
	touch .venv/ready

clean:
	rm -rf .venv site dist .mypy_cache .ruff_cache .pytest_cache .hypothesis
