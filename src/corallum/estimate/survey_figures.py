"""Figures of a whole survey: of all of it, its strata and its sites, each corrected or not.

What was said stands beside what it was corrected to, always. Where a place can't be
corrected, or has no interval, it says why.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.identification_share import ReadingDraws, Readings, correct_cover
from corallum.estimate.log_interval import Spread, log_estimate
from corallum.estimate.resampled_cover import (
    CorrectedCover,
    Names,
    Resampling,
    TransectCover,
    correct_transects,
    prepare_transects,
)
from corallum.estimate.survey_table import Grouping, SurveyTable
from corallum.estimate.survey_units import fold_sites

__all__ = [
    "ByReadings",
    "Correction",
    "NoCorrection",
    "PlaceFigures",
    "figures_of",
    "readings_lacking",
]

LEVELS = ("survey", "stratum", "site")
_FEWEST = 2
_RESAMPLING = Resampling()


@dataclass(frozen=True, slots=True)
class Wanted:
    """What to estimate.

    Parameters
    ----------
    levels : tuple of str
        Some of survey, stratum and site.
    resampling : Resampling
        How many resamples, and the coverage of intervals.
    by_site : bool
        Whether sites are the units of the survey and of its strata, not transects. Within a
        site transects always are.
    """

    levels: tuple[str, ...] = LEVELS
    resampling: Resampling = _RESAMPLING
    by_site: bool = False


class Correction(Protocol):
    """A way to correct names."""

    def correct(
        self, table: SurveyTable, level: str, rng: np.random.Generator, plan: Resampling
    ) -> CorrectedCover:
        """Return corrected cover of a place, with draws."""


@dataclass(frozen=True, slots=True, eq=False)
class PlaceFigures:
    """Figures of one place.

    Parameters
    ----------
    level, place : str
        survey, stratum or site; and which.
    transects : int
        That were read.
    uncorrected : Estimate
        Of F groups; without interval (NaN) where there is only one transect.
    corrected : Estimate or None
        The same, or None where it was not corrected.
    identification : ndarray or None
        Share of the corrected figure's variance that names cause, shape (F,).
    lines : ndarray, shape (F,)
        Records behind the uncorrected figure.
    draws, uncorrected_draws : ndarray or None, shape (B, F)
        To be carried into change.
    degrees : float
        Units less strata.
    """

    level: str
    place: str
    transects: int
    uncorrected: Estimate
    corrected: Estimate | None
    identification: Floats | None
    lines: Floats
    draws: Floats | None
    uncorrected_draws: Floats | None
    degrees: float


class NoCorrection:
    """Leaves names as they were said."""

    def correct(
        self, table: SurveyTable, level: str, rng: np.random.Generator, plan: Resampling
    ) -> CorrectedCover:
        """Return resampled cover, every name being true."""
        del level
        size = len(table.labels)
        same = np.eye(size)
        names = Names(same, same, lambda n, _: np.broadcast_to(same, (n, size, size)), np.inf)
        return correct_transects(prepare_transects(_cover(table)), names, (rng, rng), plan)


class ByReadings:
    """Corrects by second readings of the survey's own records.

    Parameters
    ----------
    table : SurveyTable
        The whole survey: all its readings serve every place.
    seed : int
        Of what is resampled of them, the same at every place.
    """

    def __init__(self, table: SurveyTable, seed: int) -> None:
        self.reader = ReadingDraws(seed)
        self.rows, self.complete = _rows(table)
        self.counts = table.readings.sum(axis=0)

    def correct(
        self, table: SurveyTable, level: str, rng: np.random.Generator, plan: Resampling
    ) -> CorrectedCover:
        """Return corrected cover of a place; the survey's readings are linked to transects."""
        counts = table.readings if level == "survey" else self.counts
        pooled = np.zeros((*counts.shape[:-2], int(self.rows.max()) + 1, counts.shape[-1]))
        for k, row in enumerate(self.rows.tolist()):
            pooled[..., row, :] += counts[..., k, :]
        readings = Readings(pooled, self.rows, self.complete)
        return correct_cover(_cover(table), readings, rng, plan, readings_rng=self.reader)


def readings_lacking(table: SurveyTable) -> tuple[str, ...]:
    """Return said names of which too few records were read again: fewer than two, and not all."""
    said, read = table.lines.sum(axis=0), table.readings.sum(axis=(0, 2))
    lacking = (read < np.minimum(said, _FEWEST)) & (said > 0)
    return tuple(np.array(table.labels, dtype=object)[lacking].tolist())


def _rows(table: SurveyTable) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Row of each name's second readings, and whether all of a row's records were read.

    Names with too few readings share a row; names that were never said are in it too.
    """
    said, read = table.lines.sum(axis=0), table.readings.sum(axis=(0, 2))
    own = (read >= np.minimum(said, _FEWEST)) & (read > 0)
    rows = np.full(len(read), int(own.sum()), np.int64)
    rows[own] = np.arange(int(own.sum()))
    complete = np.zeros(int(rows.max()) + 1, np.bool_)
    complete[rows[own]] = (read >= said)[own]
    return rows, complete


def _cover(table: SurveyTable) -> TransectCover:
    """Return what the resampling takes; strata without transects have no weight here."""
    used = np.bincount(table.stratum, minlength=len(table.weight)) > 0
    weight = np.where(used, table.weight, 0.0)
    return TransectCover(table.met, table.searched, table.stratum, weight)


def figures_of(
    table: SurveyTable,
    groups: Grouping,
    correction: Correction,
    rng: np.random.Generator,
    wanted: Wanted,
    progress: Callable[[float], None] = lambda _: None,
) -> list[PlaceFigures]:
    """Estimate a survey, its strata and its sites.

    Parameters
    ----------
    table : SurveyTable
        Two transects or more in each stratum that has any.
    groups : Grouping
        Genera, families, or all coral.
    correction : Correction
        How names are corrected.
    rng : numpy.random.Generator
        Resamples transects.
    wanted : Wanted
        Which levels, and how to resample.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    list of PlaceFigures
        The survey, then strata, then sites; those without transects are left out.
    """
    plan = wanted.resampling
    places = [
        (level, place, keep) for level in wanted.levels for place, keep in _places(table, level)
    ]
    found = []
    for i, (level, place, keep) in enumerate(places):
        here = table if level == "survey" else _alone(table.at(keep))
        where = (level, place, len(here.transects))
        if wanted.by_site and level != "site":
            here = fold_sites(here)
        found.append(_figures(here, where, groups, correction, rng, plan))
        progress((i + 1) / len(places))
    return found


def _places(table: SurveyTable, level: str) -> list[tuple[str, NDArray[np.bool_]]]:
    """Places of one level that have transects, each with the mask of these."""
    if level == "survey":
        return [("survey", np.ones(len(table.transects), np.bool_))]
    names, of = (table.strata, table.stratum) if level == "stratum" else (table.sites, table.site)
    return [(name, of == i) for i, name in enumerate(names) if (of == i).any()]


def _alone(table: SurveyTable) -> SurveyTable:
    """Return a place as a survey of one stratum."""
    return replace(
        table, strata=("",), weight=np.ones(1), stratum=np.zeros(len(table.transects), np.int64)
    )


def _figures(
    table: SurveyTable,
    where: tuple[str, str, int],
    groups: Grouping,
    correction: Correction,
    rng: np.random.Generator,
    plan: Resampling,
) -> PlaceFigures:
    """Estimate one place."""
    n = len(table.transects)
    lines = table.lines.sum(axis=0) @ groups.matrix
    if n < _FEWEST:
        alone = table.met.sum(axis=0) / table.searched.sum() @ groups.matrix
        nothing = np.full_like(alone, np.nan)
        said = Estimate(alone, nothing, nothing, nothing, nothing)
        return PlaceFigures(*where, said, None, None, lines, None, None, 0.0)
    found = correction.correct(table, where[0], rng, plan)
    degrees = float(n - len(np.unique(table.stratum)))
    said = _grouped(found.uncorrected, found.uncorrected_draws, groups, degrees, plan.level)
    if isinstance(correction, NoCorrection):
        draws = found.uncorrected_draws @ groups.matrix
        return PlaceFigures(*where, said, None, None, lines, None, draws, degrees)
    true = _grouped(found.corrected, found.draws, groups, degrees, plan.level)
    return PlaceFigures(
        *where, said, true, _share(found, groups), lines, found.draws @ groups.matrix,
        found.uncorrected_draws @ groups.matrix, degrees,
    )  # fmt: skip


def _grouped(
    found: Estimate, draws: Floats, groups: Grouping, degrees: float, level: float
) -> Estimate:
    """Return an estimate of groups: as it is where a group is one name, else from the draws."""
    value = found.value @ groups.matrix
    variance = (draws @ groups.matrix).var(axis=0, ddof=1)
    own = log_estimate(value, Spread(variance, 2 * variance**2 / degrees), level)
    single = groups.matrix.sum(axis=0) == 1
    index = groups.matrix.argmax(axis=0)
    parts = {
        name: np.where(single, getattr(found, name)[index], getattr(own, name))
        for name in Estimate.__slots__
    }
    return Estimate(**parts)


def _share(found: CorrectedCover, groups: Grouping) -> Floats:
    """Share of the variance that names cause.

    Of a group of several names, what correction adds to the variance of what was said: names
    taken for others of the same group cost it nothing.
    """
    single = groups.matrix.sum(axis=0) == 1
    own = found.identification[groups.matrix.argmax(axis=0)]
    said = (found.uncorrected_draws @ groups.matrix).var(axis=0, ddof=1)
    true = (found.draws @ groups.matrix).var(axis=0, ddof=1)
    added = np.divide(true - said, true, out=np.zeros_like(true), where=true > 0)
    return np.asarray(np.where(single, own, np.clip(added, 0.0, 1.0)))
