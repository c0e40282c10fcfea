"""The page of practice colonies: small pictures, each with its caption and text alternative."""

from __future__ import annotations

import html
import re
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from colonies_page import FOLDER, ITEMS, PAGE, SIZE, Item, caption_of, draw_item, picture_of
from corallum.draw.surface import ARRANGEMENTS
from support import compiled

PAGE_TEXT = PAGE.read_text(encoding="utf-8")


def test_the_page_shows_every_arrangement_and_every_scene() -> None:
    """All arrangements are asked for, and the scenes, a ruler, an oblique view, water and blur."""
    shown = {item.shows.get("arrangement") for item in ITEMS}
    views = set().union(*(item.view for item in ITEMS))

    # Tubipora has tubes always, so that it need not ask.
    assert set(ARRANGEMENTS) - shown == {"tubes"}
    assert {item.scene for item in ITEMS} == {
        "close_up", "branch_tip", "plate_margin", "stalked_young",
    }  # fmt: skip
    assert views == {"scale_bar", "oblique_degrees", "water", "blur_px"}
    assert len(ITEMS) == 24


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.name)
def test_every_picture_is_small_and_has_words(item: Item) -> None:
    """Each is 400 x 300, at most 30 kB, and its text alternative says that it is a drawing."""
    file = FOLDER / f"{item.name}.webp"
    alt = re.search(rf'src="{item.name}\.webp"[^>]* alt="([^"]+)"', PAGE_TEXT)

    assert file.stat().st_size <= 30_000
    with Image.open(file) as picture:
        assert picture.size == SIZE == (400, 300)
    assert alt
    assert alt[1].startswith(f"Drawing, not a photograph: {item.genus}. ")


def test_no_picture_is_left_over() -> None:
    """The folder holds the pictures of the page and nothing else."""
    assert {path.stem for path in FOLDER.glob("*.webp")} == {item.name for item in ITEMS}


def test_the_page_says_that_they_are_drawings() -> None:
    """It stands before the first picture."""
    assert "drawings, not photographs" in PAGE_TEXT[: PAGE_TEXT.index("<figure>")]


@pytest.mark.parametrize("name", ["tubes", "solitary", "ridges", "branch-tip"])
def test_page_and_pictures_are_fresh(name: str) -> None:
    """Drawn again, the caption is that of the page and the picture that of the folder."""
    item = next(item for item in ITEMS if item.name == name)
    params, rendered = draw_item(compiled(), item)

    assert html.escape(caption_of(item, params, rendered)) in PAGE_TEXT
    with Image.open(FOLDER / f"{name}.webp") as kept:
        old = np.asarray(kept.convert("RGB"), dtype=float)
    new = np.asarray(Image.open(BytesIO(picture_of(rendered))).convert("RGB"), dtype=float)
    # Encoders differ between versions, pictures of another colony by far more.
    assert np.abs(old - new).mean() < 4.0
