"""Line intercepts: by hand, colonies crossed twice, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.line_intercept import (
    NOT_CORAL,
    Intercepts,
    estimate_line_cover,
    estimate_line_density,
    intercepts_from_readings,
    line_cover,
)

# Two tapes of 10 and 20 m; genus 0 covers 1 and 5 m of them, genus 1 .5 and 0 m.
TAPES = [1000.0, 2000.0]
READINGS = intercepts_from_readings(
    [0, 0, 0, 0, 1, 1, 1],
    [NOT_CORAL, 0, 1, NOT_CORAL, 0, NOT_CORAL, 0],
    [300, 400, 450, 1000, 200, 1000, 1300],
)


def lying(*spans: tuple[float, float], transect: int = 0, genus: int = 0) -> Intercepts:
    """Intercepts of one genus on one tape."""
    n = len(spans)
    start, end = np.array(spans, np.float64).reshape(n, 2).T
    return Intercepts(np.full(n, transect), np.full(n, genus), start, end)


def test_readings_become_intercepts() -> None:
    """Each thing starts where the last was read, and each tape at 0."""
    assert READINGS.start.tolist() == [0, 300, 400, 450, 0, 200, 1000]


def test_readings_of_tapes_may_be_mixed() -> None:
    """Rows of two tapes may stand among each other; each keeps its own order."""
    found = intercepts_from_readings([0, 1, 0, 1], [0, 0, 1, 1], [10, 40, 30, 90])
    assert found.start.tolist() == [0, 0, 10, 40]


def test_cover_by_hand() -> None:
    """Covers are .1 and .05, .25 and 0; over both tapes 6 m and .5 m of 30 m."""
    found = estimate_line_cover(READINGS, TAPES, 2)
    np.testing.assert_allclose(found.by_transect, [[0.1, 0.05], [0.25, 0.0]])
    np.testing.assert_allclose(found.by_genus.value, [6 / 30, 0.5 / 30])
    assert float(found.coral.value) == pytest.approx(6.5 / 30)


def test_the_error_is_that_between_transects() -> None:
    """Of equal tapes the SE is the SD of their covers over the root of their number."""
    spans = [100.0, 250.0, 400.0, 50.0]
    parts = [lying((0, end), transect=t) for t, end in enumerate(spans)]
    every = Intercepts(
        *(
            np.concatenate([getattr(one, name) for one in parts])
            for name in ("transect", "genus", "start", "end")
        )
    )
    found = estimate_line_cover(every, [1000.0] * 4, 1)
    covers = np.array(spans) / 1000
    assert float(found.coral.se) == pytest.approx(covers.std(ddof=1) / 2)
    assert found.coral.df == 3


def test_a_transect_without_coral_counts() -> None:
    """An empty tape halves the cover."""
    found = estimate_line_cover(lying((0, 200)), [1000.0, 1000.0], 1)
    assert float(found.coral.value) == pytest.approx(0.1)
    nothing = lying()
    assert estimate_line_cover(nothing, [1000.0, 1000.0], 1).coral.value == 0


@given(st.permutations(range(7)))
def test_rows_may_come_in_any_order(order: list[int]) -> None:
    """Shuffled intercepts have the same cover."""
    other = Intercepts(
        READINGS.transect[order], READINGS.genus[order], READINGS.start[order], READINGS.end[order]
    )
    np.testing.assert_allclose(line_cover(other, TAPES, 2), line_cover(READINGS, TAPES, 2))


def test_permuted_genera_permute_the_figures() -> None:
    """Exchanging two genera exchanges their figures and leaves that of all coral."""
    swapped = np.where(READINGS.genus == NOT_CORAL, NOT_CORAL, 1 - READINGS.genus)
    other = Intercepts(READINGS.transect, swapped, READINGS.start, READINGS.end)
    one, two = estimate_line_cover(READINGS, TAPES, 2), estimate_line_cover(other, TAPES, 2)
    np.testing.assert_allclose(one.by_genus.value[::-1], two.by_genus.value)
    assert float(one.coral.se) == pytest.approx(float(two.coral.se))


def test_density_by_hand() -> None:
    """Colonies of 50 and 20 cm across on 10 m: (1/.5 + 1/.2) / 10 = .7 per m2."""
    met = lying((0, 40), (60, 70))
    found = estimate_line_density(met, [0, 1], [50, 20], [1000.0, 1000.0], 1)
    assert found.by_transect[0, 0] == pytest.approx(0.7)
    assert float(found.coral.value) == pytest.approx(0.35)


def test_a_colony_crossed_twice_counts_once() -> None:
    """Two intercepts of one colony are one colony in density and both in cover."""
    met = lying((0, 40), (60, 70))
    once = estimate_line_density(met, [3, 3], [50, 50], [1000.0, 1000.0], 1)
    assert once.by_transect[0, 0] == pytest.approx(0.2)
    assert line_cover(met, [1000.0], 1)[0, 0] == pytest.approx(0.05)


def test_one_colony_on_two_tapes_counts_on_each() -> None:
    """Each tape is a sample of its own: a colony that both cross counts twice."""
    met = Intercepts(np.array([0, 1]), np.zeros(2, int), np.zeros(2), np.full(2, 30.0))
    found = estimate_line_density(met, [3, 3], [50, 50], [1000.0, 1000.0], 1)
    np.testing.assert_allclose(found.by_transect, [[0.2], [0.2]])


def rings(seed: int) -> tuple[Intercepts, np.ndarray, np.ndarray, list[float]]:
    """Sixty lines of 100 m over rings, one in each cell of 2 x 2 m; outer radii .3 to .9 m.

    A ring with a hole of half its radius: a line through the hole crosses it twice.
    """
    rng = np.random.default_rng(seed)
    rows: list[tuple[int, float, float]] = []
    colony, width = [], []
    for line in range(60):
        outer = rng.uniform(0.3, 0.9, 50)
        middle = 2 * np.arange(50) + 1 + rng.uniform(-0.1, 0.1, 50)
        away = rng.uniform(-1, 1, 50)
        for cell in np.flatnonzero(np.abs(away) < outer).tolist():
            r, x, y = outer[cell], middle[cell], away[cell]
            far = math.sqrt(r**2 - y**2)
            spans = [(x - far, x + far)]
            if abs(y) < r / 2:
                near = math.sqrt(r**2 / 4 - y**2)
                spans = [(x - far, x - near), (x + near, x + far)]
            rows += [(line, 100 * a, 100 * b) for a, b in spans]
            colony += [cell] * len(spans)
            width += [200 * r] * len(spans)
    t, start, end = (np.array(column) for column in zip(*rows, strict=True))
    met = Intercepts(t, np.zeros(len(t), np.int64), start, end)
    return met, np.array(colony), np.array(width), [10_000.0] * 60


def test_rings_of_many_sizes() -> None:
    """Density .25 per m2 and cover .25 * 3/4 pi E(r^2) = .2297 lie within 3 standard errors.

    E(r^2) of radii even between .3 and .9 is .39.
    """
    met, colony, width, tapes = rings(4)
    density = estimate_line_density(met, colony, width, tapes, 1).coral
    cover = estimate_line_cover(met, tapes, 1).coral
    assert abs(float(density.value) - 0.25) < 3 * float(density.se)
    assert abs(float(cover.value) - 0.25 * 0.75 * math.pi * 0.39) < 3 * float(cover.se)


def test_counting_each_crossing_finds_too_many() -> None:
    """Negative control: rings counted at each crossing come out beyond 10 standard errors."""
    met, _, width, tapes = rings(4)
    wrong = estimate_line_density(met, np.arange(len(width)), width, tapes, 1).coral
    assert float(wrong.value) - 0.25 > 10 * float(wrong.se)


def test_intervals_hold_the_density() -> None:
    """Of 60 seeded surveys of rings, at least 52 of the 95 % intervals hold .25 (binomial)."""
    held = 0
    for seed in range(60):
        met, colony, width, tapes = rings(100 + seed)
        found = estimate_line_density(met, colony, width, tapes, 1).coral
        held += float(found.low) <= 0.25 <= float(found.high)
    assert held >= 52


@pytest.mark.parametrize(
    ("met", "said"),
    [
        pytest.param(
            lying((50, 30)),
            "transect 0, intercept 0: expected an end beyond 50 cm, found 30 cm",
            id="backward",
        ),
        pytest.param(lying((50, 50)), "an end beyond 50 cm", id="no length"),
        pytest.param(
            lying((0, 60), (50, 80)),
            "intercept 1: expected a start at 60 cm or beyond, where another ends, found 50 cm",
            id="overlap",
        ),
        pytest.param(
            lying((0, 90), (10, 20), (30, 40)), "intercept 2: expected a start at 90", id="within"
        ),
        pytest.param(lying((900, 1001)), "an end within 1000 cm, found 1001", id="off the tape"),
        pytest.param(lying((-5, 20)), "start: expected 0 or more", id="before the tape"),
        pytest.param(lying((0, math.nan)), "end: expected finite numbers", id="missing"),
        pytest.param(lying((0, 20), transect=1), "stratum: expected 0 to 0", id="no such tape"),
        pytest.param(lying((0, 20), genus=2), "genus: expected -1 to 1", id="no such genus"),
    ],
)
def test_readings_that_cannot_be_are_refused(met: Intercepts, said: str) -> None:
    """A reading that runs backwards, overlaps or leaves the tape is named by its row."""
    with pytest.raises(InputError, match=said):
        line_cover(met, [1000.0], 2)


def test_every_fault_is_named_at_once() -> None:
    """Two wrong rows give two faults."""
    with pytest.raises(InputError) as caught:
        line_cover(lying((50, 30), (100, 1200)), [1000.0], 1)
    assert len(caught.value.faults) == 2


def test_things_that_touch_do_not_overlap() -> None:
    """One may end where the next starts."""
    assert line_cover(lying((0, 60), (60, 80)), [100.0], 1)[0, 0] == pytest.approx(0.8)


@pytest.mark.parametrize(
    ("colony", "width", "said"),
    [
        pytest.param([0, 0], [50, 40], "a colony alike at each crossing", id="two widths"),
        pytest.param([0, 1], [50, 0], "a width above 0, found 0", id="no width"),
        pytest.param([0], [50, 20], "all of one length", id="unlike columns"),
    ],
)
def test_widths_that_cannot_be_are_refused(
    colony: list[int], width: list[float], said: str
) -> None:
    """A colony has one width above 0."""
    with pytest.raises(InputError, match=said):
        estimate_line_density(lying((0, 40), (60, 70)), colony, width, [1000.0, 1000.0], 1)


def test_a_tape_without_length_is_refused() -> None:
    """Nothing can be a share of a tape of 0 cm."""
    with pytest.raises(InputError, match="tape of transect 1: expected above 0 cm"):
        line_cover(lying((0, 40)), [1000.0, 0.0], 1)
