"""One coefficient of agreement with its interval, or the reason why there is none."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import ndtri, stdtrit

__all__ = ["Coefficient", "no_coefficient", "with_interval"]

# An interval of no width comes of no disagreement seen, which few items may well show.
_NO_WIDTH = "no spread between items was seen, so the interval says nothing of other items"


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A coefficient of agreement.

    Attributes
    ----------
    value, se, low, high : float or None
        Estimate, standard error over items, and ends of the 95 % interval; None where they
        can't be reckoned.
    reason : str or None
        Why there is no value.
    note : str or None
        What to mind about the interval.
    """

    value: float | None
    low: float | None
    high: float | None
    se: float | None = None
    reason: str | None = None
    note: str | None = None


def no_coefficient(reason: str) -> Coefficient:
    """Return a coefficient that can't be reckoned, with the reason."""
    return Coefficient(None, None, None, reason=reason)


def with_interval(value: float, variance: float, freedom: float = math.inf) -> Coefficient:
    """Return a coefficient with a symmetric 95 % interval, cut at -1 and 1.

    Parameters
    ----------
    value, variance : float
        Estimate and its sampling variance.
    freedom : float
        Degrees of freedom of Student's t; infinite is the normal.
    """
    if not math.isfinite(variance) or freedom < 1:
        return Coefficient(value, None, None, note="one item tells nothing of the spread")
    se = math.sqrt(max(variance, 0.0))
    reach = float(ndtri(0.975)) if math.isinf(freedom) else float(stdtrit(freedom, 0.975))
    note = _NO_WIDTH if se < 1e-12 else None
    # With readings missing a coefficient of very few items may itself be below -1.
    low, high = max(min(-1.0, value), value - reach * se), min(1.0, value + reach * se)
    return Coefficient(value, low, high, se, note=note)
