"""The ruler: numerals stand where the scale says."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.draw.surface import SurfaceParameters, ViewOptions, render_colony
from corallum.draw.surface.ruler import Ruler, numerals


def ruler(step_mm: float, ticks: int) -> Ruler:
    """A scale of some steps."""
    length = step_mm * ticks
    return Ruler(np.array([[0.0, 0.0], [length, 0.0]]), length, step_mm)


@pytest.mark.parametrize(
    ("step", "ticks", "px_per_mm", "expected"),
    [
        pytest.param(1.0, 20, 20.0, [0, 5, 10, 15, 20], id="every five where there is room"),
        pytest.param(1.0, 40, 8.5, [0, 10, 20, 30, 40], id="every ten where there is not"),
        pytest.param(2.0, 20, 5.0, [0, 10, 20, 30, 40], id="steps of two"),
        pytest.param(1.0, 2, 200.0, [0, 2], id="a short scale has its ends"),
    ],
)
def test_numerals_stand_at_their_millimetres(
    step: float, ticks: int, px_per_mm: float, expected: list[float]
) -> None:
    """Every number is its distance from the start, and the last one says mm."""
    found = numerals(ruler(step, ticks), px_per_mm)

    assert [place for place, _ in found] == expected
    assert [float(text.removesuffix(" mm")) for _, text in found] == expected
    assert [text.endswith("mm") for _, text in found] == [*[False] * (len(found) - 1), True]


@pytest.mark.parametrize("oblique", [0.0, 30.0])
def test_numerals_are_under_their_ticks_in_the_picture(oblique: float) -> None:
    """Between the ends of the ruler there is ink below the ticks of 0 and 10 mm, none beside."""
    options = ViewOptions(
        scale_bar=True, px_per_mm=24.0, noise=0.0, blur_px=0.0, water=0.0,
        oblique_degrees=oblique,
    )  # fmt: skip
    picture = render_colony(SurfaceParameters("cerioid", 5.0, 5.0), options,
                            np.random.default_rng(3))  # fmt: skip
    ends = np.column_stack([picture.truth.ruler_px, [1.0, 1.0]])
    start, end = (ends @ np.linalg.inv(picture.truth.homography).T)[:, :2] / (
        ends @ np.linalg.inv(picture.truth.homography).T
    )[:, 2:]
    tall = 0.085 * 1200 / 24.0

    def ink(mm: float) -> float:
        across = np.linspace(-0.9, 0.9, 41)
        down = np.linspace(0.66, 0.9, 25) * tall
        x, y = np.meshgrid(start[0] + mm + across, start[1] + down)
        points = np.column_stack([x.ravel(), y.ravel(), np.ones(x.size)])
        px = points @ picture.truth.homography.T
        columns, rows = np.rint(px[:, :2] / px[:, 2:]).astype(int).T
        grey = picture.image[rows, columns].mean(axis=1)
        return float((grey < 0.6 * np.median(grey)).mean())

    assert end[0] - start[0] == pytest.approx(picture.truth.ruler_mm)
    assert min(ink(0.0), ink(10.0)) > 0.1
    assert max(ink(2.5), ink(12.5)) == 0.0
