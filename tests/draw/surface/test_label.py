"""The line that says that a picture is a drawing, and the strokes that it is written with."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import ndimage

from corallum.draw.surface import PRACTICE_VIEW, SurfaceParameters, ViewOptions, render_colony
from corallum.draw.surface.label import LABEL, write_label
from corallum.draw.surface.strokes import cover_of_text, width_of_text

PARAMS = SurfaceParameters("cerioid", 5.0, 5.0)
SMALL = ViewOptions(width=400, height=300)


def drawn(text: str, scale: int = 40) -> np.ndarray:
    """A line of text, `scale` pixels high, on a blank page with a margin."""
    x = np.arange(int((width_of_text(text) + 1.0) * scale), dtype=np.float32)[None, :]
    y = np.arange(int(2.2 * scale), dtype=np.float32)[:, None]
    return cover_of_text(x / np.float32(scale) - 0.5, y / np.float32(scale) - 0.4, text)


def test_pictures_to_measure_have_no_label_and_those_to_practise_on_have() -> None:
    """The label is off by default and on in the view for practice."""
    assert not ViewOptions().label
    assert replace(PRACTICE_VIEW, label=False) == ViewOptions()
    assert PRACTICE_VIEW.label


@pytest.mark.parametrize("size", [(400, 300), (1600, 1200), (640, 480)])
def test_a_label_changes_nothing_but_its_corner(size: tuple[int, int]) -> None:
    """The truth is the same, and so is every pixel above the strip at the lower edge."""
    options = replace(SMALL, width=size[0], height=size[1])
    plain = render_colony(PARAMS, options, np.random.default_rng(1))
    labelled = render_colony(PARAMS, replace(options, label=True), np.random.default_rng(1))

    changed = np.argwhere((plain.image != labelled.image).any(axis=2))

    assert len(changed) > 0
    assert changed[:, 0].min() >= 0.93 * size[1]
    assert changed[:, 1].max() < 0.5 * size[0]
    for name in ("centres_px", "diameters_mm", "homography", "px_per_mm", "kind"):
        np.testing.assert_array_equal(getattr(plain.truth, name), getattr(labelled.truth, name))


def test_the_label_is_legible() -> None:
    """On a bright and on a dark picture the strokes differ from the strip by 100 or more."""
    for grey in (10, 250):
        labelled = write_label(np.full((300, 400, 3), grey, dtype=np.uint8)).astype(int)
        strip = labelled[-8, :8].mean()
        assert abs(labelled[-20:, :150].max() - strip) >= 100


def test_the_label_says_what_it_should() -> None:
    """It is the agreed line, and it has as many separate marks as its letters (an i has two)."""
    assert LABEL == "drawing, not a photograph"

    _, marks = ndimage.label(drawn(LABEL) > 0.5, structure=np.ones((3, 3)))

    assert marks == len(LABEL.replace(" ", "")) + LABEL.count("i")


@pytest.mark.parametrize("size", [(16, 16), (60, 40), (8000, 16)])
def test_a_label_fits_any_picture(size: tuple[int, int]) -> None:
    """A picture too small for the line keeps its size and takes a smaller line."""
    image = np.full((size[1], size[0], 3), 90, dtype=np.uint8)

    assert write_label(image).shape == image.shape


@pytest.mark.parametrize(
    ("digit", "holes"),
    [("0", 1), ("1", 0), ("2", 0), ("3", 0), ("5", 0), ("6", 1), ("7", 0), ("8", 2), ("9", 1)],
)
def test_digits_have_the_holes_of_digits(digit: str, holes: int) -> None:
    """0, 6 and 9 enclose one space, 8 two, the others none (topology of Arabic numerals)."""
    _, spaces = ndimage.label(drawn(digit, 80) < 0.5)

    assert spaces == holes + 1


def test_digits_are_all_unlike() -> None:
    """No two digits cover the same places: each pair differs in a tenth of its ink or more."""
    pages = []
    for digit in "0123456789":
        page = np.zeros((88, 64))
        ink = drawn(digit)[:, :64]
        page[: ink.shape[0], : ink.shape[1]] = ink
        pages.append(page)

    for i, one in enumerate(pages):
        for other in pages[:i]:
            assert np.abs(one - other).sum() > 0.1 * (one.sum() + other.sum())
