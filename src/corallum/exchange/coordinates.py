"""How exactly positions are told: as they are kept, rounded to a step, or not at all.

Rare and collected corals are put at risk by exact positions; whoever hands data over decides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from corallum.errors import Fault, InputError

__all__ = ["EXACT", "WITHHELD", "CoordinateRule", "parse_coordinate_rule"]

_STEPS = {"1": 0, "0.1": 1, "0.01": 2, "0.001": 3}
# A degree at the equator of WGS84, rounded up; nowhere is one of longitude longer.
_DEGREE_M = 111_320.0


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
        """Return how far rounding moves a position at most, in metres; None where it doesn't."""
        if not self.told or self.decimals is None:
            return None
        half = 0.5 * 10.0**-self.decimals * _DEGREE_M
        return math.ceil(math.hypot(half, half * math.cos(math.radians(latitude))))


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
