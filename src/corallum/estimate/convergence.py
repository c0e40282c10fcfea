"""Whether chains of draws agree, and how many independent draws they are worth.

Refuses nothing by itself: `require_convergence` does, with the figures that say why.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.fft import irfft, rfft
from scipy.special import ndtri
from scipy.stats import rankdata

from corallum.errors import CorallumError
from corallum.estimate.estimate import Floats

__all__ = [
    "Diagnostics",
    "Limits",
    "NotConvergedError",
    "diagnose",
    "require_convergence",
]

_FEWEST = 8


@dataclass(frozen=True, slots=True)
class Limits:
    """What counts as converged.

    The defaults lie between those of Gelman et al. 2013, section 11.5 (1.1, and ten draws a
    chain) and of Vehtari et al. 2021 (1.01, and a hundred a chain, 400 for four): with 100
    draws the end of a 95 % interval is known to a quarter of a standard error.

    Parameters
    ----------
    ratio : float
        Largest R-hat.
    size : float
        Smallest effective number of draws, of all chains together.
    """

    ratio: float = 1.05
    size: float = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class Diagnostics:
    """Of each of Q quantities.

    Parameters
    ----------
    ratio : ndarray, shape (Q,)
        Rank-normalised split R-hat, 1 where chains agree.
    size : ndarray, shape (Q,)
        Effective number of draws in the middle of the distribution.
    limits : Limits
        What counts as converged.
    """

    ratio: Floats
    size: Floats
    limits: Limits = Limits()

    @property
    def converged(self) -> Floats:
        """Which quantities may be reported, as booleans of shape (Q,)."""
        return np.asarray((self.ratio <= self.limits.ratio) & (self.size >= self.limits.size))


class NotConvergedError(CorallumError):
    """Chains have not come together: sample longer, or have more records read again.

    Carries the `diagnostics` and the `names` of what has not converged.
    """

    def __init__(self, names: tuple[str, ...], diagnostics: Diagnostics) -> None:
        self.names, self.diagnostics = names, diagnostics
        shown = ", ".join(names[:5]) + (", ..." if len(names) > 5 else "")
        limits = diagnostics.limits
        super().__init__(
            f"not converged for {shown}: expected R-hat of at most {limits.ratio:g} and an "
            f"effective size of at least {limits.size:g}, found {diagnostics.ratio.max():.3f} and "
            f"{diagnostics.size.min():.0f}. Sample longer, or have more records read again."
        )


def diagnose(draws: Floats, limits: Limits | None = None) -> Diagnostics:
    """Return R-hat and effective size of each quantity.

    Parameters
    ----------
    draws : ndarray, shape (M, N, Q)
        N draws of M chains, warm-up left out; N of 8 or more.
    limits : Limits, optional
        What counts as converged.

    Returns
    -------
    Diagnostics
        A quantity that never moved has a ratio of 1 and an effective size of M N.

    Notes
    -----
    Chains are split in halves. Draws are replaced by normal scores of their ranks,
    z = Phi^-1((r - 3/8) / (S + 1/4)). R-hat is the larger of that of the scores and that of
    the scores of |x - median|. The effective size is that of the scores, autocorrelations
    summed over Geyer's initial monotone sequence.

    References
    ----------
    Vehtari A., Gelman A., Simpson D., Carpenter B., Burkner P.-C. 2021. Bayesian Analysis
    16:667-718, equations 1 to 14; Geyer C.J. 1992. Statistical Science 7:473-483.
    """
    if draws.shape[1] < _FEWEST:
        raise ValueError(f"expected {_FEWEST} draws a chain or more, found {draws.shape[1]}")
    halves = _split(draws)
    scores = _scores(halves)
    folded = _scores(np.abs(halves - np.median(halves, axis=(0, 1))))
    ratio = np.maximum(_ratio(scores), _ratio(folded))
    return Diagnostics(ratio, _effective(scores), limits or Limits())


def require_convergence(found: Diagnostics, names: tuple[str, ...]) -> None:
    """Raise NotConvergedError where any quantity has not converged.

    Parameters
    ----------
    found : Diagnostics
        Of the quantities that are to be reported.
    names : tuple of str
        One for each.

    Raises
    ------
    NotConvergedError
        Naming them.
    """
    bad = tuple(n for n, good in zip(names, found.converged, strict=True) if not good)
    if bad:
        raise NotConvergedError(bad, found)


def _split(draws: Floats) -> Floats:
    """Each chain as two, shape (2 M, N // 2, Q)."""
    half = draws.shape[1] // 2
    return np.concatenate([draws[:, :half], draws[:, -half:]])


def _scores(draws: Floats) -> Floats:
    """Normal scores of the ranks over all chains (equation 14)."""
    m, n, q = draws.shape
    ranks = rankdata(draws.reshape(m * n, q), axis=0)
    return np.asarray(ndtri((ranks - 0.375) / (m * n + 0.25)).reshape(m, n, q))


def _ratio(draws: Floats) -> Floats:
    """Plain R-hat (equations 1 to 4)."""
    n = draws.shape[1]
    within = draws.var(axis=1, ddof=1).mean(axis=0)
    between = draws.mean(axis=1).var(axis=0, ddof=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        found = np.sqrt((n - 1) / n + between / within)
    still = (within == 0) & (between == 0)
    return np.asarray(np.where(still, 1.0, found))


def _effective(draws: Floats) -> Floats:
    """Effective size (equations 10 to 13)."""
    m, n, _ = draws.shape
    centred = draws - draws.mean(axis=1, keepdims=True)
    spectrum = rfft(centred, 2 * n, axis=1)
    lagged = irfft(np.abs(spectrum) ** 2, 2 * n, axis=1)[:, :n] / n
    within = (lagged[:, 0] * n / (n - 1)).mean(axis=0)
    whole = within * (n - 1) / n + draws.mean(axis=1).var(axis=0, ddof=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        rho = 1 - (within - lagged.mean(axis=0) * n / (n - 1)) / whole
    rho[0] = 1.0
    pairs = rho[: n // 2 * 2].reshape(n // 2, 2, -1).sum(axis=1)
    ended = np.cumsum(~(pairs > 0), axis=0) > 0
    pairs = np.minimum.accumulate(np.where(ended, 0.0, pairs), axis=0)
    time = np.maximum(2 * pairs.sum(axis=0) - 1, 1 / np.log10(m * n))
    return np.asarray(np.where(whole > 0, m * n / time, float(m * n)))
