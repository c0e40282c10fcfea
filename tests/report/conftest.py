"""A real browser for the page's own script; skipped, with the reason, where there is none."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from corallum.report.phone_page import PhoneAbout, phone_page
from support import library

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@pytest.fixture(scope="session")
def phone_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page for a phone, as a file."""
    shipped = library()
    about = PhoneAbout("Invented reserve", "0", None, ("North wall",), ("Observer 1",))
    path = tmp_path_factory.mktemp("phone") / "phone.html"
    text = phone_page(shipped.reference, shipped.compiled, about)
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def opened(phone_file: Path, browser: Browser) -> Iterator[Page]:
    """The page, opened from its file in a browser that has no network."""
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.goto(phone_file.as_uri())
    page.wait_for_selector("html[data-ready]")
    yield page
    context.close()
