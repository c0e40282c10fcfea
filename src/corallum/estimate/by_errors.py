"""Correct a survey by its observers' errors and its second readings together.

Genera only: coral that was not identified stays so, and what is no coral is taken as it
was said. Every observer's errors come from practice, with their doubt.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from corallum.estimate.bayes_correction import SamplingPlan, correct_by_errors, said_counts
from corallum.estimate.convergence import Diagnostics
from corallum.estimate.estimate import Floats
from corallum.estimate.resampled_cover import (
    CorrectedCover,
    Names,
    Resampling,
    TransectCover,
    correct_transects,
    prepare_transects,
)
from corallum.estimate.survey_table import SurveyTable

__all__ = ["ByErrors", "learn_names"]


class ByErrors:
    """Corrects by posterior draws of P(true | said).

    Parameters
    ----------
    given : ndarray, shape (B, K, K)
        Rows said, columns true, over all names of the survey.
    diagnostics : Diagnostics
        Of the chains behind them.
    """

    def __init__(self, given: Floats, diagnostics: Diagnostics) -> None:
        self.given, self.diagnostics = given, diagnostics

    def correct(
        self, table: SurveyTable, level: str, rng: np.random.Generator, plan: Resampling
    ) -> CorrectedCover:
        """Return corrected cover of a place; all places share the survey's draws."""
        del level

        def draw(n: int, source: np.random.Generator) -> Floats:
            return np.asarray(self.given[source.integers(0, len(self.given), n)])

        used = np.bincount(table.stratum, minlength=len(table.weight)) > 0
        weight = np.where(used, table.weight, 0.0)
        cover = TransectCover(table.met, table.searched, table.stratum, weight)
        size = len(table.labels)
        names = Names(np.eye(size), self.given.mean(axis=0), draw, np.inf)
        return correct_transects(prepare_transects(cover), names, (rng, rng), plan)


def learn_names(
    table: SurveyTable,
    rows: Floats,
    rng: np.random.Generator,
    plan: SamplingPlan | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> ByErrors:
    """Learn what said genera truly are from errors known beforehand and second readings.

    Parameters
    ----------
    table : SurveyTable
        The survey; its genera are the G true ones, in their order.
    rows : ndarray, shape (O, G, G + 1)
        Dirichlet parameters of P(said | true) of every observer of the table; the last column
        is any other genus, which nobody said.
    rng : numpy.random.Generator
        Source of randomness.
    plan : SamplingPlan, optional
        How long to sample.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    ByErrors
        Only when the chains agree.

    Raises
    ------
    NotConvergedError
        Where they do not.
    InputError
        For rows that do not fit.

    Notes
    -----
    Places are sites. Second readings that tell no genus, or of what was said to be none, are
    left to the other correction.
    """
    genera = np.flatnonzero(table.is_genus)
    size = len(genera)
    cells = np.flatnonzero(table.lines[:, genera].sum(axis=1) > 0)
    said = np.zeros((len(cells), size + 1))
    said[:, :size] = table.lines[np.ix_(cells, genera)]
    again = np.argwhere(table.readings[np.ix_(cells, genera, genera)] > 0)
    times = table.readings[np.ix_(cells, genera, genera)][tuple(again.T)].astype(np.int64)
    _, place = np.unique(table.site[cells], return_inverse=True)
    counts = said_counts(said, place, table.observer[cells], np.repeat(again, times, axis=0))
    found = correct_by_errors(counts, rows, rng, plan, progress=progress)
    given = np.tile(np.eye(len(table.labels)), (len(found.given), 1, 1))
    inner = np.asarray(found.given[:, :size, :size], np.float64)
    met = inner.sum(axis=2) > 0
    # A genus that was only found at the second reading was never said: its row is not used.
    inner = np.where(met[..., None], inner, np.eye(size))
    given[np.ix_(np.arange(len(given)), genera, genera)] = inner
    return ByErrors(given, found.diagnostics)
