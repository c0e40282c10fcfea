"""Plots of pairs, of changes and of two surveys put every estimate where it belongs."""

from __future__ import annotations

import math
from xml.etree import ElementTree as ET

import pytest
from plot_reading import number, of_class, read, text_at, texts

from corallum.draw.plots import (
    NARROW,
    WIDE,
    BeforeAfter,
    Row,
    Span,
    plot_before_after,
    plot_changes,
    plot_pairs,
)

both = pytest.mark.parametrize("width", [NARROW, WIDE])
KEYS = 1  # the first mark of each class is that of the key
ROWS = [
    Row("Acropora", Span(20, 15, 25), Span(24, 18, 30)),
    Row("Porites", Span(10, 6, 14), None),
    Row("Montipora", None, Span(4, 2, 6)),
    Row("Favites"),
]


def circles(svg: str, kind: str) -> list[ET.Element]:
    """Marks of a class without that of the key."""
    return of_class(svg, kind)[KEYS:]


@both
def test_estimates_stand_at_their_values(width: int) -> None:
    """A value's place on the axis is in proportion between the places of two ticks."""
    svg = plot_pairs(ROWS, "% cover", width)
    zero, thirty = text_at(svg, "0")[0], text_at(svg, "30")[0]

    def place(value: float) -> float:
        return zero + value / 30 * (thirty - zero)

    assert [number(c, "cx") for c in circles(svg, "open")] == pytest.approx(
        [place(20), place(10)], abs=0.02
    )
    assert [number(c, "cx") for c in circles(svg, "full")] == pytest.approx(
        [place(24), place(4)], abs=0.02
    )
    thin = of_class(svg, "thin")[KEYS]
    assert [number(thin, "x1"), number(thin, "x2")] == pytest.approx(
        [place(15), place(25)], abs=0.02
    )


@both
def test_uncorrected_and_corrected_differ_without_colour(width: int) -> None:
    """The corrected estimate stands below, and both have marks and lines of their own class."""
    svg = plot_pairs(ROWS[:1], "% cover", width)

    (raw,), (mended,) = circles(svg, "open"), circles(svg, "full")
    assert number(mended, "cy") - number(raw, "cy") >= number(raw, "r") * 2
    assert number(of_class(svg, "thin")[1], "y1") == number(raw, "cy")
    assert number(of_class(svg, "thick")[1], "y1") == number(mended, "cy")


@both
def test_the_line_at_0_is_that_of_its_tick(width: int) -> None:
    """The line at 0 stands over the tick that says 0."""
    svg = plot_changes([Row("Porites", Span(-3, -5, -1), Span(2, -1, 5))], "points", width)

    (zero,) = of_class(svg, "zero")
    assert number(zero, "x1") == number(zero, "x2") == text_at(svg, "0")[0]


def test_rows_keep_their_order() -> None:
    """Rows are read downwards in the order given."""
    svg = plot_pairs(ROWS, "% cover")

    heights = [text_at(svg, row.label)[1] for row in ROWS]
    assert heights == sorted(heights)
    assert "no estimate" in texts(svg)


def test_a_genus_is_in_italics_and_another_label_is_not() -> None:
    """Only a genus's name is written in a span of its own."""
    rows = [ROWS[0], Row("All stony corals", Span(3, 2, 4), genus=False)]

    svg = plot_pairs(rows, "% cover")

    assert [e.text for e in of_class(svg, "genus")] == ["Acropora"]
    assert "All stony corals" in texts(svg)


def test_rows_past_the_thirtieth_are_counted() -> None:
    """Of 33 rows 30 are drawn, and both text and picture say that 3 are not."""
    svg = plot_pairs([Row(f"Genus {k}", Span(k, k, k)) for k in range(33)], "% cover")

    assert len(circles(svg, "open")) == 30
    assert "3 more not drawn." in texts(svg)
    assert "3 more not drawn." in read(svg).attrib["aria-label"]


def test_an_unknown_interval_is_not_drawn_and_said() -> None:
    """An estimate without interval has its mark alone, and the text says so."""
    svg = plot_pairs([Row("Porites", Span(3, math.nan, 4), Span(math.inf, 1, 2))], "% cover")

    assert len(circles(svg, "open")) == 1
    assert len(of_class(svg, "thin")) == KEYS
    assert len(circles(svg, "full")) == 0
    assert (
        "uncorrected 3 (interval unknown), corrected no estimate" in read(svg).attrib["aria-label"]
    )


@both
def test_changes_say_which_way_they_go(width: int) -> None:
    """Changes are said with their sign, and less is left of 0, more right of it."""
    svg = plot_changes([Row("Porites", Span(-8, -12, -4), Span(5, 1, 9))], "points", width)

    told = read(svg).attrib["aria-label"]
    assert "uncorrected \u22128 (\u221212 to \u22124), corrected +5 (+1 to +9)" in told
    assert text_at(svg, "← less")[0] < text_at(svg, "0")[0] < text_at(svg, "more →")[0]


def test_two_surveys_have_the_names_given_and_squares() -> None:
    """Before is an open and after a filled square, under the names that the caller gives."""
    rows = [BeforeAfter("Porites", Span(8, 6, 10), Span(6, 5, 7))]

    svg = plot_before_after(rows, "% cover", names=("2031", "2034"))

    assert {"2031", "2034"} <= set(texts(svg))
    assert {e.tag for kind in ("open", "full") for e in of_class(svg, kind)} == {"polygon"}
    assert "2031 8 (6 to 10), 2034 6 (5 to 7)" in read(svg).attrib["aria-label"]


def test_long_labels_stand_above_their_rows_on_a_phone() -> None:
    """On a narrow plot a label too long for the side stands above its row, and whole."""
    label = "Porites, massive, of the outer slope"

    svg = plot_pairs([Row(label, Span(8, 6, 10), genus=False)], "% cover", NARROW)

    assert label in texts(svg)
    assert text_at(svg, label)[1] < number(circles(svg, "open")[0], "cy") - 5
