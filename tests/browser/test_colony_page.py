"""The main job in a real browser: a colony from nothing to a genus."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from browser.hands import answered, said, tab_to, thumb, thumb_state
from browser.stations import LAPTOP, PHONE, Station

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

# An axial corallite at the tip of the branch is what defines Acropora among branching
# corals with small separate corallites: Wallace 1999, Staghorn Corals of the World.
ACROPORA = (
    ("growth_form", "branching"),
    ("corallite_arrangement", "plocoid"),
    ("axial_corallite", "single"),
    ("corallite_relief", "tubular"),
)


def test_a_thumb_gets_from_nothing_to_a_settled_genus(browser: Browser, station: Station) -> None:
    """On a phone, four taps on drawn states settle a colony with axial corallites as Acropora."""
    page = browser.new_context(**PHONE).new_page()
    page.goto(station.url)

    thumb(page, page.get_by_role("button", name="New colony"))
    page.wait_for_url("**/colonies/*")
    for character, state in ACROPORA:
        thumb_state(page, character, state)

    assert said(page).startswith("This is Acropora")
    thumb(page, page.get_by_role("button", name="Keep this answer"))
    page.wait_for_selector(".done")
    assert "Acropora sp." in page.locator("#work").inner_text()


def test_a_keyboard_alone_gets_from_nothing_to_a_settled_genus(
    browser: Browser, station: Station
) -> None:
    """On a laptop, Tab, Enter and digits settle the same colony, the focus always in sight."""
    page = browser.new_context(**LAPTOP).new_page()
    page.goto(station.url)

    tab_to(page, "main form button.main")
    page.keyboard.press("Enter")
    page.wait_for_url("**/colonies/*")
    for character, state in ACROPORA:
        link = f'a[href*="/look/{character}#look"]'
        if page.locator(f".nexts {link}").count() == 0:
            if not page.evaluate("document.querySelector('details.all').open"):
                tab_to(page, "details.all > summary")
                page.keyboard.press("Enter")
            link = f"details.all {link}"
        tab_to(page, link)
        page.keyboard.press("Enter")
        page.wait_for_selector("section.chooser")
        tab_to(page, f'button.state[value="{state}"]')
        page.keyboard.press("Enter")
        answered(page)
    tab_to(page, 'a[href*="/look/calice_diameter_mm#look"]')
    page.keyboard.press("Enter")
    page.wait_for_selector("section.chooser")
    tab_to(page, "#value")
    page.keyboard.type("0,8")
    page.keyboard.press("Enter")
    answered(page)

    assert said(page).startswith("This is Acropora")
    assert "0.8 mm" in page.locator(".seen").inner_text()


def test_undo_takes_back_the_last_tap(browser: Browser, station: Station) -> None:
    """After undo the evidence is as before the tap, and so is the answer."""
    page = browser.new_context(**PHONE).new_page()
    page.goto(station.url)
    thumb(page, page.get_by_role("button", name="New colony"))
    thumb_state(page, *ACROPORA[0])
    before = said(page)

    thumb_state(page, "corallite_arrangement", "meandroid")
    changed = said(page)
    thumb(page, page.locator("#undo"))
    page.wait_for_function("() => !document.querySelector('.seen').innerText.includes('meandroid')")

    assert changed != before
    assert said(page) == before


def test_a_set_of_states_and_doubt_are_kept(browser: Browser, station: Station) -> None:
    """Two ticked states with a doubt stand in the list as one or the other, unsure."""
    page = browser.new_context(**PHONE).new_page()
    page.goto(station.url)
    thumb(page, page.get_by_role("button", name="New colony"))
    thumb(page, page.locator('a[href*="/look/corallite_arrangement#look"]').first)
    thumb(page, page.get_by_role("link", name="Can't choose"))
    page.wait_for_selector('input[name="state"]')

    thumb(page, page.locator("label.check"))
    for state in ("plocoid", "cerioid"):
        thumb(page, page.locator("label.state", has=page.locator(f'input[value="{state}"]')))
    thumb(page, page.get_by_role("button", name="Keep: one of those ticked"))
    answered(page)

    text = page.locator(".seen .items").inner_text()
    assert "plocoid or cerioid" in text
    assert "unsure" in text


def test_a_record_outlives_reload_and_restart(browser: Browser, station: Station) -> None:
    """What was tapped is there after a reload, and after the server was killed and started."""
    page = browser.new_context(**PHONE).new_page()
    page.goto(station.url)
    thumb(page, page.get_by_role("button", name="New colony"))
    thumb_state(page, *ACROPORA[0])
    path = re.sub(r"^https?://[^/]+", "", page.url)
    before = page.locator(".seen .items").inner_text()

    page.reload()
    reloaded = page.locator(".seen .items").inner_text()
    station.stop(kill=True)
    station.start()
    page.goto(station.url + path)

    assert reloaded == before
    assert page.locator(".seen .items").inner_text() == before


def test_a_tap_without_the_station_says_so(browser: Browser, station: Station) -> None:
    """Out of reach of the station, a tap is answered by what happened and what to do."""
    context = browser.new_context(**PHONE)
    page = context.new_page()
    page.goto(station.url)
    thumb(page, page.get_by_role("button", name="New colony"))
    page.wait_for_url("**/colonies/*")

    context.set_offline(True)
    thumb(page, page.locator(".nexts a").first)
    page.wait_for_selector("#notice .fault")

    assert "this tap was not kept" in page.locator("#notice").inner_text()


def test_editing_a_genus_changes_the_answer(browser: Browser, station: Station) -> None:
    """Where a lead writes that Acropora is always massive, it falls back for a branching colony."""
    page = browser.new_context(**LAPTOP).new_page()
    page.goto(station.url)
    page.get_by_role("button", name="New colony").click()
    page.wait_for_url("**/colonies/*")
    colony = page.url
    for character, state in ACROPORA[:2]:
        page.goto(f"{colony}/look/{character}")
        page.locator(f'button.state[value="{state}"]').click()
        answered(page)
    before = page.locator(".odds tbody").inner_text()

    for form in page_forms(page, station):
        page.goto(f"{station.url}/genera/Acropora/edit?character=growth_form&form={form}")
        page.fill("#etext", "always massive")
        page.get_by_role("button", name="Check what it changes").click()
        page.wait_for_selector(".result")
        assert "always massive" in page.locator(".result").inner_text()
        page.get_by_role("button", name="Keep it").click()
        page.wait_for_url("**/genera/Acropora#growth_form")
    page.goto(colony)

    assert before.split()[0] == "Acropora"
    assert page.locator(".odds tbody").inner_text().split()[0] != "Acropora"
    page.goto(f"{station.url}/genera/differences")
    assert "always massive" in page.locator("main").inner_text()


def page_forms(page: Page, station: Station) -> list[str]:
    """Return the forms of Acropora for which a growth form stands in the reference."""
    page.goto(f"{station.url}/genera/Acropora")
    links = page.locator('a[href*="edit?character=growth_form&"]')
    return [links.nth(i).get_attribute("href").split("form=")[-1] for i in range(links.count())]


def test_an_unsound_edit_is_refused_with_the_place(browser: Browser, station: Station) -> None:
    """A word that is no frequency is refused by file, row and column, and nothing is written."""
    page = browser.new_context(**LAPTOP).new_page()
    page.goto(f"{station.url}/genera/Favites/edit?character=growth_form")

    page.fill("#etext", "mostly massive")
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_selector(".fault")

    text = page.locator(".fault").inner_text()
    assert "values/" in text
    assert "Nothing was written" in text
