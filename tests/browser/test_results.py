"""Results in a browser: from a corrected change down to a record and its photo."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from browser.hands import tab_to, thumb
from browser.stations import LAPTOP, PHONE, Station, served
from browser.test_every_page import AXE, RUN, WCAG
from surveyed import Surveyed, make_surveys

if TYPE_CHECKING:
    from playwright.sync_api import Browser

_LARGEST_PAGE = 300_000


@pytest.fixture(scope="module")
def reef(
    tmp_path_factory: pytest.TempPathFactory, browser: Browser
) -> Iterator[tuple[Station, Surveyed]]:
    """Serve invented surveys whose records were read again."""
    del browser  # nothing is made where it would not be looked at
    folder = tmp_path_factory.mktemp("results") / "reef"
    made = make_surveys(folder)
    made.team.programme.close()
    with served(folder) as station:
        yield station, made


def paths(made: Surveyed) -> dict[str, str]:
    """Return every page of results, by name."""
    before, after = made.before, made.after
    impact = "&".join(f"impact={one}" for one in list(made.sites.values())[:2])
    return {
        "list": "/results",
        "survey": f"/results/{before}",
        "errors": f"/results/{before}?errors=1&by=family",
        "site": f"/results/{before}?site={made.sites['Site B']}",
        "belts": f"/results/{made.belt}",
        "behind": f"/results/{before}/behind?group=Favites",
        "diversity": f"/results/{before}/diversity",
        "sizes": f"/results/{made.belt}/sizes",
        "change": f"/results/change?before={before}&after={after}&{impact}",
        "effort": f"/results/{before}/effort?half_width=5&group=Favites",
    }


def test_from_a_corrected_change_to_a_photo_by_keyboard(
    browser: Browser, reef: tuple[Station, Surveyed]
) -> None:
    """With Tab and Enter alone a person comes from the list to the photo behind a change."""
    station, made = reef
    page = browser.new_context(**LAPTOP).new_page()
    page.goto(station.url + "/results")

    tab_to(page, f'a[href^="/results/change?before={made.before}"]')
    page.keyboard.press("Enter")
    page.wait_for_url("**/results/change?**")
    tab_to(page, 'a[aria-label^="Favites, corrected change"]')
    page.keyboard.press("Enter")
    page.wait_for_url("**/behind?**")
    records = page.locator("tbody tr").count()
    tab_to(page, 'a[href^="/photos/"]')
    with page.expect_response(lambda one: "/photos/" in one.url and "/page" in one.url) as got:
        page.keyboard.press("Enter")

    assert records > 0
    assert got.value.status == 200
    assert got.value.headers["content-type"].startswith("image/")


def test_the_table_and_the_picture_are_kept_as_files(
    browser: Browser, reef: tuple[Station, Surveyed], tmp_path: Path
) -> None:
    """The table comes as CSV with all levels, the picture as SVG."""
    station, made = reef
    page = browser.new_context(**LAPTOP).new_page()
    page.goto(station.url + f"/results/{made.before}")

    with page.expect_download() as got:
        page.get_by_role("link", name="Keep the table (CSV)").click()
    got.value.save_as(tmp_path / "table.csv")
    with page.expect_download() as got_picture:
        page.get_by_role("link", name="Keep the picture (SVG)").click()
    got_picture.value.save_as(tmp_path / "plot.svg")

    with (tmp_path / "table.csv").open(encoding="utf-8", newline="") as file:
        levels = {row["level"] for row in csv.DictReader(file)}
    assert levels == {"survey", "stratum", "site"}
    assert got.value.suggested_filename.endswith(".csv")
    assert (tmp_path / "plot.svg").read_text(encoding="utf-8").startswith("<svg")


def test_a_thumb_comes_from_the_map_to_a_site(
    browser: Browser, reef: tuple[Station, Surveyed]
) -> None:
    """A tap on a site's mark opens the figures of that site."""
    station, made = reef
    page = browser.new_context(**PHONE).new_page()
    page.goto(station.url + f"/results/{made.before}")

    mark = page.locator(f'figure a[href*="site={made.sites["Site B"]}"]').first
    mark.scroll_into_view_if_needed()
    mark.tap()
    page.wait_for_url("**site=**")

    assert page.locator("h1").inner_text() == "Reef 2025: Site B"


def test_sites_are_chosen_without_scripts(browser: Browser, reef: tuple[Station, Surveyed]) -> None:
    """With scripts off, boxes and a button give the contrast of impact and control sites."""
    station, made = reef
    page = browser.new_context(**LAPTOP, java_script_enabled=False).new_page()
    page.goto(station.url + f"/results/change?before={made.before}&after={made.after}")

    page.locator("summary").click()
    page.get_by_label("Site B").check()
    page.get_by_label("Site C").check()
    page.get_by_role("button", name="Show the change").click()

    assert page.get_by_role("heading", name="Impact sites against control sites").is_visible()


def test_one_layout_of_a_plot_is_shown_at_a_time(
    browser: Browser, reef: tuple[Station, Surveyed]
) -> None:
    """A phone sees the narrow plot of pairs and a laptop the wide one, never both."""
    station, made = reef
    for device, shown in ((PHONE, "slim"), (LAPTOP, "broad")):
        page = browser.new_context(**device).new_page()
        page.goto(station.url + f"/results/{made.before}")
        seen = page.locator(".layouts svg:visible")
        assert seen.count() == 1
        assert shown in (seen.first.get_attribute("class") or "")


def test_a_thumb_scrolls_a_table_with_its_names_in_view(
    browser: Browser, reef: tuple[Station, Surveyed]
) -> None:
    """On a phone the names stay at the left while the figures move."""
    station, made = reef
    page = browser.new_context(**PHONE).new_page()
    page.goto(station.url + f"/results/{made.before}")

    region = page.get_by_role("region", name="Table of figures")
    region.evaluate("e => e.scrollBy(400, 0)")
    box = page.locator(".figures tbody th a", has_text="Favites").first.bounding_box()

    assert box is not None
    assert 0 <= box["x"] < 390 - box["width"]
    thumb(page, page.locator(".figures tbody th a", has_text="Favites").first)
    page.wait_for_url("**/behind?**")


@pytest.mark.parametrize(
    "device", [pytest.param(PHONE, id="phone"), pytest.param(LAPTOP, id="laptop")]
)
def test_no_barrier_is_found_on_results(
    browser: Browser, reef: tuple[Station, Surveyed], device: dict[str, Any]
) -> None:
    """The checker of WCAG 2.1 AA finds nothing on any page of results, in both themes."""
    station, made = reef
    told = []
    for name, path in paths(made).items():
        context = browser.new_context(**device, color_scheme="light")
        page = context.new_page()
        answer = page.goto(station.url + path)
        assert answer is not None
        assert answer.status == 200, (name, page.locator("main").inner_text()[:300])
        assert len(page.content().encode()) < _LARGEST_PAGE
        page.evaluate(AXE)
        light = page.evaluate(RUN, {"type": "tag", "values": WCAG})
        page.emulate_media(color_scheme="dark")
        dark = page.evaluate(RUN, {"type": "rule", "values": ["color-contrast"]})
        told += [(name, one["id"], [node["html"][:150] for node in one["nodes"]][:3])
                 for one in light["violations"] + dark["violations"]]  # fmt: skip
        assert len(light["passes"]) > 5
        context.close()

    assert told == []


def test_results_fit_a_phone(browser: Browser, reef: tuple[Station, Surveyed]) -> None:
    """At 390 wide no page of results runs off the side."""
    station, made = reef
    page = browser.new_context(**PHONE).new_page()
    wide = {}
    for name, path in paths(made).items():
        page.goto(station.url + path)
        wide[name] = page.evaluate("document.documentElement.scrollWidth")

    assert set(wide.values()) == {390}
