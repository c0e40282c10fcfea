"""What a survey's variance is made of, and how many transects a wanted precision takes.

Four parts, each made smaller by something else: the reef between transects, points within
them, observers who differ, and names that only second readings put right. More transects
make the last two no smaller; where they alone are too large, no number of transects will
do, and that is refused with what would help.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from corallum.errors import Fault
from corallum.estimate.refusals import fault, refuse

__all__ = ["Effort", "Spread", "VarianceParts", "split_variance", "transects_for"]


@dataclass(frozen=True, slots=True)
class Spread:
    """Variances from a pilot, all in the squared unit of the figure.

    Parameters
    ----------
    transects : float
        Between transects of a stratum, beyond what points within them add.
    points : float
        Of one point within a transect: p (1 - p), or more where points cluster.
    observers : float
        Between observers who read the same thing, in what they make of the figure.
    identification : float
        Of one second reading: n times the variance that correction adds with n readings.
    """

    transects: float
    points: float = 0.0
    observers: float = 0.0
    identification: float = 0.0


@dataclass(frozen=True, slots=True)
class Effort:
    """What is spent: numbers of transects, points on each, observers and second readings.

    Parameters
    ----------
    transects : float
        Transects of the survey.
    points : float
        Points on each transect.
    observers : float
        Observers who share the transects evenly.
    second_readings : float
        Records read a second time.
    """

    transects: float = 1.0
    points: float = 1.0
    observers: float = 1.0
    second_readings: float = 1.0


@dataclass(frozen=True, slots=True)
class VarianceParts:
    """Variance of a survey's figure in its parts.

    Parameters
    ----------
    transects, points, observers, identification : float
        Each already divided by its effort.
    """

    transects: float
    points: float
    observers: float
    identification: float

    @property
    def total(self) -> float:
        """All parts together."""
        return self.transects + self.points + self.observers + self.identification

    @property
    def se(self) -> float:
        """Standard error of the figure."""
        return math.sqrt(self.total)


def split_variance(spread: Spread, effort: Effort) -> VarianceParts:
    """Return the variance of a figure in its parts.

    Parameters
    ----------
    spread : Spread
        Variances from a pilot.
    effort : Effort
        What is spent.

    Returns
    -------
    VarianceParts
        Parts of s_t^2 / n + s_p^2 / (n m) + s_o^2 / o + s_i^2 / r.

    Raises
    ------
    InputError
        For a negative variance or an effort that is not above 0.

    Notes
    -----
    Two-stage sampling (Cochran 1977, section 10.3) with observers and identification as
    further independent parts: common practice, no source for the last two together.
    """
    _check(spread, effort)
    return VarianceParts(
        spread.transects / effort.transects,
        spread.points / (effort.transects * effort.points),
        spread.observers / effort.observers,
        spread.identification / effort.second_readings,
    )


def transects_for(se: float, spread: Spread, effort: Effort) -> float:
    """Return how many transects bring the standard error down to what is wanted.

    Parameters
    ----------
    se : float
        Wanted standard error, above 0.
    spread : Spread
        Variances from a pilot.
    effort : Effort
        Points, observers and second readings as planned; its transects are not used.

    Returns
    -------
    float
        Not rounded.

    Raises
    ------
    InputError
        Where observers and identification alone exceed the wanted variance, with how many
        observers or second readings would just do.

    Examples
    --------
    >>> spread = Spread(transects=0.01, points=0.2, observers=0.0002, identification=0.02)
    >>> round(transects_for(0.025, spread, Effort(points=200, observers=2, second_readings=100)), 1)
    33.8
    """
    if not se > 0:
        refuse([fault("wanted standard error", "above 0", se, "Give one.")])
    _check(spread, effort)
    fixed = spread.observers / effort.observers + spread.identification / effort.second_readings
    left = se**2 - fixed
    if left <= 0:
        refuse([_out_of_reach(se, spread, effort)])
    return (spread.transects + spread.points / effort.points) / left


def _out_of_reach(se: float, spread: Spread, effort: Effort) -> Fault:
    """Say what observers and names alone come to, and what would help."""
    observers = spread.observers / effort.observers
    names = spread.identification / effort.second_readings
    remedies = []
    if observers < se**2:
        readings = spread.identification / (se**2 - observers)
        remedies.append(f"more than {readings:.0f} second readings")
    if names < se**2:
        people = spread.observers / (se**2 - names)
        remedies.append(f"more than {people:.0f} observers")
    remedy = f"Plan {' or '.join(remedies)}" if remedies else "Plan more of both"
    least = math.sqrt(observers + names)
    expected = f"above {least:.3g}, which observers and names alone make, whatever the transects"
    advice = f"{remedy}, or train the observers together."
    return fault("wanted standard error", expected, se, advice)


def _check(spread: Spread, effort: Effort) -> None:
    """Refuse variances below 0 and efforts of nothing."""
    faults = [
        fault(f"variance: {name}", "0 or more", getattr(spread, name), "Take it from a pilot.")
        for name in ("transects", "points", "observers", "identification")
        if not getattr(spread, name) >= 0
    ]
    faults += [
        fault(f"effort: {name}", "above 0", getattr(effort, name), "Plan at least one.")
        for name in ("transects", "points", "observers", "second_readings")
        if not getattr(effort, name) > 0
    ]
    refuse(faults)
