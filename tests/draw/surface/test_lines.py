"""Lines that corallites stand on: distances, and places between them."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.draw.surface import SurfaceParameters, ViewOptions
from corallum.draw.surface.camera import aim_camera
from corallum.draw.surface.layout import lay_out, mean_spacing
from corallum.draw.surface.lines import Lines, stand_in_lines


@pytest.mark.parametrize("angle", [0.0, 0.7, 2.0])
def test_points_stand_on_their_lines(angle: float) -> None:
    """Every point is a whole number of lines across, to the disorder of a tenth."""
    lines = Lines(angle, apart_mm=3.0, bend_mm=1.0, wave_mm=40.0, phase=0.4)
    points = stand_in_lines(lines, (-30.0, 30.0, -30.0, 30.0), 2.0, np.random.default_rng(1))

    across = lines.across(points[:, 0], points[:, 1])

    assert len(points) == pytest.approx(60.0 * 60.0 / (3.0 * 2.0), rel=0.05)
    assert np.abs(across - np.round(across)).max() < 0.2


def test_lines_grow_with_what_stands_on_them() -> None:
    """A point on a line is on it still when both are scaled about the origin."""
    lines = Lines(0.3, apart_mm=3.0, bend_mm=1.0, wave_mm=40.0, phase=0.4)
    x, y = np.array([4.0, -7.0, 11.0]), np.array([1.0, 5.0, -3.0])

    np.testing.assert_allclose(
        lines.scaled(1.7).across(1.7 * x, 1.7 * y), lines.across(x, y), atol=1e-6
    )


@pytest.mark.parametrize(
    "what", [{"rows": True}, {"concentric_ridges": True}], ids=["rows", "ridges"]
)
@pytest.mark.parametrize("oblique", [0.0, 40.0])
def test_centres_in_lines_keep_the_asked_spacing(what: dict[str, bool], oblique: float) -> None:
    """The mean over adjacent pairs in view is within 1 % of what was asked."""
    options = ViewOptions(oblique_degrees=oblique)
    view = aim_camera(1600.0 / (14.0 * 5.0), options, np.random.default_rng(0))
    params = SurfaceParameters("plocoid", 5.0, 3.0, **what)

    layout = lay_out(params, view, np.random.default_rng(3))

    assert mean_spacing(layout.centres, view.sees(layout.centres)) == pytest.approx(5.0, rel=0.01)


def test_valleys_between_ridges_keep_the_asked_width() -> None:
    """Width measured on the field is within 3 % of what was asked."""
    view = aim_camera(1600.0 / (14.0 * 5.0), ViewOptions(), np.random.default_rng(0))
    params = SurfaceParameters("meandroid", 5.0, 4.0, valley_width_mm=5.0, concentric_ridges=True)

    field = lay_out(params, view, np.random.default_rng(3)).field

    assert field is not None
    points, widths = field.widths(None)
    assert widths[view.sees(points)].mean() == pytest.approx(5.0, rel=0.03)
