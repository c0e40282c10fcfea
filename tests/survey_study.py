"""Surveys of known truth, estimated: how often intervals hold it, and what change is false.

Every survey is of a reef of its own and depends on the seed and its number alone. Genera
that make up 2 % of the corals or more are common; nothing is promised of others.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from corallum.estimate.estimate import Estimate
from corallum.estimate.identification_share import (
    CorrectedCover,
    Readings,
    Resampling,
    TransectCover,
    correct_cover,
)
from corallum.estimate.survey_change import Draws, change_of_figures
from simulated_surveys import (
    GENERA,
    Counts,
    Floats,
    Making,
    Survey,
    draw_observers,
    draw_reef,
    lay_transects,
    read_again,
    read_badly,
    read_transects,
)

__all__ = ["COMMON", "SEED", "Outcome", "join", "pool_rare", "study_survey", "transect_cover"]

COMMON = 0.02
LEAST = 10
ERRING = 0.03
SEED = 20261126

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What came of one survey, or of many in rows; shape (GENERA,) or (surveys, GENERA) each.

    Parameters
    ----------
    truth, share : ndarray
        True cover, and share of all corals.
    perfect : ndarray
        What the survey would have found had all names been right.
    corrected, uncorrected, erring, favoured : ndarray
        Cover estimated; `erring` where second readers err, `favoured` where wrong records were
        five times as likely to be read again as right ones.
    holds, uncorrected_holds, erring_holds, favoured_holds : ndarray of bool
        Whether the 95 % interval holds the truth.
    names_left_out : ndarray of bool
        The same of intervals without the variance that second readings cause.
    unlinked : ndarray of bool
        The same where it is not known which transects second readings came from.
    width : ndarray
        Upper less lower end of the corrected interval.
    same_transects, new_transects : ndarray of bool
        Whether a change is found though only the observers changed, on the same transects or
        on new ones.
    uncorrected_same, uncorrected_new : ndarray of bool
        The same, uncorrected.
    """

    truth: Floats
    share: Floats
    perfect: Floats
    corrected: Floats
    uncorrected: Floats
    erring: Floats
    favoured: Floats
    holds: Flags
    uncorrected_holds: Flags
    erring_holds: Flags
    favoured_holds: Flags
    names_left_out: Flags
    unlinked: Flags
    width: Floats
    same_transects: Flags
    new_transects: Flags
    uncorrected_same: Flags
    uncorrected_new: Flags

    @property
    def common(self) -> Flags:
        """Which genera are common."""
        return np.asarray(self.share >= COMMON)


def study_survey(
    number: int, seed: int = SEED, making: Making | None = None, share: float = 0.1
) -> Outcome:
    """Return what came of one survey.

    Parameters
    ----------
    number : int
        Of the survey.
    seed : int
        Of the study.
    making : Making, optional
        How reefs and surveys are made.
    share : float
        Of the records of each name, read again.

    Returns
    -------
    Outcome
        Of all genera.
    """
    rng = np.random.default_rng([seed, number])
    reef = draw_reef(rng, making)
    transects = lay_transects(reef, rng)
    before = read_transects(reef, transects, draw_observers(reef, rng), rng)
    others = draw_observers(reef, rng)
    again = read_again(before, rng, share)
    found = _correct(before, again, [seed, number])
    erring = _correct(before, read_badly(again, reef, ERRING, rng), [seed, number])
    favoured = _correct(before, read_again(before, rng, share, right=0.2), [seed, number])
    same = read_transects(reef, transects, others, rng)
    new = read_transects(reef, lay_transects(reef, rng), others, rng)
    truth = reef.cover[:GENERA]
    corrected, uncorrected, wrong, doubtful = (
        one.value[:GENERA]
        for one in (found.corrected, found.uncorrected, erring.corrected, favoured.corrected)
    )
    return Outcome(
        truth,
        reef.coral_shares,
        _perfect(before),
        corrected,
        uncorrected,
        wrong,
        doubtful,
        _holds(found.corrected, truth),
        _holds(found.uncorrected, truth),
        _holds(erring.corrected, truth),
        _holds(favoured.corrected, truth),
        _holds(_names_left_out(found), truth),
        _holds(_correct(before, again.sum(axis=0), [seed, number]).corrected, truth),
        (found.corrected.high - found.corrected.low)[:GENERA],
        *_false_changes(found, (before, same, new), [seed, number], rng),
    )


def join(outcomes: Iterable[Outcome]) -> Outcome:
    """Return outcomes of many surveys in rows."""
    every = list(outcomes)
    return Outcome(
        *(np.array([getattr(one, field.name) for one in every]) for field in fields(Outcome))
    )


def pool_rare(again: Counts) -> Readings:
    """Return second readings with names of fewer than ten of them in one row."""
    number = again.sum(axis=-1).reshape(-1, again.shape[-1]).sum(axis=0)
    few = number < LEAST
    row = np.where(few, 0, np.cumsum(~few) - (not few.any()))
    rows = np.eye(int(row.max()) + 1)[row].T
    return Readings(rows @ again, row)


def transect_cover(survey: Survey) -> TransectCover:
    """Return what was said as the estimator takes it."""
    said, searched = survey.said.astype(np.float64), survey.searched.astype(np.float64)
    return TransectCover(said, searched, survey.stratum, survey.weight)


def _correct(survey: Survey, again: Counts, seed: list[int]) -> CorrectedCover:
    """Correct cover; one seed resamples the same transects."""
    rng = np.random.default_rng(seed)
    return correct_cover(transect_cover(survey), pool_rare(again), rng, Resampling(1000))


def _perfect(survey: Survey) -> Floats:
    """Cover by true names, shape (GENERA,)."""
    true, searched = survey.records.sum(axis=1), survey.searched
    strata = [survey.stratum == h for h in range(len(survey.weight))]
    means = np.array([true[own].sum(axis=0) / searched[own].sum() for own in strata])
    return np.asarray((survey.weight / survey.weight.sum() @ means)[:GENERA])


def _holds(found: Estimate, truth: Floats) -> Flags:
    """Whether intervals hold the truth."""
    size = len(truth)
    return np.asarray((found.low[:size] <= truth) & (truth <= found.high[:size]))


def _names_left_out(found: CorrectedCover) -> Estimate:
    """Intervals without the share of variance that second readings cause."""
    whole = found.corrected
    with np.errstate(invalid="ignore", divide="ignore"):
        width = np.log(whole.high / whole.value) * np.sqrt(1 - found.identification)
    factor = np.exp(np.nan_to_num(width))
    return Estimate(whole.value, whole.se, whole.value / factor, whole.value * factor, whole.df)


def _false_changes(
    found: CorrectedCover,
    surveys: tuple[Survey, Survey, Survey],
    seed: list[int],
    rng: np.random.Generator,
) -> list[Flags]:
    """Whether a change is found, four ways: surveys are before, after, after on new ones."""
    before, *after = surveys
    same = _correct(after[0], read_again(after[0], rng), seed)
    new = _correct(after[1], read_again(after[1], rng), [*seed, 1])
    changes = [
        change_of_figures(
            _figures(found, before, names_corrected=names),
            _figures(later, survey, names_corrected=names), paired=paired,
        ).difference
        for names in (True, False)
        for later, survey, paired in ((same, after[0], True), (new, after[1], False))
    ]  # fmt: skip
    return [((one.low > 0) | (one.high < 0))[:GENERA] for one in changes]


def _figures(found: CorrectedCover, survey: Survey, *, names_corrected: bool) -> Draws:
    """Cover as what compares figures takes it."""
    degrees = float(len(survey.stratum) - len(survey.weight))
    if names_corrected:
        return Draws(found.corrected.value, found.draws, degrees)
    return Draws(found.uncorrected.value, found.uncorrected_draws, degrees)
