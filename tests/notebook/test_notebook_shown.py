"""How results show themselves: in a terminal, in a notebook, as a drawing."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from corallum.draw.plots import Bar, plot_bars
from corallum.errors import InputError
from corallum.notebook import Listing, Plot, Reference, agreement, consensus
from corallum.notebook.listing import Field, Shown, chance, figure, listing, number

READINGS = Path(__file__).parents[2] / "docs/examples/readings.csv"
HOSTILE = "<script>alert(1)</script>&\"'\u202e"
COLONY = {"growth_form": "massive", "corallite_arrangement": "plocoid", "region": "red_sea"}
ITEM = Field("item", {"item": lambda i: i}, str)
COUNT = Field("count", {"count": len}, lambda i: str(len(i)), is_number=True)


class Tags(HTMLParser):
    """Tags that are opened, with their attributes, and those that are left open."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag."""
        self.seen.append((tag, dict(attrs)))
        if tag not in ("img", "source"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Close it; it must be the last that was opened."""
        assert self.open.pop() == tag

    def of(self, tag: str) -> list[dict[str, str | None]]:
        """Attributes of all tags of a name."""
        return [attrs for name, attrs in self.seen if name == tag]


@pytest.fixture(scope="module")
def results(reference: Reference) -> Sequence[Shown]:
    """One result of several kinds, with hostile names where they come from outside."""
    rows = [COLONY | {"id": "c1"}, COLONY | {"id": HOSTILE[:-1]}, {"id": "bad", "depth_m": -1}]
    answers = reference.determine(rows)
    readings = [{"item": HOSTILE[:-1], "observer": who, "label": "<b>x"} for who in ("<i>", "B")]
    one = answers.of("c1")
    return [
        reference, reference.characters(), answers, one, one.next_looks(), one.why(),
        reference.compare("Favites", "Goniastrea"), agreement(readings, draws=10),
        consensus(readings), consensus(READINGS).errors(),
    ]  # fmt: skip


def test_tables_are_sound_and_can_be_read_aloud(results: Sequence[Shown]) -> None:
    """Every table has a caption, every head a scope; nothing is left open, nothing runs."""
    for one in results:
        tags = Tags(one._repr_html_())
        assert tags.open == []
        assert len(tags.of("caption")) == len(tags.of("table")) > 0
        assert all(head.get("scope") in ("col", "row") for head in tags.of("th"))
        assert tags.of("script") == tags.of("b") == tags.of("style") == []
        assert not [key for _, attrs in tags.seen for key in attrs if key.startswith("on")]


def test_tables_have_no_colours_of_their_own(results: Sequence[Shown]) -> None:
    """So that they read on a dark page as on a light one."""
    for one in results:
        assert not re.search(r"color|background|#[0-9a-f]{3}", one._repr_html_())


def test_a_terminal_sees_a_few_short_lines(results: Sequence[Shown]) -> None:
    """At most 40 lines, cells of at most 40 characters, no control characters."""
    for one in results:
        lines = repr(one).splitlines()
        assert 0 < len(lines) <= 40
        assert all(line.isprintable() for line in lines)


def test_a_genus_is_in_italics_and_something_else_is_not(reference: Reference) -> None:
    """A name of a genus is set as names are; words are not."""
    answer = reference.determine([COLONY]).of("row 2")
    html = answer._repr_html_()
    leader = answer.record.candidates[0].genus
    assert f"<i>{leader}</i>" in html
    assert "<i>something else</i>" not in html


def test_what_is_not_shown_is_counted_and_kept() -> None:
    """A long table shows its head, says how many rows are left, and holds them all."""
    table = listing("Long", (ITEM, COUNT), [f"item {i}" for i in range(100)])
    assert "88 more" in repr(table)
    assert "60 more" in table._repr_html_()
    assert "97 more" in table.head(3)._repr_html_()
    assert len(table.head(3).table()) == len(table) == 100


def test_an_empty_table_says_so() -> None:
    """There are no heads over nothing."""
    table = listing("Nothing", (ITEM, COUNT), [])
    assert repr(table) == "Nothing: none."
    assert table._repr_html_() == "<p>Nothing: none.</p>"
    assert table.table().columns.tolist() == ["item", "count"]


def test_hostile_text_stays_text() -> None:
    """A name from outside runs nothing, turns no line around and breaks none."""
    table: Listing = listing(HOSTILE, (ITEM,), [HOSTILE, "a\nb"])
    html = table._repr_html_()
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    assert "a?b" in html
    assert len(repr(table).splitlines()) == 4


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.0, "0.0%"), (1e-9, "<0.1%"), (0.5, "50.0%"), (0.9999, ">99.9%"), (1.0, "100.0%"),
     (None, "–"), (float("nan"), "–"), (-0.021, "−2.1%")],
)  # fmt: skip
def test_a_chance_is_never_rounded_to_certain(share: float | None, said: str) -> None:
    """What is neither sure nor impossible is never said to be."""
    assert chance(share) == said


def test_numbers_are_written_alike() -> None:
    """A true minus, no minus before 0, no interval where there is none."""
    nan = float("nan")
    assert [number(-1.25, 1), number(-0.001, 2), number(nan)] == ["−1.2", "0.00", "–"]
    assert figure(2, 1, 3) == "2.00 (1.00 to 3.00)"
    assert figure(2, nan, nan) == "2.00"
    assert figure(2, 1, 1e9) == "2.00 (1.00 to no end)"


@pytest.fixture
def plot() -> Plot:
    """A drawing of two bars."""
    bars = [Bar("Favites", 75, "75%", 60, 90, genus=True), Bar('<b>"', 25, "25%")]
    return Plot(lambda width: plot_bars(bars, width, what="Odds & ends, %", full=100))


def test_a_plot_is_a_picture_with_words_for_it(plot: Plot) -> None:
    """The picture brings its style and ground; its words tell every bar."""
    tags = Tags(plot._repr_html_())
    (picture,) = tags.of("img")
    assert picture["alt"] == plot.text == 'Odds & ends, %; Favites 75%; <b>" 25%'
    assert str(picture["src"]).startswith("data:image/svg+xml;base64,")
    (narrow,) = tags.of("source")
    assert narrow["media"] == "(max-width: 600px)"
    assert narrow["srcset"] != picture["src"]
    root = ET.fromstring(plot._repr_svg_())  # noqa: S314  our own text
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert "rect" in root[1].tag
    assert repr(plot) == f"Plot: {plot.text}"


def test_a_plot_is_kept_but_never_over_a_file(plot: Plot, tmp_path: Path) -> None:
    """A file that is there stays."""
    plot.save(tmp_path / "odds.svg")
    assert (tmp_path / "odds.svg").read_text(encoding="utf-8") == plot.svg
    with pytest.raises(InputError, match="expected a new file"):
        plot.save(tmp_path / "odds.svg")
