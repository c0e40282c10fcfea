"""Histograms of sizes and curves of richness keep their proportions."""

from __future__ import annotations

import math

import pytest
from plot_reading import number, of_class, points, read, text_at, texts

from corallum.draw.plots import NARROW, WIDE, Sampled, plot_curve, plot_sizes
from corallum.errors import InputError

both = pytest.mark.parametrize("width", [NARROW, WIDE])
EDGES = [0, 5, 10, 20, 40, math.inf]
DENSITY = [4.0, 2.0, 1.0, math.nan, 0.5]
LOW = [3.0, 1.0, 0.5, math.nan, math.nan]
HIGH = [5.0, 3.0, 2.0, math.nan, 1.0]


@both
def test_bars_are_as_high_as_their_densities(width: int) -> None:
    """Bars' heights have the ratio of the densities, all stand on 0 and are equally wide."""
    svg = plot_sizes(EDGES, DENSITY, LOW, HIGH, width)

    bars = of_class(svg, "block")
    heights = [number(bar, "height") for bar in bars]
    assert [h / heights[0] for h in heights] == pytest.approx([1, 0.5, 0.25, 0.125], abs=1e-3)
    assert {round(number(bar, "y") + number(bar, "height"), 1) for bar in bars} == {
        round(number(of_class(svg, "axis")[0], "y1"), 1)
    }
    assert len({round(number(bar, "width"), 1) for bar in bars}) == 1


@both
def test_intervals_stand_on_the_middle_of_their_bars(width: int) -> None:
    """An interval's line runs from its low to its high end, on the middle of its bar."""
    svg = plot_sizes(EDGES, DENSITY, LOW, HIGH, width)

    bar = of_class(svg, "block")[0]
    stem = of_class(svg, "zero")[0]
    unit = number(bar, "height") / 4
    assert number(stem, "x1") == pytest.approx(
        number(bar, "x") + number(bar, "width") / 2, abs=0.02
    )
    assert number(stem, "y1") - number(stem, "y2") == pytest.approx(2 * unit, abs=0.05)
    # Three lines an interval, and only where both ends are known.
    assert len(of_class(svg, "zero")) == 3 * 3


def test_edges_are_labelled_in_cm_at_their_places() -> None:
    """The edges stand between the bars in order, and the last, open class is said in words."""
    svg = plot_sizes(EDGES, DENSITY, LOW, HIGH, WIDE)

    places = [number(e, "x") for e in read(svg).iter("text") if e.text in ("10", "20", "40", "∞")]
    assert places == sorted(places, reverse=True)
    assert {"5", "10", "20", "40", "∞", "size, cm", "?"} <= set(texts(svg))
    told = read(svg).attrib["aria-label"]
    assert "5 to 10 cm: 2 (1 to 3)" in told
    assert "20 to 40 cm: no estimate" in told
    assert "40 cm and more: 0.5 (interval unknown)" in told


@pytest.mark.parametrize(
    ("edges", "density", "told"),
    [
        (
            [0, 5],
            [1.0, 2.0],
            "plot of sizes, classes: expected 1 in each column, found 2, 2, 2. Give one a class.",
        ),
        (
            [0, 5, 5],
            [1.0, 2.0],
            "plot of sizes, edges_cm: expected rising edges, found others. Sort the edges.",
        ),
    ],
)
def test_columns_that_do_not_fit_are_refused(
    edges: list[float], density: list[float], told: str
) -> None:
    """Columns of another length than the classes, or edges that don't rise, are refused."""
    with pytest.raises(InputError) as refused:
        plot_sizes(edges, density, density, density)

    assert str(refused.value) == told


SIZES = [0, 50, 100, 150, 200]
RICHNESS = [0.0, 12.0, 16.0, 18.0, 19.0]
LESS = [0.0, 10.0, 14.0, 15.0, 14.0]
MORE = [0.0, 14.0, 18.0, 21.0, 24.0]


@both
def test_the_curve_is_full_to_the_sample_and_dashed_beyond(width: int) -> None:
    """The full part ends and the dashed one begins at the sample, which has its mark there."""
    svg = plot_curve(SIZES, RICHNESS, LESS, MORE, 100, width)

    full, dashed = [e for e in of_class(svg, "curve") if e.tag == "polyline"]
    (mark,) = [e for e in of_class(svg, "full") if number(e, "r") == 6]
    here = (number(mark, "cx"), number(mark, "cy"))
    assert "dash1" not in full.attrib["class"].split()
    assert "dash1" in dashed.attrib["class"].split()
    assert points(full)[-1] == points(dashed)[0] == here
    assert here[0] == pytest.approx(text_at(svg, "100")[0], abs=0.02)


@both
def test_the_curve_and_its_band_stand_at_their_values(width: int) -> None:
    """Heights are in proportion between ticks; the band runs out below and back above."""
    svg = plot_curve(SIZES, RICHNESS, LESS, MORE, 100, width)
    grid = sorted(number(e, "y1") for e in of_class(svg, "grid"))
    bottom = grid[-1]
    unit = (bottom - text_at(svg, "10")[1] + 4.5) / 10

    (band,) = [e for e in of_class(svg, "band") if e.tag == "polygon"]
    lower, upper = points(band)[:5], points(band)[5:]
    assert [(bottom - y) / unit for _, y in lower] == pytest.approx(LESS, abs=0.02)
    assert [(bottom - y) / unit for _, y in upper] == pytest.approx(MORE[::-1], abs=0.02)
    full = next(e for e in of_class(svg, "curve") if e.tag == "polyline")
    assert [(bottom - y) / unit for _, y in points(full)] == pytest.approx([0, 12, 16], abs=0.02)


def test_the_sample_between_two_sizes_lies_on_the_curve() -> None:
    """A sample between two computed sizes is marked half way up where it is half way along."""
    svg = plot_curve(SIZES, RICHNESS, LESS, MORE, 75)

    assert "this sample: 75 colonies, 14 genera" in read(svg).attrib["aria-label"]


def test_a_sample_off_the_curve_is_not_marked() -> None:
    """A sample size beyond the curve, or none, leaves the curve whole and unmarked."""
    for at in (math.nan, 500.0):
        svg = plot_curve(SIZES, RICHNESS, LESS, MORE, at, words=Sampled("frames", "families"))

        assert not of_class(svg, "full")
        assert len([e for e in of_class(svg, "curve") if e.tag == "polyline"]) == 1
        assert "19 (14 to 24) in 200 frames" in read(svg).attrib["aria-label"]


def test_columns_of_a_curve_are_equally_long() -> None:
    """A column shorter than the others is refused with the lengths found."""
    with pytest.raises(InputError) as refused:
        plot_curve([1, 2], [1.0], [1.0], [1.0], 1)

    assert "expected equal columns, found [1, 2]" in str(refused.value)


def test_a_curve_that_ends_at_the_sample_has_no_dashed_part() -> None:
    """Without sizes beyond the sample nothing is extrapolated, nor said to be."""
    svg = plot_curve(SIZES, RICHNESS, LESS, MORE, 200)

    assert not of_class(svg, "dash1")
    assert "extrapolated" not in texts(svg)
