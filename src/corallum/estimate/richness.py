"""How many genera there are, those not met included: Chao's estimators, ACE, Fisher's alpha.

All are lower bounds or rest on a model; none says which genera are missing. They live on
genera met once, which is where a wrong name does most harm: see `singletons`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtri

from corallum.estimate.refusals import check_level, fault, refuse
from corallum.estimate.tally import Tally

__all__ = ["ChaoForm", "RichnessEstimate", "estimate_ace", "estimate_chao", "fisher_alpha"]


class ChaoForm(Enum):
    """Which of the printed forms of Chao1 (Chao2 of transects)."""

    SAMPLE_SIZE = "with (n - 1)/n"
    CLASSIC = "classic"
    BIAS_CORRECTED = "bias corrected"


@dataclass(frozen=True, slots=True)
class RichnessEstimate:
    """Estimated number of genera.

    Parameters
    ----------
    value, se : float
        Estimate and its standard error.
    low, high : float
        Interval by the logarithm of what was not met: never below what was.
    form : ChaoForm
        The form asked for.
    note : str
        What to mind; empty if nothing.
    """

    value: float
    se: float
    low: float
    high: float
    form: ChaoForm
    note: str = ""


def estimate_chao(
    tally: Tally, form: ChaoForm = ChaoForm.SAMPLE_SIZE, level: float = 0.95
) -> RichnessEstimate:
    """Estimate the number of genera from those met once and twice.

    Parameters
    ----------
    tally : Tally
        Of colonies: Chao1. Of transects: Chao2.
    form : ChaoForm
        The default is the one of Chao and others 2014. Where no genus was met twice, all
        take the bias-corrected form.
    level : float
        Coverage of the interval, 0 to 1.

    Returns
    -------
    RichnessEstimate
        A lower bound in expectation.

    Notes
    -----
    k = (n - 1)/n, or 1 in the classic and the bias-corrected form of colonies; of transects
    the bias-corrected form has k too. r = f1/f2.
    S + k f1^2 / (2 f2); var = f2 (k r^2 / 2 + k^2 r^3 + k^2 r^4 / 4).
    Bias corrected: S + k f1 (f1 - 1) / (2 (f2 + 1)); var = k f1 (f1 - 1) / (2 (f2 + 1))
    + k^2 f1 (2 f1 - 1)^2 / (4 (f2 + 1)^2) + k^2 f1^2 f2 (f1 - 1)^2 / (4 (f2 + 1)^4);
    where f2 = 0, the last term is -k^2 f1^4 / (4 S_est).

    References
    ----------
    Chao A. 1984. Scandinavian Journal of Statistics 11:265-270; 1987. Biometrics 43:783-791
    (variance, logarithmic interval). Chao A. and others 2014. Ecological Monographs 84:45-67.
    """
    check_level(level)
    f1, f2, n = tally.once, tally.twice, tally.n
    plain = form is ChaoForm.CLASSIC or (form is ChaoForm.BIAS_CORRECTED and not tally.of_transects)
    k = 1.0 if plain else (n - 1) / n
    if f1 == 0 or (f1 == 1 and f2 == 0):
        return _all_met(tally, form, level)
    if f2 and form is not ChaoForm.BIAS_CORRECTED:
        r = f1 / f2
        missing = k * f1**2 / (2 * f2)
        variance = f2 * (k * r**2 / 2 + k**2 * r**3 + k**2 * r**4 / 4)
    else:
        missing, variance = _bias_corrected(tally, k)
    note = "" if f2 else "no genus was met twice: the bias-corrected form, and little to go by"
    return _log_interval(tally.richness, missing, variance, form, level, note)


def estimate_ace(tally: Tally, rare: int = 10) -> float:
    """Estimate the number of genera from all that are rare (ACE).

    Parameters
    ----------
    tally : Tally
        Of colonies.
    rare : int
        A genus met so often or less is rare.

    Returns
    -------
    float
        Without a standard error here. Where each rare genus was met once, the
        bias-corrected Chao1.

    Notes
    -----
    C = 1 - f1 / n_rare; ACE = S_abundant + S_rare / C + (f1 / C) g^2 with
    g^2 = max(S_rare / C  sum i (i - 1) f_i / (n_rare (n_rare - 1)) - 1, 0).

    References
    ----------
    Chao A., Lee S.-M. 1992. Journal of the American Statistical Association 87:210-217.
    """
    few = tally.met[tally.met <= rare].astype(np.float64)
    n_rare, f1 = float(few.sum()), tally.once
    if not len(few):
        return float(tally.richness)
    if f1 == n_rare:
        return estimate_chao(tally, ChaoForm.BIAS_CORRECTED).value
    covered = 1 - f1 / n_rare
    pairs = float((few * (few - 1)).sum())
    spread = max(len(few) / covered * pairs / (n_rare * (n_rare - 1)) - 1, 0.0)
    return tally.richness - len(few) + len(few) / covered + f1 / covered * spread


def fisher_alpha(richness: int, n: int) -> float:
    """Return Fisher's alpha, the diversity of a log series.

    Parameters
    ----------
    richness : int
        Genera met.
    n : int
        Colonies.

    Returns
    -------
    float
        The alpha with S = alpha log(1 + n / alpha).

    Raises
    ------
    InputError
        Where there are as many genera as colonies, which no log series fits, or none.

    References
    ----------
    Fisher R.A., Corbet A.S., Williams C.B. 1943. Journal of Animal Ecology 12:42-58.
    """
    if not 1 <= richness < n:
        remedy = "Count more colonies: each was of another genus."
        refuse([fault("genera", f"from 1 to below {n} colonies", richness, remedy)])

    def too_many(log_alpha: float) -> float:
        alpha = math.exp(log_alpha)
        return alpha * math.log1p(n / alpha) - richness

    # alpha log(1 + n / alpha) grows from 0 to n, and falls short of n by n^2 / (2 alpha).
    top = math.log(float(n) ** 2) + 1
    return math.exp(float(brentq(too_many, -50.0, top, xtol=1e-13)))


def _bias_corrected(tally: Tally, k: float) -> tuple[float, float]:
    """Genera not met, and the variance of that."""
    f1, f2 = tally.once, tally.twice
    missing = k * f1 * (f1 - 1) / (2 * (f2 + 1))
    variance = missing + k**2 * f1 * (2 * f1 - 1) ** 2 / (4 * (f2 + 1) ** 2)
    if f2:
        variance += k**2 * f1**2 * f2 * (f1 - 1) ** 2 / (4 * (f2 + 1) ** 4)
    else:
        variance -= k**2 * f1**4 / (4 * (tally.richness + missing))
    return missing, max(variance, 0.0)


def _log_interval(
    met: int, missing: float, variance: float, form: ChaoForm, level: float, note: str
) -> RichnessEstimate:
    """Interval of Chao 1987: what was not met is taken as log-normal."""
    if missing == 0:
        return RichnessEstimate(
            met, 0.0, met, met, form, "one transect says nothing of genera not met"
        )
    z = float(ndtri((1 + level) / 2))
    factor = math.exp(z * math.sqrt(math.log1p(variance / missing**2)))
    low, high = met + missing / factor, met + missing * factor
    return RichnessEstimate(met + missing, math.sqrt(variance), low, high, form, note)


def _all_met(tally: Tally, form: ChaoForm, level: float) -> RichnessEstimate:
    """No sign of a genus not met: the spread of what a like sample would meet."""
    i = tally.met.astype(np.float64)
    missed = np.exp(-i)
    drawn = float((i * missed).sum()) ** 2 / tally.n
    variance = max(float((missed - missed**2).sum()) - drawn, 0.0)
    met = 1 - float(missed.mean())
    middle, half = tally.richness / met, float(ndtri((1 + level) / 2)) * math.sqrt(variance) / met
    low = max(float(tally.richness), middle - half)
    note = "at most one genus was met once: nothing says that others are there"
    return RichnessEstimate(tally.richness, math.sqrt(variance), low, middle + half, form, note)
