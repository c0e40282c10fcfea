"""What to show an observer next: what is due again, else where there is most to gain.

What is due comes first, for it is about to be lost. Otherwise an item counts by how much
the survey would gain from this observer knowing its genus: how often the survey meets the
genus, how much of it the observer is still likely to miss, whether the item is neither too
easy nor hopeless, and whether it is ripe: what was told a moment ago teaches little. The
score is our own construction; `learners` measures what it saves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from corallum.errors import Fault, InputError

__all__ = ["Candidates", "Choice", "Grasp", "Reason", "choose_next", "grasp_of"]

Floats = NDArray[np.float64]

# Before any answer: one right and one wrong of two imagined; the older an answer, the less
# it says about an observer who is learning. Own choices, no source.
_PRIOR_RIGHT, _PRIOR_WRONG = 1.0, 1.0
_FADE = 0.8
_LEAST_FIT = 0.25
_FEW_SD = 0.2
# What the scheduler lets fade before it shows something again.
_FADED = 0.1


@dataclass(frozen=True, slots=True)
class Grasp:
    """How well an observer has each genus, or each pair that is taken for each other.

    Parameters
    ----------
    chance_right, chance_sd : ndarray, (G,)
        Posterior mean and standard deviation of the chance of naming it right, just after
        practice; 0 to 1.
    shares : ndarray, (G,)
        Share of the survey's colonies; not negative. They need not add up to one.
    """

    chance_right: Floats
    chance_sd: Floats
    shares: Floats


@dataclass(frozen=True, slots=True)
class Candidates:
    """Items that might be shown.

    Parameters
    ----------
    genus : ndarray of int, (J,)
        Row of the grasp that each item practises.
    difficulty : ndarray, (J,)
        In logits against an average item; 0 where not known.
    retention : ndarray, (J,)
        Chance that its genus is still known, from the schedule; nan where never practised.
    due : ndarray of bool, (J,)
        Whether its time has come.
    """

    genus: NDArray[np.int64]
    difficulty: Floats
    retention: Floats
    due: NDArray[np.bool_]


class Reason(StrEnum):
    """Why an item comes where it does."""

    DUE = "due again"
    FEW = "hardly tried yet"
    MISSED = "often missed"
    KNOWN = "mostly known"


@dataclass(frozen=True, slots=True)
class Choice:
    """One item in the order to be shown.

    Parameters
    ----------
    item : int
        Row of the candidates.
    gain : float
        Score, 0 to 1: the product of the next four.
    share, room, fit, ripe : float
        Share of the survey; what is still missed, with its doubt added; how well the
        difficulty suits, 1 at even odds; how far it has faded since it was last shown.
    reason : Reason
        In a word.
    """

    item: int
    gain: float
    share: float
    room: float
    fit: float
    ripe: float
    reason: Reason


def choose_next(
    candidates: Candidates, grasp: Grasp, last_genus: int | None = None, most: int = 10
) -> tuple[Choice, ...]:
    """Rank the items that an observer might be shown.

    Parameters
    ----------
    candidates : Candidates
        What there is to show.
    grasp : Grasp
        What the observer knows, and what the survey meets.
    last_genus : int or None
        Genus just shown: it comes last, so that nothing is named twice in a row.
    most : int
        Longest ranking wanted.

    Returns
    -------
    tuple of Choice
        Best first. Due items come before others; within each, by gain.

    Raises
    ------
    InputError
        If arrays differ in length, a genus is not in the grasp, or no share is above 0.

    Notes
    -----
    With m and s the mean and standard deviation of the chance right, R the retention (1 in
    the first where never practised) and q the share: now = m R; room = min(1 - now + s, 1);
    fit = max(4 p (1 - p), .25) with p = logistic(logit(now) - difficulty); ripe =
    min((1 - R) / .1, 1), 1 where never practised; gain = q room fit ripe. The standard
    deviation in the room makes what was hardly tried worth trying; ripe follows the
    scheduler, by which practice before anything has faded makes a memory little longer.
    """
    _check(candidates, grasp)
    g = candidates.genus
    share = (grasp.shares / grasp.shares.sum())[g]
    met = ~np.isnan(candidates.retention)
    now = grasp.chance_right[g] * np.where(met, candidates.retention, 1.0)
    ripe = np.where(met, np.clip((1 - candidates.retention) / _FADED, 0.0, 1.0), 1.0)
    room = np.minimum(1 - now + grasp.chance_sd[g], 1.0)
    odds = expit(logit(np.clip(now, 0.01, 0.99)) - candidates.difficulty)
    fit = np.maximum(4 * odds * (1 - odds), _LEAST_FIT)
    gain = share * room * fit * ripe
    again = g == (-1 if last_genus is None else last_genus)
    order = np.lexsort((np.arange(len(g)), -gain, ~candidates.due, again))[:most]
    return tuple(
        Choice(
            int(i),
            float(gain[i]),
            float(share[i]),
            float(room[i]),
            float(fit[i]),
            float(ripe[i]),
            _reason(bool(candidates.due[i]), float(grasp.chance_sd[g[i]]), float(now[i])),
        )
        for i in order
    )


def grasp_of(genus: Sequence[int], right: Sequence[float], shares: Floats) -> Grasp:
    """Return what an observer knows of each genus, from practice answers.

    Parameters
    ----------
    genus : sequence of int
        Genus of each answer, oldest first.
    right : sequence of float
        Score of each, 0 to 1.
    shares : ndarray, (G,)
        Shares of the survey.

    Returns
    -------
    Grasp
        Beta posterior of each genus from a flat prior; every later answer to the genus
        makes an earlier one count a fifth less.
    """
    hit, miss = np.zeros((2, len(shares)))
    for g, score in zip(genus, right, strict=True):
        hit[g], miss[g] = _FADE * hit[g] + score, _FADE * miss[g] + 1 - score
    a, b = hit + _PRIOR_RIGHT, miss + _PRIOR_WRONG
    total = a + b
    return Grasp(a / total, np.sqrt(a * b / (total**2 * (total + 1))), shares)


def _reason(due: bool, sd: float, now: float) -> Reason:  # noqa: FBT001 - a fact, no switch
    """Why in a word."""
    if due:
        return Reason.DUE
    if sd >= _FEW_SD:
        return Reason.FEW
    return Reason.MISSED if now < 0.75 else Reason.KNOWN


def _check(candidates: Candidates, grasp: Grasp) -> None:
    """Refuse arrays that do not fit together."""
    faults = [*_item_faults(candidates, len(grasp.shares)), *_genus_faults(grasp)]
    if faults:
        raise InputError(faults)


def _item_faults(items: Candidates, n: int) -> list[Fault]:
    """What is wrong with the items."""
    sizes = [len(a) for a in (items.genus, items.difficulty, items.retention, items.due)]
    if len(set(sizes)) > 1:
        remedy = "Give each item all four."
        return [Fault("choice", "items", "four arrays of one length", f"{sizes}", remedy)]
    faults = []
    if sizes[0] and not (items.genus.min() >= 0 and items.genus.max() < n):
        found = f"{items.genus.min()} to {items.genus.max()}"
        faults.append(Fault("choice", "genus", f"0 to {n - 1}", found, "Check the items."))
    known = items.retention[~np.isnan(items.retention)]
    if not ((known >= 0) & (known <= 1)).all():
        found, remedy = f"{known.min():g} to {known.max():g}", "Take it from the schedule."
        faults.append(Fault("choice", "retention", "0 to 1, or nan", found, remedy))
    return faults


def _genus_faults(grasp: Grasp) -> list[Fault]:
    """What is wrong with the genera."""
    sizes = [len(a) for a in (grasp.chance_right, grasp.chance_sd, grasp.shares)]
    if len(set(sizes)) > 1:
        remedy = "Give each genus all three."
        return [Fault("choice", "genera", "three arrays of one length", f"{sizes}", remedy)]
    if not (grasp.shares.sum() > 0 and (grasp.shares >= 0).all()):
        remedy = "Give each genus its share of the survey."
        return [Fault("choice", "shares", "0 or more, some above", f"{grasp.shares}", remedy)]
    return []
