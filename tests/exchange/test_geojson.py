"""GeoJSON against RFC 7946, by section, and against a reader that is not ours."""

from __future__ import annotations

import json
from typing import Any

import geojson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.exchange.geojson import Place, bounding_box, geojson_text

_points = st.tuples(st.floats(-90, 90), st.floats(-180, 180))
_values = st.one_of(st.text(max_size=20), st.integers(-1000, 1000), st.none(), st.booleans())
_properties = st.dictionaries(st.text(max_size=8), _values, max_size=3)


@st.composite
def _places(draw: st.DrawFn) -> list[Place]:
    """Draw places: none, one or several points, or a line."""
    found = []
    for number in range(draw(st.integers(0, 5))):
        line = draw(st.booleans())
        points = draw(st.lists(_points, min_size=2 if line else 0, max_size=2 if line else 4))
        found.append(Place(f"place {number}", tuple(points), draw(_properties), line))
    return found


def read(*places: Place) -> dict[str, Any]:
    """Write places and read them as JSON."""
    found: dict[str, Any] = json.loads(geojson_text(places))
    return found


def positions(value: Any) -> list[list[float]]:  # noqa: ANN401  as deep as JSON is
    """Return all positions of a geometry."""
    if value and isinstance(value[0], float | int):
        return [value]
    return [one for part in value for one in positions(part)]


@given(_places())
def test_another_reader_takes_every_feature(places: list[Place]) -> None:
    """The geojson library reads the collection, and every feature of it is valid."""
    found = geojson.loads(geojson_text(places))

    assert found.is_valid
    assert len(found.features) == len(places)
    assert all(one.is_valid for one in found.features)
    assert [one.properties for one in found.features] == [dict(one.properties) for one in places]


@given(_places())
def test_members_are_those_of_the_standard_alone(places: list[Place]) -> None:
    """No crs (section 4), no foreign members (6.1), and a feature has its three (3.2)."""
    found = json.loads(geojson_text(places))

    assert set(found) <= {"type", "bbox", "features"}
    for feature in found["features"]:
        assert set(feature) == {"type", "id", "geometry", "properties"}
        geometry = feature["geometry"]
        assert geometry is None or set(geometry) == {"type", "coordinates"}


@given(_places())
def test_every_position_lies_on_the_earth_and_in_the_box(places: list[Place]) -> None:
    """Longitude is first (3.1.1), both are degrees (4), and bbox holds them all (5, 5.2)."""
    found = json.loads(geojson_text(places))
    shapes = [one["geometry"]["coordinates"] for one in found["features"] if one["geometry"]]
    everywhere = [one for shape in shapes for one in positions(shape)]

    assert ("bbox" in found) == bool(everywhere)
    for longitude, latitude in everywhere:
        west, south, east, north = found["bbox"]
        assert abs(longitude) <= 180
        assert abs(latitude) <= 90
        over = west > east
        inside = longitude >= west or longitude <= east if over else west <= longitude <= east
        # The cut of a line at the antimeridian lies on the edge of the map.
        assert inside or abs(longitude) == 180
        assert south <= latitude <= north


def test_longitude_is_written_before_latitude() -> None:
    """Section 3.1.1: the first element is easting."""
    (feature,) = read(Place("a", ((-18.5, 146.25),), {}))["features"]

    assert feature["geometry"] == {"type": "Point", "coordinates": [146.25, -18.5]}


def test_what_has_no_position_has_no_geometry() -> None:
    """Section 3.2: an unlocated feature has a geometry of null."""
    found = read(Place("a", (), {"name": "unknown"}))

    assert found["features"][0]["geometry"] is None
    assert "bbox" not in found


def test_a_line_over_the_antimeridian_is_cut() -> None:
    """Section 3.1.9: such a line is two parts that meet at 180 degrees, halfway here."""
    (feature,) = read(Place("a", ((10.0, 179.0), (12.0, -179.0)), {}, line=True))["features"]

    assert feature["geometry"] == {
        "type": "MultiLineString",
        "coordinates": [[[179.0, 10.0], [180.0, 11.0]], [[-180.0, 11.0], [-179.0, 12.0]]],
    }


def test_a_line_over_the_antimeridian_westwards_is_cut() -> None:
    """Section 3.1.9 in the other direction."""
    (feature,) = read(Place("a", ((12.0, -179.0), (10.0, 178.0)), {}, line=True))["features"]
    first, second = feature["geometry"]["coordinates"]

    assert first[0] == [-179.0, 12.0]
    assert first[1] == pytest.approx([-180.0, 12 - 2 / 3])
    assert second[0] == pytest.approx([180.0, 12 - 2 / 3])
    assert second[1] == [178.0, 10.0]


def test_a_line_is_a_line() -> None:
    """Section 3.1.4: two positions or more."""
    (feature,) = read(Place("a", ((10.0, 20.0), (10.5, 20.5)), {}, line=True))["features"]

    assert feature["geometry"]["type"] == "LineString"
    assert feature["geometry"]["coordinates"] == [[20.0, 10.0], [20.5, 10.5]]


def test_the_box_goes_west_south_east_north() -> None:
    """Section 5; over the antimeridian the first longitude is the greater one (5.2).

    The archipelago is that of the example in section 5.2.
    """
    assert bounding_box([(1.0, 5.0), (-2.0, 3.0)]) == [3.0, -2.0, 5.0, 1.0]
    assert bounding_box([(-20.0, 177.0), (-16.0, -178.0)]) == [177.0, -20.0, -178.0, -16.0]
    assert bounding_box([]) is None
