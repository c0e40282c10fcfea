r"""Diversity of one sample: entropy, Simpson's indices and Hill numbers.

A Hill number is the count of equally common genera that would be as diverse. Order 0
counts all genera alike, order 1 weighs them by their share, order 2 minds the common
ones. Observed figures grow with the sample: compare samples by `rarefaction` at equal
coverage, or by the asymptotic figures here, which say what a sample without end would
show. Cover may go into the observed figures but not into the asymptotic ones.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import digamma

from corallum.estimate.estimate import Floats
from corallum.estimate.refusals import fault, numbers, refuse
from corallum.estimate.richness import ChaoForm, estimate_chao
from corallum.estimate.tally import Tally, tally_colonies

__all__ = [
    "Diversity",
    "HillNumbers",
    "asymptotic_hill",
    "hill_number",
    "inverse_simpson",
    "observed_hill",
    "shannon_entropy",
    "simpson_index",
    "summarise_diversity",
]

# Terms below this share of the sum are not added.
_SMALL = 1e-15
_AT_ONCE = 100_000


@dataclass(frozen=True, slots=True)
class HillNumbers:
    """Effective numbers of genera.

    Parameters
    ----------
    richness, shannon, simpson : float
        Orders 0, 1 and 2. An asymptotic order 2 is infinite where no genus was met twice.
    """

    richness: float
    shannon: float
    simpson: float


@dataclass(frozen=True, slots=True)
class Diversity:
    """Diversity of one sample of colonies.

    Parameters
    ----------
    n : int
        Colonies.
    entropy : float
        Shannon's H, natural logarithm.
    simpson : float
        1 - sum(p^2).
    observed, asymptotic : HillNumbers
        In the sample, and estimated for a sample without end.
    """

    n: int
    entropy: float
    simpson: float
    observed: HillNumbers
    asymptotic: HillNumbers


def shannon_entropy(amounts: ArrayLike) -> float:
    """Return Shannon's entropy H = -sum(p log p).

    Parameters
    ----------
    amounts : array_like, shape (G,)
        Colonies, points or cover by genus, 0 or more.

    Returns
    -------
    float
        In nats: natural logarithm.

    Raises
    ------
    InputError
        For amounts that are negative, not finite or all 0.

    References
    ----------
    Shannon C.E. 1948. Bell System Technical Journal 27:379-423.

    Examples
    --------
    >>> round(shannon_entropy([1, 4, 7, 4, 2]), 4)
    1.4405
    """
    share = _shares(amounts)
    return float(-(share * np.log(share)).sum())


def simpson_index(amounts: ArrayLike) -> float:
    """Return 1 - sum(p^2): the chance that two draws with replacement differ.

    Parameters
    ----------
    amounts : array_like, shape (G,)
        Colonies, points or cover by genus, 0 or more.

    Returns
    -------
    float
        0 with one genus; below 1.

    Raises
    ------
    InputError
        For amounts that are negative, not finite or all 0.

    References
    ----------
    Simpson E.H. 1949. Nature 163:688.
    """
    return float(1 - (_shares(amounts) ** 2).sum())


def inverse_simpson(amounts: ArrayLike) -> float:
    """Return 1 / sum(p^2), the Hill number of order 2.

    Parameters
    ----------
    amounts : array_like, shape (G,)
        Colonies, points or cover by genus, 0 or more.

    Returns
    -------
    float
        1 with one genus, at most the number of genera.

    Raises
    ------
    InputError
        For amounts that are negative, not finite or all 0.
    """
    return hill_number(amounts, 2)


def hill_number(amounts: ArrayLike, order: float) -> float:
    """Return the observed Hill number of one order.

    Parameters
    ----------
    amounts : array_like, shape (G,)
        Colonies, points or cover by genus, 0 or more.
    order : float
        0 or more.

    Returns
    -------
    float
        Effective number of genera: (sum p^q)^(1 / (1 - q)); exp(H) at order 1.

    Raises
    ------
    InputError
        For amounts that are negative, not finite or all 0, or an order below 0.

    References
    ----------
    Hill M.O. 1973. Ecology 54:427-432. Jost L. 2006. Oikos 113:363-375.
    """
    if not order >= 0:
        refuse([fault("order", "0 or more", order, "Take 0, 1 or 2.")])
    share = _shares(amounts)
    if order == 0:
        return float(len(share))
    if order == 1:
        return math.exp(float(-(share * np.log(share)).sum()))
    # Scaled by the largest, so that high orders do not underflow.
    largest = float(share.max())
    if math.isinf(order):
        return 1 / largest
    power = float(((share / largest) ** order).sum())
    return math.exp((math.log(power) + order * math.log(largest)) / (1 - order))


def observed_hill(amounts: ArrayLike) -> HillNumbers:
    """Return the observed Hill numbers of orders 0, 1 and 2.

    Parameters
    ----------
    amounts : array_like, shape (G,)
        Colonies, points or cover by genus, 0 or more.

    Returns
    -------
    HillNumbers
        Of this sample; they grow with its size.

    Raises
    ------
    InputError
        For amounts that are negative, not finite or all 0.
    """
    return HillNumbers(*(hill_number(amounts, order) for order in (0, 1, 2)))


def asymptotic_hill(tally: Tally) -> HillNumbers:
    """Estimate the Hill numbers of a sample without end.

    Parameters
    ----------
    tally : Tally
        Of colonies.

    Returns
    -------
    HillNumbers
        Order 0 is Chao1 with (n - 1)/n, a lower bound. Order 1 is nearly free of bias, order
        2 is so; it is infinite where each genus was met once: too small a sample to say.

    Raises
    ------
    InputError
        For a tally of transects.

    Notes
    -----
    H = sum (x/n) [psi(n) - psi(x)] + (f1/n) (1 - A)^(1 - n) {-log A - sum_{r<n} (1 - A)^r / r}
    with A = 2 f2 / ((n - 1) f1 + 2 f2); where f2 = 0, A = 2 / ((n - 1)(f1 - 1) + 2). Where n A
    is above 1 the second term is summed as (f1/n) sum_{k>=1} (1 - A)^k / (n - 1 + k), which is
    the same and loses nothing by subtraction. Order 2: 1 / sum x (x - 1) / (n (n - 1)).

    References
    ----------
    Chao A., Wang Y.T., Jost L. 2013. Methods in Ecology and Evolution 4:1091-1100.
    Chao A., Jost L. 2015. Methods in Ecology and Evolution 6:873-882.
    """
    if tally.of_transects:
        remedy = "For transects take rarefaction and Chao2."
        refuse([fault("tally", "colonies", f"{tally.n} transects", remedy)])
    x, n = tally.met.astype(np.float64), tally.n
    entropy = float((x / n * (digamma(n) - digamma(x))).sum()) + _unseen_entropy(tally)
    pairs = float((x * (x - 1)).sum())
    simpson = n * (n - 1) / pairs if pairs else math.inf
    richness = float(estimate_chao(tally, ChaoForm.SAMPLE_SIZE).value)
    return HillNumbers(richness, math.exp(entropy), 1.0 if n == 1 else simpson)


def summarise_diversity(counts: ArrayLike) -> Diversity:
    """Reckon the diversity of one sample of colonies.

    Parameters
    ----------
    counts : array_like, shape (G,)
        Colonies of each genus, whole numbers.

    Returns
    -------
    Diversity
        Observed and asymptotic side by side.

    Raises
    ------
    InputError
        For counts that are negative, broken or all 0.
    """
    tally = tally_colonies(counts)
    return Diversity(
        tally.n,
        shannon_entropy(tally.met),
        simpson_index(tally.met),
        observed_hill(tally.met),
        asymptotic_hill(tally),
    )


def _unseen_entropy(tally: Tally) -> float:
    """Share of the entropy that genera not met have, equation of Chao, Wang and Jost."""
    f1, f2, n = tally.once, tally.twice, tally.n
    if not f1 or n == 1:
        return 0.0
    chance = 2 * f2 / ((n - 1) * f1 + 2 * f2) if f2 else 2 / ((n - 1) * (f1 - 1) + 2)
    return f1 / n * _tail(chance, n)


def _tail(chance: float, n: int) -> float:
    """Sum (1 - A)^k / (n - 1 + k) over k from 1, A the chance."""
    if n * chance < 1:
        r = np.arange(1, n, dtype=np.float64)
        known = float(((1 - chance) ** r / r).sum())
        return (1 - chance) ** (1 - n) * (-math.log(chance) - known)
    total, first = 0.0, 1
    while chance < 1:
        k = np.arange(first, first + _AT_ONCE, dtype=np.float64)
        total += float(((1 - chance) ** k / (n - 1 + k)).sum())
        first += _AT_ONCE
        # What is left is at most a geometric series.
        if (1 - chance) ** first <= _SMALL * total * chance * (n - 1 + first):
            break
    return total


def _shares(amounts: ArrayLike) -> Floats:
    """Shares of what is above 0."""
    found = numbers("amounts", amounts).ravel()
    met = found[found > 0]
    if not len(met):
        refuse([fault("amounts", "at least one above 0", "none", "There is no coral to reckon.")])
    return np.asarray(met / met.sum())
