"""Sheets to record transects on, blank and for a planned survey."""

from __future__ import annotations

import io
from datetime import UTC, datetime

import pypdf
import pytest

import support
from corallum.exchange.slate_text import read_slate_text
from corallum.records.benthos import OTHER_COVER
from corallum.records.survey import Effort, Method
from corallum.reference.said import SaidResolver
from corallum.report.paper import PAPERS
from corallum.report.recording_sheet import (
    COLUMNS,
    PlannedTransect,
    RecordingSheets,
    blank_sheet,
    effort_said,
    planned_sheets,
    set_recording_sheets,
)

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
# Height of a line that a gloved hand can write on: common practice, no source.
LEAST_LINE_MM = 7.0
HEAD_FIELDS = ("Site", "Transect", "Date", "Observer", "Time in", "Time out", "Depth at start, m")


def read(sheets: RecordingSheets) -> pypdf.PdfReader:
    """Set sheets and read the PDF back."""
    return pypdf.PdfReader(io.BytesIO(set_recording_sheets(sheets, NOW)))


def words_of(pdf: pypdf.PdfReader, page: int = 0) -> str:
    """Text of a page on one line."""
    return " ".join(pdf.pages[page].extract_text().split())


@pytest.mark.parametrize("method", list(Method))
def test_every_method_has_a_blank_sheet(method: Method) -> None:
    """One tagged page with the columns of the method, its head, other cover and the caution."""
    pdf = read(blank_sheet(method, PAPERS["a4"], "Invented reserve"))
    text = words_of(pdf)

    assert len(pdf.pages) == 1
    assert "/StructTreeRoot" in pdf.trailer["/Root"]
    for column in COLUMNS[method]:
        assert column in text
    for field in HEAD_FIELDS:
        assert f"{field}:" in text
    for word in set(OTHER_COVER) - {"not coral"}:
        assert word in text
    assert "Look, do not touch" in text
    assert "dive supervisor decides" in text
    assert "Invented reserve" in text


@pytest.mark.parametrize("paper", list(PAPERS))
def test_lines_leave_room_for_a_pencil(paper: str) -> None:
    """As many lines are drawn as were promised, numbered, in the size of the paper."""
    sheets = blank_sheet(Method.LINE, PAPERS[paper], "")
    pdf = read(sheets)
    width, height = (float(one) * 25.4 / 72 for one in pdf.pages[0].mediabox[2:])

    assert (width, height) == pytest.approx(
        (PAPERS[paper].width_mm, PAPERS[paper].height_mm), abs=0.1
    )
    assert 10 <= sheets.lines <= height / LEAST_LINE_MM
    text = pdf.pages[0].extract_text().splitlines()
    assert [str(n) for n in range(1, sheets.lines + 1)] == [t for t in text if t.isdecimal()]


def test_points_are_numbered_over_front_and_back() -> None:
    """A hundred points have a place each, once, on pages of their transect."""
    effort = Effort(points=100, interval_cm=50, length_cm=5000)
    transects = [PlannedTransect("North wall", "T1"), PlannedTransect("North wall", "T2")]
    sheets = planned_sheets(Method.POINTS, PAPERS["a4"], "Spring", effort, transects)
    pdf = read(sheets)
    each = len(pdf.pages) // 2

    rows = [row for page in pdf.pages[:each] for row in page.extract_text().splitlines()]
    numbers = [int(n) for row in rows if row.replace(" ", "").isdecimal() for n in row.split()]
    assert len(pdf.pages) == 2 * each
    assert sorted(numbers) == list(range(1, each * 2 * sheets.lines + 1))
    assert len(numbers) >= 100 > len(numbers) - 2 * sheets.lines
    assert [page.filled["Transect"] for page in sheets.pages] == ["T1"] * each + ["T2"] * each


def test_what_is_known_of_a_transect_is_filled_in() -> None:
    """Site, stratum, transect, day and effort stand at the head, as they are written."""
    one = PlannedTransect("Südriff *nah* #x", "T1 <b>", "Außen", "14 March 2026")
    sheets = planned_sheets(
        Method.BELT, PAPERS["a4"], "Spring", Effort(length_cm=1000, width_cm=200), [one]
    )
    text = words_of(read(sheets))

    for words in ("Südriff *nah* #x (Außen)", "T1 <b>", "14 March 2026", "belt 200 cm wide"):
        assert words in text


def test_effort_is_said_in_the_units_of_the_plan() -> None:
    """Only what a method uses is said."""
    assert effort_said(Effort(frames=3, frame_area_m2=0.25)) == "3 frames, frame 0.25 m²"
    assert effort_said(Effort()) == ""


@pytest.mark.parametrize(
    ("method", "line"),
    [
        pytest.param(Method.LINE, ("130", "145", "Porites", "massive", "pale"), id="line"),
        pytest.param(Method.BELT, ("Acropora", "23", "40", "pale"), id="belt"),
        pytest.param(Method.QUADRAT_COVER, ("2", "Acropora", "15", "pale"), id="cover"),
    ],
)
def test_columns_are_in_the_order_in_which_slates_are_typed(
    method: Method, line: tuple[str, ...]
) -> None:
    """What is written from left to right can be typed from left to right."""
    assert len(line) == len(COLUMNS[method])
    text = " ".join(line[:-1])
    if method is Method.LINE:
        text = f"{line[0]}-{line[1]} {line[2]}/{line[3]}"
    (read_line,) = read_slate_text(
        f"{text} # {line[-1]}", method, SaidResolver(support.library().reference, ("red_sea",))
    )
    assert read_line.label in line
    assert read_line.note == "pale"
