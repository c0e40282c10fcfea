"""Places as GeoJSON: points and lines on the earth, with what is known of each.

It holds to RFC 7946: degrees on WGS84, longitude before latitude, no other system, no
members of our own beside those of the standard. A stratum is a list of sites, so it is
drawn as their points: no outline is made up for it.

References
----------
Butler H. et al. 2016. The GeoJSON Format. RFC 7946, Internet Engineering Task Force.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

__all__ = ["Place", "Value", "bounding_box", "geojson_text"]

Degrees = tuple[float, float]  # latitude, longitude, as everywhere else here
Value = str | int | float | bool | None | Sequence[str]


@dataclass(frozen=True, slots=True)
class Place:
    """Something with a place, or without a known one.

    Parameters
    ----------
    id : str
        No two have the same.
    points : tuple of (float, float)
        Latitude and longitude of each point; none where the place isn't known or told.
    line : bool
        Whether they are the ends of a line.
    properties : mapping
        What is known of it.
    """

    id: str
    points: tuple[Degrees, ...]
    properties: Mapping[str, Value]
    line: bool = False


def geojson_text(places: Sequence[Place]) -> str:
    """Write places as one FeatureCollection, a feature a line.

    Parameters
    ----------
    places : sequence of Place
        In the order to write; longitudes from -180 to 180.
    """
    features = ",\n".join(_text(_feature(place)) for place in places)
    box = bounding_box([point for place in places for point in place.points])
    head = f'"bbox": {_text(box)},\n' if box is not None else ""
    body = f"\n{features}\n" if features else ""
    return f'{{"type": "FeatureCollection",\n{head}"features": [{body}]}}\n'


def _text(value: object) -> str:
    """Write a value of JSON."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _feature(place: Place) -> dict[str, object]:
    """Return a place as a feature; one without a position has no geometry (section 3.2)."""
    return {
        "type": "Feature",
        "id": place.id,
        "geometry": _line(place.points) if place.line else _points(place.points),
        "properties": dict(place.properties),
    }


def _position(point: Degrees) -> list[float]:
    """Return longitude and latitude, in this order (section 3.1.1)."""
    return [point[1], point[0]]


def _points(points: Sequence[Degrees]) -> dict[str, object] | None:
    """Return one point, or several as one geometry."""
    if not points:
        return None
    if len(points) == 1:
        return {"type": "Point", "coordinates": _position(points[0])}
    return {"type": "MultiPoint", "coordinates": [_position(point) for point in points]}


def _line(points: Sequence[Degrees]) -> dict[str, object]:
    """Return a line; one over the antimeridian is cut in two (section 3.1.9)."""
    (south, west), (north, east) = points
    if abs(east - west) <= 180:
        return {"type": "LineString", "coordinates": [_position(point) for point in points]}
    # Longitudes of the two sides, both counted eastwards from the antimeridian's far side.
    near, far = (west, east + 360) if west > 0 else (west, east - 360)
    edge = 180.0 if west > 0 else -180.0
    middle = south + (north - south) * (edge - near) / (far - near)
    parts = [[[west, south], [edge, middle]], [[-edge, middle], [east, north]]]
    return {"type": "MultiLineString", "coordinates": parts}


def bounding_box(points: Sequence[Degrees]) -> list[float] | None:
    """Return west, south, east and north of points (section 5); None of none.

    Over the antimeridian, west is greater than east (section 5.2): the widest gap between
    longitudes is left outside.

    Examples
    --------
    >>> bounding_box([(1.0, 179.0), (2.0, -179.0)])
    [179.0, 1.0, -179.0, 2.0]
    """
    if not points:
        return None
    latitudes = [latitude for latitude, _ in points]
    around = sorted({longitude for _, longitude in points})
    gaps = [after - before for before, after in pairwise(around)]
    west, east = around[0], around[-1]
    if gaps and max(gaps) > 360 - (east - west):
        widest = gaps.index(max(gaps))
        west, east = around[widest + 1], around[widest]
    return [west, min(latitudes), east, max(latitudes)]
