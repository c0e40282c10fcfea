r"""Cover and density from the lengths of a tape that lie over corals.

Readings that run backwards, overlap or leave the tape are refused: which of two readings
is wrong can't be told from the numbers, and a sum would hide it. Mend them on the slate,
or leave the whole transect out and say so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault, InputError
from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.ratio import estimate_ratio
from corallum.estimate.refusals import fault, numbers, refuse, strata_of

__all__ = [
    "NOT_CORAL",
    "Intercepts",
    "LineEstimate",
    "estimate_line_cover",
    "estimate_line_density",
    "intercepts_from_readings",
    "line_cover",
]

#: In place of a genus: sand, rock, algae, soft coral.
NOT_CORAL = -1
_CM_PER_M = 100.0
# Readings are to the centimetre or the millimetre; sums of them are not exact.
_SLACK_CM = 1e-6
_MOST_NAMED = 20


@dataclass(frozen=True, slots=True, eq=False)
class Intercepts:
    """Lengths of tape over one thing each; (M,) of each.

    Parameters
    ----------
    transect : ndarray of int
        Number of the transect, from 0.
    genus : ndarray of int
        Number of the genus, from 0, or `NOT_CORAL`.
    start, end : ndarray
        Readings of the tape in cm.
    """

    transect: NDArray[np.int64]
    genus: NDArray[np.int64]
    start: Floats
    end: Floats


@dataclass(frozen=True, slots=True, eq=False)
class LineEstimate:
    """A figure by transect and for all.

    Parameters
    ----------
    by_transect : ndarray, shape (T, K)
        Cover as a share of the tape, or colonies per square metre.
    by_genus : Estimate
        (K,), by the ratio estimator: a long tape counts for more.
    coral : Estimate
        All genera together, no dimension.
    """

    by_transect: Floats
    by_genus: Estimate
    coral: Estimate


def intercepts_from_readings(
    transect: ArrayLike, genus: ArrayLike, reading_cm: ArrayLike
) -> Intercepts:
    """Turn successive readings into intercepts: each ends where it is read.

    Parameters
    ----------
    transect, genus : array_like of int, shape (M,)
        As in `Intercepts`, in the order along each tape, each tape from its 0 mark.
    reading_cm : array_like, shape (M,)
        Reading at the far edge of each thing, cm.

    Returns
    -------
    Intercepts
        The first of each transect starts at 0. Order is checked by the estimates.

    Raises
    ------
    InputError
        For arrays of unlike lengths or readings that are no numbers.
    """
    end = numbers("tape reading", reading_cm)
    t, g = np.asarray(transect, np.int64), np.asarray(genus, np.int64)
    _same_length(t, g, end)
    start = np.zeros_like(end)
    for one in np.unique(t):
        rows = np.flatnonzero(t == one)
        start[rows[1:]] = end[rows[:-1]]
    return Intercepts(t, g, start, end)


def line_cover(intercepts: Intercepts, tape_cm: ArrayLike, n_genera: int) -> Floats:
    """Return the share of each tape that lies over each genus.

    Parameters
    ----------
    intercepts : Intercepts
        In any order.
    tape_cm : array_like, shape (T,)
        Length of each tape, cm; a transect without coral counts with its whole length.
    n_genera : int
        Genera of the list, K.

    Returns
    -------
    ndarray, shape (T, K)
        Shares, 0 to 1: sum(intercepts) / L.

    Raises
    ------
    InputError
        Naming each intercept that has no length, runs backwards, leaves the tape or
        overlaps the one before it.

    Examples
    --------
    >>> met = intercepts_from_readings([0, 0, 0], [NOT_CORAL, 0, NOT_CORAL], [400, 650, 1000])
    >>> float(line_cover(met, 1000, 1)[0, 0])
    0.25
    """
    tape = _tape(tape_cm)
    _check_intercepts(intercepts, tape, n_genera)
    length = intercepts.end - intercepts.start
    met = _sum_cells(intercepts.transect, intercepts.genus, length, (len(tape), n_genera))
    return np.asarray(met / tape[:, None])


def estimate_line_cover(
    intercepts: Intercepts, tape_cm: ArrayLike, n_genera: int, level: float = 0.95
) -> LineEstimate:
    """Estimate cover as the share of the tape that lies over each genus.

    Parameters
    ----------
    intercepts : Intercepts
        In any order.
    tape_cm : array_like, shape (T,)
        Length of each tape, at least two, cm.
    n_genera : int
        Genera of the list, K.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    LineEstimate
        Shares, 0 to 1.

    Raises
    ------
    InputError
        For fewer than two tapes, or intercepts that `line_cover` refuses.

    Notes
    -----
    Cover of a transect is sum(intercepts) / L; unbiased over lines laid at random. The
    variance is that between transects.

    References
    ----------
    Lucas H.A., Seber G.A.F. 1977. Biometrika 64:618-622. Loya Y. 1978. In: Coral Reefs:
    Research Methods, UNESCO, 197-217.
    """
    cover, tape = line_cover(intercepts, tape_cm, n_genera), _tape(tape_cm)
    met = cover * tape[:, None]
    return LineEstimate(
        cover,
        estimate_ratio(met, tape, level=level),
        estimate_ratio(met.sum(axis=1), tape, level=level),
    )


def estimate_line_density(
    colonies: Intercepts,
    colony: ArrayLike,
    width_cm: ArrayLike,
    tape_cm: ArrayLike,
    n_genera: int,
    level: float = 0.95,
) -> LineEstimate:
    """Estimate colonies per square metre from those that the tape crosses.

    Parameters
    ----------
    colonies : Intercepts
        Of corals only.
    colony : array_like of int, shape (M,)
        Number of the colony that each intercept is of: a colony crossed twice by a tape has
        one number, and counts once.
    width_cm : array_like, shape (M,)
        Whole extent of that colony at right angles to the tape, cm, not the intercept.
    tape_cm : array_like, shape (T,)
        Length of each tape, cm.
    n_genera : int
        Genera of the list, K.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    LineEstimate
        Colonies per square metre.

    Raises
    ------
    InputError
        For a width that is 0, a colony of two widths or genera on one tape, or intercepts
        that the cover would refuse.

    Notes
    -----
    D = (1/L) sum 1/w: a line meets a colony with a chance in proportion to its width. A tape
    that ends within a colony should count it at one end of the tape only.

    References
    ----------
    Lucas H.A., Seber G.A.F. 1977. Biometrika 64:618-622.
    """
    tape, width = _tape(tape_cm), numbers("width", width_cm)
    _check_intercepts(colonies, tape, n_genera)
    number = np.asarray(colony, np.int64)
    _same_length(colonies.transect, number, width)
    once = _each_colony_once(colonies, number, width)
    t, g = colonies.transect[once], colonies.genus[once]
    met = _sum_cells(t, g, _CM_PER_M / width[once], (len(tape), n_genera))
    long = tape / _CM_PER_M
    return LineEstimate(
        met / long[:, None],
        estimate_ratio(met, long, level=level),
        estimate_ratio(met.sum(axis=1), long, level=level),
    )


def _each_colony_once(
    found: Intercepts, colony: NDArray[np.int64], width: Floats
) -> NDArray[np.int64]:
    """Rows of the first intercept of each colony on each tape."""
    faults = [
        fault(f"intercept {row}", "a width above 0", width[row], "Measure it across the tape.")
        for row in np.flatnonzero(width <= 0)[:_MOST_NAMED].tolist()
    ]
    key = np.stack([found.transect, colony])
    _, first, group = np.unique(key, axis=1, return_index=True, return_inverse=True)
    group = group.ravel()
    alike = (width[first][group] == width) & (found.genus[first][group] == found.genus)
    for row in np.flatnonzero(~alike)[:_MOST_NAMED].tolist():
        remedy = f"Give colony {colony[row]} one width and one genus, or two numbers."
        what = f"width {width[row]:g} cm, genus {found.genus[row]}"
        faults.append(fault(f"intercept {row}", "a colony alike at each crossing", what, remedy))
    refuse(faults)
    return np.asarray(first, np.int64)


def _check_intercepts(found: Intercepts, tape: Floats, n_genera: int) -> None:
    """Refuse readings that can't be, each named by its row."""
    _same_length(found.transect, found.genus, found.start, found.end)
    if not len(found.start):
        return
    numbers("start", found.start)
    numbers("end", found.end)
    strata_of(found.transect, len(found.start), len(tape))
    genus = found.genus
    if genus.max() >= n_genera or genus.min() < NOT_CORAL:
        expected = f"{NOT_CORAL} to {n_genera - 1}"
        refuse([fault("genus", expected, f"{genus.min()} to {genus.max()}", "Look them up.")])
    faults = _wrong_ends(found, tape) + _overlaps(found)
    if faults:
        raise InputError(faults[:_MOST_NAMED])


def _wrong_ends(found: Intercepts, tape: Floats) -> list[Fault]:
    """Intercepts without length, backward, or beyond the tape."""
    faults = []
    for row in np.flatnonzero(found.end <= found.start)[:_MOST_NAMED].tolist():
        remedy = "Read the slate again: the tape runs backwards or stands still."
        expected = f"an end beyond {found.start[row]:g} cm"
        faults.append(fault(_where(found, row), expected, f"{found.end[row]:g} cm", remedy))
    beyond = found.end > tape[found.transect] + _SLACK_CM
    for row in np.flatnonzero(beyond)[:_MOST_NAMED].tolist():
        expected = f"an end within {tape[found.transect[row]]:g} cm"
        remedy = "Mend the reading, or the length of the tape."
        faults.append(fault(_where(found, row), expected, f"{found.end[row]:g} cm", remedy))
    return faults


def _overlaps(found: Intercepts) -> list[Fault]:
    """Intercepts that start before another on the same tape has ended."""
    order = np.lexsort((found.end, found.start, found.transect))
    faults = []
    for one in np.unique(found.transect):
        rows = order[found.transect[order] == one]
        reached = np.maximum.accumulate(found.end[rows])[:-1]
        early = found.start[rows[1:]] < reached - _SLACK_CM
        for row, end in zip(rows[1:][early].tolist(), reached[early].tolist(), strict=True):
            remedy = "Count what lies uppermost, and mend the readings."
            expected = f"a start at {end:g} cm or beyond, where another ends"
            faults.append(fault(_where(found, row), expected, f"{found.start[row]:g} cm", remedy))
    return faults


def _where(found: Intercepts, row: int) -> str:
    """Name an intercept."""
    return f"transect {found.transect[row]}, intercept {row}"


def _sum_cells(
    transect: NDArray[np.int64], genus: NDArray[np.int64], what: Floats, shape: tuple[int, int]
) -> Floats:
    """Add up by transect and genus, what is not coral left out."""
    coral = genus != NOT_CORAL
    cell = transect[coral] * shape[1] + genus[coral]
    found = np.bincount(cell, weights=what[coral], minlength=shape[0] * shape[1])
    return np.asarray(found, np.float64).reshape(shape)


def _tape(tape_cm: ArrayLike) -> Floats:
    """Lengths of the tapes, all above 0."""
    tape = np.atleast_1d(numbers("tape", tape_cm))
    for one in np.flatnonzero(tape <= 0).tolist():
        remedy = "Give its length, or leave the transect out."
        refuse([fault(f"tape of transect {one}", "above 0 cm", tape[one], remedy)])
    return tape


def _same_length(*columns: np.ndarray[tuple[int, ...], np.dtype[np.generic]]) -> None:
    """Refuse columns of unlike lengths."""
    lengths = {len(one) for one in columns}
    if len(lengths) > 1:
        refuse([fault("columns", "all of one length", sorted(lengths), "Give each row all.")])
