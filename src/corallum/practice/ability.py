"""An observer's ability, and the difficulty of items from few answers.

Difficulties are drawn towards their common mean (shrinkage) as far as the answers are
few, so that five observers and forty items give figures to use. Everything is a Rasch
model: chance right = logistic(ability - difficulty), abilities normal about 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, log_expit

from corallum.errors import Fault, InputError
from corallum.practice.item_response import (
    Quadrature,
    expected_counts,
    normal_quadrature,
    read_answers,
)

__all__ = [
    "Ability",
    "ShrunkenDifficulty",
    "ability_of",
    "chance_right",
    "shrunken_difficulty",
]

Floats = NDArray[np.float64]
_MOST_STEPS = 2000
_TOLERANCE = 1e-8
# Spread of the common mean about 0, in logits, so that a lone bad answer moves it little;
# own choice, no source.
_WIDE = 2.0


@dataclass(frozen=True, slots=True)
class Ability:
    """What is known of an observer's ability.

    Parameters
    ----------
    mean, sd : float
        Of the posterior, in logits; without answers 0 and 1.
    n : int
        Answers that it rests on.
    """

    mean: float
    sd: float
    n: int


@dataclass(frozen=True, slots=True)
class ShrunkenDifficulty:
    """Difficulties drawn towards their mean.

    Parameters
    ----------
    mean : ndarray, (I,)
        In logits: an ability of the same size has half right.
    sd : ndarray, (I,)
        How far each may be off.
    centre : float
        The common mean, that of an item nobody answered.
    converged : bool
        Whether the search came to rest.
    """

    mean: Floats
    sd: Floats
    centre: float
    converged: bool


def chance_right(ability: Ability, difficulty: ArrayLike, sd: ArrayLike = 0.0) -> Floats:
    """Return an observer's chance of naming each item right.

    Parameters
    ----------
    ability : Ability
        The observer.
    difficulty : array_like, (I,)
        Items, in logits.
    sd : array_like, (I,)
        How far each difficulty may be off.

    Returns
    -------
    ndarray, (I,)
        Chance, 0 to 1, averaged over what is not known of ability and difficulty.

    Notes
    -----
    logistic(m / sqrt(1 + pi v / 8)), m the mean and v the variance of the logit.

    References
    ----------
    MacKay D.J.C. 1992. The evidence framework applied to classification networks. Neural
    Computation 4:720-736.
    """
    logit = ability.mean - np.asarray(difficulty, dtype=float)
    variance = ability.sd**2 + np.asarray(sd, dtype=float) ** 2
    chance: Floats = expit(logit / np.sqrt(1 + math.pi * variance / 8))
    return chance


def ability_of(
    answers: ArrayLike, difficulty: ArrayLike, slope: ArrayLike = 1.0, sd: ArrayLike = 0.0
) -> Ability:
    """Return the posterior of an observer's ability.

    Parameters
    ----------
    answers : array_like, (I,)
        1 right, 0 wrong, nan not asked.
    difficulty : array_like, (I,)
        b of each item, in logits.
    slope : array_like, (I,) or one
        a of each item.
    sd : array_like, (I,) or one
        How far each difficulty may be off; the more, the less its answer counts.

    Returns
    -------
    Ability
        Mean and standard deviation under a standard normal prior.

    Raises
    ------
    InputError
        If answers and items differ in number, or an answer is neither right nor wrong.

    References
    ----------
    Bock R.D., Mislevy R.J. 1982. Adaptive EAP estimation of ability. Applied Psychological
    Measurement 6:431-444.
    """
    b = np.atleast_1d(np.asarray(difficulty, dtype=float))
    given = np.atleast_1d(np.asarray(answers, dtype=float))
    if given.shape != b.shape:
        found, remedy = f"{given.size} answers", "Give nan for an item not asked."
        raise InputError([Fault("ability", "answers", f"{b.size} answers", found, remedy)])
    if b.size == 0:
        return Ability(0.0, 1.0, 0)
    data = read_answers(given[None, :])
    a = np.asarray(slope, dtype=float) * np.ones_like(b)
    a = a / np.sqrt(1 + math.pi * (a * np.asarray(sd, dtype=float)) ** 2 / 8)
    grid = normal_quadrature()
    logit = a * (grid.points[:, None] - b)
    log = log_expit(logit) @ data.right[0] + log_expit(-logit) @ data.wrong[0]
    weight = grid.weights * np.exp(log - log.max())
    weight = weight / weight.sum()
    mean = float(weight @ grid.points)
    spread = math.sqrt(float(weight @ (grid.points - mean) ** 2))
    return Ability(mean, spread, int((~np.isnan(given)).sum()))


def shrunken_difficulty(
    answers: ArrayLike, counts: ArrayLike | None = None, spread: float = 1.0
) -> ShrunkenDifficulty:
    """Find difficulties that few answers can't send to infinity.

    Parameters
    ----------
    answers : array_like, (O, I)
        1 right, 0 wrong, nan not asked; one row an observer.
    counts : array_like, (O,), or None
        How often each row was seen; None means once each.
    spread : float
        Standard deviation of difficulties about their mean, in logits, above 0. One logit
        is common practice, no source.

    Returns
    -------
    ShrunkenDifficulty
        Posterior mode and its standard deviation; the common mean is found with them.

    Raises
    ------
    InputError
        If the table can't be read or the spread is not above 0.

    Notes
    -----
    EM as in `fit_items` with slope 1; each difficulty b_i has the prior normal(m, spread),
    and m the prior normal(0, 2). Items depend on each other only through m, so each sd
    is the root of 1 / (information + 1 / spread^2), with what the abilities leave unknown
    taken off the information (Louis 1982), plus the part that comes from m.
    """
    if not spread > 0:
        remedy = "Give about 1."
        raise InputError([Fault("difficulty", "spread", "above 0", f"{spread:g}", remedy)])
    data = read_answers(answers, counts)
    grid = normal_quadrature()
    items = data.right.shape[1]
    ones, b, centre, moved = np.ones(items), np.zeros(items), 0.0, math.inf
    tight = 1 / spread**2
    for _ in range(_MOST_STEPS):
        asked, right, _ = expected_counts(data, grid, ones, -b)
        new = _newton(grid, asked, right, b, centre, tight)
        new_centre = tight * float(new.sum()) / (items * tight + 1 / _WIDE**2)
        moved = max(float(np.abs(new - b).max()), abs(new_centre - centre))
        b, centre = new, new_centre
        if moved < _TOLERANCE:
            break
    hessian = _information(data.right, data.wrong, data.counts, grid, b)
    full = np.zeros((items + 1, items + 1))
    full[:items, :items] = hessian + tight * np.eye(items)
    full[:items, items] = full[items, :items] = -tight
    full[items, items] = items * tight + 1 / _WIDE**2
    variance = np.diag(np.linalg.inv(full))[:items]
    return ShrunkenDifficulty(b, np.sqrt(variance), centre, moved < _TOLERANCE)


def _newton(
    grid: Quadrature, asked: Floats, right: Floats, b: Floats, centre: float, tight: float
) -> Floats:
    """Three Newton steps of the M-step with the prior."""
    for _ in range(3):
        p = expit(grid.points[:, None] - b)
        pull = (asked * p - right).sum(axis=0) - tight * (b - centre)
        b = b + pull / ((asked * p * (1 - p)).sum(axis=0) + tight)
    return b


def _information(
    right: Floats, wrong: Floats, counts: Floats, grid: Quadrature, b: Floats
) -> Floats:
    """Observed information of the difficulties, abilities integrated out (Louis 1982)."""
    logit = grid.points[:, None] - b
    log = right @ log_expit(logit).T + wrong @ log_expit(-logit).T + np.log(grid.weights)
    weight = np.exp(log - log.max(axis=1, keepdims=True))
    weight = weight / weight.sum(axis=1, keepdims=True)
    p = expit(logit)
    total = np.zeros((len(b), len(b)))
    for n, count in enumerate(counts):
        asked = right[n] + wrong[n]
        score = asked * p - right[n]  # gradient of b at each point
        mean = weight[n] @ score
        total += count * (
            np.diag(weight[n] @ (asked * p * (1 - p)))
            - (score * weight[n][:, None]).T @ score
            + np.outer(mean, mean)
        )
    return total
