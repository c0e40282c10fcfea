"""The page of a report: what it shows, and what it can't do."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from corallum.report.report import Report, Table, report_object, runs
from corallum.report.report_html import report_html
from report.small_report import ODD, small_report

_VOID = {"meta", "br", "link", "img", "hr", "input"}


class Parsed(HTMLParser):
    """The tags of a page with their attributes, its words, and what was left open."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.texts: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag."""
        self.tags.append((tag, dict(attrs)))
        if tag not in _VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag that holds nothing."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """Close the innermost tag, which must be of that name."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Note words that are shown."""
        if self.open and self.open[-1] != "style":
            self.texts.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """Return the attributes of every tag of a name."""
        return [attributes for name, attributes in self.tags if name == tag]

    @property
    def words(self) -> str:
        """Return what a reader sees."""
        return "".join(self.texts)


@pytest.fixture(scope="module")
def page() -> str:
    """The page of a small report."""
    return report_html(small_report())


@pytest.fixture(scope="module")
def parsed(page: str) -> Parsed:
    """The same page, read."""
    return Parsed(page)


def test_every_tag_is_closed_in_its_turn(parsed: Parsed) -> None:
    """What is opened is closed, innermost first."""
    assert parsed.open == []


def test_names_that_look_like_markup_come_through(parsed: Parsed) -> None:
    """A name is shown letter by letter, wherever it stands."""
    for one in ODD:
        assert parsed.words.count(one) >= 4, one
    assert not parsed.all("script")


def test_the_page_asks_for_nothing(page: str, parsed: Parsed) -> None:
    """No address, no other file, and a policy under which nothing runs."""
    assert not re.search(r"https?:|url\(|@import", page)
    assert not [a for _, a in parsed.tags if "src" in a or "srcset" in a]
    assert all(str(a["href"]).startswith("#") for _, a in parsed.tags if "href" in a)
    assert not [name for _, a in parsed.tags for name in a if name.startswith("on")]
    policy = next(a["content"] for a in parsed.all("meta") if "http-equiv" in a)
    assert policy is not None
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    assert not [a for _, a in parsed.tags if "style" in a]


def test_every_picture_has_words(parsed: Parsed) -> None:
    """Each picture is an image with a text that says all it shows."""
    pictures = parsed.all("svg")
    assert len(pictures) == 2
    for one in pictures:
        assert one["role"] == "img"
        assert "Porites: uncorrected 12 (8 to 16), corrected 14 (9 to 18)" in str(one["aria-label"])


def test_headings_go_down_one_at_a_time(parsed: Parsed) -> None:
    """One first heading, and no level is skipped."""
    levels = [int(tag[1]) for tag, _ in parsed.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))


def test_links_lead_to_parts_that_are_there(parsed: Parsed) -> None:
    """The list of contents and the skip link lead to ids of the page, each given once."""
    ids = [a["id"] for _, a in parsed.tags if "id" in a]
    assert len(ids) == len(set(ids))
    assert {str(a["href"])[1:] for a in parsed.all("a")} <= set(ids)
    named = [a["aria-labelledby"] for _, a in parsed.tags if "aria-labelledby" in a]
    assert set(named) <= set(ids)


def test_tables_have_headers_and_can_be_scrolled(parsed: Parsed) -> None:
    """Each cell of a head and each first cell is a header; a wide table is reached by keys."""
    scopes = [a.get("scope") for a in parsed.all("th")]
    assert scopes.count("col") == 3
    assert scopes.count("row") == len(ODD)
    around = [a for a in parsed.all("div") if a.get("class") == "scroll"]
    assert [(a["tabindex"], a["role"]) for a in around] == [("0", "group")]


def test_genera_are_in_italics_everywhere(page: str) -> None:
    """A genus in a sentence and in a table is set as names are."""
    assert "second line of <i>Porites</i>" in page
    assert '<th scope="row"><i>Porites</i></th>' in page


def test_a_new_line_of_a_note_stays_one(page: str) -> None:
    """Lines that somebody wrote apart are shown apart."""
    assert "First line<br>second line" in page


def test_a_short_report_has_no_list_of_contents() -> None:
    """Four parts need no list, and what is not invented has no warning."""
    short = Parsed(report_html(small_report(warning="", sections=4)))
    assert not short.all("nav")
    assert not [a for a in short.all("p") if a.get("class") == "warning"]


def test_control_characters_are_left_out() -> None:
    """What no page can show is left out; a number stays with its sign."""
    pieces = list(runs("a\x00b\u202ec 12 % of\tPorites\r\nd", {"Porites"}))
    assert pieces == [("abc 12\u00a0% of ", False), ("Porites", True), ("\nd", False)]


def test_a_row_that_does_not_fit_is_refused() -> None:
    """A short row would shift figures under other headers."""
    with pytest.raises(ValueError, match="not as long as its headers"):
        Table("t", ("a", "b"), (("1",),))


def test_the_object_holds_all_words() -> None:
    """The same report for a program: facts, and each table as rows by header."""
    report: Report = small_report()
    found = report_object(report)
    assert found["facts"] == {"kind": "small"}
    sections = found["sections"]
    assert isinstance(sections, list)
    tables = [block for block in sections[0]["blocks"] if "table" in block]
    assert tables[0]["rows"][0]["Genus"] == "Porites"
