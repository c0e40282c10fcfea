"""What the tests of tables, exchange, store and command line share."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

import support
from corallum.actions.references import Library
from corallum.store.reference_folder import shipped_reference
from invented import Team

if TYPE_CHECKING:
    from playwright.sync_api import Browser

_CHROMIUM_ARGS = (
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip

# A clean checkout tries the same examples each time; at home they are new at every run.
# Nothing is timed: a machine may be busy.
settings.register_profile("clean_checkout", derandomize=True, deadline=None)
settings.register_profile("at_home", deadline=None)
settings.load_profile("clean_checkout" if os.environ.get("CI") else "at_home")


@pytest.fixture(scope="session")
def library() -> Library:
    """The shipped reference, read and compiled once."""
    return support.library()


@pytest.fixture(scope="session")
def shipped_tables() -> Mapping[str, str]:
    """Texts of the shipped tables, not to be edited."""
    return shipped_reference()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Start the one browser of a run: a second one beside it would be refused."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("there is no chromium on this machine")
    with playwright.sync_playwright() as runner:
        found = runner.chromium.launch(executable_path=chromium, args=_CHROMIUM_ARGS)
        yield found
        found.close()


@pytest.fixture
def tables(shipped_tables: Mapping[str, str]) -> dict[str, str]:
    """A copy of the texts of the shipped tables, to be edited."""
    return dict(shipped_tables)


@pytest.fixture
def write_tables(tmp_path: Path) -> Callable[..., Path]:
    """Write tables to a folder of their own and return it."""

    def write(tables: Mapping[str, str], name: str = "reference") -> Path:
        folder = tmp_path / name
        for path, text in tables.items():
            (folder / path).parent.mkdir(parents=True, exist_ok=True)
            (folder / path).write_text(text, encoding="utf-8", newline="")
        return folder

    return write


@pytest.fixture
def team(tmp_path: Path) -> Iterator[Team]:
    """An invented programme with its people."""
    found = Team(tmp_path / "programme")
    yield found
    found.programme.close()
