"""The map keeps the order of places and the ratio of distances, and its bar is true."""

from __future__ import annotations

import math
import re
from itertools import combinations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from plot_reading import number, of_class, points, read, text_at, texts

from corallum.draw.plots import NARROW, WIDE, Site, plot_sites
from corallum.draw.plots.earth import (
    degrees_text,
    great_circle_m,
    project,
    round_degrees,
    round_length,
)

both = pytest.mark.parametrize("width", [NARROW, WIDE])
Place = tuple[float, float]


def vector_m(a: Place, b: Place, radius_m: float = 6_371_008.8) -> float:
    """The way between two places by the angle between their vectors, another formula."""
    p, q = (
        (
            math.cos(math.radians(lat)) * math.cos(math.radians(lon)),
            math.cos(math.radians(lat)) * math.sin(math.radians(lon)),
            math.sin(math.radians(lat)),
        )
        for lat, lon in (a, b)
    )
    return radius_m * 2 * math.asin(min(1.0, math.dist(p, q) / 2))


def test_a_minute_of_latitude_is_a_nautical_mile() -> None:
    """A minute of latitude is 1852 m to .1 %: the nautical mile's definition, after this arc.

    International Hydrographic Conference, Monaco 1929, from memory.
    """
    assert great_circle_m((-18, 147), (-18 - 1 / 60, 147)) == pytest.approx(1852, rel=1e-3)


def test_a_quarter_of_a_meridian_is_ten_thousand_kilometres() -> None:
    """From equator to pole it is 10 001 966 m to .1 %: Moritz 1980, GRS 80, from memory."""
    assert great_circle_m((0, 30), (90, 30)) == pytest.approx(10_001_966, rel=1e-3)


PLACES = st.tuples(st.floats(-89, 89), st.floats(-180, 180))


@given(a=PLACES, b=PLACES)
def test_the_shortest_way_agrees_with_another_formula(a: Place, b: Place) -> None:
    """The haversine agrees with the chord between vectors, near and far."""
    # Of chords near the diameter the arc sine keeps few digits.
    assert great_circle_m(a, b) == pytest.approx(vector_m(a, b), rel=1e-6, abs=1.0)


NEAR = st.lists(
    st.tuples(st.floats(-0.2, 0.2), st.floats(-0.2, 0.2)), min_size=2, max_size=6, unique=True
)


@given(middle=st.tuples(st.floats(-35, 35), st.floats(-180, 180)), steps=NEAR)
@settings(deadline=None)
def test_distances_on_the_map_have_the_ratio_of_those_on_the_sea(
    middle: Place, steps: list[Place]
) -> None:
    """Within a survey's region all distances drawn have one scale, to 1 %.

    Across .2 degrees of latitude the cosine changes by .25 % at 35 degrees.
    """
    places = [(middle[0] + y, middle[1] + x) for y, x in steps]
    view = project(places, (0, 0), (150, 150))

    scales = []
    for a, b in combinations(places, 2):
        metres = vector_m(a, b)
        if metres > 500:
            scales.append(math.dist(view.at(*a), view.at(*b)) / metres)

    assume(scales)
    assert max(scales) <= 1.01 * min(scales)


@given(middle=st.tuples(st.floats(-35, 35), st.floats(-180, 180)), steps=NEAR)
@settings(deadline=None)
def test_north_is_up_and_east_is_right(middle: Place, steps: list[Place]) -> None:
    """The order from south to north and from west to east is that on the map, inside its frame."""
    places = [(middle[0] + y, middle[1] + x) for y, x in steps]
    view = project(places, (200, 200), (150, 120))

    at = [view.at(*place) for place in places]

    for ((y_a, x_a), a), ((y_b, x_b), b) in combinations(zip(steps, at, strict=True), 2):
        if abs(y_a - y_b) > 1e-6:
            assert (a[1] < b[1]) == (y_a > y_b)
        if abs(x_a - x_b) > 1e-6:
            assert (a[0] < b[0]) == (x_a < x_b)
    assert all(50 - 1e-6 <= x <= 350 + 1e-6 and 80 - 1e-6 <= y <= 320 + 1e-6 for x, y in at)


def sites_at(*places: Place) -> list[Site]:
    """Sites of equal value at places."""
    return [Site(f"Site {k}", *place, 1.0) for k, place in enumerate(places)]


def centres(svg: str) -> list[tuple[float, float]]:
    """Where the marks stand."""
    return [(number(e, "cx"), number(e, "cy")) for e in of_class(svg, "place") if e.tag == "circle"]


def latitude(text: str) -> float | None:
    """The latitude that a text says, or None where it says none."""
    found = re.fullmatch(r"(\d+)°(?:(\d+)′)?(?:(\d+)″)?([NS])", text)
    if not found:
        return None
    d, m, s = (float(part or 0) for part in found.groups()[:3])
    return (1 if found[4] == "N" else -1) * (d + m / 60 + s / 3600)


@both
@pytest.mark.parametrize(
    "places",
    [
        pytest.param([(-18.35, 147.1), (-18.4, 147.2)], id="kilometres"),
        pytest.param([(4.5, 73.2), (4.5004, 73.2008)], id="metres"),
        pytest.param([(-10.0, 140.0), (-24.0, 153.0)], id="a-whole-coast"),
        pytest.param([(-17.0, 179.8), (-16.9, -179.9)], id="the-180th-meridian"),
        pytest.param([(25.0, -80.1)], id="one-site"),
    ],
)
def test_the_scale_bar_is_as_long_as_it_says(places: list[Place], width: int) -> None:
    """Laid along the middle latitude, the bar spans the great-circle way that it says, to .5 %."""
    svg = plot_sites(sites_at(*places), width)
    bar = [e for e in of_class(svg, "frame") if number(e, "height") == 6]
    solid = [e for e in of_class(svg, "solid") if e.tag == "rect"]
    long = sum(number(e, "width") for e in bar + solid)
    (text,) = [t for t in texts(svg) if re.fullmatch(r"[\d.]+ k?m", t)]
    value, unit = text.split()

    # The units to a degree are read from the graticule, not from the code.
    latitudes = sorted(filter(None, map(latitude, texts(svg))))
    rungs = [number(e, "y1") for e in of_class(svg, "grid") if e.get("y1") == e.get("y2")]
    assert len(latitudes) == len(rungs) >= 2
    per_degree = (max(rungs) - min(rungs)) / (latitudes[-1] - latitudes[0])
    middle = (min(p[0] for p in places) + max(p[0] for p in places)) / 2
    east = long / (per_degree * math.cos(math.radians(middle)))

    metres = vector_m((middle, 0), (middle, east))
    assert metres == pytest.approx(float(value) * (1000 if unit == "km" else 1), rel=0.005)


def test_sites_to_both_sides_of_the_180th_meridian_stay_neighbours() -> None:
    """West of the 180th meridian is left of east of it, and the map is not the whole globe."""
    svg = plot_sites(sites_at((-17, 179.9), (-16.9, -179.9), (-17.1, 180)))

    west, east, middle = centres(svg)
    assert west[0] < middle[0] < east[0]
    assert middle[0] - west[0] == pytest.approx(east[0] - middle[0], abs=0.05)
    assert "180°" in texts(svg)


def test_one_site_stands_in_the_middle() -> None:
    """A lone site stands in the middle of the frame, with a bar and north beside it."""
    svg = plot_sites(sites_at((4.5, 73.2)))

    frame = max(of_class(svg, "frame"), key=lambda e: number(e, "height"))
    ((x, y),) = centres(svg)
    assert x == pytest.approx(number(frame, "x") + number(frame, "width") / 2, abs=0.02)
    assert y == pytest.approx(number(frame, "y") + number(frame, "height") / 2, abs=0.02)
    assert "N" in texts(svg)


def test_areas_of_marks_have_the_ratio_of_their_values() -> None:
    """A circle of four times the value has twice the radius; a square has the area of a circle."""
    sites = [
        Site("A", -18.0, 147.0, 40.0, "slope"),
        Site("B", -18.1, 147.2, 10.0, "slope"),
        Site("C", -18.2, 147.1, 40.0, "lagoon"),
    ]

    svg = plot_sites(sites)

    # The key holds the first of each shape.
    circles = [number(e, "r") for e in of_class(svg, "place") if e.tag == "circle"][1:]
    square = [points(e) for e in of_class(svg, "place") if e.tag == "polygon"][1]
    assert max(circles) == pytest.approx(2 * min(circles))
    side = math.dist(square[0], square[1])
    assert side**2 == pytest.approx(math.pi * max(circles) ** 2, rel=0.01)


def test_strata_have_shapes_of_their_own() -> None:
    """Four strata are drawn with four shapes, and each is named in the key."""
    strata = ["slope", "lagoon", "pass", "flat"]
    sites = [Site(f"S{k}", -18 + k / 10, 147, 5, s) for k, s in enumerate(strata)]

    svg = plot_sites(sites)

    corners = {0 if e.tag == "circle" else len(points(e)) for e in of_class(svg, "place")}
    assert corners == {0, 3, 4}
    squares = [points(e) for e in of_class(svg, "place") if e.tag == "polygon"]
    # A square has corners at two heights, a diamond at three.
    heights = {len({round(y, 1) for _, y in p}) for p in squares if len(p) == 4}
    assert heights == {2, 3}
    assert set(strata) <= set(texts(svg))


def test_sites_without_a_position_are_named_below() -> None:
    """No, endless or impossible positions leave a site out of the map, yet named."""
    sites = [
        Site("Here", -18.0, 147.0, 5.0),
        Site("Nowhere", None, 147.0),
        Site("Endless", math.inf, 147.0),
        Site("Off the globe", -95.0, 147.0),
    ]

    svg = plot_sites(sites)

    note = "No position: Nowhere, Endless, Off the globe."
    assert len(centres(svg)) == 1
    assert note in read(svg).attrib["aria-label"]
    assert "No position: Nowhere" in " ".join(texts(svg))


def test_a_site_without_a_value_is_small_empty_and_said() -> None:
    """Without a value a mark is empty, and the text says that there is none."""
    svg = plot_sites([Site("A", -18.0, 147.0, 40.0), Site("B", -18.1, 147.0, math.nan)], unit="%")

    assert len(of_class(svg, "bare")) == 1
    told = read(svg).attrib["aria-label"]
    assert "A: 40 % at 18°S 147°E" in told
    assert "B: no value at 18°6′S 147°E" in told


@pytest.mark.parametrize(
    ("href", "leads"),
    [
        ("/surveys/3?a=1&b=2", "/surveys/3?a=1&b=2"),
        ("https://reserve.example/x:y", "https://reserve.example/x:y"),
        ('/"><script>', '/"><script>'),
        ("javascript:alert(1)", None),
        ("java\tscript:alert(1)", None),
        ("  JavaScript:alert(1)", None),
        ("data:text/html,x", None),
    ],
)
def test_marks_lead_to_pages_only(href: str, leads: str | None) -> None:
    """A link to a page is kept, escaped; one that would run a script is left out."""
    svg = plot_sites([Site("A", -18.0, 147.0, 4.0, href=href)])

    assert [e.get("href") for e in read(svg).iter("a")] == ([leads] if leads else [])
    # What is in an image can't be reached by who can't see it.
    assert read(svg).attrib["role"] == ("group" if leads else "img")


def test_names_stand_beside_their_marks() -> None:
    """Where there is room every name stands by its own mark, nearer than to any other."""
    svg = plot_sites(sites_at((-18.0, 147.0), (-18.2, 147.3), (-18.4, 147.1)), WIDE)

    marks = centres(svg)
    for k, mark in enumerate(marks):
        at = text_at(svg, f"Site {k}")
        assert min(marks, key=lambda other: math.dist(other, at)) == mark


@both
def test_crowded_sites_are_numbered_and_listed(width: int) -> None:
    """Where names have no room each site is numbered on the map and named in a list below."""
    names = [f"Kettle Patch {'abcdef'[k % 6]}{'abcdef'[k // 6]}" for k in range(36)]
    places = [(-18.4 + 0.0011 * (k % 6), 147.1 + 0.0011 * (k // 6)) for k in range(36)]

    svg = plot_sites([Site(n, *p, 3.0) for n, p in zip(names, places, strict=True)], width)

    frame = max(of_class(svg, "frame"), key=lambda e: number(e, "height"))
    foot = number(frame, "y") + number(frame, "height")
    for k, name in enumerate(names, 1):
        assert text_at(svg, str(k))[1] < foot < text_at(svg, f"{k} {name}")[1]


@pytest.mark.parametrize(
    ("degrees", "sides", "text"),
    [
        (-18 - 20 / 60, "NS", "18°20′S"),
        (4.5 + 15 / 3600, "NS", "4°30′15″N"),
        (0.0, "NS", "0°"),
        (-18.999999, "NS", "19°S"),
        (190.0, "EW", "170°W"),
        (180.0, "EW", "180°"),
        (-0.5, "EW", "0°30′W"),
    ],
)
def test_degrees_are_said_in_minutes_and_seconds(degrees: float, sides: str, text: str) -> None:
    """Degrees are said as far as needed, with the side of the equator or of Greenwich."""
    assert degrees_text(degrees, sides) == text


def test_round_degrees_are_the_finest_that_fit() -> None:
    """Between two ends stand the multiples of the finest round step that are few enough."""
    assert round_degrees(-18.4, -18.0, 4) == pytest.approx([-18 - k / 6 for k in (2, 1, 0)])
    assert round_degrees(0.0, 10.0, 3) == [0.0, 5.0, 10.0]


@pytest.mark.parametrize(("most", "length"), [(7.0, 5), (1999.0, 1000), (2000.0, 2000), (0.3, 0.2)])
def test_lengths_of_bars_are_round(most: float, length: float) -> None:
    """A bar is 1, 2 or 5 times a power of ten metres, as long as there is room for."""
    assert round_length(most) == pytest.approx(length)
