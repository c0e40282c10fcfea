"""Reports and sheets in a browser: reached by keyboard, kept as files."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from browser.hands import tab_to, thumb
from browser.stations import LAPTOP, PHONE, Station

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def test_a_report_is_kept_by_keyboard(browser: Browser, demo: Station, tmp_path: Path) -> None:
    """With Tab and Enter alone a person comes from Results to a report in PDF."""
    page = browser.new_context(**LAPTOP).new_page()
    page.goto(demo.url + "/results")

    tab_to(page, 'main a[href^="/results/"]:not([href*="change"])')
    page.keyboard.press("Enter")
    page.wait_for_selector("#groups-h")
    tab_to(page, 'a[href*="/report.pdf"]')
    with page.expect_download() as got:
        page.keyboard.press("Enter")
    got.value.save_as(tmp_path / "report.pdf")

    assert re.fullmatch(r"[a-z0-9-]+-report\.pdf", got.value.suggested_filename)
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF")
    page.context.close()


def test_a_field_sheet_is_asked_for_by_keyboard(browser: Browser, demo: Station) -> None:
    """Every field has a label, and Tab reaches each; how long it takes is told with the button."""
    page = browser.new_context(**LAPTOP).new_page()
    page.goto(demo.url + "/genera")
    tab_to(page, 'a[href="/genera/paper"]')
    page.keyboard.press("Enter")
    page.wait_for_selector("#sheet-h")
    form = page.locator('form[action="/genera/paper/sheet"]')

    for label, name in (("Region", "region"), ("Paper", "paper"), ("Pages", "pages")):
        assert form.get_by_label(label, exact=True).get_attribute("name") == name
        tab_to(page, f'form[action="/genera/paper/sheet"] [name="{name}"]')
    tab_to(page, 'form[action="/genera/paper/sheet"] button')

    told = page.evaluate(
        "document.getElementById(document.activeElement.getAttribute('aria-describedby')).innerText"
    )
    assert "half a minute" in told
    page.context.close()


def test_a_thumb_keeps_sheets_to_write_on(browser: Browser, demo: Station, tmp_path: Path) -> None:
    """On a phone a tap gives the recording sheets of a survey as a PDF."""
    page = browser.new_context(**PHONE).new_page()
    page.goto(demo.url + "/surveys")
    thumb(page, page.locator('main a[href^="/surveys/"]:not([href$="new"])').first)
    page.wait_for_selector("#tr-h")
    thumb(page, page.get_by_role("link", name="Dive sheets"))
    page.wait_for_selector("#pdf-h")

    form = page.locator('form[action$="recording.pdf"]')
    form.get_by_label("Transects").select_option("all")
    with page.expect_download() as got:
        thumb(page, form.get_by_role("button"))
    got.value.save_as(tmp_path / "sheets.pdf")

    assert (tmp_path / "sheets.pdf").read_bytes().startswith(b"%PDF")
    page.context.close()
