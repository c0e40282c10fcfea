"""Lines and points against exact geometry, printed sizes of sample and two real surveys.

No worked example of the line-intercept estimators was found in print: discs of known
density and diameter stand for it, for which cover, density and mean chord are exact.
"""

from __future__ import annotations

import csv
import heapq
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from corallum.errors import InputError
from corallum.estimate.change import change_unpaired
from corallum.estimate.estimate import Estimate
from corallum.estimate.line_intercept import (
    NOT_CORAL,
    Intercepts,
    estimate_line_cover,
    estimate_line_density,
    intercepts_from_readings,
    line_cover,
)
from corallum.estimate.points import points_for_precision
from corallum.estimate.ratio import estimate_ratio

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
beside = pytest.mark.skipif(
    not DATA.is_dir(), reason="the open data are not beside this checkout (../shared/data)"
)
DIAMETER_M, PER_M2, LENGTH_M = 1.2, 0.5, 200_000.0


@cache
def discs() -> Intercepts:
    """Discs strewn at random that a line of 200 km meets, cm; seeded.

    They overlap, and one line can't count what lies below: each that overlaps another is
    met by a further line along the same way.
    """
    rng = np.random.default_rng(1)
    reach = DIAMETER_M / 2
    n = rng.poisson(PER_M2 * LENGTH_M * DIAMETER_M)
    middle = np.sort(rng.uniform(reach, LENGTH_M - reach, n))
    half = np.sqrt(reach**2 - rng.uniform(-reach, reach, n) ** 2)
    start, end = 100 * (middle - half), 100 * (middle + half)
    order = np.argsort(start)
    start, end = start[order], end[order]
    layer, free = np.zeros(n, np.int64), [(0.0, 0)]
    for i in range(n):
        if free[0][0] <= start[i]:
            _, layer[i] = heapq.heappop(free)
        else:
            layer[i] = len(free)
        heapq.heappush(free, (float(end[i]), int(layer[i])))
    return Intercepts(layer, np.zeros(n, np.int64), start, end)


def test_cover_of_discs() -> None:
    """The line lies over discs for pi D^2 / 4 of .5 per m2 = .56549 of its length, to 1 %."""
    found = discs()
    tape = np.full(found.transect.max() + 1, 100 * LENGTH_M)
    cover = float(line_cover(found, tape, 1).sum())
    assert cover == pytest.approx(PER_M2 * math.pi * DIAMETER_M**2 / 4, rel=0.01)
    assert cover == pytest.approx(0.56549, rel=0.01)


def test_density_of_discs() -> None:
    """The sum of 1/w over the length is the density, .5 per m2, to 1 % (Lucas and Seber 1977)."""
    found = discs()
    n = len(found.start)
    tape = np.full(found.transect.max() + 1, 100 * LENGTH_M)
    width = np.full(n, 100 * DIAMETER_M)
    density = estimate_line_density(found, np.arange(n), width, tape, 1).by_transect.sum()
    assert density == pytest.approx(PER_M2, rel=0.01)


def test_mean_chord_of_discs() -> None:
    """A disc of 1.2 m is met for pi D / 4 = .94248 m on average, to half a per cent."""
    found = discs()
    chord = float((found.end - found.start).mean()) / 100
    assert chord == pytest.approx(0.94248, rel=0.005)


def test_intercepts_in_place_of_widths_give_another_density() -> None:
    """Negative control: 1 over the intercept is no estimate of density, but far too much."""
    found = discs()
    n = len(found.start)
    tape = np.full(found.transect.max() + 1, 100 * LENGTH_M)
    wrong = estimate_line_density(found, np.arange(n), found.end - found.start, tape, 1)
    assert wrong.by_transect.sum() > 1.2 * PER_M2


def test_points_for_a_share() -> None:
    """323 independent points tell 30 % to within 5 points (formula); a design effect multiplies."""
    assert math.ceil(points_for_precision(0.05, 0.3)) == 323
    assert points_for_precision(0.05, 0.3, 2.0) == pytest.approx(2 * 322.68, abs=0.1)


def read(name: str) -> list[dict[str, str]]:
    """Read the rows of one open table."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def palau_and_yap() -> tuple[list[dict[str, str]], list[tuple[str, ...]]]:
    """Rows of Palau and Yap 2017, and their transects."""
    rows = read("palau_yap_line_intercepts.csv")
    return rows, sorted({_transect(row) for row in rows})


def _transect(row: dict[str, str]) -> tuple[str, ...]:
    """Name a transect."""
    return row["country"], row["site"], row["transect"]


def _coral(row: dict[str, str]) -> bool:
    """Say whether a row is of coral with a length."""
    return bool(row["genus"]) and float(row["intercept_cm"]) > 0


@beside
def test_cover_of_palau_and_yap() -> None:
    """288 transects have a mean hard-coral cover of 41 %, SD 20 (van Woesik and Cacciapaglia).

    As printed, so to half a point. The coral rows of each tape are laid end to end, which
    leaves their sum; rows that the source marks as out of order and that have no length are
    left out.
    """
    rows, transects = palau_and_yap()
    number = {name: i for i, name in enumerate(transects)}
    coral = [row for row in rows if _coral(row)]
    t = np.array([number[_transect(row)] for row in coral])
    length = np.array([float(row["intercept_cm"]) for row in coral])
    reading = np.zeros(len(t))
    for one in range(len(transects)):
        reading[t == one] = np.cumsum(length[t == one])
    laid = intercepts_from_readings(t, np.zeros(len(t), np.int64), reading)
    found = estimate_line_cover(laid, np.full(len(transects), 1000.0), 1)
    assert len(transects) == 288
    assert 100 * float(found.coral.value) == pytest.approx(41, abs=0.5)
    assert 100 * found.by_transect.std(ddof=1) == pytest.approx(20, abs=0.5)


@beside
def test_palau_and_yap_as_read_from_the_tape() -> None:
    """Transects whose readings rise are taken as they are and still give 41 % and 20.

    To one point, for those that run backwards are left out; they are refused by row.
    """
    rows, transects = palau_and_yap()
    number = {name: i for i, name in enumerate(transects)}
    t = np.array([number[_transect(row)] for row in rows])
    genus = np.array([0 if row["genus"] else NOT_CORAL for row in rows])
    length = np.array([float(row["intercept_cm"]) for row in rows])
    reading = np.concatenate([np.cumsum(length[t == one]) for one in dict.fromkeys(t.tolist())])
    order = np.concatenate([np.flatnonzero(t == one) for one in dict.fromkeys(t.tolist())])
    tape = np.full(len(transects), 1000.0)
    read_as = intercepts_from_readings(t[order], genus[order], np.maximum(reading, 0))
    with pytest.raises(InputError, match="runs backwards or stands still") as caught:
        line_cover(read_as, tape, 1)
    assert len(caught.value.faults) == 20
    wrong = np.unique(t[length <= 0])
    kept = ~np.isin(t[order], wrong)
    whole = Intercepts(
        np.searchsorted(np.setdiff1d(np.arange(288), wrong), t[order][kept]),
        read_as.genus[kept], read_as.start[kept], read_as.end[kept],
    )  # fmt: skip
    cover = line_cover(whole, tape[: 288 - len(wrong)], 1)
    assert 100 * cover.mean() == pytest.approx(41, abs=1)
    assert 100 * cover.std(ddof=1) == pytest.approx(20, abs=1)


@cache
def tikus(year: str) -> np.ndarray:
    """Intercepts of one year at Tikus by transect and genus, cm."""
    rows = read("tikus_transects.csv")
    genera = sorted({row["genus_accepted"] for row in rows})
    found = np.zeros((10, len(genera)))
    for row in rows:
        if row["year"] == year:
            place = int(row["transect"]) - 1, genera.index(row["genus_accepted"])
            found[place] += float(row["intercept_cm"])
    return found


def _mean(found: np.ndarray) -> Estimate:
    """Mean intercept a transect, cm: the tape's length is uncertain in the source."""
    return estimate_ratio(found.sum(axis=1), np.ones(len(found)))


@beside
def test_tikus_fell_after_1981() -> None:
    """From 1981 to 1983 coral at Tikus fell: the interval of the change excludes 0.

    Warwick, Clarke and Suharsono 1990, Coral Reefs 8:171-179. An illustration, not a rate.
    """
    change = change_unpaired(_mean(tikus("1981")), _mean(tikus("1983")))
    assert float(change.high) < 0
    assert float(change.value) < -0.5 * float(_mean(tikus("1981")).value)


@beside
def test_tikus_from_1985_to_1987_is_not_told_from_no_change() -> None:
    """Control: between 1985 and 1987 the interval of the change holds 0."""
    change = change_unpaired(_mean(tikus("1985")), _mean(tikus("1987")))
    assert float(change.low) < 0 < float(change.high)
