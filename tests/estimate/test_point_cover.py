"""Points: where they fall, and what their error is."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.points import (
    UNREADABLE,
    Frame,
    design_effect_of_clusters,
    estimate_point_cover,
    points_for_precision,
    points_rng,
    scatter_grid,
    scatter_random,
    scatter_stratified,
)

PHOTO = Frame(4000, 3000, 200)


def test_points_come_back_from_seed_and_name() -> None:
    """The same seed and photo give the same points, in whatever order photos are taken."""
    first = [scatter_random(PHOTO, 5, points_rng(7, name)) for name in ("a.jpg", "b.jpg")]
    again = [scatter_random(PHOTO, 5, points_rng(7, name)) for name in ("b.jpg", "a.jpg")]
    np.testing.assert_array_equal(first[0], again[1])
    np.testing.assert_array_equal(first[1], again[0])


@pytest.mark.parametrize(
    ("seed", "name"), [(8, "a.jpg"), (7, "a.jpg "), (7, ""), (7, "b.jpg"), (7, "á.jpg")]
)
def test_another_seed_or_name_gives_other_points(seed: int, name: str) -> None:
    """No two photos, and no two seeds, share their points."""
    one = scatter_random(PHOTO, 5, points_rng(7, "a.jpg"))
    other = scatter_random(PHOTO, 5, points_rng(seed, name))
    assert not np.isclose(one, other).any()


@given(st.integers(0, 1000), st.floats(0, 1400))
def test_no_point_falls_in_the_margin(seed: int, margin: float) -> None:
    """Random, stratified and grid points all keep off the edges."""
    frame = Frame(4000, 3000, margin)
    rng = np.random.default_rng(seed)
    for points in (
        scatter_random(frame, 9, rng),
        scatter_stratified(frame, 3, 4, rng),
        scatter_grid(frame, 3, 4, rng),
        scatter_grid(frame, 3, 4),
    ):
        assert (points >= margin - 1e-6).all()
        assert (points <= np.array([4000, 3000]) - margin + 1e-6).all()


def test_a_grid_by_hand() -> None:
    """Two rows of three on 600 x 400 without margin stand in the middle of their cells."""
    found = scatter_grid(Frame(600, 400), 2, 3)
    assert found.tolist() == [
        [100, 100], [300, 100], [500, 100], [100, 300], [300, 300], [500, 300]
    ]  # fmt: skip


def test_a_started_grid_is_the_grid_moved() -> None:
    """A random start moves all points of a grid alike, by less than half a cell."""
    moved = scatter_grid(Frame(600, 400), 2, 3, np.random.default_rng(1))
    step = moved - scatter_grid(Frame(600, 400), 2, 3)
    np.testing.assert_allclose(step, np.broadcast_to(step[0], step.shape))
    assert np.abs(step).max() <= 100
    assert np.abs(step).max() > 0


def test_stratified_points_have_a_cell_each() -> None:
    """Each cell of a stratified layout holds one point."""
    found = scatter_stratified(Frame(600, 400), 2, 3, np.random.default_rng(2))
    cells = (found // 200).astype(int)
    assert cells.tolist() == [[0, 0], [1, 0], [2, 0], [0, 1], [1, 1], [2, 1]]


@pytest.mark.parametrize("layout", ["random", "stratified", "grid"])
def test_every_place_is_as_likely(layout: str) -> None:
    """Over 400 seeded photos the left quarter of the room gets a quarter of 16 points.

    Within 4 standard errors of random points, which are the widest.
    """
    inside = 0
    frame = Frame(1000, 1000, 100)
    for photo in range(400):
        rng = points_rng(1, str(photo))
        if layout == "random":
            points = scatter_random(frame, 16, rng)
        elif layout == "stratified":
            points = scatter_stratified(frame, 4, 4, rng)
        else:
            points = scatter_grid(frame, 4, 4, rng)
        inside += int((points[:, 0] < 300).sum())
    assert abs(inside / 6400 - 0.25) < 4 * math.sqrt(0.25 * 0.75 / 6400)


def test_cover_by_hand() -> None:
    """Of 4 and 2 readable points, 2 and 2 lie on label 1: 4 of 6."""
    transect = [0, 0, 0, 0, 0, 1, 1]
    label = [0, 1, 1, 2, UNREADABLE, 1, 1]
    found = estimate_point_cover(transect, label, 2, 3)
    assert found.counts.tolist() == [[1, 2, 1], [0, 2, 0]]
    assert found.readable.tolist() == [4, 2]
    assert found.unreadable == 1
    np.testing.assert_allclose(found.cover.value, [1 / 6, 4 / 6, 1 / 6])


def test_shares_add_up_to_one() -> None:
    """Over all labels cover is whole."""
    rng = np.random.default_rng(3)
    found = estimate_point_cover(np.repeat(np.arange(6), 20), rng.integers(0, 5, 120), 6, 5)
    assert found.cover.value.sum() == pytest.approx(1)


def test_a_label_without_points_has_no_design_effect() -> None:
    """Where nothing was met there is no spread to compare with."""
    found = estimate_point_cover([0, 0, 1, 1], [0, 0, 0, 0], 2, 2)
    assert np.isnan(found.design_effect).all()


def surveys(spread: float) -> tuple[np.ndarray, list[tuple[float, float, float]]]:
    """Four hundred seeded surveys of 12 transects x 50 points, cover .3 on average.

    The cover of a transect is drawn from a beta distribution whose intraclass correlation
    is the spread; returns the estimates, and of each its SE, binomial SE and design effect.
    """
    rng = np.random.default_rng(6)
    values, errors = np.empty(400), []
    for one in range(400):
        total = 1 / spread - 1
        cover = rng.beta(0.3 * total, 0.7 * total, 12)
        label = (rng.random((12, 50)) < cover[:, None]).astype(int).ravel()
        found = estimate_point_cover(np.repeat(np.arange(12), 50), label, 12, 2)
        values[one] = found.cover.value[1]
        errors.append((found.cover.se[1], found.binomial_se[1], found.design_effect[1]))
    return values, errors


def test_the_error_between_transects_is_the_true_one() -> None:
    """With clustered points the mean SE is the SD of the estimate, to 10 %.

    Negative control: the binomial one is less than half of it. The design effect is 1 + 49 * .1,
    Kish's, to 15 %.
    """
    values, errors = surveys(0.1)
    se, binomial, effect = np.mean(errors, axis=0)
    assert se == pytest.approx(values.std(ddof=1), rel=0.10)
    assert binomial < 0.5 * values.std(ddof=1)
    assert effect == pytest.approx(design_effect_of_clusters(50, 0.1), rel=0.15)


def test_points_needed_grow_with_the_design_effect() -> None:
    """The half width of 12 transects x 50 clustered points takes 600 points, to 5 %.

    The half width is that of 20,000 seeded surveys, drawn without this package.
    """
    rng = np.random.default_rng(6)
    met = rng.binomial(50, rng.beta(2.7, 6.3, (20_000, 12))).sum(axis=1)
    half_width = 1.96 * (met / 600).std(ddof=1)
    effect = design_effect_of_clusters(50, 0.1)
    assert points_for_precision(half_width, 0.3, effect) == pytest.approx(600, rel=0.05)


@pytest.mark.parametrize(
    ("label", "said"),
    [
        pytest.param([0, 3, 0, 0], "label: expected -1 to 1, found 0 to 3", id="off the list"),
        pytest.param([0, 0, -1, -1], "transect 1: expected at least one readable", id="unread"),
    ],
)
def test_points_that_cannot_be_are_refused(label: list[int], said: str) -> None:
    """Labels off the list, and transects of which nothing was read, are refused."""
    with pytest.raises(InputError, match=said):
        estimate_point_cover([0, 0, 1, 1], label, 2, 2)


def test_one_transect_is_refused() -> None:
    """Points of one transect tell nothing of the spread, however many."""
    with pytest.raises(InputError, match="transects: expected at least 2"):
        estimate_point_cover([0] * 50, [0, 1] * 25, 1, 2)


def test_a_margin_without_room_is_refused() -> None:
    """A margin of half the photo leaves no place for a point."""
    with pytest.raises(InputError, match="a margin below half of 3000 pixels, found 1500"):
        scatter_grid(Frame(4000, 3000, 1500), 2, 2)


def test_no_point_is_refused() -> None:
    """A layout has a point at least."""
    with pytest.raises(InputError, match="points: expected at least 1, found 0"):
        scatter_random(PHOTO, 0, points_rng(1, "a"))


def test_a_seed_below_0_is_refused() -> None:
    """Seeds are whole numbers from 0."""
    with pytest.raises(InputError, match="seed: expected 0 or more"):
        points_rng(-1, "a")


@pytest.mark.parametrize(("points", "rho"), [(0.5, 0.1), (5, 1.1)], ids=["no point", "beyond 1"])
def test_impossible_clusters_are_refused(points: float, rho: float) -> None:
    """A photo has a point at least, and no correlation is above 1."""
    with pytest.raises(InputError):
        design_effect_of_clusters(points, rho)


def test_an_impossible_design_effect_is_refused() -> None:
    """A design effect is above 0."""
    with pytest.raises(InputError, match="design effect: expected above 0"):
        points_for_precision(0.05, 0.3, math.nan)


def test_design_effect_by_hand() -> None:
    """Five points of correlation .3 weigh as 1 + 4 * .3 = 2.2 (Kish 1965); one point as 1."""
    assert design_effect_of_clusters(5, 0.3) == pytest.approx(2.2)
    assert design_effect_of_clusters(1, 0.3) == 1
