"""Rendered colonies: the truth agrees with the pixels."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import ndimage

from corallum.draw.surface import (
    ARRANGEMENTS,
    Rendered,
    SurfaceError,
    SurfaceParameters,
    ViewOptions,
    render_colony,
)

SMALL = ViewOptions(width=400, height=300)
PLAIN = ViewOptions(noise=0.0, blur_px=0.0, water=0.0)


def surface(arrangement: str, **what: object) -> SurfaceParameters:
    """A surface 5 mm apart."""
    plain = SurfaceParameters(arrangement, 5.0, 3.4, valley_width_mm=5.0)
    return replace(plain, **what)  # type: ignore[arg-type]


def rendered(params: SurfaceParameters, options: ViewOptions = SMALL, seed: int = 1) -> Rendered:
    """A picture from a seed."""
    return render_colony(params, options, np.random.default_rng(seed))


def brightness(picture: Rendered, points: np.ndarray) -> np.ndarray:
    """Smoothed brightness at points x, y of the picture."""
    grey = ndimage.gaussian_filter(picture.image.mean(axis=2), 3.0)
    return ndimage.map_coordinates(grey, points[:, ::-1].T, order=1, mode="nearest")


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
@pytest.mark.parametrize("oblique", [0.0, 35.0])
def test_every_arrangement_renders(arrangement: str, oblique: float) -> None:
    """The picture has its size and is not blank; the record says that it is a drawing."""
    picture = rendered(surface(arrangement), replace(SMALL, oblique_degrees=oblique))

    assert picture.image.shape == (300, 400, 3)
    assert picture.image.dtype == np.uint8
    assert picture.image.std() > 5.0
    assert picture.truth.kind == "drawing"
    assert picture.truth.arrangement == arrangement
    assert len(picture.truth.centres_px) == len(picture.truth.diameters_mm) > 0


@pytest.mark.parametrize(
    ("arrangement", "scene"),
    [
        ("plocoid", "branch_tip"),
        ("plocoid", "plate_margin"),
        ("solitary", "stalked_young"),
    ],
)
def test_every_scene_renders(arrangement: str, scene: str) -> None:
    """Scenes of the form of a colony have centres in view."""
    picture = rendered(surface(arrangement, scene=scene))

    assert picture.truth.scene == scene
    assert picture.image.std() > 5.0
    assert len(picture.truth.centres_px) > 0


@pytest.mark.parametrize("arrangement", ["meandroid", "cerioid", "pores_two_sizes"])
def test_a_seed_gives_the_same_picture_and_another_another(arrangement: str) -> None:
    """Nothing but the generator decides."""
    one, same, other = (rendered(surface(arrangement), seed=s) for s in (4, 4, 5))

    np.testing.assert_array_equal(one.image, same.image)
    np.testing.assert_array_equal(one.truth.centres_px, same.truth.centres_px)
    assert (one.image != other.image).mean() > 0.5


@pytest.mark.parametrize(
    "arrangement",
    ["plocoid", "cerioid", "phaceloid", "tubes", "pores_one_size", "pores_two_sizes",
     "pore_rows", "cyclosystems"],
)  # fmt: skip
def test_middles_are_darker_than_the_walls(arrangement: str) -> None:
    """An open middle lies deep, so it is darker than the ring at its wall."""
    params = surface(arrangement, columella="absent", texture="smooth")
    picture = rendered(params, PLAIN)
    truth = picture.truth
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    # Within the picture, so that the whole ring is seen.
    inner = (np.abs(truth.centres_px - [799.5, 599.5]) < [650.0, 450.0]).all(axis=1)
    centres = truth.centres_px[inner]
    # The wall of a tube ends in a dark gap, so its crest is nearer.
    crest = 1.0 if arrangement in ("phaceloid", "tubes") else 1.12
    reach = 0.5 * crest * truth.diameters_mm[inner] * truth.px_per_mm
    ring = centres[:, None, :] + reach[:, None, None] * np.column_stack(
        [np.cos(turn), np.sin(turn)]
    )

    middle = brightness(picture, centres)
    wall = brightness(picture, ring.reshape(-1, 2)).reshape(len(centres), -1).mean(axis=1)

    assert (middle < wall).mean() > 0.95


@pytest.mark.parametrize("oblique", [0.0, 40.0])
def test_the_homography_takes_the_truth_in_mm_to_the_truth_in_pixels(oblique: float) -> None:
    """Centres in mm, taken through the homography by hand, are the centres in pixels."""
    truth = rendered(surface("plocoid"), replace(SMALL, oblique_degrees=oblique)).truth

    mapped = np.column_stack([truth.centres_mm, np.ones(len(truth.centres_mm))])
    mapped = mapped @ truth.homography.T

    np.testing.assert_allclose(mapped[:, :2] / mapped[:, 2:], truth.centres_px, atol=1e-6)


def test_pores_of_an_oblique_view_are_where_the_truth_says() -> None:
    """The middles of dark spots lie within 2 px of the truth (found without the renderer)."""
    options = ViewOptions(oblique_degrees=35.0, noise=0.0, water=0.0)
    params = SurfaceParameters("pores_one_size", 5.0, 1.8, texture="smooth")
    picture = rendered(params, options, seed=9)

    grey = picture.image.mean(axis=2)
    spots, n = ndimage.label(ndimage.gaussian_filter(grey, 2.0) < 0.45 * np.median(grey))
    sizes = ndimage.sum_labels(np.ones_like(grey), spots, range(1, n + 1))
    found = np.array(ndimage.center_of_mass(spots > 0, spots, range(1, n + 1)))[:, ::-1]
    found = found[sizes > 60]
    inner = (np.abs(found - [799.5, 599.5]) < [740.0, 540.0]).all(axis=1)
    away = np.hypot(*(found[inner][:, None, :] - picture.truth.centres_px[None]).T).min(axis=0)

    assert len(away) > 40
    assert np.percentile(away, 95.0) < 3.0
    assert np.median(away) < 2.0


def test_the_spectrum_of_a_cerioid_surface_peaks_where_its_spacing_says() -> None:
    """A hexagonal texture's first peak is at 2 / (sqrt(3) d) (practice.md 2F)."""
    options = ViewOptions(px_per_mm=16.0, noise=0.0)
    picture = rendered(SurfaceParameters("cerioid", 5.0, 5.0), options, seed=2)
    grey = picture.image.mean(axis=2)
    grey = (grey - grey.mean()) * np.hanning(1200)[:, None] * np.hanning(1600)

    power = np.abs(np.fft.fft2(grey)) ** 2
    k = np.hypot(np.fft.fftfreq(1200)[:, None], np.fft.fftfreq(1600)) * 16.0
    ring = np.arange(0.1, 0.5, 0.008)
    of_ring = [power[(k >= a) & (k < a + 0.016)].mean() for a in ring]

    peak = ring[int(np.argmax(of_ring))] + 0.008
    assert 1.1547 / peak == pytest.approx(5.0, rel=0.08)


@pytest.mark.parametrize("oblique", [0.0, 30.0])
def test_the_ruler_is_as_long_as_it_says(oblique: float) -> None:
    """The two ends in the truth, taken back through the homography, are ruler_mm apart."""
    options = ViewOptions(scale_bar=True, oblique_degrees=oblique)
    truth = rendered(surface("cerioid"), options).truth

    assert truth.ruler_px is not None
    ends = np.column_stack([truth.ruler_px, [1.0, 1.0]]) @ np.linalg.inv(truth.homography).T
    ends = ends[:, :2] / ends[:, 2:]

    assert np.hypot(*(ends[0] - ends[1])) == pytest.approx(truth.ruler_mm)


def test_valley_walls_are_as_far_apart_as_the_truth_says() -> None:
    """Ridges of one width peak in the spectrum at 1 / width (a band's period is its width)."""
    options = ViewOptions(px_per_mm=20.0, noise=0.0)
    params = SurfaceParameters("meandroid", 5.0, 4.0, valley_width_mm=5.0, septal_teeth="none")
    picture = rendered(params, options, seed=3)
    grey = picture.image.mean(axis=2)
    grey = (grey - grey.mean()) * np.hanning(1200)[:, None] * np.hanning(1600)

    power = np.abs(np.fft.fft2(grey)) ** 2
    k = np.hypot(np.fft.fftfreq(1200)[:, None], np.fft.fftfreq(1600)) * 20.0
    ring = np.arange(0.08, 0.34, 0.008)
    of_ring = [power[(k >= a) & (k < a + 0.016)].mean() for a in ring]

    assert picture.truth.valley_width_mm == pytest.approx(5.0, rel=0.01)
    assert 1.0 / (ring[int(np.argmax(of_ring))] + 0.008) == pytest.approx(5.0, rel=0.08)


@pytest.mark.parametrize(
    ("options", "what"),
    [
        pytest.param(replace(SMALL, blur_px=6.0), "sharpness", id="blur"),
        pytest.param(replace(SMALL, contrast=0.3), "spread", id="contrast"),
    ],
)
def test_blur_and_low_contrast_take_detail(options: ViewOptions, what: str) -> None:
    """Detail is less than in the plain picture."""
    plain = rendered(surface("cerioid"), replace(SMALL, noise=0.0)).image.astype(float)
    hard = rendered(surface("cerioid"), replace(options, noise=0.0)).image.astype(float)

    def detail(image: np.ndarray) -> float:
        if what == "spread":
            return float(image.std())
        return float(np.abs(np.diff(image, axis=1)).mean())

    assert detail(hard) < 0.6 * detail(plain)


def test_water_takes_red() -> None:
    """Water absorbs red first: its share of the picture falls (common practice, no source)."""

    def share_of_red(water: float) -> float:
        image = rendered(surface("plocoid"), replace(SMALL, water=water)).image
        return float(image[..., 0].mean() / image.mean())

    assert share_of_red(0.9) < share_of_red(0.0)


def test_units_across_are_eight_to_twenty_where_no_scale_is_asked() -> None:
    """The picture chooses its own scale within these bounds."""
    for seed in range(8):
        truth = rendered(surface("cerioid"), SMALL, seed).truth
        assert 8.0 <= SMALL.width / truth.px_per_mm / truth.spacing_mm <= 20.2


def test_units_too_small_to_see_are_refused() -> None:
    """The line says how wide a unit would be, and which scale would do."""
    with pytest.raises(SurfaceError) as caught:
        rendered(surface("cerioid"), replace(SMALL, px_per_mm=2.0))

    assert str(caught.value) == (
        "view, px_per_mm: expected a scale at which a unit is 14 px wide or more, "
        "found 2, where it is 10.0 px. Set px_per_mm to 2.8 or more, or to None."
    )
