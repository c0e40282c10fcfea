"""Whatever the numbers and names, every plot is well formed, legible and says what it shows."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plot_reading import HOSTILE, LABELS, VALUES, WIDTHS, assert_legible, read, size, texts

from corallum.draw import plots
from corallum.draw.plots import (
    NARROW,
    WIDE,
    BeforeAfter,
    Chosen,
    EffortLine,
    Efforts,
    Part,
    Row,
    Sampled,
    Site,
    Span,
)

often = settings(max_examples=60, deadline=None)
SPANS = st.one_of(st.none(), st.builds(Span, VALUES, VALUES, VALUES))
ROWS = st.lists(st.builds(Row, LABELS, SPANS, SPANS, st.booleans()), max_size=34)
PAIRED = st.lists(st.builds(BeforeAfter, LABELS, SPANS, SPANS, st.booleans()), max_size=34)
SITES = st.lists(
    st.builds(
        Site,
        LABELS,
        st.one_of(st.none(), VALUES, st.floats(-90, 90), st.floats(-18.4, -18.3)),
        st.one_of(st.none(), VALUES, st.floats(-180, 180), st.floats(147.0, 147.1)),
        st.one_of(st.none(), VALUES),
        st.sampled_from(["", "outer slope", "lagoon", "pass", "flat", "crest", "wall", "<x>"]),
        st.one_of(st.none(), LABELS),
    ),
    max_size=14,
)
COLUMN = st.lists(st.tuples(VALUES, VALUES), max_size=12)
LINES = st.lists(
    st.builds(
        lambda label, pairs: EffortLine(
            label, tuple(a for a, _ in pairs), tuple(b for _, b in pairs)
        ),
        LABELS,
        COLUMN,
    ),
    max_size=8,
)
CHOSEN = st.one_of(st.none(), st.builds(Chosen, VALUES, VALUES))
PARTS = st.lists(st.builds(Part, LABELS, VALUES), max_size=11)
TABLE = st.lists(st.tuples(VALUES, VALUES, VALUES, VALUES), max_size=16)


@given(rows=ROWS, unit=LABELS, width=WIDTHS)
@often
def test_pairs_are_legible(rows: list[Row], unit: str, width: int) -> None:
    """A plot of pairs keeps its texts apart and its marks on the sheet."""
    assert_legible(plots.plot_pairs(rows, unit, width))


@given(rows=ROWS, unit=LABELS, width=WIDTHS)
@often
def test_changes_are_legible(rows: list[Row], unit: str, width: int) -> None:
    """A plot of changes keeps its texts apart and its marks on the sheet."""
    assert_legible(plots.plot_changes(rows, unit, width))


@given(rows=PAIRED, unit=LABELS, width=WIDTHS, names=st.tuples(LABELS, LABELS))
@often
def test_before_and_after_are_legible(
    rows: list[BeforeAfter], unit: str, width: int, names: tuple[str, str]
) -> None:
    """A plot of two surveys keeps its texts apart and its marks on the sheet."""
    assert_legible(plots.plot_before_after(rows, unit, width, names=names))


@given(
    table=TABLE,
    steps=st.lists(st.floats(0.1, 60), min_size=17, max_size=17),
    open_end=st.booleans(),
    unit=LABELS,
    width=WIDTHS,
)
@often
def test_sizes_are_legible(
    table: list[tuple[float, ...]], steps: list[float], open_end: bool, unit: str, width: int
) -> None:
    """A histogram of sizes keeps its texts apart and its marks on the sheet."""
    edges = [sum(steps[: k + 1]) for k in range(len(table) + 1)]
    if open_end:
        edges[-1] = math.inf
    columns = [[row[k] for row in table] for k in range(3)]
    assert_legible(plots.plot_sizes(edges, *columns, width, unit=unit))


@given(table=TABLE, at=VALUES, words=st.builds(Sampled, LABELS, LABELS), width=WIDTHS)
@often
def test_curves_are_legible(
    table: list[tuple[float, ...]], at: float, words: Sampled, width: int
) -> None:
    """A curve of richness keeps its texts apart and its marks on the sheet."""
    columns = [[row[k] for row in table] for k in range(4)]
    assert_legible(plots.plot_curve(*columns, at, width, words=words))


@given(sites=SITES, unit=LABELS, width=WIDTHS)
@often
def test_maps_are_legible(sites: list[Site], unit: str, width: int) -> None:
    """A map keeps its texts apart and its marks on the sheet."""
    assert_legible(plots.plot_sites(sites, width, unit=unit))


@given(
    lines=LINES,
    wanted=st.one_of(st.none(), VALUES),
    chosen=CHOSEN,
    words=st.builds(Efforts, LABELS, LABELS, LABELS),
    width=WIDTHS,
)
@often
def test_efforts_are_legible(
    lines: list[EffortLine],
    wanted: float | None,
    chosen: Chosen | None,
    words: Efforts,
    width: int,
) -> None:
    """A plot of effort keeps its texts apart and its marks on the sheet."""
    assert_legible(plots.plot_effort(lines, wanted, chosen, width, words=words))


@given(parts=PARTS, width=WIDTHS)
@often
def test_parts_are_legible(parts: list[Part], width: int) -> None:
    """A bar of parts keeps its texts apart and its marks on the sheet."""
    assert_legible(plots.plot_parts(parts, width))


Plot = Callable[[str, int], str]
SPAN = Span(12.0, 8.0, 16.0)
PLOTS: dict[str, Plot] = {
    "pairs": lambda name, width: plots.plot_pairs([Row(name, SPAN, SPAN)], name, width),
    "singles": lambda name, width: plots.plot_singles(
        [plots.Single(name, SPAN)], name, width, what=name
    ),
    "changes": lambda name, width: plots.plot_changes([Row(name, SPAN, SPAN)], name, width),
    "before_after": lambda name, width: plots.plot_before_after(
        [BeforeAfter(name, SPAN, SPAN)], name, width, names=(name, name)
    ),
    "sizes": lambda name, width: plots.plot_sizes(
        [0, 5, 10], [12, 3], [8, 2], [16, 4], width, unit=name
    ),
    "curve": lambda name, width: plots.plot_curve(
        [0, 50, 100], [0, 12, 15], [0, 8, 9], [0, 16, 21], 50, width, words=Sampled(name, name)
    ),
    "sites": lambda name, width: plots.plot_sites(
        [Site(name, -18.0, 147.0, 12.0, name, name), Site(name, None, None)], width, unit=name
    ),
    "effort": lambda name, width: plots.plot_effort(
        [EffortLine(name, (5, 10), (16, 12))],
        12.0,
        Chosen(8, 13),
        width,
        words=Efforts(name, name, name),
    ),
    "parts": lambda name, width: plots.plot_parts([Part(name, 12), Part(name, -1)], width),
}
EMPTY: dict[str, Callable[[int], str]] = {
    "pairs": lambda width: plots.plot_pairs([], "%", width),
    "singles": lambda width: plots.plot_singles([], "%", width),
    "changes": lambda width: plots.plot_changes([Row("Porites", Span(math.nan))], "%", width),
    "before_after": lambda width: plots.plot_before_after([], "%", width),
    "sizes": lambda width: plots.plot_sizes([], [], [], [], width),
    "curve": lambda width: plots.plot_curve([], [], [], [], 3, width),
    "sites": lambda width: plots.plot_sites([], width),
    "effort": lambda width: plots.plot_effort([], 3.0, None, width),
    "parts": lambda width: plots.plot_parts([Part("points", 0.0)], width),
}
each = pytest.mark.parametrize("name", PLOTS)
both = pytest.mark.parametrize("width", [NARROW, WIDE])


@each
@both
def test_hostile_text_stays_text(name: str, width: int) -> None:
    """A name that holds mark-up is read back as the same characters and makes no element."""
    svg = PLOTS[name](HOSTILE, width)

    tags = {element.tag for element in read(svg).iter()}

    assert "script" not in tags
    shown = "".join(texts(svg)).replace("…", "")
    assert "</text>" in shown
    assert "\u202e" not in svg
    assert "\x00" not in svg


@each
@both
def test_a_plot_is_an_image_with_its_numbers_in_words(name: str, width: int) -> None:
    """The text that stands for the picture holds its numbers, 12 among them or its share."""
    root = read(PLOTS[name]("Porites", width))

    said = root.attrib["aria-label"]
    assert root.tag == "svg"
    assert root.attrib["class"].split()[0] == "plot"
    assert root.attrib["role"] == ("group" if root.find(".//a") is not None else "img")
    assert ("100 %" if name == "parts" else "12") in said
    if name in ("pairs", "before_after"):
        assert "12 (8 to 16)" in said


@each
@both
def test_without_data_a_plot_says_so(name: str, width: int) -> None:
    """Nothing to plot gives a small picture in words."""
    svg = EMPTY[name](width)

    assert_legible(svg)
    assert size(svg)[1] < 100
    assert re.search(r"No \w+", read(svg).attrib["aria-label"])


@each
@both
def test_colour_and_font_come_from_the_page_alone(name: str, width: int) -> None:
    """A plot names no colour, fill, stroke or font, and refers to nothing outside itself."""
    svg = PLOTS[name]("Porites", width)

    assert not re.search(r"fill=|stroke|style=|font|#[0-9a-f]{3}|url\(|http|\bid=", svg)


@each
@both
def test_every_class_is_styled_in_the_page_and_alone(name: str, width: int) -> None:
    """Each class that a plot uses has a rule in the page's style sheet and in its own."""
    svg = PLOTS[name]("Porites", width)
    page = resources.files("corallum.web").joinpath("static/notebook.css").read_text("utf-8")
    alone = plots.standalone(svg)

    used = {kind for element in read(svg).iter() for kind in element.get("class", "").split()}

    # Layout only, or the first dash, which is none.
    for kind in used - {"survey", "slim", "broad", "dash0", "plot"}:
        assert re.search(rf"\.plot[^{{]*\.{kind}\b", page), kind
        assert re.search(rf"\.plot[^{{]*\.{kind}\b", alone), kind


@each
def test_alone_a_plot_names_its_vocabulary_once(name: str) -> None:
    """A plot made to stand alone is SVG of that name space with one style sheet on white."""
    alone = plots.standalone(PLOTS[name](HOSTILE, WIDE))

    root = read(alone)
    svg = "{http://www.w3.org/2000/svg}"
    assert root.tag == f"{svg}svg"
    assert len(root.findall(f"{svg}style")) == 1
    assert root.find(f"{svg}rect").attrib["class"] == "ground"
    assert plots.standalone(alone).count("xmlns=") == 1


def test_the_pages_plots_are_dark_and_light_by_variables_only() -> None:
    """The rules for these plots name no colour of their own, so that both themes apply."""
    page = resources.files("corallum.web").joinpath("static/notebook.css").read_text("utf-8")

    block = page.split("/* Plots of surveys */")[1].split("/*")[0]

    assert not re.search(r"#[0-9a-f]{3,6}\b|rgb|hsl", block)
    for variable in set(re.findall(r"var\((--[\w-]+)\)", block)):
        assert page.count(f"{variable}:") >= 3, variable
