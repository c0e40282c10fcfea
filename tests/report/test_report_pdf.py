"""The PDF of a report: what a reader that speaks it, a search and a printer find."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pypdf
import pytest

from corallum.report.report import Paragraph, Section
from corallum.report.report_pdf import report_pdf
from report.small_report import ODD, small_report

MADE = datetime(2026, 3, 14, 9, 30, 5, 123456, tzinfo=UTC)


def _walk(element: Any) -> Iterator[Any]:  # noqa: ANN401  a tree of any objects
    """Go through the elements of a tagged document."""
    element = element.get_object()
    if isinstance(element, list):
        for one in element:
            yield from _walk(one)
    elif hasattr(element, "get"):
        if element.get("/S"):
            yield element
        if "/K" in element:
            yield from _walk(element["/K"])


@pytest.fixture(scope="module")
def read() -> pypdf.PdfReader:
    """A small report as a PDF, read."""
    return pypdf.PdfReader(io.BytesIO(report_pdf(small_report(), MADE)))


@pytest.fixture(scope="module")
def elements(read: pypdf.PdfReader) -> list[Any]:
    """The elements of its structure."""
    return list(_walk(read.root_object["/StructTreeRoot"]))


@pytest.fixture(scope="module")
def words(read: pypdf.PdfReader) -> str:
    """Its words, blanks and line breaks taken out, since lines break anywhere."""
    return "".join("".join(page.extract_text() for page in read.pages).split())


def test_it_says_what_it_is(read: pypdf.PdfReader) -> None:
    """Title, language, marks for readers that speak it, and the moment asked for."""
    assert read.metadata is not None
    assert read.metadata.title == ODD[0]
    assert read.metadata.creation_date == MADE.replace(microsecond=0)
    root = read.root_object
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert "pdfuaid" in root["/Metadata"].get_data().decode()


def test_names_that_look_like_markup_come_through(words: str) -> None:
    """A name is set letter by letter, wherever it stands."""
    for one in ODD:
        assert words.count("".join(one.split())) >= 4, one


def test_the_outline_is_that_of_the_headings(read: pypdf.PdfReader, elements: list[Any]) -> None:
    """Each part stands in the outline, in order, and is tagged as a heading."""
    titles = [one.title for one in read.outline if not isinstance(one, list)]
    assert titles == [ODD[1], *(f"Part {k}" for k in range(1, 6))]
    kinds = Counter(str(one["/S"]) for one in elements)
    assert kinds["/H1"] == 6
    assert kinds["/Title"] == 1


def test_every_figure_has_words(elements: list[Any]) -> None:
    """Each picture says all it shows."""
    figures = [one for one in elements if one["/S"] == "/Figure"]
    assert len(figures) == 1
    says = str(figures[0]["/Alt"])
    assert "Porites: uncorrected 12 (8 to 16), corrected 14 (9 to 18)" in says
    assert ODD[0] in says


def test_tables_have_headers(elements: list[Any]) -> None:
    """The row of headers is tagged as such, and the caption belongs to its table."""
    kinds = Counter(str(one["/S"]) for one in elements)
    assert kinds["/TH"] == 3
    assert kinds["/THead"] == 1
    assert kinds["/Caption"] == 2


def test_pages_are_numbered(read: pypdf.PdfReader) -> None:
    """Each page says its number and of how many."""
    n = len(read.pages)
    assert n > 1
    for k, page in enumerate(read.pages, 1):
        assert f"page {k} of {n}" in page.extract_text()


def test_the_same_report_gives_the_same_bytes() -> None:
    """Nothing of the moment of setting gets in but the moment that was given."""
    one = small_report(sections=1)
    assert report_pdf(one, MADE) == report_pdf(one, MADE)


def test_a_letter_that_no_font_holds_leaves_no_gap() -> None:
    """A name in a script without a font is shown as replacement characters, not refused."""
    odd = "\U0001322d reef"  # a hieroglyph
    one = replace(small_report(sections=1), title=odd, sections=(Section(odd, (Paragraph(odd),)),))
    found = pypdf.PdfReader(io.BytesIO(report_pdf(one, MADE)))
    assert "reef" in found.pages[0].extract_text()


def test_an_empty_text_is_no_fault() -> None:
    """A survey can't be without a name, but a report without one is set all the same."""
    one = replace(small_report(sections=1), title="", subtitle="", foot="", sections=())
    assert report_pdf(one, MADE).startswith(b"%PDF")


def test_every_table_has_headers(elements: list[Any]) -> None:
    """What is tagged as a table has header cells (ISO 14289-1, 7.5); facts are none."""
    tables = [one for one in elements if one["/S"] == "/Table"]
    assert len(tables) == 1
    assert all(any(part["/S"] == "/TH" for part in _walk(one["/K"])) for one in tables)
