"""Measurement by program on pictures of known truth, and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from independent import make_nothing, make_surface

from corallum.measure.bands import Bands, flatten_light
from corallum.measure.scale import Scale
from corallum.measure.surface import Measured, Refused, measure_surface

MM = Scale(0.1)


def dots(d: float, *, square: bool, shape: tuple[int, int] = (600, 800)) -> np.ndarray:
    """Soft discs on an exact lattice, of spacing d."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    j = np.round(y / (d if square else d * np.sqrt(3) / 2))
    best = np.full(shape, np.inf)
    for dj in (-1, 0, 1):
        row = j + dj
        lean = 0 if square else row / 2
        i = np.round(x / d - lean)
        for di in (-1, 0, 1):
            px = (i + di + lean) * d
            py = row * (d if square else d * np.sqrt(3) / 2)
            best = np.minimum(best, np.hypot(x - px, y - py))
    return (1 / (1 + np.exp((best - 0.3 * d) / (0.03 * d)))).astype(np.float32)


@pytest.mark.parametrize("square", [False, True], ids=["hexagons", "squares"])
@pytest.mark.parametrize("d", [17.0, 43.0, 88.0])
@pytest.mark.parametrize("dark", [False, True])
def test_an_exact_lattice_is_measured(d: float, *, square: bool, dark: bool) -> None:
    """Spacing of a lattice drawn from its equation comes out within 1 % (geometry)."""
    image = dots(d, square=square)
    found = measure_surface(1 - image if dark else image, MM)
    assert isinstance(found, Measured)
    assert found.spacing is not None
    assert found.spacing.value == pytest.approx(d * 0.1, rel=0.01)


def test_the_number_of_centres_is_that_of_the_density() -> None:
    """A hexagonal lattice has 2 / (root 3 d^2) centres to the area (Clark & Evans 1954)."""
    found = measure_surface(dots(30.0, square=False), MM)
    assert isinstance(found, Measured)
    expected = 2 / (np.sqrt(3) * 30.0**2) * 600 * 800
    assert len(found.centres) == pytest.approx(expected, rel=0.06)


def test_the_diameter_of_discs_is_measured() -> None:
    """Discs of radius .3 d have diameter .6 d; edges are soft, so 8 % is allowed."""
    found = measure_surface(dots(40.0, square=False), MM)
    assert isinstance(found, Measured)
    assert found.calice_diameter is not None
    assert found.calice_diameter.value == pytest.approx(0.6 * 4.0, rel=0.08)


def test_the_width_of_valleys_is_measured() -> None:
    """Winding ridges of one wave length have valleys of that width."""
    picture = make_surface("valleys", np.random.default_rng(90010))
    found = measure_surface(picture.image, MM)
    assert isinstance(found, Measured)
    assert found.spacing is None
    assert found.valley_width is not None
    assert picture.valley is not None
    assert found.valley_width.value == pytest.approx(picture.valley * 0.1, rel=0.06)


def test_a_region_keeps_out_what_lies_beyond_it() -> None:
    """Of two lattices side by side, the one in the region is measured."""
    image = np.hstack([dots(20.0, square=False)[:, :400], dots(50.0, square=False)[:, :400]])
    region = np.zeros(image.shape, np.bool_)
    region[50:550, 430:790] = True
    found = measure_surface(image, MM, region)
    assert isinstance(found, Measured)
    assert found.spacing is not None
    assert found.spacing.value == pytest.approx(5.0, rel=0.02)
    assert (found.centres[:, 0] > 429).all()


def test_an_uneven_region_is_kept_to() -> None:
    """Centres lie in the round region that was drawn."""
    image = dots(24.0, square=False)
    y, x = np.mgrid[: image.shape[0], : image.shape[1]]
    region = np.hypot(x - 400, y - 300) < 220
    found = measure_surface(image, MM, region)
    assert isinstance(found, Measured)
    assert found.spacing is not None
    assert found.spacing.value == pytest.approx(2.4, rel=0.03)
    assert (np.hypot(*(found.centres - [400, 300]).T) < 222).all()


def test_a_large_picture_keeps_its_scale() -> None:
    """Enlarging a picture by three leaves its pixels per unit three times as many."""
    image = dots(30.0, square=False)
    large = np.repeat(np.repeat(image, 3, 0), 3, 1)
    found = measure_surface(large, MM)
    assert isinstance(found, Measured)
    assert found.spacing is not None
    assert found.spacing.value == pytest.approx(9.0, rel=0.01)


@pytest.mark.parametrize("kind", ["smooth", "pink", "white", "gradient", "blobs", "brown"])
def test_a_picture_without_units_is_refused(kind: str) -> None:
    """Pictures where nothing repeats are refused with a reason."""
    picture = make_nothing(kind, np.random.default_rng(90020))
    found = measure_surface(picture.image, MM)
    assert isinstance(found, Refused)
    assert found.reason


@pytest.mark.parametrize(
    ("image", "reason"),
    [
        pytest.param(np.full((200, 200), 0.4, np.float32), "even brightness", id="flat"),
        pytest.param(np.zeros((20, 300), np.float32), "less than", id="small"),
        pytest.param(np.full((200, 200), np.nan, np.float32), "even brightness", id="nan"),
    ],
)
def test_what_is_no_picture_of_a_surface_is_refused(image: np.ndarray, reason: str) -> None:
    """Flat, tiny and undefined pictures are refused, not measured."""
    found = measure_surface(image, MM)
    assert isinstance(found, Refused)
    assert reason in found.reason


def test_an_empty_region_is_refused() -> None:
    """A region that holds nothing is refused."""
    found = measure_surface(dots(30.0, square=False), MM, np.zeros((600, 800), np.bool_))
    assert isinstance(found, Refused)


def test_light_does_not_matter() -> None:
    """A strong slope of light moves the spacing by less than 1 %."""
    image = dots(30.0, square=False)
    slope = np.linspace(0.2, 2.0, image.shape[1], dtype=np.float32)
    found = measure_surface(image * slope, MM)
    assert isinstance(found, Measured)
    assert found.spacing is not None
    assert found.spacing.value == pytest.approx(3.0, rel=0.01)


def test_a_band_is_a_gaussian_filter() -> None:
    """The band of a wide blob is what scipy's Laplacian of a Gaussian says, but for its grid."""
    ndimage = pytest.importorskip("scipy.ndimage")
    rng = np.random.default_rng(90030)
    image = ndimage.gaussian_filter(rng.normal(size=(128, 160)), 3).astype(np.float32)
    band = Bands(image).band(1.8)
    theirs = -(1.8**2) * ndimage.gaussian_laplace(image.astype(float), 1.8, mode="reflect")
    gap = np.abs(band.ridges - theirs)[8:-8, 8:-8].max()
    assert gap < 0.03 * np.abs(theirs).max()


def test_light_and_contrast_are_evened() -> None:
    """Spread s becomes s / (s + a quarter of the median): 1.5 and 2.5 round 2 end 1.11 apart."""
    rng = np.random.default_rng(90031)
    grow = np.linspace(1, 3, 600)[None]
    image = (grow * (4 + rng.normal(size=(400, 600)))).astype(np.float32)
    flat = flatten_light(image)
    left, right = flat[:, 100:200], flat[:, 400:500]
    assert abs(float(flat.mean())) < 0.05
    assert float(right.std() / left.std()) == pytest.approx(1.11, abs=0.1)


def test_coins_are_found() -> None:
    """scikit-image's picture of coins shows 24 (its documentation); they stand in rows."""
    pytest.importorskip("skimage")
    from pathlib import Path  # noqa: PLC0415  only here

    import skimage  # noqa: PLC0415  may be absent
    from PIL import Image  # noqa: PLC0415  only here

    path = Path(skimage.__file__).parent / "data" / "coins.png"
    if not path.exists():
        pytest.skip("this build of scikit-image ships no picture of coins")
    image = np.asarray(Image.open(path), dtype=np.float32) / 255
    found = measure_surface(image, Scale(1.0))
    assert isinstance(found, Measured)
    assert len(found.centres) == pytest.approx(24, abs=2)
