"""Layouts: spacing and density as geometry says, seeds, valleys of known width."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.draw.surface.camera import Camera, aim_camera
from corallum.draw.surface.layout import Layout, lattice, lay_out, mean_spacing
from corallum.draw.surface.parameters import ARRANGEMENTS, SurfaceParameters
from corallum.draw.surface.view import ViewOptions

ROUND = ("plocoid", "cerioid", "phaceloid", "thamnasterioid", "hydnophoroid", "tubes")
REPEATING = (
    *ROUND, "dendroid", "polystomatous", "pores_one_size", "pores_two_sizes", "cyclosystems",
)  # fmt: skip


def camera(unit_mm: float, units: float = 14.0, oblique: float = 0.0, seed: int = 0) -> Camera:
    """A camera that sees some units across."""
    options = ViewOptions(oblique_degrees=oblique)
    return aim_camera(1600.0 / (units * unit_mm), options, np.random.default_rng(seed))


def laid(arrangement: str, view: Camera, spacing: float = 5.0, seed: int = 3) -> Layout:
    """A layout with calices half as wide as their spacing."""
    params = SurfaceParameters(arrangement, spacing, 0.6 * spacing, valley_width_mm=spacing)
    return lay_out(params, view, np.random.default_rng(seed))


def test_a_plain_lattice_has_the_density_of_geometry() -> None:
    """A hexagonal lattice has 2 / (sqrt(3) d^2) points per area (geometry; practice.md 2F)."""
    points = lattice((0.0, 400.0, 0.0, 300.0), 2.0, angle=0.3)

    density = len(points) / (400.0 * 300.0)

    assert density == pytest.approx(2.0 / (np.sqrt(3.0) * 4.0), rel=0.01)
    assert density * 100.0 == pytest.approx(28.87, rel=0.01)  # per cm2, practice.md 2F


@pytest.mark.parametrize("arrangement", ROUND)
@pytest.mark.parametrize("spacing", [2.0, 9.0])
def test_density_falls_with_the_square_of_the_spacing(arrangement: str, spacing: float) -> None:
    """Jittered packings keep 2 / (sqrt(3) d^2) to 5 %: disorder lengthens the mean pair."""
    view = camera(spacing, units=30.0)

    layout = laid(arrangement, view, spacing)

    n = view.sees(layout.centres).sum()
    area = (view.width / view.px_per_mm) * (view.height / view.px_per_mm)
    assert n / area == pytest.approx(2.0 / (np.sqrt(3.0) * spacing**2), rel=0.05)


@pytest.mark.parametrize("arrangement", REPEATING)
@pytest.mark.parametrize("oblique", [0.0, 30.0, 60.0])
def test_mean_spacing_in_view_is_the_asked_one(arrangement: str, oblique: float) -> None:
    """The mean over adjacent pairs in view is within 1 % of what was asked."""
    view = camera(5.0, oblique=oblique)

    layout = laid(arrangement, view)

    found = mean_spacing(layout.centres, view.sees(layout.centres))
    assert found == pytest.approx(5.0, rel=0.01)


def test_pores_in_a_row_are_the_asked_distance_apart() -> None:
    """Along a row the mean distance is within 1 % of what was asked."""
    view = camera(1.0)

    layout = laid("pore_rows", view, spacing=1.0)

    found = mean_spacing(layout.centres, view.sees(layout.centres), layout.rows)
    assert found == pytest.approx(1.0, rel=0.01)


@pytest.mark.parametrize("short", [False, True])
def test_valleys_are_as_wide_as_their_area_over_their_length(short: bool) -> None:
    """Width times length is the area, to 15 % (geometry).

    A valley reaches half a width beyond each end of its middle line.
    """
    view = camera(6.0, units=20.0)
    params = SurfaceParameters("meandroid", 6.0, 5.0, valley_width_mm=6.0, short_valleys=short)

    field = lay_out(params, view, np.random.default_rng(5)).field

    assert field is not None
    points = np.concatenate(field.axes)
    steps = np.concatenate([np.hypot(*np.gradient(axis, axis=0).T) for axis in field.axes])
    length = steps[view.sees(points)].sum()
    if short:
        ends = np.concatenate([axis[[0, -1]] for axis in field.axes])
        length += 0.5 * 6.0 * view.sees(ends).sum()
    area = (view.width / view.px_per_mm) * (view.height / view.px_per_mm)
    assert area / length == pytest.approx(6.0, rel=0.15)


def test_calices_of_neighbours_never_overlap() -> None:
    """Two radii are less than the distance between two centres."""
    view = camera(5.0)
    params = SurfaceParameters("plocoid", 5.0, 4.6)

    layout = lay_out(params, view, np.random.default_rng(8))

    apart = np.hypot(*(layout.centres[:, None, :] - layout.centres[None, :, :]).T)
    np.fill_diagonal(apart, np.inf)
    assert (layout.radii[:, None] + layout.radii[None, :] < apart).all()


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_the_same_seed_lays_the_same_surface(arrangement: str) -> None:
    """Layouts come from the generator alone."""
    view = camera(5.0)

    one, other = (laid(arrangement, view, seed=11).centres for _ in range(2))

    np.testing.assert_array_equal(one, other)


def test_one_disc_has_no_spacing() -> None:
    """Fewer than three pairs give no mean."""
    view = camera(50.0, units=1.5)

    layout = laid("solitary", view, spacing=50.0)

    assert np.isnan(mean_spacing(layout.centres, view.sees(layout.centres)))
