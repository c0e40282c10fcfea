"""Places on the earth as a small map needs them: distances, a projection, round degrees.

The earth is taken as a sphere of its mean radius, which is right to .6 % of any distance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

__all__ = [
    "EARTH_M",
    "Projection",
    "degrees_text",
    "great_circle_m",
    "project",
    "round_degrees",
    "round_length",
]

# Mean radius R1 = (2 a + b) / 3 of the GRS 80 ellipsoid (Moritz 1980, Geodetic Reference
# System 1980, Bulletin géodésique 54).
EARTH_M = 6_371_008.8

_LEAST_M = 200.0  # a map shows no less than this across
_ALONE_M = 2_000.0  # and this around a single place
# Steps of the graticule in seconds of arc: whole seconds, minutes and degrees.
_STEPS = (
    1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800,
    3600, 7200, 18000, 36000, 54000, 108000, 216000,
)  # fmt: skip


def great_circle_m(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Return the shortest way over the sphere between two (latitude, longitude), in metres.

    Notes
    -----
    The haversine formula, which keeps its digits for short ways (Sinnott 1984, Sky and
    Telescope 68: 159).
    """
    (lat_a, lon_a), (lat_b, lon_b) = (tuple(map(math.radians, p)) for p in (a, b))
    h = (
        math.sin((lat_b - lat_a) / 2) ** 2
        + math.cos(lat_a) * math.cos(lat_b) * math.sin((lon_b - lon_a) / 2) ** 2
    )
    return 2 * EARTH_M * math.asin(math.sqrt(min(1.0, h)))


@dataclass(frozen=True, slots=True)
class Projection:
    """An equirectangular map, true to scale along its middle latitude and all meridians.

    Parameters
    ----------
    latitude, longitude : float
        Of its middle, degrees.
    x, y : float
        Where its middle is drawn.
    scale : float
        Units of the viewBox to a degree of latitude.
    half : tuple of float
        Half its (width, height), units of the viewBox.
    """

    latitude: float
    longitude: float
    x: float
    y: float
    scale: float
    half: tuple[float, float]

    @property
    def across(self) -> float:
        """Units of the viewBox to a degree of longitude."""
        return self.scale * _cosine(self.latitude)

    def at(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Return where a place is drawn, (x, y), y downwards."""
        east = (longitude - self.longitude + 180.0) % 360.0 - 180.0
        return self.x + east * self.across, self.y - (latitude - self.latitude) * self.scale

    def length(self, metres: float) -> float:
        """Return how long a way eastwards from and to its middle latitude is drawn.

        The way is measured along the great circle between its ends.
        """
        half = math.sin(metres / (2 * EARTH_M)) / _cosine(self.latitude)
        return 2 * math.degrees(math.asin(min(1.0, half))) * self.across


def _cosine(latitude: float) -> float:
    """Return the cosine of a latitude, never so small that a map could not be drawn."""
    return max(0.01, math.cos(math.radians(latitude)))


def project(
    places: Sequence[tuple[float, float]], middle: tuple[float, float], half: tuple[float, float]
) -> Projection:
    """Fit places on a map.

    Parameters
    ----------
    places : sequence of (float, float)
        Latitude and longitude in degrees; at least one. They may lie to both sides of the
        180th meridian.
    middle : tuple of float
        Where the map's middle is drawn, (x, y).
    half : tuple of float
        Half the (width, height) that places may take.

    Returns
    -------
    Projection
        In which all places lie within ``half`` of the middle.
    """
    south, north = min(p[0] for p in places), max(p[0] for p in places)
    west, east = _ends([p[1] for p in places])
    latitude, longitude = (south + north) / 2, (west + east) / 2
    cosine = _cosine(latitude)
    degree_m = math.radians(EARTH_M)
    tall, broad = north - south, (east - west) * cosine
    least = (_ALONE_M if max(tall, broad) < 1e-9 else _LEAST_M) / degree_m
    if max(tall, broad) < least:
        tall = broad = least
    scale = min(2 * half[0] / max(broad, 1e-12), 2 * half[1] / max(tall, 1e-12))
    return Projection(latitude, longitude, *middle, scale, half)


def _ends(longitudes: Sequence[float]) -> tuple[float, float]:
    """Return west and east ends of longitudes, east of west: the widest gap is left out."""
    turned = sorted({longitude % 360.0 for longitude in longitudes})
    gaps = [b - a for a, b in pairwise(turned)]
    gaps.append(turned[0] + 360.0 - turned[-1])
    widest = max(range(len(gaps)), key=lambda k: gaps[k])
    west = turned[(widest + 1) % len(turned)]
    east = turned[widest]
    return west, east if east >= west else east + 360.0


def round_degrees(low: float, high: float, most: int) -> list[float]:
    """Return even degrees between two ends, in steps of whole seconds, minutes or degrees.

    Parameters
    ----------
    low, high : float
        Degrees.
    most : int
        The most of them, at least 1.

    Returns
    -------
    list of float
        Multiples of the finest step that gives no more than the most; it may be empty.
    """
    for step in _STEPS:
        first, last = math.ceil(low * 3600 / step), math.floor(high * 3600 / step)
        if last - first + 1 <= most:
            return [k * step / 3600 for k in range(first, last + 1)]
    return []


def degrees_text(degrees: float, sides: str) -> str:
    """Say degrees in degrees, minutes and seconds, as far as needed.

    Parameters
    ----------
    degrees : float
        Latitude or longitude.
    sides : str
        Letters for above and below 0, "NS" or "EW".

    Returns
    -------
    str
        Such as "170°W"; 0 and 180 degrees of longitude have no side.

    Examples
    --------
    >>> degrees_text(-18, "NS"), degrees_text(190, "EW")
    ('18°S', '170°W')
    """
    if sides == "EW":
        degrees = (degrees + 180.0) % 360.0 - 180.0
    seconds = round(abs(degrees) * 3600)
    whole, rest = divmod(seconds, 3600)
    minutes, seconds = divmod(rest, 60)
    text = f"{whole}°"
    if minutes or seconds:
        text += f"{minutes}′"
    if seconds:
        text += f"{seconds}″"
    if (whole, minutes, seconds) in ((0, 0, 0), (180, 0, 0)):
        return text
    return text + (sides[0] if degrees > 0 else sides[1])


def round_length(most_m: float) -> float:
    """Return the largest of 1, 2 or 5 times a power of ten metres up to a length."""
    power = 10.0 ** math.floor(math.log10(most_m))
    return max(part * power for part in (1.0, 2.0, 5.0) if part * power <= most_m * (1 + 1e-9))
