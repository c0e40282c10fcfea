"""The trade between kinds of work, and the parts of the variance."""

from __future__ import annotations

import math
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from plot_reading import number, of_class, points, read, text_at, texts

from corallum.draw.plots import (
    NARROW,
    WIDE,
    Chosen,
    EffortLine,
    Efforts,
    Part,
    plot_effort,
    plot_parts,
)

both = pytest.mark.parametrize("width", [NARROW, WIDE])
LINES = [
    EffortLine("20 points", (4, 8, 12, 16), (8, 6, 5, 4)),
    EffortLine("50 points", (4, 8, 12, 16), (7, 5, 4, 3)),
    EffortLine("read twice", (16, 12, 8, 4), (2, 3, 4, 6)),
]
WORDS = Efforts("transects", "half width", "% cover")


def curves(svg: str) -> list[list[tuple[float, float]]]:
    """Corners of the lines."""
    return [points(e) for e in of_class(svg, "curve")]


@both
def test_lines_stand_at_their_values(width: int) -> None:
    """Work runs to the right and half width upwards, in proportion, by work whatever the order."""
    svg = plot_effort(LINES, 4.0, Chosen(12, 4), width, words=WORDS)

    first, _, last = curves(svg)
    xs = [x for x, _ in first]
    assert [b - a for a, b in pairwise(xs)] == pytest.approx([xs[1] - xs[0]] * 3, abs=0.05)
    assert [x for x, _ in last] == xs
    unit = (first[0][1] - first[3][1]) / (4 - 8)
    assert unit > 0
    # The first stands at 6; y runs downwards on the sheet.
    steps = [6 - (y - last[0][1]) / unit for _, y in last]
    assert steps == pytest.approx([6, 4, 3, 2], abs=0.01)


@both
def test_the_wanted_line_and_the_chosen_plan_stand_at_their_values(width: int) -> None:
    """The line across is at the half width wanted, the mark at the plan's work and half width."""
    svg = plot_effort(LINES, 4.0, Chosen(12, 4), width, words=WORDS)

    (across,) = of_class(svg, "wanted")
    mark = points(of_class(svg, "full")[-1])
    second = curves(svg)[1]
    assert number(across, "y1") == number(across, "y2") == pytest.approx(second[2][1], abs=0.02)
    assert sum(x for x, _ in mark) / 4 == pytest.approx(second[2][0], abs=0.02)
    assert sum(y for _, y in mark) / 4 == pytest.approx(second[2][1], abs=0.02)
    assert "wanted: 4" in texts(svg)
    assert "chosen: 12 transects, ±4 % cover" in texts(svg)


@both
def test_lines_differ_by_dash_and_are_named_at_their_ends(width: int) -> None:
    """No two lines have the same dashes; names stand right of the lines in their order."""
    svg = plot_effort(LINES, None, None, width, words=WORDS)

    dashes = [e.attrib["class"] for e in of_class(svg, "curve")]
    assert len(set(dashes)) == 3
    at = [text_at(svg, line.label) for line in LINES]
    assert all(x > max(p[0] for line in curves(svg) for p in line) for x, _ in at)
    assert [y for _, y in at] == sorted(y for _, y in at)


def test_effort_is_said_in_words() -> None:
    """The text that stands for the picture holds each line's ends, the aim and the plan."""
    told = read(plot_effort(LINES, 4.0, Chosen(12, 4), words=WORDS)).attrib["aria-label"]

    assert "20 points: 8 at 4, 4 at 16 transects" in told
    assert "wanted: 4" in told
    assert "chosen: 4 at 12 transects" in told


def test_lines_past_the_sixth_are_counted() -> None:
    """Six lines can be told apart; further ones are counted."""
    svg = plot_effort([LINES[0]] * 8)

    assert len(curves(svg)) == 6
    assert "2 more not drawn." in texts(svg)


PARTS = [Part("transects", 5), Part("points", 1), Part("observers", 3), Part("identification", 1)]


@both
def test_pieces_are_as_high_as_their_shares(width: int) -> None:
    """The pieces' heights have the ratio of the variances and lie one on the other."""
    pieces = of_class(plot_parts(PARTS, width), "piece")

    heights = [number(e, "height") for e in pieces]
    tops = [number(e, "y") for e in pieces]
    assert [h / sum(heights) for h in heights] == pytest.approx([0.5, 0.1, 0.3, 0.1], abs=1e-3)
    for k in range(3):
        assert tops[k] + heights[k] == pytest.approx(tops[k + 1], abs=0.02)


@both
def test_each_piece_is_named_with_its_share(width: int) -> None:
    """Names stand beside the bar in the order of the pieces, with shares in percent."""
    svg = plot_parts(PARTS, width)

    names = ["50 % transects", "10 % points", "30 % observers", "10 % identification"]
    assert [t for t in texts(svg) if "%" in t] == names
    assert [text_at(svg, name)[1] for name in names] == sorted(
        text_at(svg, name)[1] for name in names
    )


@pytest.mark.parametrize("first", range(8))
def test_hatching_stays_in_its_piece(first: int) -> None:
    """Whatever the hatching, none of it leaves the piece that it fills."""
    parts = [Part("nothing", 0)] * first + [Part("all", 1)]

    svg = plot_parts(parts)

    piece = of_class(svg, "piece")[-1]
    left, top = number(piece, "x"), number(piece, "y")
    right, bottom = left + number(piece, "width"), top + number(piece, "height")
    for e in of_class(svg, "hatch"):
        for k in (1, 2):
            assert left - 0.02 <= number(e, f"x{k}") <= right + 0.02
            assert top - 0.02 <= number(e, f"y{k}") <= bottom + 0.02
    for e in of_class(svg, "dust"):
        if e.tag == "circle":
            assert left <= number(e, "cx") - number(e, "r")
            assert number(e, "cy") + number(e, "r") <= bottom


def way(line: ET.Element) -> str:
    """Which way a line of the hatching runs."""
    x, y = (number(line, f"{axis}2") - number(line, f"{axis}1") for axis in "xy")
    if x == 0 or y == 0:
        return "down" if x == 0 else "across"
    return "falling" if x * y > 0 else "rising"


def test_no_two_of_eight_pieces_are_filled_alike() -> None:
    """Eight pieces differ in the ways that their lines run, or in dots or solid filling."""
    looks = set()
    for first in range(8):
        svg = plot_parts([Part("nothing", 0)] * first + [Part("all", 1)])
        ways = frozenset(map(way, of_class(svg, "hatch")))
        looks.add((ways, frozenset(e.tag for e in of_class(svg, "dust") if big(e))))

    assert len(looks) == 8


def big(mark: ET.Element) -> bool:
    """Whether a mark takes room at all: pieces without height are filled with nothing."""
    return mark.tag == "circle" or number(mark, "height") > 0


def test_what_is_not_known_is_said() -> None:
    """A part without a sound variance is left out of the bar and named below it."""
    svg = plot_parts([*PARTS, Part("weather", math.nan), Part("tide", -1)])

    assert len(of_class(svg, "piece")) == 4
    assert "Not known: weather, tide" in texts(svg)
    assert "Not known: weather, tide" in read(svg).attrib["aria-label"]
