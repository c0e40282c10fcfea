"""The photo page in a real browser, on a picture whose sizes are known from its geometry."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from PIL import Image

from browser.stations import LAPTOP, PHONE, Station
from corallum.draw.surface import Rendered, SurfaceParameters, ViewOptions, render_colony

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@pytest.fixture(scope="module")
def picture() -> Rendered:
    """A cerioid surface with a ruler in it."""
    params = SurfaceParameters("cerioid", spacing_mm=7.0, calice_diameter_mm=6.2)
    options = ViewOptions(scale_bar=True, width=1000, height=750)
    return render_colony(params, options, np.random.default_rng(11))


def open_photo(page: Page, station: Station, picture: Rendered) -> None:
    """Start a colony, add the picture through the form, and open it."""
    out = io.BytesIO()
    Image.fromarray(picture.image).save(out, "PNG")
    page.goto(station.url)
    page.get_by_role("button", name="New colony").click()
    page.wait_for_url("**/colonies/*")
    page.set_input_files(
        "#photo", {"name": "../x.png", "mimeType": "image/png", "buffer": out.getvalue()}
    )
    page.get_by_role("button", name="Add", exact=True).click()
    page.wait_for_selector(".thumbs a")
    page.locator(".thumbs a").first.click()
    page.wait_for_selector("#stage")


def place(page: Page, picture: Rendered, points: Iterable[Iterable[float]]) -> None:
    """Click points of the picture where they are shown."""
    page.locator("#stage").scroll_into_view_if_needed()
    height, width = picture.image.shape[:2]
    for x, y in points:
        box = page.locator("#stage").bounding_box()
        page.mouse.click(box["x"] + x / width * box["width"], box["y"] + y / height * box["height"])


def measured(page: Page, what: str) -> float:
    """Return a size that the page says."""
    text = page.locator("#sizes").inner_text()
    found = re.search(rf"{what}: ([\d.]+) mm", text)
    assert found, text
    return float(found[1])


@pytest.mark.parametrize(
    "device", [pytest.param(LAPTOP, id="laptop"), pytest.param(PHONE, id="phone")]
)
def test_the_program_measures_spacing_to_within_five_percent(
    browser: Browser, station: Station, picture: Rendered, device: dict[str, Any]
) -> None:
    """Two clicks on the ruler and one on Measure give the spacing the picture was made with."""
    page = browser.new_context(**device).new_page()
    open_photo(page, station, picture)

    place(page, picture, picture.truth.ruler_px)
    page.fill("#first", f"{picture.truth.ruler_mm:g}")
    page.get_by_role("button", name="Measure", exact=True).click()
    page.wait_for_selector(".result")

    spacing = measured(page, "Between neighbouring centres")
    assert spacing == pytest.approx(picture.truth.spacing_mm, rel=0.05)
    page.wait_for_selector("#over .found", state="attached")
    assert page.locator("#over .found").count() > 20
    page.get_by_role("button", name="Keep as corallite spacing").click()
    page.wait_for_selector(".seen")
    assert "corallite spacing" in page.locator(".seen .items").inner_text()
    assert "from a photo" in page.locator(".seen .items").inner_text()


def test_a_hand_measures_spacing_to_within_five_percent(
    browser: Browser, station: Station, picture: Rendered
) -> None:
    """Clicks on the true centres of a patch give its true spacing."""
    page = browser.new_context(**LAPTOP).new_page()
    open_photo(page, station, picture)
    place(page, picture, picture.truth.ruler_px)
    page.fill("#first", f"{picture.truth.ruler_mm:g}")

    page.get_by_text("neighbouring centres").click()
    place(page, picture, picture.truth.centres_px)
    page.get_by_role("button", name="Measure", exact=True).click()
    page.wait_for_selector(".result")

    spacing = measured(page, "Between neighbouring centres")
    assert spacing == pytest.approx(picture.truth.spacing_mm, rel=0.05)


def test_keys_place_points(browser: Browser, station: Station, picture: Rendered) -> None:
    """Arrow keys move the cross, Enter places a point, Backspace takes it back."""
    page = browser.new_context(**LAPTOP).new_page()
    open_photo(page, station, picture)

    page.locator("#stage").focus()
    page.keyboard.press("Enter")
    for _ in range(10):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    two = page.locator("#scale_points").input_value().splitlines()
    page.keyboard.press("Backspace")

    assert two == ["500.0, 375.0", "600.0, 375.0"]
    assert page.locator("#scale_points").input_value() == "500.0, 375.0"


def test_rings_can_be_corrected_by_hand(
    browser: Browser, station: Station, picture: Rendered
) -> None:
    """A click on a found centre removes it, one beside it adds one, and the size follows."""
    page = browser.new_context(**LAPTOP).new_page()
    open_photo(page, station, picture)
    place(page, picture, picture.truth.ruler_px)
    page.fill("#first", f"{picture.truth.ruler_mm:g}")
    page.get_by_role("button", name="Measure", exact=True).click()
    page.wait_for_selector("#take-over")

    page.locator("#take-over").click()
    before = page.locator("#points").input_value().splitlines()
    middle = min(before, key=lambda line: abs(float(line.split(",")[0]) - 500))
    place(page, picture, [[float(part) for part in middle.split(",")]])
    after = page.locator("#points").input_value().splitlines()

    assert len(after) == len(before) - 1
    assert middle not in after
