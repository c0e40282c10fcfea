"""How exactly positions are told: as they are kept, rounded to a step, or not at all.

Rare and collected corals are put at risk by exact positions; whoever hands data over decides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from corallum.errors import Fault, InputError

__all__ = ["EXACT", "WITHHELD", "CoordinateRule", "parse_coordinate_rule"]

_STEPS = {"1": 0, "0.1": 1, "0.01": 2, "0.001": 3}
# Half the equator's diameter of WGS84 in metres, and the square of its eccentricity.
_RADIUS_M, _E2 = 6_378_137.0, 0.006_694_379_990_14


@dataclass(frozen=True, slots=True)
class CoordinateRule:
    """What becomes of a position.

    Parameters
    ----------
    decimals : int or None
        Of degrees that are kept; None keeps all.
    told : bool
        Whether positions are told at all.
    """

    decimals: int | None = None
    told: bool = True

    @property
    def exact(self) -> bool:
        """Whether positions are told as they are kept."""
        return self.told and self.decimals is None

    def at(self, latitude: float | None, longitude: float | None) -> tuple[float, float] | None:
        """Return latitude and longitude as they are told, or None."""
        if not self.told or latitude is None or longitude is None:
            return None
        if self.decimals is None:
            return latitude, longitude
        return round(latitude, self.decimals) + 0.0, round(longitude, self.decimals) + 0.0

    @property
    def generalised(self) -> str:
        """What was done to positions, in words; empty where nothing was."""
        if not self.told or self.decimals is None:
            return ""
        return f"coordinates rounded to {10.0**-self.decimals:g} degree"

    @property
    def withheld(self) -> str:
        """What is kept back, in words; empty where nothing is."""
        return "" if self.told else "coordinates withheld"

    def uncertainty_m(self, latitude: float) -> int | None:
        """Return how far rounding moves a position at most, in metres; None where it doesn't.

        Give the latitude as it is told: what is said of the exact one would tell it.
        """
        if not self.told or self.decimals is None:
            return None
        half = 0.5 * 10.0**-self.decimals
        # Of all positions that come to this latitude, degrees of longitude are longest at the
        # one next to the equator, degrees of latitude at the one next to a pole.
        inner, outer = max(0.0, abs(latitude) - half), min(90.0, abs(latitude) + half)
        return math.ceil(math.hypot(half * _degree_north_m(outer), half * _degree_east_m(inner)))


def _degree_north_m(latitude: float) -> float:
    """Return the length of a degree along a meridian of WGS84, in metres."""
    flat = 1 - _E2 * math.sin(math.radians(latitude)) ** 2
    return math.radians(_RADIUS_M) * (1 - _E2) / (flat * math.sqrt(flat))


def _degree_east_m(latitude: float) -> float:
    """Return the length of a degree along a parallel of WGS84, in metres."""
    flat = 1 - _E2 * math.sin(math.radians(latitude)) ** 2
    return math.radians(_RADIUS_M) * math.cos(math.radians(latitude)) / math.sqrt(flat)


EXACT = CoordinateRule()
WITHHELD = CoordinateRule(told=False)


def parse_coordinate_rule(text: str, where: str = "--coordinates") -> CoordinateRule:
    """Read exact, withheld, or a step in degrees: 1, 0.1, 0.01 or 0.001.

    Raises
    ------
    InputError
        Where it is none of these.

    Examples
    --------
    >>> parse_coordinate_rule("0.01").at(0.123, 150.149)
    (0.12, 150.15)
    """
    word = text.strip().casefold()
    if word in {"exact", "withheld"}:
        return EXACT if word == "exact" else WITHHELD
    if word not in _STEPS:
        expected = f"exact, withheld or a step in degrees ({', '.join(_STEPS)})"
        raise InputError([Fault(where, "", expected, repr(text)[:40], "Choose one.")])
    return CoordinateRule(_STEPS[word])
