"""The share of one genus, corrected by how often it is recognised and how often wrongly named.

The corrected share may leave 0 to 1 where errors are large beside the share: it is kept
as it is, and clipped only for show, since clipped shares averaged are biased.
Refuses an observer who is no better than chance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.stats import norm

from corallum.estimate.refusals import check_level, fault, refuse

__all__ = ["CorrectedShare", "Recognition", "correct_ends", "correct_share"]


@dataclass(frozen=True, slots=True)
class Recognition:
    """How well one genus is told from all others.

    Parameters
    ----------
    sensitivity : float
        P(said the genus | it is), 0 to 1.
    specificity : float
        P(said another | it is another), 0 to 1.
    n_sensitivity, n_specificity : float
        Colonies that they rest on; infinite where they are known.
    """

    sensitivity: float
    specificity: float
    n_sensitivity: float = math.inf
    n_specificity: float = math.inf


@dataclass(frozen=True, slots=True)
class CorrectedShare:
    """A share before and after correction.

    Parameters
    ----------
    apparent : float
        Share said.
    value : float
        Corrected, not clipped.
    shown : float
        Corrected, clipped to 0 to 1.
    se : float
        Standard error of the corrected share.
    low, high : float
        Normal interval, not clipped.
    """

    apparent: float
    value: float
    shown: float
    se: float
    low: float
    high: float


def correct_share(
    said: int, n: int, recognition: Recognition, level: float = 0.95
) -> CorrectedShare:
    """Correct the share of a genus for both kinds of error.

    Parameters
    ----------
    said : int
        Records said to be of the genus.
    n : int
        Records, independent of one another; at least 1.
    recognition : Recognition
        From colonies like those of the survey. That of training items holds only if the
        survey's colonies are as hard.
    level : float
        Coverage of the interval, 0 to 1.

    Returns
    -------
    CorrectedShare
        Raw and clipped.

    Raises
    ------
    InputError
        For impossible counts or shares, or sensitivity plus specificity of 1 or less.

    Notes
    -----
    P = (a + Sp - 1) / J with J = Se + Sp - 1;
    Var = [a (1 - a) / n + P^2 Se (1 - Se) / n_Se + (1 - P)^2 Sp (1 - Sp) / n_Sp] / J^2.

    References
    ----------
    Rogan W.J., Gladen B. 1978. American Journal of Epidemiology 107:71-76.

    Examples
    --------
    >>> round(correct_share(23, 150, Recognition(0.96, 0.89)).value, 5)
    0.05098
    """
    _check(said, n, recognition)
    check_level(level)
    se, sp = recognition.sensitivity, recognition.specificity
    apparent = said / n
    j = se + sp - 1
    value = (apparent + sp - 1) / j
    variance = (
        apparent * (1 - apparent) / n
        + value**2 * se * (1 - se) / recognition.n_sensitivity
        + (1 - value) ** 2 * sp * (1 - sp) / recognition.n_specificity
    )
    error = math.sqrt(variance) / j
    half = float(norm.ppf((1 + level) / 2)) * error
    shown = min(max(value, 0.0), 1.0)
    return CorrectedShare(apparent, value, shown, error, value - half, value + half)


def correct_ends(low: float, high: float, recognition: Recognition) -> tuple[float, float]:
    """Carry the ends of any interval of the share said over to the corrected share.

    Parameters
    ----------
    low, high : float
        Ends for the share said, as Wilson's.
    recognition : Recognition
        Taken as known: what it rests on is left out, so the interval is too short where that
        is little.

    Returns
    -------
    tuple of float
        Low and high, not clipped.

    Raises
    ------
    InputError
        For sensitivity plus specificity of 1 or less.
    """
    _check(0, 1, recognition)
    j = recognition.sensitivity + recognition.specificity - 1
    shift = recognition.specificity - 1
    return (low + shift) / j, (high + shift) / j


def _check(said: int, n: int, recognition: Recognition) -> None:
    """Refuse what can't be corrected."""
    faults = []
    if n < 1:
        faults.append(fault("records", "at least 1", n, "Wait for a survey."))
    elif not 0 <= said <= n:
        faults.append(fault("said", f"0 to {n}", said, "Check the counts."))
    se, sp = recognition.sensitivity, recognition.specificity
    shares = {"sensitivity": se, "specificity": sp}
    faults += [
        fault(name, "0 to 1", share, "Give .9 for 90 %.")
        for name, share in shares.items()
        if not 0 <= share <= 1
    ]
    if se + sp <= 1:
        remedy = (
            "An observer no better than chance can't be corrected: have the records read again."
        )
        faults.append(fault("sensitivity plus specificity", "above 1", round(se + sp, 4), remedy))
    sizes = (recognition.n_sensitivity, recognition.n_specificity)
    if min(sizes) <= 0:
        faults.append(fault("colonies behind the shares", "above 0", min(sizes), "Test first."))
    refuse(faults)
