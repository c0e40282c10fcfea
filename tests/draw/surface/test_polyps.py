"""What polyps show: every look renders on every surface, and nothing shows where drawn in."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy import ndimage

from corallum.draw.surface import (
    ARRANGEMENTS,
    Rendered,
    SurfaceParameters,
    ViewOptions,
    render_colony,
)

SMALL = ViewOptions(width=240, height=180)
LANDFORMS = (
    "hood", "rows", "verrucae", "monticules", "concentric_ridges", "costal_pits", "uprights",
    "fine_hairs",
)  # fmt: skip


def surface(arrangement: str, **what: object) -> SurfaceParameters:
    """A surface 5 mm apart."""
    return SurfaceParameters(arrangement, 5.0, 3.4, valley_width_mm=5.0, **what)  # type: ignore[arg-type]


@cache
def drawn_in_of(arrangement: str) -> Rendered:
    """A picture of a colony with its polyps drawn in."""
    return render_colony(surface(arrangement), SMALL, np.random.default_rng(2))


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
@pytest.mark.parametrize("expansion", ["short_tentacles", "long_polyps", "vesicles"])
@pytest.mark.parametrize(
    ("tip", "count"),
    [("knobbed", "many"), ("branched", "eight_pinnate")],
)
def test_every_look_renders_on_every_arrangement(
    arrangement: str, expansion: str, tip: str, count: str
) -> None:
    """The picture differs from that of the same colony drawn in, but not of hydrocorals."""
    what = {"expansion": expansion, "tentacle_tip": tip, "tentacles": count}

    drawn_in = drawn_in_of(arrangement)
    spread = render_colony(surface(arrangement, **what), SMALL, np.random.default_rng(2))

    hydrocoral = arrangement.startswith(("pore", "cyclo"))
    assert (spread.image != drawn_in.image).any() != hydrocoral
    assert spread.truth.covered == (not hydrocoral and expansion != "short_tentacles")
    assert not drawn_in.truth.covered


@pytest.mark.parametrize("scene", ["branch_tip", "plate_margin", "stalked_young"])
@pytest.mark.parametrize("expansion", ["short_tentacles", "long_polyps", "vesicles"])
def test_every_look_renders_in_every_scene(scene: str, expansion: str) -> None:
    """Centres in view are those of the colony drawn in: the skeleton is the same."""
    arrangement = "solitary" if scene == "stalked_young" else "plocoid"
    options = ViewOptions(width=240, height=180, px_per_mm=None if scene[0] == "s" else 8.0)

    drawn_in = render_colony(surface(arrangement, scene=scene), options, np.random.default_rng(2))
    spread = render_colony(
        surface(arrangement, scene=scene, expansion=expansion), options, np.random.default_rng(2)
    )

    assert (spread.image != drawn_in.image).any()
    np.testing.assert_array_equal(spread.truth.centres_px, drawn_in.truth.centres_px)


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
@pytest.mark.parametrize("field", LANDFORMS)
def test_every_form_of_the_surface_renders(arrangement: str, field: str) -> None:
    """The picture is not blank even from the steepest view, and centres are in view."""
    options = ViewOptions(width=240, height=180, oblique_degrees=60.0)

    picture = render_colony(
        surface(arrangement, **{field: True}), options, np.random.default_rng(4)
    )

    assert picture.image.std() > 4.0
    assert len(picture.truth.centres_px) > 0


@pytest.mark.parametrize("tip", ["tapered", "knobbed", "anchor", "branched"])
@pytest.mark.parametrize("arrangement", ["phaceloid", "flabello_meandroid", "solitary", "cerioid"])
def test_tips_of_every_shape_render(arrangement: str, tip: str) -> None:
    """Each covers the calices, and none leaves a blank picture."""
    params = surface(arrangement, expansion="long_polyps", tentacle_tip=tip)

    picture = render_colony(params, SMALL, np.random.default_rng(6))

    assert picture.truth.covered
    assert picture.image.std() > 4.0


@pytest.mark.parametrize("arrangement", ["cerioid", "phaceloid", "flabello_meandroid"])
def test_the_same_seed_spreads_the_same_polyps(arrangement: str) -> None:
    """Nothing but the generator decides."""
    params = surface(arrangement, expansion="long_polyps")

    one, same = (render_colony(params, SMALL, np.random.default_rng(9)) for _ in range(2))

    np.testing.assert_array_equal(one.image, same.image)


def test_there_is_one_crown_to_a_calice() -> None:
    """Bright middles are as dense as calices, 2 / (root 3 d^2), to a tenth (geometry)."""
    params = SurfaceParameters("cerioid", 5.0, 5.0, expansion="long_polyps", tentacles="twelve")
    options = ViewOptions(width=1600, height=1200, px_per_mm=16.0, noise=0.0, water=0.0)
    picture = render_colony(params, options, np.random.default_rng(5))

    grey = ndimage.gaussian_filter(picture.image.mean(axis=2), 14.0)
    highest = (ndimage.maximum_filter(grey, size=45) == grey) & (grey > np.median(grey))
    # Away from the border, where crowns are cut.
    found = highest[40:-40, 40:-40].sum()

    area_mm2 = (1600 - 80) * (1200 - 80) / 16.0**2
    assert found == pytest.approx(area_mm2 * 2.0 / (np.sqrt(3.0) * 5.0**2), rel=0.1)
