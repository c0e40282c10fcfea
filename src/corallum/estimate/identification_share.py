"""Cover by genus before and after correction, and how much of the doubt is in the names.

Two samples make the doubt: other transects would have found something else, and so would
other second readings of them. Where it is known which transect each second reading came
from, both are counted together, with errors that come in clusters. Refuses said genera
that were not read again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.errors import Fault
from corallum.estimate.estimate import Floats
from corallum.estimate.log_interval import Spread, log_estimate, spread_of
from corallum.estimate.refusals import check_level, fault, numbers, refuse, strata_of
from corallum.estimate.resampled_cover import (
    CorrectedCover,
    Resampling,
    TransectCover,
    Transects,
    prepare_transects,
)
from corallum.estimate.said_and_true import check_readings

__all__ = [
    "CorrectedCover", "ReadingDraws", "Readings", "Resampling", "TransectCover", "correct_cover",
]  # fmt: skip

_AT_ONCE = 200


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """Second readings of a random part of the records.

    Parameters
    ----------
    counts : ndarray, shape (T, S, G) or (S, G)
        Second readings of each transect: rows are strata of the second readings, columns true
        genera. Without transects only where it is not known whence they came, or where they
        came from another survey: errors are then taken to be alike in all strata and spread
        over transects by chance, and intervals are the shorter for it.
    stratum : ndarray of int, shape (G,), or None
        Which row each said genus belongs to; None where each has its own. Rare genera may
        share one.
    complete : ndarray of bool, shape (S,), or None
        Rows of which every record was read again: these need one reading, not two.
    """

    counts: Floats
    stratum: NDArray[np.int64] | None = None
    complete: NDArray[np.bool_] | None = None


def correct_cover(
    survey: TransectCover,
    readings: Readings,
    rng: np.random.Generator,
    plan: Resampling | None = None,
    *,
    readings_rng: np.random.Generator | ReadingDraws | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> CorrectedCover:
    """Correct cover by second readings, with the error of both samples.

    Parameters
    ----------
    survey : TransectCover
        Two transects or more in each stratum with weight.
    readings : Readings
        Two or more of each said genus that was met, or of the genera that share a row.
    rng : numpy.random.Generator
        Resamples transects.
    plan : Resampling, optional
        How many resamples, and the level.
    readings_rng : numpy.random.Generator or ReadingDraws, optional
        Resamples second readings whose transects are not known; None takes them from `rng`.
        `ReadingDraws` draws them once for many places that rest on the same readings.
        Two surveys that rest on the same readings are each given one of the same seed: draws
        then match row by row. So they do of two surveys of the same transects, in the same
        order, that are each given an `rng` of the same seed.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    CorrectedCover
        Uncorrected and corrected.

    Raises
    ------
    InputError
        For strata with one transect, and for each said genus that lacks second readings.

    Notes
    -----
    Cover is sum_h W_h (sum met / sum searched); corrected, said genus i, of cover C_i, is shared
    out by P_ij = sum w n_ij / sum w n_i over transects: true j among readings of said i, w being
    W_h / sum searched of the transect's stratum (1 where transects of readings are not known).

    Its variance is that between transects of z + e, with z = w (sum_i met_i P_ij - R_j searched),
    R_j being the stratum's corrected cover, and with what the transect's readings do to P,
    e = sum_i C_i / (sum w n_i) sqrt(m_i / (m_i - 1)) w (n_ij - n_i P_ij), m_i being all readings
    of said i. Where their transects are not known it is that of z, plus
    v_r = sum_i C_i^2 P_ij (1 - P_ij) / (m_i - 1). Identification's share is v_r / (v_t + v_r),
    v_t being the variance of z. Intervals are those of `log_interval`.

    Draws take one transect fewer than there are of each stratum, with its readings, or, apart
    from that, one reading fewer of each row (Rao and Wu 1988).

    References
    ----------
    Olofsson P. et al. 2014. Remote Sensing of Environment 148:42-57. Cochran W.G. 1977. Sampling
    Techniques, 3rd ed., section 6.11 and chapter 12 (ratios; a second sample out of the first).
    Rao J.N.K., Wu C.F.J. 1988. Journal of the American Statistical Association 83:231-241.
    """
    plan = plan or Resampling()
    check_level(plan.level)
    if plan.draws < 2:
        refuse([fault("resamples", "2 or more", plan.draws, "Take 2000.")])
    transects = prepare_transects(survey)
    names = _read(survey, readings, transects)
    first, second = _resample(transects, names, (rng, readings_rng or rng), plan.draws, progress)
    parts = transects.parts()
    of_transects, of_readings = spread_of([z @ names.table for z in parts]), names.spread()
    total = of_transects.variance + of_readings.variance
    share = np.divide(of_readings.variance, total, out=np.zeros_like(total), where=total > 0)
    joint = [z @ names.table + e for z, e in zip(parts, names.pulls(transects), strict=True)]
    spread = spread_of(joint) if names.linked else of_transects + of_readings
    return CorrectedCover(
        log_estimate(transects.cover, spread_of(parts), plan.level),
        log_estimate(transects.cover @ names.table, spread, plan.level),
        share,
        first,
        second,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Names:
    """What said genera truly are, by second readings.

    `rows` (K, S) tells the row of each said genus, `given` (S, G) is P(true | said), `number`
    (S,) the readings, `cover` (S,) the cover said; `linked` holds the readings (n, S, G) of the
    transects of each stratum, where known.
    """

    rows: Floats
    given: Floats
    number: Floats
    cover: Floats
    linked: tuple[Floats, ...]

    @property
    def table(self) -> Floats:
        """P(true | said) of each said genus, shape (K, G)."""
        return np.asarray(self.rows @ self.given)

    def spread(self) -> Spread:
        """What readings add to the variance where they are spread by chance."""
        less = np.maximum(self.number - 1, 1)[:, None]
        each = self.cover[:, None] ** 2 * self.given * (1 - self.given) / less
        return Spread(each.sum(axis=0), (2 * each**2 / less).sum(axis=0))

    def pulls(self, transects: Transects) -> list[Floats]:
        """What each transect's readings do to corrected cover; nothing where not linked."""
        if not self.linked:
            return [np.zeros(())] * len(transects.strata)
        weights = [share / x.sum() for share, _, x in transects.strata]
        total = sum(w * n.sum(axis=(0, 2)) for w, n in zip(weights, self.linked, strict=True))
        grow = np.sqrt(self.number / np.maximum(self.number - 1, 1)) * self.cover
        scale = np.divide(grow, total, out=np.zeros_like(grow), where=total > 0)
        return [
            w * (np.tensordot(n, scale, (1, 0)) - n.sum(axis=2) * scale @ self.given)
            for w, n in zip(weights, self.linked, strict=True)
        ]

    def draw(self, draws: int, rng: np.random.Generator) -> Floats:
        """P(true | said) of resampled readings, shape (draws, S, G)."""
        given = np.broadcast_to(self.given, (draws, *self.given.shape)).copy()
        for i in np.flatnonzero(self.number >= 2).tolist():
            seen = np.flatnonzero(self.given[i])
            m = int(self.number[i]) - 1
            given[:, i] = 0.0
            given[:, i, seen] = rng.multinomial(m, self.given[i, seen], size=draws) / m
        return given


class ReadingDraws:
    """Resamples of second readings that many places share, drawn once.

    Parameters
    ----------
    seed : int
        The same seed gives each place what a generator of that seed would.
    """

    def __init__(self, seed: int) -> None:
        self._rng = np.random.default_rng(seed)
        self._drawn: dict[tuple[int, int], Floats] = {}

    def of(self, names: _Names, start: int, draws: int) -> Floats:
        """Return resamples from `start` on; only the first place draws them."""
        key = (start, draws)
        if key not in self._drawn:
            self._drawn[key] = names.draw(draws, self._rng)
        return self._drawn[key]


def _resample(
    transects: Transects,
    names: _Names,
    rng: tuple[np.random.Generator, np.random.Generator | ReadingDraws],
    draws: int,
    progress: Callable[[float], None],
) -> tuple[Floats, Floats]:
    """Draw cover said and corrected."""
    first, second = [], []
    for start in range(0, draws, _AT_ONCE):
        n = min(_AT_ONCE, draws - start)
        if names.linked:
            cover, given = _draw_linked(transects, names, n, rng[0])
        else:
            cover, reader = transects.resample(n, rng[0]), rng[1]
            if isinstance(reader, ReadingDraws):
                given = reader.of(names, start, n)
            else:
                given = names.draw(n, reader)
        first.append(cover)
        second.append(((cover @ names.rows)[:, None, :] @ given)[:, 0, :])
        progress((start + n) / draws)
    return np.concatenate(first), np.concatenate(second)


def _draw_linked(
    transects: Transects, names: _Names, draws: int, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Draw cover said and P(true | said) of transects resampled with their readings."""
    cover = np.zeros((draws, len(transects.cover)))
    given = np.zeros((draws, names.given.size))
    # Most cells of said by true are never met.
    cells = np.flatnonzero(names.given)
    for (share, met, searched), read in zip(transects.strata, names.linked, strict=True):
        n = len(met)
        times = rng.multinomial(n - 1, np.full(n, 1 / n), size=draws)
        weight = times * (share / (times @ searched))[:, None]
        cover += weight @ met
        given[:, cells] += weight @ read.reshape(n, -1)[:, cells]
    given = given.reshape(draws, *names.given.shape)
    total = given.sum(axis=2, keepdims=True)
    # A row of which no transect with readings was drawn stays as it was.
    same = np.broadcast_to(names.given, given.shape).copy()
    return cover, np.divide(given, total, out=same, where=total > 0)


def _read(survey: TransectCover, readings: Readings, transects: Transects) -> _Names:
    """Check second readings, and make them ready."""
    counts = numbers("readings", readings.counts)
    size = len(transects.cover)
    _check_counts(counts, readings.stratum, (len(survey.met), size))
    n_rows = counts.shape[-2]
    rows = np.eye(size)
    if readings.stratum is not None:
        rows = np.eye(n_rows)[strata_of(readings.stratum, size, n_rows)]
    linked: tuple[Floats, ...] = ()
    table = number = counts
    if counts.ndim == 3:
        used = np.flatnonzero(survey.weight).tolist()
        linked = tuple(counts[np.asarray(survey.stratum) == i] for i in used)
        pairs = list(zip(transects.strata, linked, strict=True))
        table = np.sum([w / x.sum() * n.sum(axis=0) for (w, _, x), n in pairs], axis=0)
        number = np.sum([n.sum(axis=0) for n in linked], axis=0)
    number = number.sum(axis=1)
    cover = transects.cover @ rows
    left = None if readings.complete is None else np.where(readings.complete, 0.0, 1.0)
    check_readings(number, cover, left)
    row = table.sum(axis=1, keepdims=True)
    given = np.divide(table, row, out=np.zeros_like(table), where=row > 0)
    return _Names(rows, given, number, cover, linked)


def _check_counts(
    counts: Floats, stratum: NDArray[np.int64] | None, shape: tuple[int, int]
) -> None:
    """Refuse second readings that do not fit transects and genera."""
    n, size = shape
    faults: list[Fault] = []
    if counts.ndim not in {2, 3} or counts.shape[-1] != size:
        remedy = "Give one list of genera, said and true."
        faults.append(fault("readings", f"{size} columns", counts.shape, remedy))
    elif stratum is None and counts.shape[-2] != size:
        remedy = "Say which row each said genus belongs to."
        faults.append(fault("readings", f"{size} rows", counts.shape[-2], remedy))
    elif counts.ndim == 3 and len(counts) != n:
        remedy = "Give a table of each transect, of noughts where none was read again."
        faults.append(fault("readings", f"tables of {n} transects", len(counts), remedy))
    if not np.array_equal(counts, np.round(counts)):
        faults.append(fault("readings", "whole numbers", "parts", "Count records."))
    refuse(faults)
