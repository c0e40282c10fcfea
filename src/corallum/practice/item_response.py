"""Item-response models by marginal maximum likelihood: Rasch, one and two parameters.

The chance that an observer of ability t names item i right is logistic(a_i t + d_i), and
abilities are normal with mean 0 and variance 1. The items are found by EM over a
quadrature of the ability, the abilities being integrated out. With few answers the plain
estimates run away; `ability.shrunken_difficulty` is for them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, log_expit, logsumexp

from corallum.errors import Fault, InputError

__all__ = [
    "Answers",
    "ItemFit",
    "Model",
    "Quadrature",
    "fit_items",
    "normal_quadrature",
    "read_answers",
]

Floats = NDArray[np.float64]
Model = Literal["rasch", "1PL", "2PL"]

_POINTS = 61
_NEWTON_STEPS = 4
_STEEPEST = 20.0


@dataclass(frozen=True, slots=True)
class Quadrature:
    """Points and weights that stand for the abilities.

    Parameters
    ----------
    points, weights : ndarray, (Q,)
        Abilities, and their weights, which add up to one.
    """

    points: Floats
    weights: Floats


@dataclass(frozen=True, slots=True)
class Answers:
    """Patterns of answers and how often each was seen.

    Parameters
    ----------
    right, wrong : ndarray, (O, I)
        One where row o has item i right, and wrong; neither where it was not asked.
    counts : ndarray, (O,)
        Observers with the pattern.
    """

    right: Floats
    wrong: Floats
    counts: Floats


@dataclass(frozen=True, slots=True)
class ItemFit:
    """Items as found by marginal maximum likelihood.

    Parameters
    ----------
    model : str
        ``rasch`` (slope 1), ``1PL`` (one common slope) or ``2PL``.
    slope, slope_error : ndarray, (I,)
        a and its standard error; the error is 0 where the slope is set.
    intercept, intercept_error : ndarray, (I,)
        d and its standard error, in logits.
    difficulty, difficulty_error : ndarray, (I,)
        b = -d / a, the ability at which half are right; the error by the delta method.
    log_likelihood : float
        Marginal, natural logarithm.
    steps : int
        EM steps made.
    converged : bool
        Whether the last step moved every figure by less than the tolerance.
    """

    model: Model
    slope: Floats
    slope_error: Floats
    intercept: Floats
    intercept_error: Floats
    difficulty: Floats
    difficulty_error: Floats
    log_likelihood: float
    steps: int
    converged: bool


def normal_quadrature(points: int = _POINTS) -> Quadrature:
    """Return Gauss-Hermite points and weights of the standard normal distribution.

    Parameters
    ----------
    points : int
        Q, number of points.

    Returns
    -------
    Quadrature
        Points rising; weights add up to one.
    """
    x, w = np.polynomial.hermite_e.hermegauss(points)
    return Quadrature(x, w / w.sum())


def read_answers(answers: ArrayLike, counts: ArrayLike | None = None) -> Answers:
    """Check a table of answers.

    Parameters
    ----------
    answers : array_like, (O, I)
        1 right, 0 wrong, nan not asked.
    counts : array_like, (O,), or None
        How often each row was seen; None means once each.

    Returns
    -------
    Answers
        The same, ready for fitting.

    Raises
    ------
    InputError
        If the table is not two-dimensional, holds another number, or counts do not fit.
    """
    table = np.asarray(answers, dtype=float)
    if table.ndim != 2 or table.size == 0:
        remedy = "Give one row an observer and one column an item."
        expected, found = "a table of rows and columns", f"shape {table.shape}"
        raise InputError([Fault("answers", "table", expected, found, remedy)])
    strange = ~(np.isnan(table) | (table == 0) | (table == 1))
    if strange.any():
        row, column = np.argwhere(strange)[0]
        place, found = f"row {row + 1}, column {column + 1}", f"{table[row, column]:g}"
        raise InputError(
            [Fault("answers", place, "1, 0 or not asked", found, "Mark it right or not.")]
        )
    seen = np.ones(len(table)) if counts is None else np.asarray(counts, dtype=float)
    if seen.shape != (len(table),) or not (seen >= 0).all():
        remedy = "Give each row how often it was seen."
        expected, found = f"{len(table)} counts of 0 or more", f"shape {seen.shape}"
        raise InputError([Fault("answers", "counts", expected, found, remedy)])
    return Answers((table == 1).astype(float), (table == 0).astype(float), seen)


def fit_items(
    answers: ArrayLike,
    counts: ArrayLike | None = None,
    model: Model = "2PL",
    tolerance: float = 1e-7,
    most_steps: int = 5000,
) -> ItemFit:
    """Find slopes and difficulties by marginal maximum likelihood.

    Parameters
    ----------
    answers : array_like, (O, I)
        1 right, 0 wrong, nan not asked.
    counts : array_like, (O,), or None
        How often each row was seen; None means once each.
    model : str
        ``rasch`` (slope 1), ``1PL`` (one common slope) or ``2PL``.
    tolerance : float
        Largest change of a slope or intercept at which EM stops.
    most_steps : int
        Largest number of EM steps.

    Returns
    -------
    ItemFit
        Estimates, standard errors, and whether it converged.

    Raises
    ------
    InputError
        If the table can't be read, or an item was answered by nobody or by all alike, for
        which no finite difficulty exists.

    Notes
    -----
    E-step: with L_oq the likelihood of row o at point q, the weight of q for o is
    w_q L_oq / sum w L; hence the expected number asked, and right, at each point. M-step:
    a logistic regression on the points. Errors from the inverse of the observed
    information, differentiated numerically from the exact gradient.

    References
    ----------
    Bock R.D., Aitkin M. 1981. Marginal maximum likelihood estimation of item parameters.
    Psychometrika 46:443-459.
    """
    data = read_answers(answers, counts)
    _check_spread(data)
    grid = normal_quadrature()
    share = (data.counts @ data.right) / (data.counts @ (data.right + data.wrong))
    a, d = np.ones(len(share)), np.log(share / (1 - share))
    change, steps = math.inf, 0
    while change >= tolerance and steps < most_steps:
        asked, right, _ = expected_counts(data, grid, a, d)
        new_a, new_d = _maximize(model, grid, asked, right, (a, d))
        change = float(max(np.abs(new_a - a).max(), np.abs(new_d - d).max()))
        a, d, steps = new_a, new_d, steps + 1
    a_error, d_error, b_error = _errors(model, data, grid, a, d)
    log = expected_counts(data, grid, a, d)[2]
    return ItemFit(model, a, a_error, d, d_error, -d / a, b_error, log, steps, change < tolerance)


def expected_counts(
    data: Answers, grid: Quadrature, a: Floats, d: Floats
) -> tuple[Floats, Floats, float]:
    """Return the E-step: asked and right at each point, (Q, I) each, and the log likelihood."""
    logit = grid.points[:, None] * a + d
    log = data.right @ log_expit(logit).T + data.wrong @ log_expit(-logit).T
    log = log + np.log(grid.weights)
    total = logsumexp(log, axis=1, keepdims=True)
    weight = np.exp(log - total) * data.counts[:, None]
    right = weight.T @ data.right
    return right + weight.T @ data.wrong, right, float(data.counts @ total[:, 0])


def _maximize(
    model: Model, grid: Quadrature, asked: Floats, right: Floats, start: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """M-step: Newton's method on the expected counts."""
    a, d = start
    t = grid.points[:, None]
    for _ in range(_NEWTON_STEPS):
        p = expit(t * a + d)
        weight = asked * p * (1 - p)
        left = right - asked * p
        g_a, g_d = (left * t).sum(axis=0), left.sum(axis=0)
        h_aa, h_ad, h_dd = ((weight * t**k).sum(axis=0) for k in (2, 1, 0))
        if model == "rasch":
            d = d + g_d / h_dd
        elif model == "1PL":
            step = (g_a - h_ad * g_d / h_dd).sum() / (h_aa - h_ad**2 / h_dd).sum()
            a, d = a + step, d + (g_d - h_ad * step) / h_dd
        else:
            det = h_aa * h_dd - h_ad**2
            a, d = a + (h_dd * g_a - h_ad * g_d) / det, d + (h_aa * g_d - h_ad * g_a) / det
        a = np.clip(a, -_STEEPEST, _STEEPEST)
    return a, d


def _gradient(model: Model, data: Answers, grid: Quadrature, a: Floats, d: Floats) -> Floats:
    """Gradient of the marginal log likelihood (Fisher's identity)."""
    asked, right, _ = expected_counts(data, grid, a, d)
    left = right - asked * expit(grid.points[:, None] * a + d)
    by_slope = (left * grid.points[:, None]).sum(axis=0)
    by_intercept: Floats = left.sum(axis=0)
    if model == "rasch":
        return by_intercept
    free = by_slope.sum(keepdims=True) if model == "1PL" else by_slope
    gradient: Floats = np.concatenate([free, by_intercept])
    return gradient


def _errors(
    model: Model, data: Answers, grid: Quadrature, a: Floats, d: Floats
) -> tuple[Floats, Floats, Floats]:
    """Standard errors of slopes, intercepts and difficulties."""
    n = len(d)
    slopes = {"rasch": 0, "1PL": 1, "2PL": n}[model]
    step = 1e-4
    columns = []
    for k in range(slopes + n):
        ends = []
        for side in (step, -step):
            move = np.zeros(slopes + n)
            move[k] = side
            moved_a = a + (move[:slopes] if slopes else 0.0)
            ends.append(_gradient(model, data, grid, moved_a, d + move[slopes:]))
        columns.append((ends[1] - ends[0]) / (2 * step))
    information = np.array(columns)
    covariance = np.linalg.inv((information + information.T) / 2)
    of_slope = np.arange(n) if model == "2PL" else np.zeros(n, dtype=int)
    of_d = slopes + np.arange(n)
    var_d = np.diag(covariance)[of_d]
    var_a = np.diag(covariance)[of_slope] if slopes else np.zeros(n)
    both = covariance[of_slope, of_d] if slopes else np.zeros(n)
    var_b = var_d / a**2 + var_a * d**2 / a**4 - 2 * both * d / a**3
    with np.errstate(invalid="ignore"):  # nan says that the information is no maximum's
        return np.sqrt(var_a), np.sqrt(var_d), np.sqrt(var_b)


def _check_spread(data: Answers) -> None:
    """Refuse items that nobody answered or all answered alike."""
    right, wrong = data.counts @ data.right, data.counts @ data.wrong
    faults = [
        Fault(
            "answers",
            f"column {i + 1}",
            "right and wrong answers",
            f"{right[i]:g} right and {wrong[i]:g} wrong",
            "Leave the item out, or use the difficulty with shrinkage.",
        )
        for i in np.flatnonzero((right == 0) | (wrong == 0))
    ]
    if faults:
        raise InputError(faults)
