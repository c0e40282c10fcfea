r"""Cover from points: along a tape, or laid on photos, read one by one.

Points of one photo or tape look at the same corals, so they are not independent, and
the binomial error is too small, often by half and more. The error here is that between
transects; the binomial one is given only to show the design effect. The layout of points
comes from a seed and the photo's name: the same again on any day and in any order.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault
from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.ratio import estimate_ratio
from corallum.estimate.refusals import check_share, fault, numbers, refuse, strata_of
from corallum.estimate.sample_size import points_for_share

__all__ = [
    "UNREADABLE",
    "Frame",
    "PointCover",
    "design_effect_of_clusters",
    "estimate_point_cover",
    "points_for_precision",
    "points_rng",
    "scatter_grid",
    "scatter_random",
    "scatter_stratified",
]

#: In place of a label: a point on the tape, in shadow, out of focus. Not a point of the reef.
UNREADABLE = -1


@dataclass(frozen=True, slots=True)
class Frame:
    """A photo on which points are laid.

    Parameters
    ----------
    width, height : float
        Pixels.
    margin : float
        Pixels at each edge that get no point, where the lens bends or the frame stands.
    """

    width: float
    height: float
    margin: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class PointCover:
    """Cover from points.

    Parameters
    ----------
    counts : ndarray, shape (T, K)
        Points by transect and label.
    readable : ndarray, shape (T,)
        Points of each transect that could be read.
    unreadable : int
        Points that could not, over all transects.
    cover : Estimate
        (K,), shares of readable points, with the variance between transects.
    binomial_se : ndarray, shape (K,)
        What the standard error would be if points were independent. Not to be reported.
    design_effect : ndarray, shape (K,)
        Variance over the binomial one; NaN where a label has no point or all.
    """

    counts: Floats
    readable: Floats
    unreadable: int
    cover: Estimate
    binomial_se: Floats
    design_effect: Floats


def points_rng(seed: int, photo: str) -> np.random.Generator:
    """Return the generator of one photo's points.

    Parameters
    ----------
    seed : int
        Of the survey, 0 or more.
    photo : str
        Name or id of the photo.

    Returns
    -------
    numpy.random.Generator
        The same for the same two, whatever other photos there are.

    Raises
    ------
    InputError
        For a seed below 0.
    """
    if seed < 0:
        refuse([fault("seed", "0 or more", seed, "Give a whole number such as 1.")])
    # The length parts the seed's words from those of the name.
    words = photo.encode()
    return np.random.default_rng(np.random.SeedSequence([seed, len(words), *words]))


def scatter_random(frame: Frame, n: int, rng: np.random.Generator) -> Floats:
    """Lay points at random over a photo.

    Parameters
    ----------
    frame : Frame
        The photo.
    n : int
        Points, at least 1.
    rng : numpy.random.Generator
        Of the photo; see `points_rng`.

    Returns
    -------
    ndarray, shape (n, 2)
        Across and down from the upper left corner, pixels.

    Raises
    ------
    InputError
        For no point, or a margin that leaves no room.
    """
    _check_frame(frame, n, 1)
    return _into(frame, rng.random((n, 2)))


def scatter_stratified(frame: Frame, rows: int, columns: int, rng: np.random.Generator) -> Floats:
    """Lay one point at random in each cell of a photo.

    Parameters
    ----------
    frame : Frame
        The photo.
    rows, columns : int
        Cells down and across, at least 1.
    rng : numpy.random.Generator
        Of the photo; see `points_rng`.

    Returns
    -------
    ndarray, shape (rows * columns, 2)
        Across and down, pixels, row by row.

    Raises
    ------
    InputError
        For no cell, or a margin that leaves no room.

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., section 8.13 (points in cells).
    """
    _check_frame(frame, rows, columns)
    return _into(frame, _cells(rows, columns, rng.random((rows * columns, 2))))


def scatter_grid(
    frame: Frame, rows: int, columns: int, rng: np.random.Generator | None = None
) -> Floats:
    """Lay an even grid of points over a photo.

    Parameters
    ----------
    frame : Frame
        The photo.
    rows, columns : int
        Points down and across, at least 1.
    rng : numpy.random.Generator, optional
        Then the whole grid starts at a random place within a cell, which makes the cover
        unbiased; without, points are in the middle of the cells.

    Returns
    -------
    ndarray, shape (rows * columns, 2)
        Across and down, pixels, row by row.

    Raises
    ------
    InputError
        For no cell, or a margin that leaves no room.

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., section 8.13.
    """
    _check_frame(frame, rows, columns)
    start = np.full(2, 0.5) if rng is None else rng.random(2)
    return _into(frame, _cells(rows, columns, np.tile(start, (rows * columns, 1))))


def estimate_point_cover(
    transect: ArrayLike, label: ArrayLike, n_transects: int, n_labels: int, level: float = 0.95
) -> PointCover:
    """Estimate cover from points that were read.

    Parameters
    ----------
    transect : array_like of int, shape (M,)
        Transect of each point, from 0; the photos of one transect are one.
    label : array_like of int, shape (M,)
        What lies under it, from 0, or `UNREADABLE`. What is not coral has labels of its own,
        and so has coral that was not identified.
    n_transects, n_labels : int
        Transects, T, and labels, K.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    PointCover
        With the binomial error beside, to show what clustering does.

    Raises
    ------
    InputError
        For labels off the list, fewer than two transects, or one without a readable point.

    Notes
    -----
    Ratio of points under a label to readable points. Unreadable points are left out, which
    takes them to be like the rest (common practice, no source).
    """
    k = np.asarray(label, np.int64)
    t = strata_of(transect, len(k), n_transects)
    if len(k) and not (k.min() >= UNREADABLE and k.max() < n_labels):
        expected = f"{UNREADABLE} to {n_labels - 1}"
        refuse([fault("label", expected, f"{k.min()} to {k.max()}", "Look them up.")])
    seen = k != UNREADABLE
    cell = np.bincount(t[seen] * n_labels + k[seen], minlength=n_transects * n_labels)
    counts = cell.reshape(n_transects, n_labels).astype(np.float64)
    readable = counts.sum(axis=1)
    _check_readable(readable)
    cover = estimate_ratio(counts, readable, level=level)
    spread = cover.value * (1 - cover.value) / readable.sum()
    effect = np.full(n_labels, np.nan)
    np.divide(cover.se**2, spread, out=effect, where=spread > 0)
    return PointCover(counts, readable, int((~seen).sum()), cover, np.sqrt(spread), effect)


def design_effect_of_clusters(points_each: float, intraclass: float) -> float:
    """Return how much the variance grows because points come in photos.

    Parameters
    ----------
    points_each : float
        Points of a photo (or photos' points of a transect), at least 1.
    intraclass : float
        Correlation of two points of one photo, at most 1; 0 if independent.

    Returns
    -------
    float
        1 + (m - 1) rho, at least 0.

    Raises
    ------
    InputError
        For less than one point or a correlation above 1.

    References
    ----------
    Kish L. 1965. Survey Sampling, section 5.4.

    Examples
    --------
    >>> design_effect_of_clusters(5, 0.3)
    2.2
    """
    faults: list[Fault] = []
    if not points_each >= 1:
        faults.append(fault("points", "at least 1", points_each, "Lay a point."))
    if not -1 <= intraclass <= 1:
        faults.append(fault("correlation", "-1 to 1", intraclass, "Take it from a pilot."))
    refuse(faults)
    return max(1 + (points_each - 1) * intraclass, 0.0)


def points_for_precision(
    half_width: float, share: float, design_effect: float = 1.0, level: float = 0.95
) -> float:
    """Return how many points a wanted precision takes, clustering included.

    Parameters
    ----------
    half_width : float
        Wanted half of the interval, in shares: .05 for plus or minus 5 points.
    share : float
        Expected cover, between 0 and 1.
    design_effect : float
        From a pilot (`PointCover`) with as many points a transect, or by
        `design_effect_of_clusters`; above 0. 1 is the least that can be hoped for.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    float
        Points over all transects, not rounded. More transects are better than more points
        on each: the design effect grows with these.

    Raises
    ------
    InputError
        For numbers out of range.

    Examples
    --------
    >>> round(points_for_precision(0.05, 0.3)), round(points_for_precision(0.05, 0.3, 2.2))
    (323, 710)
    """
    check_share("half width", half_width)
    if not (design_effect > 0 and math.isfinite(design_effect)):
        refuse([fault("design effect", "above 0", design_effect, "Take 1 or a pilot's.")])
    return design_effect * points_for_share(half_width, share, level)


def _cells(rows: int, columns: int, within: Floats) -> Floats:
    """Points as shares of the photo, from their place within each cell."""
    down, across = np.divmod(np.arange(rows * columns), columns)
    corner = np.stack([across, down], axis=1)
    return np.asarray((corner + within) / np.array([columns, rows]))


def _into(frame: Frame, share: Floats) -> Floats:
    """Turn shares of the room within the margins into pixels."""
    room = np.array([frame.width, frame.height]) - 2 * frame.margin
    return np.asarray(frame.margin + share * room)


def _check_frame(frame: Frame, rows: int, columns: int) -> None:
    """Refuse a photo without room, or no point."""
    sizes = numbers("photo", [frame.width, frame.height, frame.margin])
    faults: list[Fault] = []
    if min(rows, columns) < 1:
        faults.append(fault("points", "at least 1", min(rows, columns), "Lay a point."))
    shorter = float(sizes[:2].min())
    if not 2 * frame.margin < shorter:
        expected = f"a margin below half of {shorter:g} pixels"
        faults.append(fault("photo", expected, frame.margin, "Make the margin smaller."))
    refuse(faults)


def _check_readable(readable: NDArray[np.float64]) -> None:
    """Refuse transects of which no point could be read."""
    refuse(
        [
            fault(f"transect {one}", "at least one readable point", 0, "Leave it out, and say so.")
            for one in np.flatnonzero(readable == 0).tolist()
        ]
    )
