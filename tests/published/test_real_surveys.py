"""Two real surveys through the figures of a whole survey, against what is printed of them.

The tables are open data: line intercepts of Palau and Yap in 2017 (van Woesik and
Cacciapaglia, BCO-DMO 737508), and Tikus Island 1981 to 1988 (Warwick, Clarke and Suharsono
1990, Coral Reefs 8:171-179). Neither was read a second time: figures are as said.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from corallum.estimate.change import change_in_pairs
from corallum.estimate.resampled_cover import Resampling
from corallum.estimate.survey_change import Draws, Moved, change_of_figures
from corallum.estimate.survey_figures import NoCorrection, PlaceFigures, Wanted, figures_of
from corallum.estimate.survey_match import align
from corallum.estimate.survey_table import SurveyTable, group_labels

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
pytestmark = pytest.mark.skipif(
    not DATA.is_dir(), reason="the open data are not beside this checkout (../shared/data)"
)
Row = dict[str, str]


@cache
def read(name: str) -> tuple[Row, ...]:
    """The rows of a table."""
    with (DATA / name).open(encoding="utf-8", newline="") as stream:
        return tuple(csv.DictReader(stream))


def table_of(
    rows: tuple[Row, ...], transect: Callable[[Row], tuple[str, str]], genus: str, tape_cm: float
) -> SurveyTable:
    """A survey of one stratum; what has no genus is no coral."""
    names = sorted({transect(row) for row in rows})
    sites = sorted({site for site, _ in names})
    labels = (*sorted({row[genus] for row in rows} - {""}), "no coral")
    met = np.zeros((len(names), len(labels)))
    lines = np.zeros_like(met)
    for row in rows:
        at = names.index(transect(row)), labels.index(row[genus] or "no coral")
        met[at] += float(row["intercept_cm"])
        lines[at] += 1
    coral = np.array([name != "no coral" for name in labels])
    n, k = met.shape
    return SurveyTable(
        labels, coral, coral, tuple("/".join(one) for one in names), tuple(sites), ("all",), ("",),
        np.array([sites.index(site) for site, _ in names]), np.zeros(n, np.int64),
        np.zeros(n, np.int64), np.ones(1), met, lines, np.full(n, tape_cm), np.zeros((n, k, k)),
        is_cover=True,
    )  # fmt: skip


@cache
def palau() -> SurveyTable:
    """288 transects of 10 m."""
    rows = read("palau_yap_line_intercepts.csv")
    return table_of(
        rows, lambda row: (f"{row['country']} {row['site']}", row["transect"]), "genus", 1000.0
    )


@cache
def tikus(year: str) -> SurveyTable:
    """Ten transects of a year; their length is not told for sure, so cover is per 10 m."""
    rows = tuple(row for row in read("tikus_transects.csv") if row["year"] == year)
    return table_of(rows, lambda row: ("Tikus", row["transect"]), "genus_accepted", 1000.0)


def figures(table: SurveyTable, level: str = "survey") -> list[PlaceFigures]:
    """Figures as said."""
    groups = group_labels(table.labels, table.is_coral, {})
    wanted = Wanted((level,), Resampling(1000))
    return figures_of(table, groups, NoCorrection(), np.random.default_rng(17), wanted)


def test_palau_and_yap_have_the_cover_that_is_told_of_them() -> None:
    """Mean cover of stony coral is 41 %, transects having a standard deviation of 20."""
    table = palau()
    assert (len(table.transects), len(table.sites)) == (288, 48)
    (found,) = figures(table)
    assert 100 * found.uncorrected.value[0] == pytest.approx(41, abs=0.5)
    cover = 100 * table.met[:, table.is_coral].sum(axis=1) / table.searched
    assert cover.std(ddof=1) == pytest.approx(20, abs=0.5)
    # As many transects at every site: the error is that of a mean of 288.
    assert 100 * found.uncorrected.se[0] == pytest.approx(cover.std(ddof=1) / np.sqrt(288), rel=0.1)
    print(f"\nPalau and Yap: {100 * found.uncorrected.value[0]:.2f} %, SD {cover.std(ddof=1):.2f}")


def test_sites_of_palau_average_to_the_whole() -> None:
    """Six tapes at every site: the mean over sites is that over transects, for every genus."""
    (whole,) = figures(palau())
    sites = figures(palau(), "site")
    assert len(sites) == 48
    assert {one.transects for one in sites} == {6}
    mean = np.mean([one.uncorrected.value for one in sites], axis=0)
    assert mean == pytest.approx(whole.uncorrected.value)


def tikus_change(*, paired: bool) -> Moved:
    """What moved from 1981 to 1983."""
    tables = align(tikus("1981"), tikus("1983"))
    ends = []
    for table in tables:
        (found,) = figures(table)
        assert found.uncorrected_draws is not None
        ends.append(Draws(found.uncorrected.value, found.uncorrected_draws, 9.0))
    return change_of_figures(ends[0], ends[1], paired=paired, fall=0.5)


@pytest.mark.parametrize("paired", [False, True])
def test_the_corals_of_tikus_fell(*, paired: bool) -> None:
    """From 1981 to 1983 all stony coral fell, by more than half: the collapse that is told of it.

    An illustration, not a rate: how long the transects were is not told for sure.
    """
    moved = tikus_change(paired=paired)
    assert moved.difference.value[0] < 0
    assert moved.difference.high[0] < 0
    assert moved.decline_chance[0] > 0.95
    print(
        f"\nTikus 1981 to 1983, per 10 m: {100 * moved.difference.value[0]:.1f} points, "
        f"{100 * moved.difference.low[0]:.1f} to {100 * moved.difference.high[0]:.1f}"
    )


def test_the_fall_of_tikus_is_that_of_its_transects() -> None:
    """Plainly, the mean of ten differences, with the error of a mean."""
    sums = {year: tikus(year).met.sum(axis=1) / 1000.0 for year in ("1981", "1983")}
    plain = change_in_pairs(sums["1981"], sums["1983"])
    moved = tikus_change(paired=True)
    assert moved.difference.value[0] == pytest.approx(float(plain.value))
    assert moved.difference.se[0] == pytest.approx(float(plain.se), rel=0.1)
